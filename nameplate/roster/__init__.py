"""The roster: the table of names, read and checked."""
