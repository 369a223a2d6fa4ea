"""What the operating system offers: files read and written, names and digests of files, streams and signals."""
