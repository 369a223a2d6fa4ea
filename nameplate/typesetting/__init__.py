"""Text becomes placed glyph outlines: fonts, shaping, lines, spacing."""
