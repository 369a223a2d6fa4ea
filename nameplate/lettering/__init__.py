"""Letters: fonts, shaping, weld, bridges, webs."""
