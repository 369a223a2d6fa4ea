"""The one record of tolerances. Millimetres unless said otherwise.

Each entry says what distance it bounds, why it has its value, and what grows as it shrinks.
"""

from __future__ import annotations

#: Farthest a flattened polygon may lie from the curve it replaces. A quarter of CURVE, so that flattening does not
#: use up the budget of the curve fit; halving it makes 1.4 times as many points.
FLATTEN = 0.005

#: Farthest a written cubic may lie from the polygon it was fitted to, both ways. A tenth of a usual kerf; halving it
#: adds about a fifth more cubics.
CURVE = 0.02

#: Farthest the burned part may lie from its nominal shape (Hausdorff): CURVE, plus flattening and rounding.
BURN = 0.03

#: How far a web may be short of the minimum before the topology test of the lettering alarms. Covers FLATTEN twice
#: and the facets of the erosion; below 0.02 the test alarms on correct shapes.
WEB_SLACK = 0.06

#: The same for the virtual burn, which sees written curves (CURVE on both sides of the web).
WEB_SLACK_BURN = 0.09

#: Chord error of the arcs in an offset. Small beside FLATTEN; halving it makes 1.4 times as many arc points.
ARC = 0.002

#: Two corners nearer than this are one: half the last written decimal and well under FLATTEN.
SAME_POINT = 1e-4

#: Decimals written to a cut file (0.1 micrometre): far finer than any machine moves.
DECIMALS = 4

#: Bodies smaller than this after erosion are stroke tips, not pieces (mm2).
GRAIN = 0.05
