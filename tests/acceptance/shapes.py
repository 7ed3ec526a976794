"""More hulls known on paper, for whole boats: arc section, helicoid, raked wedge.  mm, degrees.

arc       section is an arc of a circle about a fore-and-aft axis: n even strakes fold by the same angle
helicoid  straight level lines turning about the x axis: twist without bend along x
raked     plane sides that meet in a raked stem line: y = (x of the stem at that height - x) tan a
"""

from __future__ import annotations

import numpy as np
from tests.exact_hulls import WHOLE, Make, Mesh, _hull

from strakewright.arrays import Floats

ARC_RADIUS = 2009.5  # outside; the middle of 19 mm planking lies on 2000
ARC_FROM, ARC_TO, ARC_LENGTH = 20.0, 80.0, 4000.0
HELIX_TURN = np.radians(30.0) / 4000.0  # radians per mm
HELIX_FROM, HELIX_TO = 100.0, 800.0


def arc_section(make: Make = WHOLE) -> Mesh:
    """Cylinder about a fore-and-aft axis, from 20 to 80 degrees round from straight down."""

    def face(u: Floats, v: Floats) -> Floats:
        a = np.radians(ARC_FROM + v * (ARC_TO - ARC_FROM))
        y, z = 300.0 + ARC_RADIUS * np.sin(a), ARC_RADIUS * (1 - np.cos(a))
        return np.stack([u * ARC_LENGTH, y, z], axis=-1)

    return _hull([face], make)


def helicoid(make: Make = WHOLE) -> Mesh:
    """r(x, v) = (x, v cos(a + kx), v sin(a + kx))."""

    def face(u: Floats, v: Floats) -> Floats:
        x = 4000.0 * u
        turn, out = np.radians(20.0) + HELIX_TURN * x, HELIX_FROM + v * (HELIX_TO - HELIX_FROM)
        return np.stack([x, out * np.cos(turn), out * np.sin(turn)], axis=-1)

    return _hull([face], make)


def raked_wedge(half_angle: float, rake: float, make: Make = WHOLE) -> Mesh:
    """Plane upright sides 600 high; the stem leans forward by `rake` from upright."""
    side, lean = np.tan(np.radians(half_angle)), np.tan(np.radians(rake))

    def face(u: Floats, v: Floats) -> Floats:
        z = v * 600.0
        end = 4000.0 + lean * z
        return np.stack([u * end, (1 - u) * end * side, z], axis=-1)

    return _hull([face], make)
