"""Tape measure round a skin: girths and areas straight from the surface, without any planks.

section   line in which a station plane cuts a patch inside its ring;  girth : its length
area      of the patch inside a ring

Source: derived.  Section: Newton steps on x along the gradient, from a straight start in the chart.  Area: Green's
theorem on the area factor W, F = integral of W dp (C. Gauss; any text on differential geometry).
"""

from __future__ import annotations

import numpy as np
from scipy.integrate import cumulative_simpson

from strakewright.arrays import Floats
from strakewright.geometry.curves import arc_length
from strakewright.geometry.outlines import contains
from strakewright.geometry.surface import Patch, forms
from strakewright.geometry.tensor import through_grid

POINTS = 801
STRAIN_GRID = (161, 41)
GRID = 12.0  # mm


def section(patch: Patch, ring: Floats, station: float) -> list[Floats]:
    """(n, 2) chart points of every stretch of the section at x = station inside the ring, aft border first.

    ring : (m, 2) closed chart polyline, first point not repeated;  empty where the plane misses the patch
    """
    closed = np.concatenate([ring, ring[:1]])
    over = patch.at(closed)[:, 0] - station
    beyond = over > 0  # a ring point on the station itself counts once
    flips = np.nonzero(beyond[:-1] != beyond[1:])[0]
    ends = [closed[i] + over[i] / (over[i] - over[i + 1]) * (closed[i + 1] - closed[i]) for i in flips]
    ends.sort(key=lambda e: float(e[1]))
    return [_between(patch, a, b, station) for a, b in zip(ends[::2], ends[1::2], strict=False)]


def _between(patch: Patch, a: Floats, b: Floats, station: float) -> Floats:
    part = np.linspace(0.0, 1.0, POINTS)[:, None]
    chart = a * (1 - part) + b * part
    for _ in range(8):
        r, r_p, r_q = patch.jet1(chart)
        slope = np.stack([r_p[:, 0], r_q[:, 0]], axis=-1)
        size = (slope**2).sum(axis=-1)
        step = (r[:, 0] - station)[:, None] * slope / np.where(size > 1e-9, size, np.inf)[:, None]
        chart = chart - np.clip(step, -50.0, 50.0)
        if np.abs(step).max() < 1e-6:  # Newton's next step would be below 1e-11 mm
            break
    return np.asarray(chart)


def girth(patch: Patch, ring: Floats, station: float) -> float:
    """Length mm of the section at x = station, by Richardson on its chords."""
    total = 0.0
    for chart in section(patch, ring, station):
        points = patch.at(chart)
        fine, coarse = arc_length(points)[-1], arc_length(points[::2])[-1]
        total += float(fine + (fine - coarse) / 3)
    return total


def area(patch: Patch, ring: Floats) -> float:
    """Area mm2 of the patch inside a fine ring ((m, 2) chart points, counter-clockwise)."""
    lo, hi = ring.min(axis=0) - 1.0, ring.max(axis=0) + 1.0
    p, q = (np.linspace(a, b, max(31, int((b - a) / GRID))) for a, b in zip(lo, hi, strict=True))
    grid = np.stack(np.meshgrid(p, q, indexing="ij"), axis=-1)
    factor = forms(patch, grid.reshape(-1, 2)).W.reshape(len(p), len(q))
    swept = cumulative_simpson(factor, x=p, axis=0, initial=0.0)
    spline = through_grid(p, q, swept[..., None])
    after = np.roll(ring, -1, axis=0)
    values = spline.at((ring + after) / 2)[:, 0]
    return float((values * (after - ring)[:, 1]).sum())


def chart_strain(patch: Patch, ring: Floats) -> tuple[float, float]:
    """Largest and root-mean-square strain of the panel laid flat as its chart, fractions.

    The chart is the flat shape: its lengths over the surface's, less one, in the two principal directions.
    """
    p, q = (np.linspace(a, b, n) for a, b, n in zip(ring.min(axis=0), ring.max(axis=0), STRAIN_GRID, strict=True))
    grid = np.stack(np.meshgrid(p, q, indexing="ij"), axis=-1).reshape(-1, 2)
    f = forms(patch, grid[contains(ring, grid)])
    middle, half = (f.E + f.G) / 2, np.hypot((f.E - f.G) / 2, f.F)
    stretch = 1.0 / np.sqrt(np.stack([middle + half, middle - half])) - 1.0
    return float(np.abs(stretch).max()), float(np.sqrt((stretch**2).mean()))
