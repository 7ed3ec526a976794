"""Smooth functions of two coordinates, fast for many points at once.

tensor spline   quintic piecewise polynomial on a grid of spans, four times smoothly joined; a patch is one with
                values in space, a fan one with values in a chart
span            the stretch between two neighbouring knots;  cell: span of p times span of q
jet             value and derivatives at a point, up to an order

Past its box every function continues by its second-order Taylor series from the nearest border: the spans beyond the
ends are ordinary spans that hold that series, so jets stay consistent there and nothing turns into NaN.

Method: the B-spline coefficients of every cell are turned once into powers of local coordinates in [-1, 1]
(derived: power coefficients = scaled derivatives of the basis at mid-span, C. de Boor, A Practical Guide to Splines).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from scipy.interpolate import BSpline

from strakewright.arrays import Floats, Ints, frozen_array
from strakewright.geometry import quick, quicklines
from strakewright.geometry.drawn import DEGREE, basis_powers, coefs_through, knots_through
from strakewright.geometry.quick import ORDER


def clamped_knots(breaks: Floats) -> Floats:
    """Quintic knot vector with the given (m + 1,) breaks, ends repeated six times."""
    return np.concatenate([np.repeat(breaks[0], DEGREE), breaks, np.repeat(breaks[-1], DEGREE)])


def greville(knots: Floats) -> Floats:
    """(n,) natural interpolation points of a quintic knot vector: means of five neighbouring knots."""
    n = len(knots) - ORDER
    means = np.array([knots[i + 1 : i + ORDER].mean() for i in range(n)])
    return np.asarray(np.clip(means, knots[0], knots[-1]))  # the mean of equal ends may round past them


def basis(knots: Floats, x: Floats, order: int = 0) -> Floats:
    """(len(x), n) values (or derivatives) of all quintic basis functions; dense, for short x only."""
    return np.asarray(BSpline(knots, np.eye(len(knots) - ORDER), DEGREE)(x, nu=order), dtype=np.float64)


@dataclass(frozen=True, eq=False)
class Axis:
    """The spans of one coordinate, with one Taylor span added beyond either end.

    spans : (m + 2, 3) where each begins, the origin of its own coordinate, and one over its scale;  first : (m + 2,)
    first basis function alive there;  powers : (m + 2, 6, 6) power coefficients [power, basis function]
    """

    spans: Floats
    first: Ints
    powers: Floats


def axis_of(knots: Floats) -> Axis:
    """The spans of a clamped quintic knot vector."""
    rising = np.flatnonzero(np.diff(knots) > 0.0)
    left, right = knots[rising], knots[rising + 1]
    half = 0.5 * (right - left)
    mids = np.concatenate([left[:1], 0.5 * (left + right), right[-1:]])
    halves = np.concatenate([half[:1], half, half[-1:]])
    first = np.concatenate([rising[:1], rising, rising[-1:]]) - DEGREE
    breaks, first = np.append(left, right[-1]), first.astype(np.int64)
    spans = np.stack([np.append(-np.inf, breaks), mids, 1.0 / halves], axis=-1)
    powers = basis_powers(knots, first, spans)
    powers[[0, -1], 3:] = 0.0
    return Axis(spans, first, powers)


@dataclass(frozen=True, eq=False)
class TensorSpline:
    """knots_p, knots_q : clamped quintic knot vectors;  coefs : (np, nq, k) B-spline coefficients, k at most 3."""

    knots_p: Floats
    knots_q: Floats
    coefs: Floats

    def __post_init__(self) -> None:
        object.__setattr__(self, "knots_p", frozen_array(self.knots_p, (None,), "knots_p"))
        object.__setattr__(self, "knots_q", frozen_array(self.knots_q, (None,), "knots_q"))
        shape = (len(self.knots_p) - ORDER, len(self.knots_q) - ORDER, None)
        object.__setattr__(self, "coefs", frozen_array(self.coefs, shape, "coefs"))

    def __reduce__(self) -> tuple[Any, ...]:
        return type(self), (self.knots_p, self.knots_q, self.coefs)

    @property
    def box(self) -> tuple[float, float, float, float]:
        """(p0, p1, q0, q1)."""
        return (
            float(self.knots_p[0]),
            float(self.knots_p[-1]),
            float(self.knots_q[0]),
            float(self.knots_q[-1]),
        )

    @cached_property
    def axes(self) -> tuple[Axis, Axis]:
        """Spans of p and of q."""
        return axis_of(self.knots_p), axis_of(self.knots_q)

    @cached_property
    def cells(self) -> Floats:
        """(cells of p, cells of q, 6, 18) power coefficients [p power, q power and component, three in any case]."""
        p, q = self.axes
        coefs = np.pad(self.coefs, ((0, 0), (0, 0), (0, 3 - self.coefs.shape[2])))
        rows = np.empty((len(p.first), ORDER, coefs.shape[1] * 3))
        quicklines.pieced(p.powers, p.first, coefs.reshape(len(coefs), -1), rows)
        cells = np.empty((len(p.first), len(q.first), ORDER, 3 * ORDER))
        quicklines.celled(q.powers, q.first, rows.reshape(len(p.first), ORDER, -1, 3), cells)
        return cells

    @cached_property
    def tables(self) -> quick.Tables:
        """The spline as compiled functions want it."""
        return quick.Tables(self.cells, *(axis.spans for axis in self.axes))

    def jets(self, pq: Floats, order: int) -> Floats:
        """(..., order + 1, order + 1, k) all mixed derivatives [d of p, d of q].  pq : (..., 2)."""
        flat = np.array(pq, dtype=np.float64, order="C").reshape(-1, 2)
        out = np.empty((len(flat), order + 1, order + 1, 3))
        quick.jets(self.tables, flat, out)
        return out.reshape(*np.shape(pq)[:-1], order + 1, order + 1, 3)[..., : self.coefs.shape[2]]

    def at(self, pq: Floats) -> Floats:
        """(..., k) values at (..., 2) coordinates."""
        return self.jets(pq, 0)[..., 0, 0, :]

    def jet1(self, pq: Floats) -> tuple[Floats, Floats, Floats]:
        """Value and first derivatives (r, r_p, r_q), each (..., k)."""
        jets = self.jets(pq, 1)
        return jets[..., 0, 0, :], jets[..., 1, 0, :], jets[..., 0, 1, :]

    def jet2(self, pq: Floats) -> tuple[Floats, Floats, Floats, Floats, Floats, Floats]:
        """Value, first and second derivatives (r, r_p, r_q, r_pp, r_pq, r_qq), each (..., k)."""
        jets = self.jets(pq, 2)
        order = ((0, 0), (1, 0), (0, 1), (2, 0), (1, 1), (0, 2))
        r, r_p, r_q, r_pp, r_pq, r_qq = (jets[..., i, j, :] for i, j in order)
        return r, r_p, r_q, r_pp, r_pq, r_qq


def through_grid(p: Floats, q: Floats, values: Floats) -> TensorSpline:
    """The quintic tensor spline through a full grid.  p : (n,), q : (m,), both >= 6; values : (n, m, k)."""
    knots = knots_through(p), knots_through(q)
    down = coefs_through(p, knots[0], values)
    both = coefs_through(q, knots[1], np.swapaxes(down, 0, 1))
    return TensorSpline(*knots, np.swapaxes(both, 0, 1))


def through_greville(knots_p: Floats, knots_q: Floats, values: Floats) -> Floats:
    """(np, nq, k) coefficients of the spline on given knots through values at its Greville grid."""
    down = coefs_through(greville(knots_p), np.array(knots_p), values)
    both = coefs_through(greville(knots_q), np.array(knots_q), np.swapaxes(down, 0, 1))
    return np.ascontiguousarray(np.swapaxes(both, 0, 1))
