"""Smooth lines through points, kept as pieces: what a spline of one coordinate is asked and answers.

drawn     a line known piece by piece, each a polynomial in its own coordinate from -1 to 1; past its ends the first and
          the last piece run on
span      the stretch that a piece covers

Method: quintic interpolating splines with the second and third place from either end no knots (C. de Boor, A Practical
Guide to Splines); see `quicklines`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.interpolate import BSpline, make_interp_spline

from strakewright.arrays import Floats, Ints
from strakewright.geometry import quicklines
from strakewright.geometry.quick import ORDER

DEGREE = ORDER - 1


@dataclass(frozen=True, eq=False)
class Drawn:
    """A smooth line, called with u (and nu for derivatives).

    breaks : (m + 1,) where its pieces begin and end;  spans : (m, 3) where each begins (the first anywhere), the origin
    of its own coordinate, one over its scale;  pieces : (m, powers, k);  shape : of one value
    """

    breaks: Floats
    spans: Floats
    pieces: Floats
    shape: tuple[int, ...]

    def __call__(self, u: Floats | float, nu: int = 0) -> Floats:
        """(..., *shape) values or derivatives at (...) places."""
        flat = np.array(u, dtype=np.float64).reshape(-1)
        out = np.empty((len(flat), self.pieces.shape[2]))
        quicklines.values(self.spans, self.pieces, flat, nu, out)
        return out.reshape((*np.shape(u), *self.shape))

    def antiderivative(self) -> Drawn:
        """The integral from the first break on."""
        count = self.pieces.shape[1]
        rising = self.pieces / (self.spans[:, 2, None] * np.arange(1.0, count + 1.0))[..., None]
        ends = rising.sum(axis=1)
        begins = -(rising[:, ::2].sum(axis=1) - rising[:, 1::2].sum(axis=1))
        steps = np.cumsum(ends - begins, axis=0)
        constant = np.concatenate([np.zeros_like(steps[:1]), steps[:-1]]) - begins
        return replace(self, pieces=np.concatenate([constant[:, None], rising], axis=1))


def spans_of(breaks: Floats) -> Floats:
    """(m, 3) spans between (m + 1,) breaks: where each begins, its middle, one over half its length."""
    left, right = breaks[:-1], breaks[1:]
    begins = np.append(-np.inf, left[1:])
    return np.stack([begins, 0.5 * (left + right), 2.0 / (right - left)], axis=-1)


def knots_through(u: Floats) -> Floats:
    """(n + 6,) knots of the quintic spline through (n,) rising places, n >= 6."""
    return np.concatenate([np.full(ORDER, u[0]), u[3:-3], np.full(ORDER, u[-1])])


def coefs_through(u: Floats, knots: Floats, values: Floats) -> Floats:
    """(n, ...) coefficients of the quintic spline on (n + 6,) knots through values (n, ...)."""
    coefs = np.array(values, dtype=np.float64, order="C").reshape(len(u), -1)
    quicklines.through(np.array(u, dtype=np.float64), knots, coefs)
    return coefs.reshape(values.shape)


def fitted(u: Floats, knots: Floats, points: Floats) -> Drawn:
    """The quintic spline on a knot vector that passes nearest to points (n, ...), by least squares.

    u : (n,) rising; every span must hold one"""
    coefs = np.empty((len(knots) - ORDER, max(1, int(np.prod(points.shape[1:])))))
    quicklines.fitted(np.array(u), knots, np.array(points, order="C").reshape(len(u), -1), coefs)
    return on_knots(knots, coefs.reshape((len(coefs), *points.shape[1:])))


def on_knots(knots: Floats, coefs: Floats) -> Drawn:
    """The quintic spline of coefficients (n, ...) on a knot vector with ends repeated six times."""
    first = (np.flatnonzero(np.diff(knots) > 0.0) - DEGREE).astype(np.int64)
    breaks = np.append(knots[first + DEGREE], knots[-1])
    spans = spans_of(breaks)
    flat = np.array(coefs, dtype=np.float64, order="C").reshape(len(coefs), -1)
    pieces = np.empty((len(first), ORDER, flat.shape[1]))
    quicklines.pieced(basis_powers(knots, first, spans), first, flat, pieces)
    return Drawn(breaks, spans, pieces, coefs.shape[1:])


def basis_powers(knots: Floats, first: Ints, spans: Floats) -> Floats:
    """(m, 6, 6) power coefficients [power, basis function] in each span.  first : (m,) first one alive there"""
    found = np.empty((len(first), ORDER, ORDER))
    quicklines.powers(np.array(knots), first, spans, found)
    return found


def interpolant(u: Floats, values: Floats) -> Drawn:
    """Interpolating line, quintic, or of the highest odd degree few points allow; u : (n,) rising.

    Raises ValueError where u does not rise or a number is not finite."""
    if not ((np.diff(u) > 0.0).all() and np.isfinite(values).all()):
        raise ValueError("a line is drawn through places that do not rise, or through what is no number")
    if len(u) >= ORDER:
        knots = knots_through(np.asarray(u, dtype=np.float64))
        return on_knots(knots, coefs_through(u, knots, values))
    return _few(make_interp_spline(u, values, k={2: 1, 3: 2}.get(len(u), 3)))


def _few(spline: BSpline) -> Drawn:
    """A spline of low degree by its Taylor series in the middle of each span."""
    breaks = np.unique(spline.t)
    spans = spans_of(breaks)
    rows, scale = [], np.ones(len(spans))
    for k in range(spline.k + 1):
        value = np.asarray(spline(spans[:, 1], nu=k)).reshape(len(spans), -1)
        rows.append(value * scale[:, None])
        scale = scale / spans[:, 2] / (k + 1.0)
    return Drawn(breaks, spans, np.stack(rows, axis=1), spline.c.shape[1:])
