"""Hulls whose true shape is known on paper, as irregular triangle meshes with exact vertices.

Every function returns `(vertices (n, 3) mm, triangles (m, 3))` in the contract's axes (x forward, y to
port, z up, x = 0 at the aft end) with outward normals; `Make` says how many triangles, whole or port half,
with or without a deck and a transom (`exact_meshes`).

Closed forms used here (derived; c = cos, s = sin):

wall of constant slope   waterlines turn inboard by theta, outward normal n = (s theta, c theta):
                         P = k (c theta, -s theta) + (rho + k theta + z tan f) n,  z up, f = flare
    k = 0, f = 0         vertical cylinder of radius rho
    k = 0                cone, axis vertical, apex below at z = -rho / tan f
    k > 0                tangent developable of a helix (radius k, climb k / tan f per radian)
development of the wall  psi = theta s f:
                         C = (k / s^2 f)(c psi, -s psi) + ((rho + k theta + z tan f) / s f)(s psi, c psi)
                         f = 0: (rho theta + k theta^2 / 2, z)
prism                    planes: bottom z = y tan d, side leaning out by the flare
hyperbolic paraboloid    bottom z = y (t0 + t1 x): straight sections, twist
running chine            chine straight along x; bottom and side turn about it: fold = side - deadrise exactly
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from strakewright.arrays import Floats
from tests.exact_meshes import WHOLE, Face, Make, Mesh, hull_of


def rising(u: Floats, height: float, least: float | None) -> Floats:
    """How far the lower edge of a wall has risen, from none aft to all but `least` at the stem, as a parabola."""
    return np.zeros_like(u) if least is None else (height - least) * u**2


@dataclass(frozen=True)
class Wall:
    """Sizes of a wall of constant slope.  rho, k, height mm; turn radians; flare degrees.

    least : height left at the stem, where the lower edge rises to it (None: it does not)"""

    rho: float
    height: float
    turn: float
    k: float = 0.0
    flare_deg: float = 0.0
    base: float = 0.0
    least: float | None = None

    @property
    def flare(self) -> float:
        """Flare in radians."""
        return float(np.radians(self.flare_deg))

    def at(self, theta: Floats, z: Floats) -> Floats:
        """(n, 3) points; z reckoned from the lower edge.  Aft end in x = 0, stem foot (turn, 0) in y = 0."""
        return self._place(theta, z) - np.array([self.k, self._stem_y(), -self.base])

    def _place(self, theta: Floats, z: Floats) -> Floats:
        radius = self.rho + self.k * theta + z * np.tan(self.flare)
        return np.stack(
            [
                self.k * np.cos(theta) + radius * np.sin(theta),
                -self.k * np.sin(theta) + radius * np.cos(theta),
                z,
            ],
            axis=-1,
        )

    def _stem_y(self) -> float:
        return float(self._place(np.array(self.turn), np.array(0.0))[1])

    def stem(self, z: Floats) -> Floats:
        """theta where the wall meets y = 0 at height z (Newton; dP/dtheta is radius x tangent)."""
        theta = np.full(np.shape(z), self.turn)
        for _ in range(30):
            radius = self.rho + self.k * theta + z * np.tan(self.flare)
            theta = theta + self.at(theta, z)[..., 1] / (radius * np.sin(theta))
        return theta

    def flat(self, theta: Floats, z: Floats) -> Floats:
        """(n, 2) the exact development: first axis forward, second up the wall."""
        if self.flare == 0.0:
            return np.stack([self.rho * theta + self.k * theta**2 / 2, z], axis=-1)
        s = np.sin(self.flare)
        psi, radius = theta * s, (self.rho + self.k * theta + z * np.tan(self.flare)) / s
        reach = self.k / s**2
        return np.stack(
            [
                reach * np.cos(psi) + radius * np.sin(psi) - reach,
                -reach * np.sin(psi) + radius * np.cos(psi) - self.rho / s,
            ],
            axis=-1,
        )

    def mesh(self, make: Make = WHOLE) -> Mesh:
        """The wall up to its stem in the centreline plane."""

        def face(u: Floats, v: Floats) -> Floats:
            low = rising(u, self.height, self.least)
            z = low + v * (self.height - low)
            points = self.at(u * self.stem(z), z)
            points[u == 1.0, 1] = 0.0
            return points

        return hull_of([face], make)


CYLINDER = Wall(rho=6000.0, height=600.0, turn=0.75)
CONE = Wall(rho=6000.0, height=600.0, turn=0.7, flare_deg=20.0)
HELIX = Wall(rho=3500.0, height=600.0, turn=0.75, k=5000.0, flare_deg=15.0)


def cylinder_wall(make: Make = WHOLE) -> Mesh:
    """Vertical cylinder, radius 6 m, 600 high: strakes are rectangles (`CYLINDER.flat`)."""
    return CYLINDER.mesh(make)


def cone_wall(make: Make = WHOLE) -> Mesh:
    """Cone flared 20 degrees: strakes are annular sectors (`CONE.flat`)."""
    return CONE.mesh(make)


def helix_wall(make: Make = WHOLE) -> Mesh:
    """Tangent developable of a helix, flared 15 degrees (`HELIX.flat`)."""
    return HELIX.mesh(make)


@dataclass(frozen=True)
class Zone:
    """Zone of a sphere between two heights, doubly curved.  mm

    offset : how far the centre lies to starboard;  low, high : heights reckoned from the centre
    least : height left at the stem, where the lower edge rises to it (None: it does not)
    """

    radius: float = 5000.0
    offset: float = 3800.0
    low: float = -300.0
    high: float = 300.0
    least: float | None = None

    def mesh(self, make: Make = WHOLE) -> Mesh:
        """Aft end in x = 0, stem in y = 0; the lower edge at z = 0."""

        def face(u: Floats, v: Floats) -> Floats:
            low = self.low + rising(u, self.high - self.low, self.least)
            z = low + v * (self.high - low)
            ring = np.sqrt(self.radius**2 - z**2)
            turn = u * np.arccos(self.offset / ring)
            points = np.stack([ring * np.sin(turn), ring * np.cos(turn) - self.offset, z - self.low], axis=-1)
            points[u == 1.0, 1] = 0.0
            return points

        return hull_of([face], make)


def sphere_zone(make: Make = WHOLE) -> Mesh:
    """Sphere of radius 5 m about (0, -3800, 300), from z = 0 to 600."""
    return Zone().mesh(make)


@dataclass(frozen=True)
class Prism:
    """V bottom and sides, the same section all along.  mm, degrees.  skew: how far the top of the forward end
    lies ahead of its foot, as a share of height."""

    length: float = 5000.0
    half_breadth: float = 900.0
    deadrise_deg: float = 20.0
    side_height: float = 500.0
    flare_deg: float = 10.0
    skew: float = 0.0

    def section(self) -> Floats:
        """(3, 2) y, z of keel, chine and sheer."""
        rise = self.half_breadth * np.tan(np.radians(self.deadrise_deg))
        out = self.side_height * np.tan(np.radians(self.flare_deg))
        return np.array([[0.0, 0.0], [self.half_breadth, rise], [self.half_breadth + out, rise + self.side_height]])

    def mesh(self, make: Make = WHOLE) -> Mesh:
        """Bottom and side."""
        y, z = self.section().T
        lines = [_line(self.length, y[i], z[i], self.skew) for i in range(3)]
        return hull_of([_ruled(lines[0], lines[1]), _ruled(lines[1], lines[2])], make)


def _line(length: float, y: float, z: float, skew: float) -> Callable[[Floats], Floats]:
    return lambda u: np.stack([u * (length + skew * z), np.full_like(u, y), np.full_like(u, z)], axis=-1)


def _ruled(low: Callable[[Floats], Floats], high: Callable[[Floats], Floats]) -> Face:
    return lambda u, v: (1 - v)[:, None] * low(u) + v[:, None] * high(u)


def v_prism(make: Make = WHOLE, deadrise_deg: float = 20.0) -> Mesh:
    """V bottom of that deadrise, 5 m long, half breadth 900, sides 500 high flared 10 degrees."""
    return Prism(deadrise_deg=deadrise_deg).mesh(make)


def box_prism(make: Make = WHOLE) -> Mesh:
    """As `v_prism` with a flat bottom and upright sides."""
    return Prism(deadrise_deg=0.0, flare_deg=0.0).mesh(make)


def wedge_bow(
    make: Make = WHOLE,
    half_angle_deg: float = 20.0,
    length: float = 4000.0,
    height: float = 600.0,
    foot_angle_deg: float | None = None,
) -> Mesh:
    """Upright sides meeting the centreline plane at `half_angle_deg`: y = (length - x) tan a; planes, or twisted where
    the angle at the foot of the stem is another one (even change with height)."""
    foot = half_angle_deg if foot_angle_deg is None else foot_angle_deg

    def face(u: Floats, v: Floats) -> Floats:
        slope = np.tan(np.radians(foot + (half_angle_deg - foot) * v))
        return np.stack([u * length, (1 - u) * length * slope, v * height], axis=-1)

    return hull_of([face], make)


@dataclass(frozen=True)
class RunningChine:
    """Chine straight along x at half breadth b; deadrise and side slope change along it.  mm, degrees.

    fold(x) = side(x) - deadrise(x) exactly (chine along x: both normals lie in the section plane); it falls
    from least + 76 aft to `least` at three quarters of the length and comes back to least + 16 forward.
    """

    length: float = 5600.0
    half_breadth: float = 700.0
    chine_height: float = 800.0
    side_girth: float = 600.0
    least: float = 4.0

    def fold(self, x: Floats) -> Floats:
        """Degrees."""
        t = x / self.length - 0.75
        b = (144.0 - 76.0) / 0.5625
        return np.asarray(self.least + (256.0 - b / 4) * t**2 + b * t**3)

    def deadrise(self, x: Floats) -> Floats:
        """Degrees: 8 aft to 44 forward."""
        return 8.0 + 36.0 * (x / self.length)

    def mesh(self, make: Make = WHOLE) -> Mesh:
        """Bottom and side."""

        def across(u: Floats, v: Floats, girth: Floats, slope: Floats) -> Floats:
            reach = v * girth
            y = self.half_breadth + reach * np.cos(slope)
            z = self.chine_height + reach * np.sin(slope)
            return np.stack([u * self.length, y, z], axis=-1)

        def bottom(u: Floats, v: Floats) -> Floats:
            slope = np.radians(self.deadrise(u * self.length))
            points = across(u, v - 1, self.half_breadth / np.cos(slope), slope)
            points[v == 0.0, 1] = 0.0
            return points

        def side(u: Floats, v: Floats) -> Floats:
            x = u * self.length
            return across(u, v, np.full_like(u, self.side_girth), np.radians(self.deadrise(x) + self.fold(x)))

        return hull_of([bottom, side], make)


def running_chine(make: Make = WHOLE) -> Mesh:
    """`RunningChine()`: angle inside the boat from 100 degrees aft to 176 at x = 4200, back to 160."""
    return RunningChine().mesh(make)


@dataclass(frozen=True)
class TwistedBottom:
    """Hyperbolic paraboloid z = y (t0 + t1 x) out to half breadth b; upright plane sides above it.  mm."""

    length: float = 5000.0
    half_breadth: float = 800.0
    t0: float = 0.2
    t1: float = 0.6 / 5000.0
    sheer: float = 1200.0

    def mesh(self, make: Make = WHOLE) -> Mesh:
        """Bottom and side."""

        def bottom(u: Floats, v: Floats) -> Floats:
            x, y = u * self.length, v * self.half_breadth
            return np.stack([x, y, y * (self.t0 + self.t1 * x)], axis=-1)

        def side(u: Floats, v: Floats) -> Floats:
            low = bottom(u, np.ones_like(u))
            return np.stack([low[:, 0], low[:, 1], low[:, 2] + v * (self.sheer - low[:, 2])], axis=-1)

        return hull_of([bottom, side], make)


def twisted_bottom(make: Make = WHOLE) -> Mesh:
    """`TwistedBottom()`: deadrise tangent 0.2 aft, 0.8 forward."""
    return TwistedBottom().mesh(make)
