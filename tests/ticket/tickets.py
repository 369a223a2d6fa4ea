"""The shortest ticket that can be made."""

MINIMAL = """[job]
roster = "names.csv"

[face]
shape = "ellipse"
width = 110
height = 80

[[stock]]
width = 600
height = 300
"""
