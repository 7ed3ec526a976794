"""More hulls known on paper, for whole boats: arc section, helicoid, raked wedge.  mm, degrees.

arc       section is an arc of a circle about a fore-and-aft axis: n even strakes fold by the same angle
helicoid  straight level lines turning about the x axis: twist without bend along x
raked     plane sides that meet in a raked stem line: y = (x of the stem at that height - x) tan a
cone and plane  V bottom of planes under conical sides: the chine is an ellipse, its fold known
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from tests.exact_meshes import WHOLE, Make, Mesh, hull_of

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

    return hull_of([face], make)


def helicoid(make: Make = WHOLE) -> Mesh:
    """r(x, v) = (x, v cos(a + kx), v sin(a + kx))."""

    def face(u: Floats, v: Floats) -> Floats:
        x = 4000.0 * u
        turn, out = np.radians(20.0) + HELIX_TURN * x, HELIX_FROM + v * (HELIX_TO - HELIX_FROM)
        return np.stack([x, out * np.cos(turn), out * np.sin(turn)], axis=-1)

    return hull_of([face], make)


def raked_wedge(half_angle: float, rake: float, make: Make = WHOLE) -> Mesh:
    """Plane upright sides 600 high; the stem leans forward by `rake` from upright."""
    side, lean = np.tan(np.radians(half_angle)), np.tan(np.radians(rake))

    def face(u: Floats, v: Floats) -> Floats:
        z = v * 600.0
        end = 4000.0 + lean * z
        return np.stack([u * end, (1 - u) * end * side, z], axis=-1)

    return hull_of([face], make)


@dataclass(frozen=True)
class ConeAndPlane:
    """A V bottom of two planes and sides that are cones about upright axes, ends square across.  mm, degrees.

    The fold at the chine is known exactly: cos fold = cos f sin d cos turn + sin f cos d, with f the flare, d the
    deadrise and sin turn = distance before the widest section over the cone's radius there.
    """

    radius: float = 6000.0
    offset: float = 5153.0
    flare_deg: float = 23.0
    deadrise_deg: float = 33.0
    length: float = 2600.0
    height: float = 450.0

    @property
    def slopes(self) -> tuple[float, float]:
        """Tangents of flare and of deadrise."""
        return float(np.tan(np.radians(self.flare_deg))), float(np.tan(np.radians(self.deadrise_deg)))

    def breadth(self, x: Floats, z: Floats) -> Floats:
        """y of the side."""
        return np.asarray(np.sqrt((self.radius + z * self.slopes[0]) ** 2 - (self.length - x) ** 2) - self.offset)

    def chine(self, x: Floats) -> Floats:
        """Height of the chine: where the side meets z = y tan d (fixed point; the map halves every error)."""
        z = np.zeros_like(x)
        for _ in range(80):
            z = self.breadth(x, z) * self.slopes[1]
        return z

    def side_normal(self, points: Floats) -> Floats:
        """(n, 3) unit outward normals of the side at points on it or near it."""
        way = np.stack([points[:, 0] - self.length, points[:, 1] + self.offset], axis=-1)
        way /= np.linalg.norm(way, axis=1, keepdims=True)
        f = np.radians(self.flare_deg)
        return np.column_stack([np.cos(f) * way, np.full(len(points), -np.sin(f))])

    def bottom_normal(self) -> Floats:
        d = np.radians(self.deadrise_deg)
        return np.array([0.0, np.sin(d), -np.cos(d)])

    def fold(self, x: Floats) -> Floats:
        """Degrees."""
        z = self.chine(x)
        normals = self.side_normal(np.stack([x, self.breadth(x, z), z], axis=-1))
        return np.degrees(np.arccos(normals @ self.bottom_normal()))

    def mesh(self, make: Make = WHOLE) -> Mesh:
        """Bottom and side."""

        def bottom(u: Floats, v: Floats) -> Floats:
            x = u * self.length
            y = v * self.chine(x) / self.slopes[1]
            return np.stack([x, y, y * self.slopes[1]], axis=-1)

        def side(u: Floats, v: Floats) -> Floats:
            x = u * self.length
            z = self.chine(x) + v * self.height
            return np.stack([x, self.breadth(x, z), z], axis=-1)

        return hull_of([bottom, side], make)
