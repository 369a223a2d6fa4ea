"""Pages for a printer: paper sizes, the text face, and the only door to the library that writes PDF files."""
