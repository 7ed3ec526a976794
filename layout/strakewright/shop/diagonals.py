"""Diagonal courses, mirrored about the centreline: herringbone.

first     the seam in the middle of the keel, a geodesic at the angle asked for; courses are laid off it both ways
sliver    a last course so narrow that it goes to its neighbour

Source: common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from strakewright.geometry.geodesics import geodesic
from strakewright.settings import PlankingSettings
from strakewright.shop.courses import Course, Lined, OneWidth, Seam
from strakewright.shop.seams import MARGIN, NEAR, Liner
from strakewright.shop.skins import Skin

SLIVER = 0.25  # a last course narrower than this share of the width goes to its neighbour


def herringbone(skin: Skin, settings: PlankingSettings) -> Lined:
    """Diagonals of one width from the middle of the keel both ways."""
    width = settings.width or 100.0
    lines = Liner(skin)
    first = diagonal(lines, settings.angle_deg, layer=skin.layer, width=width)
    courses = both_ways(lines, first, width)
    return Lined(skin, courses, -1, width, True, {"courses": float(len(courses))})


# -- diagonals ---------------------------------------------------------------------------------


def diagonal(lines: Liner, angle_deg: float, layer: int, width: float) -> Seam:
    """The first seam: a geodesic from the middle of the keel, leaning aft in odd layers, forward in even."""
    keel = lines.skin.stretch(lines.skin.lower).chart
    middle = len(keel) // 2
    start, tangent = keel[middle], keel[middle + 2] - keel[middle - 2]
    _, r_p, r_q = lines.patch.jet1(start)
    along = tangent[0] * r_p + tangent[1] * r_q
    along /= np.linalg.norm(along)
    across = np.cross(along, lines.patch.normal(start))  # forward x outward = away from the keel
    sign = -1.0 if layer % 2 else 1.0
    angle = np.radians(angle_deg)
    way = sign * np.cos(angle) * along + np.sin(angle) * across
    direction = np.linalg.lstsq(np.stack([r_p, r_q], axis=1), way, rcond=None)[0]
    run_on = 60.0 + 2.5 * width * max(1.0, 1.0 / np.tan(angle))
    reach = 1.3 * lines.breadth() / np.sin(angle) + run_on
    chart = np.concatenate(
        [
            geodesic(lines.patch, start, -direction, run_on)[::-1][:-1],
            geodesic(lines.patch, start, direction, reach),
        ]
    )
    return lines.seam(chart, 0.0, margin=MARGIN)


def both_ways(lines: Liner, first: Seam, width: float) -> tuple[Course, ...]:
    """Courses aft of the first seam (left of it), then forward; numbered from the aftmost."""
    aft = _run_out(lines, first, width, 1)
    forward = _run_out(lines, first, width, -1)
    ordered = [*aft[::-1], *forward]
    return tuple(replace(c, number=k + 1) for k, c in enumerate(ordered))


def _run_out(lines: Liner, base: Seam, width: float, side: int) -> list[Course]:
    """March until the next seam no longer touches the panel; a sliver goes to the course before it."""
    courses: list[Course] = []
    while True:
        fan = lines.fan(base, *sorted((-side * NEAR, 1.35 * side * width)))
        far: Seam | None = lines.offset_seam(base, fan, side * width)
        if far is not None and far.crossings and _rest(lines, far, width, side) < SLIVER * width:
            far = None
        if far is not None and not far.crossings:
            far = None
        courses.append(lines.course(base, fan, far, side, OneWidth(width)))
        if far is None:
            return courses
        base = far


def _rest(lines: Liner, seam: Seam, width: float, side: int) -> float:
    """How far the panel still reaches beyond a seam, up to half a width."""
    span = seam.crossings[-1].along - seam.crossings[0].along
    if span > 4 * width:
        return width
    fan = lines.fan(seam, *sorted((-side * NEAR, 0.5 * side * width)))
    _, t = fan.locate(lines.ring[::4])
    t = side * t[np.isfinite(t)]
    return float(t.max()) if len(t) else width
