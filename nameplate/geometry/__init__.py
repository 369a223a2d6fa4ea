"""The only door to the geometry libraries: regions, offsets, medial axis, curves, measures. Millimetres, y up."""
