"""What it costs a tensor spline to bend: the third-derivative energy that holds a fitted patch where points are few.

energy    integral of the squared third derivatives, a form of the coefficients; nought for every quadratic
span      stretch between two knots

Method: the energy of a product of two splines is a sum of products of one-way integrals (derived), these by
Gauss-Legendre rules that are exact for them.
"""

from __future__ import annotations

import numpy as np
from scipy import sparse

from strakewright.arrays import Floats
from strakewright.geometry.drawn import DEGREE
from strakewright.geometry.quick import ORDER
from strakewright.geometry.tensor import basis

SPECK = 1e-4


def span(knots: Floats) -> float:
    """Length of a usual span, mm."""
    return float(np.median(np.diff(np.unique(knots))))


def energy(knots: tuple[Floats, Floats], flip: bool) -> sparse.csr_array:
    """(n, n) third-derivative energy over the whole box, lengths in spans, with a speck of second-derivative energy
    (it settles what points in one or two rows leave open).

    knots : along and across;  flip : across is the slow index
    """
    size = float(np.sqrt(span(knots[0]) * span(knots[1])))
    a, b = (np.array([_diagonals(g) for g in _grams(k, size)]) for k in (knots[::-1] if flip else knots))
    orders = [(w, 3 - i, i) for i, w in enumerate((1.0, 3.0, 3.0, 1.0))]
    orders += [(SPECK * w, 2 - i, i) for i, w in enumerate((1.0, 2.0, 1.0))]
    weights, of_a, of_b = (np.array(column) for column in zip(*orders, strict=True))
    return _products(weights[:, None, None] * a[of_a], b[of_b])


def _diagonals(matrix: Floats) -> Floats:
    """(n, 11) the entries of a banded matrix (n, n) next to its diagonal; nought beyond its ends."""
    wide = np.pad(matrix, ((0, 0), (DEGREE, DEGREE)))
    return np.asarray(
        wide[np.arange(len(matrix))[:, None], np.arange(len(matrix))[:, None] + np.arange(2 * DEGREE + 1)]
    )


def _products(a: Floats, b: Floats) -> sparse.csr_array:
    """The sum of the Kronecker products of banded matrices, each given by its diagonals: a (k, n, 11), b (k, m, 11)."""
    n, m, wide = a.shape[1], b.shape[1], a.shape[2]
    values = np.tensordot(a, b, axes=(0, 0)).transpose(0, 2, 1, 3)  # (n, m, 11, 11)
    rows, columns = (np.arange(size)[:, None] + np.arange(wide) - DEGREE for size in (n, m))
    inside = [(at >= 0) & (at < size) for at, size in ((rows, n), (columns, m))]
    keep = inside[0][:, None, :, None] & inside[1][None, :, None, :]
    at = rows[:, None, :, None] * m + columns[None, :, None, :]
    starts = np.concatenate([[0], np.cumsum(keep.sum(axis=(2, 3)).ravel())])
    return sparse.csr_array((values[keep], at[keep], starts), shape=(n * m, n * m))


def _grams(knots: Floats, size: float) -> list[Floats]:
    """(n, n) integrals of products of k-th derivatives, k = 0..3, lengths measured in `size`."""
    breaks = np.unique(knots)
    nodes, weights = np.polynomial.legendre.leggauss(ORDER)
    half = 0.5 * np.diff(breaks)
    x = (0.5 * (breaks[1:] + breaks[:-1])[:, None] + half[:, None] * nodes).ravel()
    root = np.sqrt((half[:, None] * weights).ravel() / size)
    rows = [basis(knots, x, k) * root[:, None] * size**k for k in range(4)]
    return [r.T @ r for r in rows]
