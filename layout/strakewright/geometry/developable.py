"""A band of the skin laid flat: the plank between two seams, both of its edges at their true length.

band      the strip a(s) <= t <= b(s) of a fan, between two seams
rib       the geodesic of the fan across the band: straight in the flat, of true length b - a
turn      angle theta by which the ribs have swung, clockwise from the +y axis of the flat
strain    how much longer (+) a line along the band is in the flat than on the skin; 0 at both edges

Flat axes are right-handed: s runs about +x, t about +y.

Method (derived: edge lengths and rib lengths kept, first variation of arc length): theta' = (g(b) - g(a)) /
(b - a); the point of edge A moves by a' along the rib and g(s, a) square to it.  Integrals by quintic splines.
Exact on developable surfaces; elsewhere the middle of the band takes the strain (K w^2 / 8 on a band w wide).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from strakewright.arrays import Floats
from strakewright.errors import UnworkableError
from strakewright.geometry.drawn import Drawn, interpolant
from strakewright.geometry.fans import Fan

NODES = 0.5  # steps of the fan between the places where a band is unrolled
NARROW = 1.0


@dataclass(frozen=True, eq=False)
class Band:
    """A strip laid flat.  All splines run over s in [first, last].

    a, b : the edges' t;  edge : point of A in the flat before re-basing;  turn : theta
    angle, shift : re-basing: counter-clockwise by angle, then shifted
    """

    fan: Fan
    first: float
    last: float
    a: Drawn
    b: Drawn
    edge: Drawn
    turn: Drawn
    angle: float = 0.0
    shift: tuple[float, float] = (0.0, 0.0)

    def flat(self, s: Floats, t: Floats) -> Floats:
        """(..., 2) flat points of fan coordinates; t may lie outside [a, b]: the ribs run on straight."""
        s, t = np.broadcast_arrays(np.asarray(s, dtype=np.float64), np.asarray(t, dtype=np.float64))
        theta = self.turn(s)
        rib = np.stack([np.sin(theta), np.cos(theta)], axis=-1)
        return np.asarray(turned(self.edge(s) + (t - self.a(s))[..., None] * rib, self.angle) + self.shift)

    def based(self, angle: float, shift: tuple[float, float]) -> Band:
        """The same strip turned counter-clockwise by `angle` about its first axes, then shifted."""
        return replace(self, angle=angle, shift=shift)

    def along_chord(self) -> Band:
        """The same strip with x along the chord of its middle line, which starts in (0, 0)."""
        ends = np.array([self.first, self.last])
        raw = self.based(0.0, (0.0, 0.0)).flat(ends, 0.5 * (self.a(ends) + self.b(ends)))
        angle = -float(np.arctan2(*(raw[1] - raw[0])[::-1]))
        x, y = -turned(raw[0], angle)
        return self.based(angle, (float(x), float(y)))

    def strain(self, s: Floats, t: Floats) -> Floats:
        """(...) strain along the band, a fraction: spread in the flat (linear from edge to edge) over g, less 1."""
        s = np.asarray(s, dtype=np.float64)
        a, b = self.a(s), self.b(s)  # edges are asked once a station, however many points across
        low, high = self.fan.spread(s, a), self.fan.spread(s, b)
        share = (t - a) / np.where(b == a, 1.0, b - a)
        return np.asarray((low + share * (high - low)) / self.fan.spread(s, t) - 1.0)

    def worst_strain(self, stations: int = 101) -> tuple[float, float, float]:
        """Strain of the largest amount in the band (with its sign), and the s and t where it is."""
        s = np.linspace(self.first, self.last, stations)[:, None]
        t = self.a(s) + np.linspace(0.0, 1.0, 9) * (self.b(s) - self.a(s))
        strain = self.strain(s, t)
        i, j = np.unravel_index(int(np.abs(strain).argmax()), strain.shape)
        return float(strain[i, j]), float(s[i, 0]), float(t[i, j])


def turned(points: Floats, angle: float) -> Floats:
    """(..., 2) points turned counter-clockwise by `angle` radians about (0, 0)."""
    c, s = np.cos(angle), np.sin(angle)
    return np.asarray(points @ np.array([[c, s], [-s, c]]))


def unroll_band(fan: Fan, s: Floats, a: Floats, b: Floats) -> Band:
    """Lay flat the strip between two seams.

    s : (n,) rising;  a, b : (n,) mm on either side of each other (a plank may end in a point).
    Raises UnworkableError on a fold.
    """
    first, last = float(s[0]), float(s[-1])
    low, high = interpolant(s, a), interpolant(s, b)
    nodes = np.linspace(first, last, max(12, int(np.ceil((last - first) / (NODES * fan.step)))) + 1)
    _refuse_folds(fan, nodes, low(nodes), high(nodes))
    turn = interpolant(nodes, swing(fan, nodes, low(nodes), high(nodes))).antiderivative()
    theta, slope, spread = turn(nodes), low(nodes, nu=1), fan.spread(nodes, low(nodes))
    rib = np.stack([np.sin(theta), np.cos(theta)], axis=-1)
    square = np.stack([np.cos(theta), -np.sin(theta)], axis=-1)
    edge = interpolant(nodes, slope[:, None] * rib + spread[:, None] * square).antiderivative()
    return Band(fan, first, last, low, high, edge, turn)


def swing(fan: Fan, s: Floats, a: Floats, b: Floats) -> Floats:
    """(n,) theta' in rad/mm: difference of spread over width; where narrow its limit, the growth at mid-width."""
    wide = np.abs(b - a) > NARROW
    growth = fan.spread_t(s, 0.5 * (a + b))
    width = np.where(wide, b - a, 1.0)
    return np.where(wide, (fan.spread(s, b) - fan.spread(s, a)) / width, growth)


def _refuse_folds(fan: Fan, s: Floats, a: Floats, b: Floats) -> None:
    """Raises UnworkableError where geodesics across the band have met."""
    for t in (a, b):
        bad = fan.folds(s, t)
        if bad.any():
            raise UnworkableError(
                f"planks cannot be lined off {s[bad][0]:.0f} mm along: the skin turns too sharply there",
                fix="Start the courses from another border, or split the panel",
            )
