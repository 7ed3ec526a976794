"""Are the seams sweet, and do courses end wide enough to be fastened?

sweet      a seam bends one way, or changes its bend no oftener than the borders it is drawn between
turn       angle a seam swings through between two changes of bend; a turn too small to see does not count
nib        square end of a course that is dropped into its neighbour over a frame
end        width of a course where it meets the stem or the transom; one that runs out along a border has none

Source: common practice, no source.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from strakewright.arrays import Floats
from strakewright.errors import Finding
from strakewright.geometry.geodesics import base_curve, side_bend
from strakewright.settings import PlankingSettings
from strakewright.shop.courses import Course, Lined, Seam
from strakewright.shop.shapes import Shape

SEEN = np.radians(0.25)  # a swing that a batten held to the seam would show
SAMPLES = 160
LEAST_NIB = 20.0  # mm; a dropped course never ends in a point: common practice, no source


def turns(bend: Floats, s: Floats) -> int:
    """How often a line changes its bend to be seen.  bend : (n,) 1/mm, signed, at (n,) mm along it

    >>> s = np.linspace(0.0, 3000.0, 100)
    >>> turns(np.sin(s / 3000.0 * 2 * np.pi) / 9000.0, s), turns(1e-4 + 0 * s, s)
    (1, 0)
    """
    swung = np.concatenate([[0.0], np.cumsum((bend[1:] + bend[:-1]) / 2 * np.diff(s))])
    corners, extreme = [0.0], 0.0
    way = 0
    for angle in swung:  # turning points of the heading, small ones passed over
        if way >= 0 and angle > extreme:
            extreme, way = angle, way or (1 if angle - corners[0] > SEEN else 0)
        elif way <= 0 and angle < extreme:
            extreme, way = angle, way or (-1 if corners[0] - angle > SEEN else 0)
        elif way and abs(angle - extreme) > SEEN:
            corners.append(extreme)
            extreme, way = angle, -way
    return len(corners) - 1


def turns_of(lined: Lined, seam: Seam) -> int:
    """Changes of bend of a seam, sideways on the surface, between its first and last crossing of the border."""
    if len(seam.crossings) < 2:
        return 0
    lo, hi = seam.crossings[0].along, seam.crossings[-1].along
    s = np.linspace(lo, hi, SAMPLES + 2)[1:-1]
    return turns(side_bend(lined.skin.patch, seam.curve.spline, s), s)


def border_turns(lined: Lined) -> int:
    """The most changes of bend of the panel's two long borders."""
    most = 0
    for name in (lined.skin.lower, lined.skin.upper):
        curve = base_curve(lined.skin.patch, lined.skin.stretch(name).chart[::8], before=0.0, after=0.0)
        s = np.linspace(curve.s_lo, curve.s_hi, SAMPLES + 2)[1:-1]
        most = max(most, turns(side_bend(lined.skin.patch, curve.spline, s), s))
    return most


def unfair_seams(lined: Lined) -> list[Finding]:
    """A finding for every seam that changes its bend oftener than the borders do."""
    usual = border_turns(lined)
    found = []
    for one, two in pairwise(lined.courses):
        seam = two.base if two.base.border is None else two.right or two.left
        if seam is not None and (count := turns_of(lined, seam)) > usual:
            found.append(
                Finding(
                    "seam-not-sweet",
                    "warning",
                    f"{lined.skin.panel}: seam between courses {one.number} and {two.number}",
                    f"changes its bend {count} times, the panel's own borders {usual} times",
                    "Lay a batten along it; use another lining, or fair the border it is drawn from",
                )
            )
    return found


def scraps_left(lined: Lined) -> list[Finding]:
    """A finding for every corner that a seam would have cut off as a scrap, and that stays on a plank."""
    found = []
    for one, two in pairwise(lined.courses):
        for length, along in two.base.scraps:
            x = float(lined.skin.patch.at(two.base.curve.at(np.array([along])))[0, 0])
            found.append(
                Finding(
                    "scrap-left-on",
                    "note",
                    f"{lined.skin.panel}: seam between courses {one.number} and {two.number}",
                    f"leaves the panel and would come back at x {x:.0f} for {length:.0f} mm, less than a plank is wide",
                    "Nothing to do: it stops where it leaves the panel, and what lies beyond stays on the plank there",
                )
            )
    return found


def end_widths(shape: Shape) -> list[tuple[str, float]]:
    """What each end of a course meets (stem or transom) and its width there, mm square across the course."""
    return [
        (run.name, float(np.ptp(run.st[:, 1])))
        for run in shape.runs
        if run.kind == "border" and ("stem" in run.name or "transom" in run.name)
    ]


def nib_at(shape: Shape, frames: tuple[tuple[str, float], ...], forward: bool) -> tuple[str, float, float] | None:
    """Where a course is dropped: the frame nearest to its end over which it is still wide enough to be cut off square
    (20 mm, and a third of its widest place), the frame's x, and its width there.  None where no frame will do."""
    s = np.linspace(*shape.reach(), 200)
    x = shape.patch.at(shape.course.fan.pq(s, shape.course.middle(s)))[:, 0]
    width, order = shape.course.width(s), np.argsort(x)
    least = max(LEAST_NIB, float(width.max()) / 3)
    there = [(name, at, float(np.interp(at, x[order], width[order]))) for name, at in frames if x.min() < at < x.max()]
    wide = [row for row in there if row[2] >= least]
    return (wide[-1] if forward else wide[0]) if wide else None


def narrow_ends(whole: list[tuple[str, Shape]], settings: PlankingSettings) -> list[Finding]:
    """Courses that are too narrow at an end to be fastened, and could not be dropped.  whole : id and shape of each"""
    return [
        Finding(
            "end-too-narrow",
            "warning",
            name,
            f"is {width:.0f} mm wide at the {meets}, less than {settings.min_end_width:.0f} mm, and no frame lies "
            f"where it could end in a nib of {LEAST_NIB:.0f} mm and a third of its width",
            "Use fewer courses or another lining, or set a frame further from that end",
        )
        for name, shape in whole
        for meets, width in end_widths(shape)
        if width < settings.min_end_width
    ]


def nibs_cut(course: Course, shape: Shape) -> list[dict[str, object]]:
    """The nibs that a piece of a dropped course ends in: frame, width mm, number of the course let into."""
    ends = [r.chart for r in shape.runs if r.kind == "nib"]
    return [
        {"frame": nib.frame, "width": nib.width, "course": nib.taker}
        for nib in course.nibs
        if any(np.abs(chart - nib.line.mean(axis=0)).max() < nib.width for chart in ends)
    ]


def dropped_courses(courses: list[tuple[str, Course]]) -> list[Finding]:
    """Where courses end in nibs, and what takes their place.  courses : id and course of each"""
    names = {course.number: name for name, course in courses}
    return [
        Finding(
            "stealer",
            "note",
            name,
            f"would end in a sliver; it stops in a square nib {nib.width:.0f} mm wide over {nib.frame}",
            f"Let it into {names[nib.taker]}, which is as wide as both past the nib; fasten both ends on the frame",
        )
        for name, course in courses
        for nib in course.nibs
    ]
