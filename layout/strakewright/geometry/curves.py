"""Curves through points, in the flat or in space.

curve     a smooth line through given points, run along by the distance from point to point (chord length)
bend      curvature, 1/mm
thin      to drop points from a fine polyline while it stays within a tolerance of itself

Method: quintic interpolating splines (C. de Boor); thinning after D. Douglas and T. Peucker (1973).
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from strakewright.arrays import Floats, Ints
from strakewright.geometry.drawn import Drawn, fitted, interpolant
from strakewright.geometry.tensor import clamped_knots

TRUE, ROUGH = 1e-4, 0.02
NODES, WEIGHTS = np.polynomial.legendre.leggauss(8)


def arc_length(points: Floats) -> Floats:
    """Distance along each polyline from its first point.

    points : (..., n, d) float, any length unit;  returns (..., n), same unit, starting at 0

    >>> arc_length(np.array([[0.0, 0.0], [3.0, 4.0], [3.0, 10.0]])).tolist()
    [0.0, 5.0, 11.0]
    """
    steps = np.linalg.norm(np.diff(points, axis=-2), axis=-1)
    return np.concatenate([np.zeros((*steps.shape[:-1], 1)), np.cumsum(steps, axis=-1)], axis=-1)


def without_repeats(points: Floats, apart: float = 1e-6) -> Floats:
    """The polyline (n, d) without points nearer than `apart` mm to the one before; the last point stays."""
    keep = np.concatenate([[True], np.linalg.norm(np.diff(points, axis=0), axis=1) > apart])
    return np.concatenate([points[keep][:-1], points[-1:]]) if keep.sum() > 1 else points[:1]


def drawn_through(u: Floats, points: Floats) -> Drawn:
    """The quintic spline of fewest even spans that passes within `TRUE` mm of all points, at u : (n,) rising.

    Fine points carry small errors that an interpolating spline would turn into large bends: fewer spans do not.
    Points that are rougher than `ROUGH` even for the most spans they can carry are interpolated after all.
    """
    curve, miss = None, np.inf
    for spans in (4, 8, 16, 32, 64, 128):
        knots = clamped_knots(np.linspace(u[0], u[-1], spans + 1))
        if miss <= TRUE or 3 * len(knots) > len(u) or not _rests_on(knots, u):
            break
        curve = fitted(u, knots, points)
        miss = float(np.linalg.norm(curve(u) - points, axis=-1).max())
    return curve if curve is not None and miss <= ROUGH else interpolant(u, points)


def _rests_on(knots: Floats, u: Floats) -> bool:
    """Whether every span holds a point (more than I. Schoenberg and A. Whitney ask for)."""
    counts = np.histogram(u, bins=np.unique(knots))[0]
    return bool(counts.min() > 0)


@dataclass(frozen=True, eq=False)
class SplineCurve:
    """A smooth curve;  u runs from 0 to `end`, mm of chord length."""

    spline: Drawn
    end: float

    def at(self, u: Floats) -> Floats:
        """(..., d) points."""
        return np.asarray(self.spline(u))

    def derivative(self, u: Floats, order: int = 1) -> Floats:
        """(..., d) derivatives by u."""
        return np.asarray(self.spline(u, nu=order))

    def length(self) -> float:
        """Length along the curve, mm."""
        return float(self.lengths(self.spline.breaks)[-1])

    def lengths(self, u: Floats) -> Floats:
        """(n,) lengths along the curve from u[0] to each of (n,) rising u, by Gauss quadrature in between."""
        half = 0.5 * np.diff(u)[:, None]
        v = self.derivative(0.5 * (u[1:] + u[:-1])[:, None] + half * NODES)
        pieces = (np.linalg.norm(v, axis=-1) * half * WEIGHTS).sum(axis=1)
        return np.concatenate([[0.0], np.cumsum(pieces)])


def spline_curve(points: Floats) -> SplineCurve:
    """The smooth curve through (n, d) points, n >= 2; points on top of each other are dropped."""
    points = without_repeats(points)
    u = arc_length(points)
    return SplineCurve(interpolant(u, points), float(u[-1]))


def resample(points: Floats, step: float) -> Floats:
    """(m, d) points evenly spaced by true length, at most `step` mm apart, on the smooth curve through (n, d) points.

    >>> resample(np.array([[0.0, 0.0], [1.0, 0.0], [4.0, 0.0]]), 2.0)[:, 0].round(9).tolist()
    [0.0, 2.0, 4.0]
    """
    curve = spline_curve(points)
    fine = np.linspace(0.0, curve.end, 4 * max(16, len(points), int(curve.end / step)) + 1)
    along = curve.lengths(fine)
    wanted = np.linspace(0.0, along[-1], max(1, int(np.ceil(along[-1] / step - 1e-9))) + 1)
    return curve.at(interpolant(along, fine)(wanted))


def curvature(curve: SplineCurve, u: Floats) -> Floats:
    """(...) bend of a curve, 1/mm; signed (+ to the left) in the flat, positive in space."""
    first, second = curve.derivative(u), curve.derivative(u, 2)
    speed = np.linalg.norm(first, axis=-1)
    if first.shape[-1] == 2:
        turn = first[..., 0] * second[..., 1] - first[..., 1] * second[..., 0]
    else:
        turn = np.linalg.norm(np.cross(first, second), axis=-1)
    return np.asarray(turn / speed**3)


def thin(points: Floats, tolerance: float = 0.05, longest: float | None = None) -> Floats:
    """The polyline (n, d) with fewer points, all of them old ones, never further than `tolerance` from it.

    longest : longest segment wanted (mm); longer ones are split at old points, or evenly where there are none

    >>> thin(np.array([[0.0, 0.0], [1.0, 0.01], [2.0, 0.0], [2.0, 5.0]])).tolist()
    [[0.0, 0.0], [2.0, 0.0], [2.0, 5.0]]
    """
    keep = _kept(points, tolerance)
    if longest is None:
        return points[keep]
    pieces = [_split(points[a : b + 1], longest) for a, b in pairwise(keep)]
    return np.concatenate([*(piece[:-1] for piece in pieces), points[-1:]])


def _kept(points: Floats, tolerance: float) -> Ints:
    """Indices that stay: split each stretch at its furthest point until all are within tolerance."""
    keep, stretches = {0, len(points) - 1}, [(0, len(points) - 1)]
    while stretches:
        a, b = stretches.pop()
        if b - a < 2:
            continue
        away = _distance(points[a + 1 : b], points[a], points[b])
        far = int(np.argmax(away))
        if away[far] > tolerance:
            middle = a + 1 + far
            keep.add(middle)
            stretches += [(a, middle), (middle, b)]
    return np.array(sorted(keep), dtype=np.int64)


def _distance(points: Floats, a: Floats, b: Floats) -> Floats:
    """(n,) distances from the segment a-b."""
    along = b - a
    share = np.clip((points - a) @ along / max(float(along @ along), 1e-300), 0.0, 1.0)
    return np.asarray(np.linalg.norm(points - a - share[:, None] * along, axis=1))


def _split(piece: Floats, longest: float) -> Floats:
    """One straight stretch cut into even shares, at the old points nearest to them."""
    along = arc_length(piece)
    shares = int(np.ceil(along[-1] / longest - 1e-9))
    if shares < 2:
        return piece[[0, -1]]
    wanted = np.linspace(0.0, along[-1], shares + 1)
    picks = np.unique(np.abs(along[:, None] - wanted).argmin(axis=0))
    ends = piece[picks]
    if np.linalg.norm(np.diff(ends, axis=0), axis=1).max() <= longest:
        return np.asarray(ends)
    return np.stack([np.interp(wanted, along, column) for column in piece.T], axis=-1)
