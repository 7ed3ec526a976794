"""Planking that runs across the bottom: diagonals in layers, and cross planking.

first seam  a geodesic from the keel at the asked angle; courses are laid off it both ways
steering    keeping the angle with tapered planks, and steepening to staves forward (`steering`)
angle       in the surface, from the keel;  odd layers lean aft, even layers forward, so that layers cross

Source: derived; the ways of the trade: common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from strakewright.arrays import Floats
from strakewright.geometry.crossings import along
from strakewright.geometry.geodesics import geodesic
from strakewright.geometry.nearby import nearest_of
from strakewright.settings import PlankingSettings
from strakewright.shop.courses import Course, Lined, OneWidth, Seam, TaperedWidth, Width
from strakewright.shop.seams import MARGIN, NEAR, Liner
from strakewright.shop.skins import RING_STEP, Skin
from strakewright.shop.steering import Helm

SLIVER = 0.25  # a last course narrower than this share of the width goes to its neighbour


def diagonals(skin: Skin, settings: PlankingSettings) -> Lined:
    """Courses from keel to chine, numbered from the aftmost."""
    width = settings.width or 100.0
    lines = Liner(skin)
    angle = 90.0 if settings.pattern == "cross" else settings.angle_deg
    first = first_seam(lines, angle, width, settings.start_x)
    courses, figures = both_ways(lines, first, settings)
    return Lined(skin, courses, -1, width, True, figures)


def clear_start(frame: float, width: float, frames: Floats) -> float:
    """x of the first seam of cross planks, half a plank aft of a frame or as little off that as keeps every frame
    a quarter of a width away from the seams; the best there is where none does.

    >>> clear_start(1000.0, 100.0, np.array([500.0, 1000.0, 1500.0]))
    950.0
    """
    tries = frame - width / 2 + np.array([0.0, *(s * k * width / 20 for k in range(1, 6) for s in (-1.0, 1.0))])
    gaps = np.abs((frames[None] - tries[:, None] + width / 2) % width - width / 2).min(axis=1)
    good = np.nonzero(gaps >= width / 4 - 1e-9)[0]
    return float(tries[good[0] if len(good) else int(np.argmax(gaps))])


def first_seam(lines: Liner, angle_deg: float, width: float, start_x: float | None = None) -> Seam:
    """A geodesic from the keel (half way, or at x), leaning aft in odd layers, forward in even."""
    keel, patch = lines.skin.stretch(lines.skin.lower).chart, lines.patch
    at = len(keel) / 2
    if start_x is not None:
        x = patch.at(keel)[:, 0]
        at = float(np.interp(start_x, x, np.arange(len(x)))) if x[-1] > x[0] else at
    if lines.skin.layer % 2 == 0:  # half way between the ends of the layer below
        at += width / np.sin(np.radians(angle_deg)) / 2 / RING_STEP
    at = min(max(at, 2.0), len(keel) - 3.0)
    spots = along(keel, np.array([at - 2.0, at, at + 2.0]))
    start, tangent = spots[1], spots[2] - spots[0]
    _, r_p, r_q = patch.jet1(start)
    ahead = tangent[0] * r_p + tangent[1] * r_q
    ahead /= np.linalg.norm(ahead)
    across = np.cross(ahead, patch.normal(start))  # forward x outward = away from the keel
    sign = -1.0 if lines.skin.layer % 2 else 1.0
    angle = np.radians(angle_deg)
    way = sign * np.cos(angle) * ahead + np.sin(angle) * across
    direction = np.linalg.lstsq(np.stack([r_p, r_q], axis=1), way, rcond=None)[0]
    run_on = 60.0 + 2.5 * width * max(1.0, 1.0 / np.tan(angle))
    reach = 1.3 * lines.breadth() / np.sin(angle) + run_on
    chart = np.concatenate(
        [geodesic(patch, start, -direction, run_on)[::-1][:-1], geodesic(patch, start, direction, reach)]
    )
    return lines.seam(chart, 0.0, margin=MARGIN)


def both_ways(lines: Liner, first: Seam, settings: PlankingSettings) -> tuple[tuple[Course, ...], dict[str, float]]:
    """Courses aft of the first seam (left of it), then forward, numbered from the aftmost; figures of the steering."""
    helms = [Helm(lines.patch, first, settings, forward) for forward in (False, True)]
    aft, forward = (_run_out(lines, first, side, helm) for side, helm in zip((1, -1), helms, strict=True))
    courses = tuple(replace(c, number=k + 1) for k, c in enumerate([*aft[::-1], *forward]))
    figures = {"courses": float(len(courses))}
    if settings.pattern == "herringbone":
        figures["drift_max_deg"] = float(np.degrees(max(h.drift for h in helms)))
        figures["lean_deg"] = float(np.degrees(helms[0].nominal))
        figures["tapered"] = float(sum(isinstance(c.width, TaperedWidth) for c in courses))
        if helms[1].staves_from is not None:
            figures["staves_from_x"] = helms[1].staves_from
    return courses, figures


def _run_out(lines: Liner, base: Seam, side: int, helm: Helm) -> list[Course]:
    """March until the next seam no longer touches the panel; a sliver goes to the course before it."""
    courses: list[Course] = []
    wide = helm.settings.width or 100.0
    while True:
        width = helm.width(base, wide, side)
        fan = lines.fan(base, *sorted((-side * NEAR, 1.35 * side * wide)))
        far: Seam | None = lines.offset_seam(base, fan, _signed(width, side))
        if far is not None and far.crossings and _rest(lines, far, wide, side) < SLIVER * wide:
            far = None
        if far is not None and not far.crossings:
            far = None
        courses.append(lines.course(base, fan, far, side, OneWidth(wide) if far is None else width))
        if far is None:
            return courses
        base = far


def _signed(width: OneWidth | TaperedWidth, side: int) -> Width:
    return lambda s: side * width(s)


def _rest(lines: Liner, seam: Seam, width: float, side: int) -> float:
    """How far the panel still reaches beyond a seam, up to half a width."""
    if _rough_rest(lines, seam, side) > width:
        return width
    fan = lines.fan(seam, *sorted((-side * NEAR, 0.5 * side * width)))
    _, t = fan.locate(lines.ring[::4])
    t = side * t[np.isfinite(t)]
    return float(t.max()) if len(t) else width


def _rough_rest(lines: Liner, seam: Seam, side: int) -> float:
    """The same in the chart, to a few mm: good enough where much is left."""
    ring, chart = lines.ring[::8], seam.chart[::4]
    gaps, nearest = nearest_of(ring, chart)
    way, off = np.gradient(chart, axis=0)[nearest], ring - chart[nearest]
    beyond = side * (way[:, 0] * off[:, 1] - way[:, 1] * off[:, 0]) > 0
    return float(gaps[beyond].max(initial=0.0))
