"""Splines of one coordinate, compiled: laid through points, turned into powers, asked.

fitted    quintic spline that passes nearest to many points: normal equations, solved twice
through   quintic spline through points: banded equations without exchanges of rows, which B-splines do not need
pieced    its power coefficients in each span's own coordinate in [-1, 1], by C. de Boor's recursion
celled    the same of a tensor spline, cell by cell
values    points or derivatives of pieces at many places

Plain loops over arrays that are handed in.  Method: C. de Boor, A Practical Guide to Splines.
"""

from __future__ import annotations

import numpy as np

from strakewright.geometry.quick import ORDER, WIDE, Array, called, inner, span_at

DEGREE = ORDER - 1


@inner
def basis_at(knots: Array, left: int, x: float, out: Array) -> None:
    """(6,) values at x of the basis functions alive between knots[left] and the next."""
    out[0] = 1.0
    for degree in range(1, ORDER):
        saved = 0.0
        for k in range(degree):
            low, high = knots[left + 1 + k - degree], knots[left + 1 + k]
            share = out[k] / (high - low)
            out[k] = saved + (high - x) * share
            saved = (x - low) * share
        out[degree] = saved


@inner
def emptied(rows: Array) -> None:
    """All noughts."""
    for i in range(rows.shape[0]):
        for c in range(rows.shape[1]):
            rows[i, c] = 0.0


@inner
def eliminated(band: Array, right: Array) -> None:
    """Turn the right-hand side (n, k) into the answer.  band : (n, 11) rows of the matrix, diagonal in the middle"""
    n, wide = right.shape
    for row in range(n):
        for below in range(row + 1, min(row + ORDER, n)):
            share = band[below, DEGREE - below + row] / band[row, DEGREE]
            if share != 0.0:
                for k in range(1, ORDER):
                    band[below, DEGREE - below + row + k] -= share * band[row, DEGREE + k]
                for c in range(wide):
                    right[below, c] -= share * right[row, c]
    for row in range(n - 1, -1, -1):
        for k in range(1, min(ORDER, n - row)):
            for c in range(wide):
                right[row, c] -= band[row, DEGREE + k] * right[row + k, c]
        for c in range(wide):
            right[row, c] /= band[row, DEGREE]


@called
def through(u: Array, knots: Array, values: Array) -> None:
    """Turn values (n, k) at (n,) rising places into the coefficients of the quintic spline on (n + 6,) knots."""
    n = len(u)
    band, alive = np.empty((n, 2 * DEGREE + 1)), np.empty(ORDER)
    emptied(band)
    left = DEGREE
    for row in range(n):
        while left < n - 1 and u[row] >= knots[left + 1]:
            left += 1
        basis_at(knots, left, u[row], alive)
        for k in range(ORDER):
            band[row, left - row + k] = alive[k]
    eliminated(band, values)


@called
def fitted(u: Array, knots: Array, values: Array, out: Array) -> None:
    """Fill (m, k) with the coefficients of the quintic spline on (m + 6,) knots that passes nearest to values (n, k) at
    (n,) rising places, by least squares.

    Every span holds a place.  What the equations leave is fitted once more: their rounding would else be felt.
    """
    n, m, wide = len(u), len(out), values.shape[1]
    alive, first = np.empty((n, ORDER)), np.empty(n, np.int64)
    left = DEGREE
    for row in range(n):
        while left < m - 1 and u[row] >= knots[left + 1]:
            left += 1
        first[row] = left - DEGREE
        basis_at(knots, left, u[row], alive[row])
    emptied(out)
    rest, band, right = np.empty(wide), np.empty((m, 2 * DEGREE + 1)), np.empty((m, wide))
    for _ in range(2):
        emptied(band)
        emptied(right)
        for row in range(n):
            at = first[row]
            for c in range(wide):
                rest[c] = values[row, c]
                for k in range(ORDER):
                    rest[c] -= alive[row, k] * out[at + k, c]
            for i in range(ORDER):
                for j in range(ORDER):
                    band[at + i, DEGREE + j - i] += alive[row, i] * alive[row, j]
                for c in range(wide):
                    right[at + i, c] += alive[row, i] * rest[c]
        eliminated(band, right)
        for i in range(m):
            for c in range(wide):
                out[i, c] += right[i, c]


@inner
def powers_of(knots: Array, left: int, middle: float, half: float, room: Array) -> None:
    """Into room[1]: (6, 6) power coefficients [power, basis function] of the span that begins at knots[left]."""
    old, new = room[0], room[1]
    new[0, 0] = 1.0
    for degree in range(1, ORDER):
        for i in range(degree):
            for j in range(degree):
                old[i, j] = new[i, j]
        for i in range(degree + 1):
            for j in range(degree + 1):
                new[i, j] = 0.0
        for j in range(degree):
            low, high = knots[left + j - degree + 1], knots[left + j + 1]
            for i in range(degree):
                scale = old[i, j] / (high - low)
                new[i, j + 1] += scale * (middle - low)
                new[i, j] += scale * (high - middle)
                new[i + 1, j + 1] += scale * half
                new[i + 1, j] -= scale * half


@called
def powers(knots: Array, first: Array, spans: Array, out: Array) -> None:
    """Fill (m, 6, 6) with the power coefficients of the basis functions, those from first[i] on alive in span i.

    spans : (m, 3) where each begins, the origin of its own coordinate, one over its scale
    """
    room = np.empty((2, ORDER, ORDER))
    for i in range(len(first)):
        powers_of(knots, first[i] + DEGREE, spans[i, 1], 1.0 / spans[i, 2], room)
        for k in range(ORDER):
            for j in range(ORDER):
                out[i, k, j] = room[1, k, j]


@called
def pieced(weights: Array, first: Array, coefs: Array, out: Array) -> None:
    """Fill (m, 6, k) with the power coefficients of a spline.  weights : (m, 6, 6) of its basis;  coefs : (n, k)"""
    for i in range(len(first)):
        for k in range(ORDER):
            for c in range(coefs.shape[1]):
                out[i, k, c] = 0.0
            for j in range(ORDER):
                weight, at = weights[i, k, j], first[i] + j
                for c in range(coefs.shape[1]):
                    out[i, k, c] += weight * coefs[at, c]


@called
def celled(weights: Array, first: Array, rows: Array, out: Array) -> None:
    """Fill (spans of p, spans of q, 6, 18) with the powers of a tensor spline of three figures.

    weights : (spans of q, 6, 6) of the basis of q;  first : its first one alive;  rows : (spans of p, 6, nq, 3) powers
    of p of each column of coefficients
    """
    for i in range(rows.shape[0]):
        for j in range(len(first)):
            for k in range(ORDER):
                for m in range(WIDE):
                    out[i, j, k, m] = 0.0
                for b in range(ORDER):
                    x, y, z = rows[i, k, first[j] + b, 0], rows[i, k, first[j] + b, 1], rows[i, k, first[j] + b, 2]
                    for m in range(ORDER):
                        weight = weights[j, m, b]
                        out[i, j, k, 3 * m] += weight * x
                        out[i, j, k, 3 * m + 1] += weight * y
                        out[i, j, k, 3 * m + 2] += weight * z


@called
def values(spans: Array, pieces: Array, u: Array, order: int, out: Array) -> None:
    """Fill (n, k) with the derivatives of that order at (n,) places.  pieces : (m, powers, k);  spans : see `powers`"""
    count, wide = pieces.shape[1], pieces.shape[2]
    for n in range(len(u)):
        at = span_at(spans, u[n])
        x = (u[n] - spans[at, 1]) * spans[at, 2]
        power = spans[at, 2] ** order
        for c in range(wide):
            out[n, c] = 0.0
        for k in range(order, count):
            weight = power
            for d in range(order):
                weight *= k - d
            for c in range(wide):
                out[n, c] += weight * pieces[at, k, c]
            power *= x
