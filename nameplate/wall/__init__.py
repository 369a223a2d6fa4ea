"""The hanging plan: where every plate hangs, where its holes are drilled, and what speaks against it."""
