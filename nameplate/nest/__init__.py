"""Nesting: which part lies where on which sheet, and what to buy."""
