"""How hard a member's wood is bent, and into how many plies that asks for.

flatwise    the easy way: across the thickness of a ply;  edgewise : in the plane of its face, strain w / 2R
t/R         ply thickness over the radius it is bent to; limit 1/100 for hardwoods and southern pine, 1/125 for other
            softwoods, with 1 - 2000 (t/R)^2 of the strength left: the curved glued laminations rule of the NDS, as
            quoted in Hicks, Civil Engineering Formulas, Timber chapter, eq. 6.29 (clause number from memory).  Boats
            go tighter with thin stock: it warns, it never blocks
stress      E t / 2R, mechanics of bending; E from the Wood Handbook (tables/species.toml, with its standing)
twist       turn of the blank about its own run, rad per mm

Curvature is that of the curve through the middle of the ply, split along the blank's two directions (derived).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from strakewright.arrays import Floats
from strakewright.geometry.curves import arc_length, drawn_through
from strakewright.geometry.drawn import Drawn
from strakewright.members import Bend, Blank
from strakewright.tables import Species

STRAIGHT = 1e-7  # 1/mm: radius 10 km
MOST = 40
LEVER = 50.0  # mm: how far out a direction's error counts
FACTOR = 2000.0


def curvature_factor(ratio: float) -> float:
    """Share of bending strength left in a glued lamination bent to t/R = ratio.

    >>> [round(curvature_factor(1 / n), 3) for n in (100, 125, 150, 200)]
    [0.8, 0.872, 0.911, 0.95]
    """
    return max(0.0, 1.0 - FACTOR * ratio**2)


@dataclass(frozen=True, eq=False)
class Curve:
    """A curve inside a blank.  run : (n,) mm along it;  flat, edge : (n,) curvature 1/mm along the two directions, +
    towards them;  twist : (n,) rad per mm"""

    run: Floats
    flat: Floats
    edge: Floats
    twist: Floats

    @property
    def length(self) -> float:
        return float(self.run[-1])


def curve_in(blank: Blank, across: float, deep: float, flip: bool = False) -> Curve:
    """The curve at (across, deep) mm from the middle of the blank's outer face.

    flip : plies stand on edge: flatwise is then the across direction
    """
    u, spline = _drawn(blank)

    def derived(at: Floats, order: int) -> Floats:
        columns = spline(at, nu=order)
        return np.asarray(columns[..., :3] + (across * columns[..., 3:6] + deep * columns[..., 6:]) / LEVER)

    first, second = derived(u, 1), derived(u, 2)
    speed = np.linalg.norm(first, axis=-1)
    tangent = first / speed[:, None]
    bend = (second - (second * tangent).sum(axis=-1)[:, None] * tangent) / (speed**2)[:, None]
    nodes, weights = np.polynomial.legendre.leggauss(5)
    half = 0.5 * np.diff(u)[:, None]
    inner = derived(0.5 * (u[1:] + u[:-1])[:, None] + half * nodes, 1)
    run = np.concatenate([[0.0], np.cumsum((np.linalg.norm(inner, axis=-1) * half * weights).sum(axis=1))])
    turned = spline(u, nu=1)[:, 3:6] / LEVER
    twist = (turned * blank.deep).sum(axis=-1) / speed
    ways = (blank.across, blank.deep) if flip else (blank.deep, blank.across)
    flat, edge = ((bend * way).sum(axis=-1) for way in ways)
    return Curve(run, flat, edge, twist)


@lru_cache(maxsize=64)
def _drawn(blank: Blank) -> tuple[Floats, Drawn]:
    """One spline through a blank's outer face and, LEVER mm long, both of its directions."""
    u = arc_length(blank.outer)
    return u, drawn_through(u, np.concatenate([blank.outer, LEVER * blank.across, LEVER * blank.deep], axis=1))


def bend_of(blank: Blank, count: int, flip: bool, wood: Species) -> Bend:
    """How hard the hardest bent of `count` plies is bent.  flip : plies stand on edge."""
    t, width = _ply(blank, count, flip)
    both = [_bend(_at_ply(blank, t, number, flip), t, width, wood) for number in (1, count)]
    return replace(max(both, key=_hardness), strain=max(b.strain for b in both))


def _ply(blank: Blank, count: int, flip: bool) -> tuple[float, float]:
    """Thickness and width of a ply."""
    return (blank.width / count, blank.depth) if flip else (blank.depth / count, blank.width)


def _at_ply(blank: Blank, t: float, number: int, flip: bool) -> Curve:
    """Middle curve of ply `number`, 1 = innermost (or lowest, on edge)."""
    if flip:
        return curve_in(blank, (number - 0.5) * t - blank.width / 2, blank.depth / 2, flip=True)
    return curve_in(blank, 0.0, blank.depth - (number - 0.5) * t)


def ply_curve(blank: Blank, count: int, number: int, flip: bool) -> Curve:
    """The middle curve of one of `count` plies, 1 = innermost."""
    return _at_ply(blank, _ply(blank, count, flip)[0], number, flip)


def _hardness(bend: Bend) -> float:
    return bend.ratio


def _bend(curve: Curve, t: float, width: float, wood: Species) -> Bend:
    tightest = float(np.abs(curve.flat).max())
    edgewise = float(np.abs(curve.edge).max())
    ratio = t * tightest
    return Bend(
        flat=1.0 / tightest if tightest > STRAIGHT else None,
        edge=1.0 / edgewise if edgewise > STRAIGHT else None,
        twist=float(np.abs(curve.twist).max()),
        ratio=ratio,
        factor=curvature_factor(ratio),
        stress=wood.stiffness.value * ratio / 2 if wood.stiffness else None,
        edge_strain=width * edgewise / 2,
        strain=float((t * np.abs(curve.flat) + width * np.abs(curve.edge)).max()) / 2,
        at=float(curve.run[np.abs(curve.flat).argmax()]),
    )


def plies_needed(blank: Blank, flip: bool, wood: Species, limit: float) -> int:
    """The fewest equal plies that keep t/R within `limit`."""
    for count in range(1, MOST):
        if bend_of(blank, count, flip, wood).ratio <= limit:
            return count
    return MOST


def nearer_side(blank: Blank) -> bool:
    """Whether plies parallel to the blank's outer face lie to the side (True) or to the bottom: by which way that
    face looks more, abeam or down."""
    return bool(np.abs(blank.deep[:, 1]).mean() > np.abs(blank.deep[:, 2]).mean())
