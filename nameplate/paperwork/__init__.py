"""Paper: what a person reads beside the cut files."""
