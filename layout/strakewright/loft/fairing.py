"""Fair lines through rounded offsets, by probability and not by pushing points to a tolerance.

prior       a line's fourth derivative is white noise of unknown strength (integrated Wiener process of order 4:
            G. Wahba 1978, Improper priors, spline smoothing): a batten held by springs at the cells, whose bend is
            itself as fair as may be; straight lines, parabolas and cubics come free
noise       of a cell: its rounding, step / sqrt(12), or more where the row is clearly rougher than its rounding
strength    of the prior and of the noise by restricted likelihood (H. Patterson, R. Thompson 1971), on contrasts
            that know nothing of the free cubic
faired      the middle of what the line may be, given the cells; a quintic then runs through the faired points
locked      cells the line must pass through as tabled
mean shift  the likelihood of a row with one cell set free, over that with none (R. Cook, S. Weisberg 1982)
"""

from __future__ import annotations

from dataclasses import dataclass
from math import comb, factorial

import numpy as np

from strakewright.arrays import Bools, Floats
from strakewright.geometry.drawn import interpolant

FREE = 4  # coefficients of the cubic that the prior leaves free
EXACT = 0.02  # mm: rows written finer than this are taken as they stand
FINEST = 1e-3  # mm, noise of a locked cell
ROUGHEST = 4.0  # noise may be this many times the variance of rounding, no more: else a slip would pass for noise
ALIKE = 4.0  # spread of log10 strength from row to row of one boat: wide enough for no sound end to be doubted (bench)
_LOGS = np.linspace(-6.0, 14.0, 81)
_STRENGTHS = 10.0**_LOGS  # of the prior over the noise, on a line of length 1


@dataclass(frozen=True, eq=False)
class _Contrasts:
    """A row seen free of its cubic.  basis : (n, m), weights (m,) of the prior's parts, seen (m,) the data"""

    basis: Floats
    weights: Floats
    seen: Floats
    noise: Floats


def wiener(s: Floats, t: Floats, order: int = FREE) -> Floats:
    """(len(s), len(t)) covariance of a white noise integrated `order` times that starts at 0.

    >>> round(1 / wiener(np.array([1.0]), np.array([1.0])).item())
    252
    """
    low, gap, top = np.minimum(s[:, None], t[None]), np.abs(s[:, None] - t[None]), 2 * order - 1
    parts = [comb(order - 1, j) * gap**j * low ** (top - j) / (top - j) for j in range(order)]
    return np.asarray(sum(parts) / factorial(order - 1) ** 2)


def _contrasts(along: Floats, values: Floats, noise: Floats, length: float | None = None) -> _Contrasts:
    u = (along - along[0]) / (length or along[-1] - along[0])
    cubic = np.stack([u**k for k in range(FREE)], axis=1) / noise[:, None]
    full, _ = np.linalg.qr(cubic, mode="complete")
    free = full[:, FREE:]
    prior = free.T @ (wiener(u, u) / np.outer(noise, noise)) @ free
    weights, turn = np.linalg.eigh(prior)
    basis = free @ turn
    return _Contrasts(basis, np.maximum(weights, 0.0), basis.T @ (values / noise), noise)


def _scale(quad: Floats, count: int, roughest: float) -> Floats:
    """Noise variance over that of rounding: most likely, but not below 1 nor above `roughest`."""
    return np.asarray(np.clip(quad / count, 1.0, roughest))


def _likelihood(spread: Floats, quad: Floats, count: int, roughest: float) -> Floats:
    """(k,) log likelihoods.  spread : (k,) sum of log weights, quad (k,) weighted squares"""
    scale = _scale(quad, count, roughest)
    return np.asarray(-0.5 * (spread + count * np.log(scale) + quad / scale))


def faired(along: Floats, values: Floats, step: float, locked: Bools | None = None) -> Floats:
    """(n,) where the fair line passes.  along, values : (n,) mm, along rising;  step : mm of rounding

    Rows of fewer than six cells are left as they are: four of them would be the cubic's.
    """
    if len(along) < FREE + 2 or step <= EXACT:
        return values.copy()
    noise = np.full(len(along), step / np.sqrt(12.0))
    if locked is not None:
        noise[locked] = FINEST
    c = _contrasts(along, values, noise)
    loads = _STRENGTHS[:, None] * c.weights + 1.0
    quad = (c.seen**2 / loads).sum(axis=1)
    best = int(np.argmax(_likelihood(np.log(loads).sum(axis=1), quad, len(c.seen), ROUGHEST)))
    left = noise * (c.basis @ (c.seen / loads[best]))
    out = values - left
    if locked is not None:
        out[locked] = values[locked]
    return np.asarray(out)


@dataclass(frozen=True, eq=False)
class ShiftProfile:
    """Log likelihoods of a row over all strengths of the prior: as it stands (k,), and with each cell free (k, n).

    off : (k, n) mm, written less suggested;  fairest : log10 of the likeliest strength as the row stands
    """

    whole: Floats
    free: Floats
    off: Floats
    fairest: float


def shift_profile(along: Floats, values: Floats, step: float, length: float) -> ShiftProfile:
    """A row tested for slips.  along, values : (n,) mm, n >= 6;  length : mm of the table, common to its rows"""
    noise = np.full(len(along), max(step, EXACT) / np.sqrt(12.0))
    c = _contrasts(along, values, noise, length)
    loads = _STRENGTHS[:, None] * c.weights + 1.0  # (k, m)
    spread, quad = np.log(loads).sum(axis=1), (c.seen**2 / loads).sum(axis=1)
    whole = _likelihood(spread, quad, len(c.seen), 1.0)
    each = c.basis / noise[:, None]  # (n, m): what a millimetre on a cell shows
    top = (c.seen / loads) @ each.T
    below = (1.0 / loads) @ (each**2).T
    free = _likelihood(spread[:, None], quad[:, None] - top**2 / below, len(c.seen), 1.0)
    return ShiftProfile(whole, free, top / below, float(_LOGS[int(np.argmax(whole))]))


def mean_shifts(profile: ShiftProfile, fairness: float | None) -> tuple[Floats, Floats]:
    """(n,) twice the log likelihood gained by setting each cell free, and (n,) mm it is then off.

    fairness : log10 strength of the table's other rows, which a row of the same boat will be near; None = unknown
    """
    usual = np.zeros(len(_LOGS)) if fairness is None else -0.5 * ((_LOGS - fairness) / ALIKE) ** 2
    free, cells = profile.free + usual[:, None], np.arange(profile.free.shape[1])
    best = np.argmax(free, axis=0)
    return 2.0 * (free[best, cells] - (profile.whole + usual).max()), profile.off[best, cells]


def bends(along: Floats, values: Floats, at: Floats) -> Floats:
    """(k,) curvature, 1/mm, of the quintic through a row, seen in its own view."""
    spline = interpolant(along, values)
    slope, second = spline(at, nu=1), spline(at, nu=2)
    return np.asarray(second / (1.0 + slope**2) ** 1.5)


def inflections(along: Floats, values: Floats, least: float) -> list[float]:
    """Places where a row's curve turns from hollow to full, where the bend on both sides passes `least` (1/mm)."""
    at = np.linspace(along[0], along[-1], 401)
    bend = bends(along, values, at)
    big = np.flatnonzero(np.abs(bend) > least)
    turns = [k for k in range(len(big) - 1) if bend[big[k]] * bend[big[k + 1]] < 0]
    return [float(0.5 * (at[big[k]] + at[big[k + 1]])) for k in turns]
