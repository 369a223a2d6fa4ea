"""Cubic curves: fitted to outlines, checked, flattened."""
