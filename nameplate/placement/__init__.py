"""The largest fit of a shape in a zone, and where it looks centred."""
