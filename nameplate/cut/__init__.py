"""Cut files: kerf, order, writers, and the virtual burn that checks them."""
