"""Lines to scribe on a plank.

frame mark   where the plane of a frame's station cuts the middle of the layer; it crosses the whole plank

Source: derived; found by Newton steps on x = station along the plank or across it, whichever is the steeper.
"""

from __future__ import annotations

import numpy as np

from strakewright.arrays import Floats
from strakewright.geometry.outlines import clip_lines
from strakewright.parts import Mark
from strakewright.shop.shapes import Shape
from strakewright.shop.skins import Skin

SHORTEST = 0.05  # mm: a station plane that only nicks a corner is not marked
GRID = (90, 9)
ROUNDS, SETTLED = 4, 1e-6  # Newton steps at most, mm of the last
PAD = 400.0  # mm at most that the search for a section reaches past a plank's ends


def frame_marks(skin: Skin, shape: Shape, frames: tuple[tuple[str, float], ...]) -> list[Mark]:
    """One mark a frame that the plank crosses, in the shape's own flat axes (not yet turned to rest)."""
    s, t, x = _sampled(skin, shape)
    ring = shape.ring()
    rim = np.concatenate([r.space[:, 0] for r in shape.runs])
    # past a plank's rim its fan may fold back: a line found there is none
    lowest, highest = max(rim.min(), x.min()), min(rim.max(), x.max())
    crossed = [(name, station) for name, station in frames if lowest < station < highest]
    lines = _refined(skin, shape, [_line((s, t, x), station) for _, station in crossed], [x for _, x in crossed])
    marks = []
    for (name, _), line in zip(crossed, lines, strict=True):
        if len(line) < 2:
            continue
        inside = clip_lines(shape.flatten(line), ring)
        longest = max(inside, key=_length, default=None)
        if longest is not None and _length(longest) > SHORTEST:
            marks.append(Mark("frame", name, longest))
    return marks


def _length(points: Floats) -> float:
    return float(np.linalg.norm(np.diff(points, axis=0), axis=-1).sum())


def _sampled(skin: Skin, shape: Shape) -> tuple[Floats, Floats, Floats]:
    """x on a grid of s and of t, wide enough that a section through any corner of the plank is found whole."""
    st = np.concatenate([r.st for r in shape.runs])
    lo, hi = st.min(axis=0), st.max(axis=0)
    _, _, x = _grid(skin, shape, lo, hi, (9, 5))
    steep = np.array([np.abs(np.diff(x, axis=k)).mean() * (n - 1) for k, n in ((0, 9), (1, 5))]) / (hi - lo)
    pads = 5.0 + np.minimum(1.5 * (hi - lo)[::-1] * steep[::-1] / np.maximum(steep, 1e-9), PAD)
    pads[1] = 3.0
    return _grid(skin, shape, lo - pads, hi + pads, GRID)


def _grid(skin: Skin, shape: Shape, lo: Floats, hi: Floats, counts: tuple[int, int]) -> tuple[Floats, Floats, Floats]:
    s, t = (np.linspace(a, b, n) for a, b, n in zip(lo, hi, counts, strict=True))
    return s, t, np.asarray(skin.patch.at(shape.course.fan.pq(*np.meshgrid(s, t, indexing="ij")))[..., 0])


def _line(grid: tuple[Floats, Floats, Floats], station: float) -> tuple[Floats, int]:
    """(n, 2) points (s, t) with x about = station, and which of the two is free to be refined."""
    s, t, x = grid
    steep_s = np.abs(np.diff(x, axis=0)).mean() / (s[1] - s[0])
    steep_t = np.abs(np.diff(x, axis=1)).mean() / (t[1] - t[0])
    if steep_s > 0.3 * steep_t:
        levels = np.linspace(t[0], t[-1], 33)
        at = (levels - t[0]) / (t[1] - t[0])
        low = np.minimum(at.astype(int), len(t) - 2)
        rows = x[:, low] + (at - low) * (x[:, low + 1] - x[:, low])
        st, free = np.stack([_crossings(s, rows.T, station), levels], axis=-1), 0
    else:
        st, free = np.stack([s, _crossings(t, x, station)], axis=-1), 1
    return st[np.isfinite(st).all(axis=-1)], free


def _crossings(at: Floats, rows: Floats, level: float) -> Floats:
    """Where each of (m, n) rows of values at (n,) places first comes to a level; nan where it never does."""
    over = rows - level
    flips = over[:, :-1] * over[:, 1:] <= 0
    first, each = flips.argmax(axis=1), np.arange(len(rows))
    here, step = over[each, first], rows[each, first + 1] - rows[each, first]
    part = np.where(step == 0.0, 0.0, -here / np.where(step == 0.0, 1.0, step))
    return np.where(flips.any(axis=1), at[first] + part * (at[first + 1] - at[first]), np.nan)


def _refined(skin: Skin, shape: Shape, lines: list[tuple[Floats, int]], stations: list[float]) -> list[Floats]:
    """The lines with x = station to the last, by Newton steps on all of them at once."""
    if not lines:
        return []
    fan, patch = shape.course.fan, skin.patch
    counts = [len(st) for st, _ in lines]
    st, wanted = np.concatenate([st for st, _ in lines]), np.repeat(stations, counts)
    free = np.repeat([which for _, which in lines], counts)
    each = np.arange(len(st))
    for _ in range(ROUNDS):
        here, by_s, by_t = fan.field.jet1(st)
        r, r_p, r_q = patch.jet1(here[:, :2])
        way = np.where(free[:, None] == 0, by_s, by_t)
        slope = r_p[:, 0] * way[:, 0] + r_q[:, 0] * way[:, 1]
        move = np.where(np.abs(slope) > 1e-6, (wanted - r[:, 0]) / np.where(slope == 0, 1, slope), 0.0)
        st[each, free] += np.clip(move, -20.0, 20.0)
        if np.abs(move).max(initial=0.0) < SETTLED:
            break
    return np.split(st, np.cumsum(counts)[:-1])
