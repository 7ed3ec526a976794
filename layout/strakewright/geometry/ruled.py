"""Panels of straight lines between two edges: rulings that bend from a sheet, or straight sections.

edge        a curve in space, u = mm of chord length along it, that runs on past both its ends
ruling      a straight line of the surface, from the lower edge to the upper
developable the tangent plane is the same all along each ruling, so the panel bends from a flat sheet
warp        angle between the tangent planes at the two ends of a ruling; 0 when developable
fan         rulings that all meet in one point of an edge: a piece of a cone
regression  where neighbouring rulings meet inside the panel: no sheet can lie there

Method: a best path through a grid of candidate rulings (R. Bellman's dynamic programming; cost: squared sine between
the tangent planes), then Newton on det(P', Q', Q - P) = 0 across the path, clipped at the ends of the edges.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from strakewright.arrays import Bools, Floats, Ints
from strakewright.errors import UnworkableError
from strakewright.geometry.drawn import Drawn

GRID = 300
STEPS = ((1, 0), (0, 1), (1, 1), (1, 2), (2, 1), (1, 3), (3, 1))
OWN = 0.35  # of the last span: so far the edge's own polynomial runs on
FADE = 250.0  # mm over which its bend then fades to nothing: a hollow or full end does not curl round
WARPED = np.radians(4.0)  # a ruling still warped so much after Newton lies on no sheet (common practice, no source)
FANNED = np.radians(8.0)  # the same in a fan at an end (common practice, no source)
EASY = 3e-7  # of the cost: where the panel is all but flat any ruling will do, and the least slanted one is taken
TRAVEL = 3.0  # grid cells that Newton may carry a ruling
_DOT = 1e-9


@dataclass(frozen=True, eq=False)
class Edge:
    """spline : in space over [first, last], mm;  before, after : mm it may run on past its ends"""

    spline: Drawn
    first: float
    last: float
    before: float = 0.0
    after: float = 0.0

    def jet(self, u: Floats) -> tuple[Floats, Floats, Floats]:
        """Point, first and second derivative, each (..., 3)."""
        low, high = self._own()
        held = np.clip(u, low, high)
        r, v, a = (np.asarray(self.spline(held, nu=k)) for k in (0, 1, 2))
        past = np.asarray(u - held)[..., None]
        left = np.maximum(1.0 - np.abs(past) / FADE, 0.0)
        turn = np.sign(past) * FADE / 4 * (1.0 - left**4)
        sag = FADE / 4 * (np.abs(past) - FADE / 5 * (1.0 - left**5))
        return r + past * v + sag * a, v + turn * a, left**3 * a

    def at(self, u: Floats) -> Floats:
        """(..., 3) points."""
        return self.jet(u)[0]

    def _own(self) -> tuple[float, float]:
        """The stretch over which the edge's own polynomial holds; beyond it a fading bend runs on."""
        breaks = self.spline.breaks
        low, high = OWN * (breaks[1] - breaks[0]), OWN * (breaks[-1] - breaks[-2])
        return max(self.first - self.before, breaks[0] - low), min(self.last + self.after, breaks[-1] + high)

    def spread(self, count: int) -> Floats:
        """(count,) places over the edge with its run-on, even in u."""
        return np.linspace(self.first - self.before, self.last + self.after, count)


@dataclass(frozen=True, eq=False)
class Rulings:
    """low, high : (n,) places on the lower and the upper edge;  feet, heads : (n, 3) their points;  warp : (n,) rad"""

    low: Floats
    high: Floats
    feet: Floats
    heads: Floats
    warp: Floats

    def grid(self, across: int) -> Floats:
        """(n, across, 3) points, feet to heads."""
        share = np.linspace(0.0, 1.0, across)[None, :, None]
        return (1.0 - share) * self.feet[:, None] + share * self.heads[:, None]

    def some(self, keep: Ints) -> Rulings:
        """Those of the given numbers."""
        return Rulings(self.low[keep], self.high[keep], self.feet[keep], self.heads[keep], self.warp[keep])


def rulings_at(lower: Edge, upper: Edge, low: Floats, high: Floats) -> Rulings:
    """Rulings between given places.  low, high : (n,)"""
    feet, foot_way, _ = lower.jet(low)
    heads, head_way, _ = upper.jet(high)
    return Rulings(low, high, feet, heads, _warp(foot_way, head_way, heads - feet)[0])


def _warp(foot_way: Floats, head_way: Floats, ruling: Floats) -> tuple[Floats, Floats]:
    """(...) angle between the tangent planes, and their normals' scalar product, both 0 where there is no ruling."""
    one, two = np.cross(foot_way, ruling), np.cross(head_way, ruling)
    size = np.linalg.norm(one, axis=-1) * np.linalg.norm(two, axis=-1)
    sine = np.linalg.norm(np.cross(one, two), axis=-1) / np.maximum(size, 1e-300)
    cosine = (one * two).sum(axis=-1) / np.maximum(size, 1e-300)
    none = np.linalg.norm(ruling, axis=-1) < _DOT
    return np.where(none, 0.0, np.arctan2(sine, cosine)), np.where(none, 1.0, cosine)


def straight_sections(lower: Edge, upper: Edge, count: int) -> Rulings:
    """Rulings that lie across the boat: both ends at the same x, over the stretch of x that both edges have."""
    fine_low, fine_high = lower.spread(2001), upper.spread(2001)
    x_low, x_high = lower.at(fine_low)[:, 0], upper.at(fine_high)[:, 0]
    x = np.linspace(max(x_low.min(), x_high.min()), min(x_low.max(), x_high.max()), count)
    return rulings_at(lower, upper, at_x(lower, x, (fine_low, x_low)), at_x(upper, x, (fine_high, x_high)))


def at_x(edge: Edge, x: Floats, table: tuple[Floats, Floats] | None = None) -> Floats:
    """(n,) places of an edge where it passes x, by Newton; x : (n,) within what the edge has"""
    fine, fine_x = table or (edge.spread(2001), edge.at(edge.spread(2001))[:, 0])
    order = np.argsort(fine_x)
    u = np.interp(x, fine_x[order], fine[order])
    low, high = fine[0], fine[-1]
    for _ in range(6):
        r, v, _ = edge.jet(u)
        u = np.clip(u - (r[:, 0] - x) / np.where(np.abs(v[:, 0]) < 1e-6, np.inf, v[:, 0]), low, high)
    return np.asarray(u)


def developable(lower: Edge, upper: Edge, count: int) -> Rulings:
    """The rulings of the sheet that bends from edge to edge.

    Raises UnworkableError, saying where, when rulings would meet inside the panel or no sheet fits.
    """
    low, high = lower.spread(GRID), upper.spread(GRID)
    path = _best_path(_costs(lower, upper, low, high))
    run = low[path[:, 0]] + high[path[:, 1]]
    even = np.linspace(run[0], run[-1], count)
    s, t = np.interp(even, run, low[path[:, 0]]), np.interp(even, run, high[path[:, 1]])
    s, t = _sharpened(lower, upper, s, t)
    keep = _rising(s, t)
    s, t = _filled(s[keep], t[keep], (run[-1] - run[0]) / (count - 1))
    return rulings_at(lower, upper, s, t)


def _filled(s: Floats, t: Floats, step: float) -> tuple[Floats, Floats]:
    """Rulings put between those that lie further apart than usual: there the panel is all but flat, or a fan."""
    run = s + t
    pieces = [np.linspace(a, b, max(1, round((b - a) / step)) + 1)[:-1] for a, b in pairwise(run)]
    even = np.append(np.concatenate(pieces), run[-1])
    return np.asarray(np.interp(even, run, s)), np.asarray(np.interp(even, run, t))


def _rising(s: Floats, t: Floats) -> Ints:
    """Numbers of the rulings that do not cross one before them."""
    kept = [0]
    for k in range(1, len(s)):
        j = kept[-1]
        if s[k] >= s[j] - 1e-9 and t[k] >= t[j] - 1e-9 and s[k] + t[k] > s[j] + t[j] + 1e-9:
            kept.append(k)
    if kept[-1] != len(s) - 1:
        kept[-1] = len(s) - 1
    return np.array(kept, dtype=np.int64)


def refuse_warp(rulings: Rulings, lower: Edge, upper: Edge, what: str) -> None:
    """Raises UnworkableError at the worst ruling at which no sheet can lie.  what : the panel, for the message"""
    _, foot_way, _ = lower.jet(rulings.low)
    _, head_way, _ = upper.jet(rulings.high)
    _, same = _warp(foot_way, head_way, rulings.heads - rulings.feet)
    wide = np.linalg.norm(rulings.heads - rulings.feet, axis=1)
    real = wide > 0.02 * wide.max()
    allowed = np.where(_fanned(rulings, lower, upper), FANNED, WARPED)
    limits = f"{np.degrees(WARPED):.0f} are let pass, {np.degrees(FANNED):.0f} in a fan: common practice, no source"
    for bad, why in (
        (real & (same < 0.0), "its rulings would meet inside the panel (an edge of regression)"),
        (real & (rulings.warp > allowed), "no flat sheet can follow both edges"),
    ):
        if bad.any():
            k = int(np.flatnonzero(bad)[int(np.argmax(rulings.warp[bad]))])
            foot, head = rulings.feet[k], rulings.heads[k]
            raise UnworkableError(
                f"panel {what!r} cannot be developable: {why}, near x {foot[0]:.0f} on its lower edge and"
                f" x {head[0]:.0f} on its upper edge ({np.degrees(rulings.warp[k]):.1f} degrees of warp; {limits})",
                fix='Write surface = "straight" for this panel, or ease the edges there',
            )


def _fanned(rulings: Rulings, lower: Edge, upper: Edge) -> Bools:
    """(n,) rulings from the very end of an edge's run-on: the sheet is closed there by a piece of a cone."""
    ends = [
        np.abs(at[:, None] - edge.spread(2)).min(axis=1) for at, edge in ((rulings.low, lower), (rulings.high, upper))
    ]
    return np.asarray(np.minimum(*ends) < 1e-6 * (upper.last - upper.first))


def _costs(lower: Edge, upper: Edge, low: Floats, high: Floats) -> Floats:
    feet, foot_way, _ = lower.jet(low)
    heads, head_way, _ = upper.jet(high)
    ruling = heads[None] - feet[:, None]
    one = np.cross(foot_way[:, None], ruling)
    two = np.cross(head_way[None], ruling)
    square = (one**2).sum(axis=-1) * (two**2).sum(axis=-1)
    cross = (np.cross(one, two) ** 2).sum(axis=-1)
    turned = (one * two).sum(axis=-1) < 0
    cost = np.where(square > 1e-12, cross / np.maximum(square, 1e-300), 1.0)
    cost = np.where(turned, 2.0 - cost, cost)
    size = np.maximum((ruling**2).sum(axis=-1), _DOT**2)
    cost = cost + EASY * ruling[..., 0] ** 2 / size
    return np.where((ruling**2).sum(axis=-1) < _DOT**2, 0.0, cost)


def _best_path(cost: Floats) -> Ints:
    """(k, 2) grid places from corner to corner of least summed cost, worked out one diagonal at a time."""
    n, m = cost.shape
    best = np.full((n, m), np.inf)
    came = np.zeros((n, m), dtype=np.int8)
    best[0, 0] = cost[0, 0]
    for diagonal in range(1, n + m - 1):
        i = np.arange(max(0, diagonal - m + 1), min(n, diagonal + 1))
        j = diagonal - i
        for number, (di, dj) in enumerate(STEPS):
            ok = (i >= di) & (j >= dj)
            a, b = i[ok], j[ok]
            tried = best[a - di, b - dj] + 0.5 * (di + dj) * (cost[a, b] + cost[a - di, b - dj])
            better = tried < best[a, b]
            best[a[better], b[better]] = tried[better]
            came[a[better], b[better]] = number
    path = [(n - 1, m - 1)]
    while path[-1] != (0, 0):
        i0, j0 = path[-1]
        di, dj = STEPS[came[i0, j0]]
        path.append((i0 - di, j0 - dj))
    return np.array(path[::-1], dtype=np.int64)


def _sharpened(lower: Edge, upper: Edge, s: Floats, t: Floats) -> tuple[Floats, Floats]:
    """Newton on the volume of both tangents and the ruling, across the path: (s, t) moves along (1, -1)."""
    lows, highs = lower.spread(2), upper.spread(2)
    reach = TRAVEL * max((lows[1] - lows[0]) / GRID, (highs[1] - highs[0]) / GRID)
    first_s = s
    for _ in range(40):
        p, pv, pa = lower.jet(s)
        q, qv, qa = upper.jet(t)
        d = q - p
        volume = (pv * np.cross(qv, d)).sum(axis=-1)
        slope = (pa * np.cross(qv, d)).sum(axis=-1) - (pv * np.cross(qa, d)).sum(axis=-1)
        size = np.linalg.norm(d, axis=-1)
        step = np.where(np.abs(slope) > 1e-14 * np.maximum(size, _DOT), -volume / np.where(slope == 0, 1.0, slope), 0.0)
        step = np.clip(first_s + np.clip(s - first_s + step, -reach, reach) - s, -reach, reach)
        step = np.clip(step, np.maximum(lows[0] - s, t - highs[1]), np.minimum(lows[1] - s, t - highs[0]))
        s, t = s + step, t - step
        if np.abs(step).max() < 1e-9:
            break
    return s, t
