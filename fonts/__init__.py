"""The fonts that come with the program: unmodified files, each with its licence in the same folder."""
