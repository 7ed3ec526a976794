"""Lining off: where every seam of a layer lies.

seam      line between two courses, on the middle of the layer, run on past the panel's borders
course    one run of planking between two seams (or a seam and the border); course 1 is hung first
march     each seam is laid off the one before, square across on the surface, so that every course keeps its
          width exactly; near the borders a seam is found from points just outside them, never from far away
even      seams share the panel's girth equally from end to end
parallel  seams keep a constant distance from the starting border and run out at the other one

Source: derived (geodesic parallels); two practices of lining off: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np

from strakewright.arrays import Floats
from strakewright.errors import InputError, UnworkableError
from strakewright.geometry.blends import coons
from strakewright.geometry.crossings import Crossing, Piece, RingIndex, loops_between
from strakewright.geometry.curves import interpolant, resample
from strakewright.geometry.geodesics import BaseCurve, Fan, base_curve, geodesic, geodesics, shoot_fan
from strakewright.settings import PlankingSettings
from strakewright.shop.skins import Skin

SEAM_STEP = 2.0  # mm between the points of a seam while it is being crossed with the ring
RUN_MOST = 3000.0  # mm a seam runs on past the border at most
RUN_BESIDE = 60.0  # mm more for the first seam beside a border, which already runs on by a girth
MARGIN = 40.0  # mm of a seam kept past its outermost crossings
CUT_BACK = 15.0  # mm at either end of a new seam that are drawn afresh
LISTED = 16.0  # mm between the points a seam is drawn through
STRIDE = 30.0  # mm of one step of a geodesic past the border (60: edges 0.02 mm off on a tight forefoot, 120: 7 mm)
ACROSS = 35.0  # mm of one step of a fan
NEAR = 2.0  # mm a fan reaches to the other side of its seam
SLIVER = 0.25  # a last course narrower than this share of the width goes to its neighbour


@dataclass(frozen=True, eq=False)
class Seam:
    """A seam as a curve by true length.

    curve : chart curve by arc length;  stations : (n,) mm along it, SEAM_STEP apart
    crossings : with the skin's ring, `along` in mm of arc length
    border : name of the border it lies on, None inside the panel
    """

    curve: BaseCurve
    stations: Floats
    chart: Floats
    crossings: tuple[Crossing, ...]
    border: str | None = None


@dataclass(frozen=True)
class OneWidth:
    """A course of one width, mm, all along."""

    mm: float

    def __call__(self, s: Floats) -> Floats:
        return np.full(np.shape(s), self.mm)


@dataclass(frozen=True, eq=False)
class DrawnWidth:
    """A width that changes along the course: a smooth curve between the first and the last s it is known at."""

    curve: Callable[[Floats], Floats]
    first: float
    last: float

    def __call__(self, s: Floats) -> Floats:
        return np.asarray(self.curve(np.clip(s, self.first, self.last)))


@dataclass(frozen=True, eq=False)
class Course:
    """The region between two seams, and the fan that measures it.

    number : 1 = hung first;  loops : closed walks round it (more than one where the border cuts it apart)
    base : the seam that carries s (t = 0 there);  fan : geodesics square from it
    other : the far seam, None where the course runs to the border
    width : (s -> mm) distance from base to the far edge;  side : +1 when the course lies left of base, else -1
    left, right : the seams on the two sides, None at a border
    """

    number: int
    loops: tuple[tuple[Piece, ...], ...]
    base: Seam
    fan: Fan
    width: Callable[[Floats], Floats]
    side: int
    left: Seam | None
    right: Seam | None


@dataclass(frozen=True, eq=False)
class Lined:
    """All courses of a layer.  up : +1 when +t is the flat shape's +y (strakes), -1 for diagonals.

    nominal : width mm asked for (0 when it varies);  first_is_left : the `first` edge lies left of the course
    """

    skin: Skin
    courses: tuple[Course, ...]
    up: int
    nominal: float
    first_is_left: bool
    figures: dict[str, float] = field(default_factory=dict)


def line_off(skin: Skin, settings: PlankingSettings) -> Lined:
    """Seams and courses of one layer.

    Raises InputError for a start that the panel has not, UnworkableError when seams fold over each other.
    """
    return PATTERNS[settings.pattern](skin, settings)


def _strakes(skin: Skin, settings: PlankingSettings) -> Lined:
    start = settings.start or ("sheer" if skin.upper == "sheer" else "chine")
    from_upper = _start_is_upper(skin, start, settings)
    lines = _Liner(skin)
    girth = lines.girth(from_upper)
    count = settings.courses or max(1, int(np.ceil(girth / (settings.max_width or girth) - 1e-6)))
    if settings.lining == "even":
        courses = lines.even(count, from_upper)
    else:
        courses = lines.parallel(count, girth / count, from_upper)
    nominal = girth / count if settings.lining == "parallel" else 0.0
    return Lined(skin, courses, 1, nominal, from_upper, {"girth_max": girth, "courses": float(len(courses))})


def _start_is_upper(skin: Skin, start: str, settings: PlankingSettings) -> bool:
    for name, upper in ((skin.upper, True), (skin.lower, False)):
        if name == start or (start == "chine" and name.startswith("chine")):
            return upper
    raise InputError(
        f"start = {start!r}, but panel {skin.panel!r} runs from {skin.lower} to {skin.upper}",
        where=settings.where,
        fix=f"Write start = {skin.upper.rstrip('0123456789')!r} or {skin.lower.rstrip('0123456789')!r}",
    )


def _herringbone(skin: Skin, settings: PlankingSettings) -> Lined:
    width = settings.width or 100.0
    lines = _Liner(skin)
    first = lines.diagonal(settings.angle_deg, layer=skin.layer, width=width)
    courses = lines.both_ways(first, width)
    return Lined(skin, courses, -1, width, True, {"courses": float(len(courses))})


PATTERNS: dict[str, Callable[[Skin, PlankingSettings], Lined]] = {
    "strakes": _strakes,
    "herringbone": _herringbone,
}


class _Liner:
    """Remembers the ring of one skin while seams are laid across it."""

    def __init__(self, skin: Skin) -> None:
        self.skin, self.patch = skin, skin.patch
        self.ring = skin.ring()
        self.index = RingIndex(self.ring)

    # -- seams -------------------------------------------------------------------------------------

    def seam(self, chart: Floats, run_on: float, border: str | None = None, margin: float | None = None) -> Seam:
        """A seam through chart points, run on at both ends, trimmed to `margin` (usually run_on) past the ring."""
        margin = run_on if margin is None else margin
        curve = base_curve(self.patch, chart, before=run_on, after=run_on)
        lo, hi = curve.s_lo, curve.s_hi
        crossings = () if border else self._crossings(curve, lo, hi)
        if crossings:
            lo = max(lo, crossings[0].along - margin)
            hi = min(hi, crossings[-1].along + margin)
        stations = np.linspace(lo, hi, max(8, int((hi - lo) / SEAM_STEP)))
        return Seam(curve, stations, curve.at(stations), crossings, border)

    def _crossings(self, curve: BaseCurve, lo: float, hi: float) -> tuple[Crossing, ...]:
        stations = np.linspace(lo, hi, max(8, int((hi - lo) / SEAM_STEP)))
        found = self.index.crossings(curve.at(stations))
        step = stations[1] - stations[0]
        return tuple(replace(c, along=float(lo + c.along * step)) for c in found)

    def fan(self, seam: Seam, t_lo: float, t_hi: float) -> Fan:
        """Over the seam and past its outermost crossings: where the border is oblique a course reaches further."""
        lo, hi = seam.curve.s_lo, seam.curve.s_hi
        if seam.crossings:
            past = self._past(seam, abs(t_hi - t_lo))
            lo, hi = max(lo, seam.crossings[0].along - past), min(hi, seam.crossings[-1].along + past)
        return shoot_fan(
            self.patch, seam.curve, t_lo=min(t_lo, 0.0), t_hi=max(t_hi, 0.0), s_lo=lo, s_hi=hi, t_step=ACROSS
        )

    def _past(self, seam: Seam, breadth: float) -> float:
        """How far past its crossings a seam must run for a course of that breadth beside it."""
        if not seam.crossings:
            return RUN_BESIDE
        found = [self._cotangent(seam, c) for c in (seam.crossings[0], seam.crossings[-1])]
        return min(RUN_MOST, MARGIN + CUT_BACK + 1.5 * breadth * max(1.0, *found))

    def _cotangent(self, seam: Seam, crossing: Crossing) -> float:
        """How finely a seam meets the border, 0 = square."""
        after = self.ring[(int(crossing.around) + 1) % len(self.ring)]
        border = after - self.ring[int(crossing.around) % len(self.ring)]
        way = seam.curve.tangent(np.array([crossing.along]))[0]
        cross = abs(way[0] * border[1] - way[1] * border[0])
        return abs(float(way @ border)) / max(float(cross), 1e-9)

    def offset_seam(self, seam: Seam, fan: Fan, distance: float) -> Seam:
        """The next seam.  Past the border it runs on as a geodesic: only there is nothing to be parallel to, and
        a bend carried on would grow from seam to seam."""
        lo, hi = seam.stations[[0, -1]] + np.array([CUT_BACK, -CUT_BACK])
        s = np.linspace(lo, hi, max(6, int((hi - lo) / LISTED)))
        known, along, _ = fan.field.jet1(np.stack([s, np.full_like(s, distance)], axis=-1))
        run_on = self._past(seam, 2.0 * abs(distance))
        ways = along[[0, -1], :2] * np.array([[-1.0], [1.0]])
        found = self.seam(self._straight_on(known[:, :2], ways, run_on), 0.0, margin=MARGIN)
        needed = self._past(found, 2.0 * abs(distance))
        if found.crossings and needed > run_on:  # the border has turned: a finer angle than one seam before
            found = self.seam(self._straight_on(known[:, :2], ways, needed), 0.0, margin=MARGIN)
        return found

    def _straight_on(self, known: Floats, ways: Floats, run_on: float) -> Floats:
        past = geodesics(self.patch, known[[0, -1]], ways, run_on, step=STRIDE)
        before, after = (resample(past[:, i], LISTED) for i in (0, 1))
        return np.concatenate([before[:0:-1], known, after[1:]])

    def course(self, base: Seam, fan: Fan, other: Seam | None, side: int, width: Callable[[Floats], Floats]) -> Course:
        """Loops of the region between base and other.  A base on the border needs no crossings."""
        near = [] if base.border else list(base.crossings)
        far = list(other.crossings) if other is not None and not other.border else []
        right, left = (near, far) if side > 0 else (far, near)
        loops = loops_between(right, left, len(self.ring))
        seams = (other, base) if side < 0 else (base, other)
        inner = [s if s is not None and not s.border and s.crossings else None for s in seams]
        return Course(0, tuple(tuple(x) for x in loops), base, fan, width, side, left=inner[1], right=inner[0])

    # -- strakes -----------------------------------------------------------------------------------

    def girth(self, from_upper: bool) -> float:
        """Largest distance, square from the starting border, to any point of the ring."""
        base, guess, side = self._start(from_upper)
        fan = self.fan(base, min(0.0, side * guess), max(0.0, side * guess))
        _, t = fan.locate(self.ring[::8])
        t = t[np.isfinite(t)]
        if not len(t):
            raise UnworkableError(
                f"panel {self.skin.panel!r} cannot be measured square from its {base.border}",
                where=f"panel {self.skin.panel!r}",
                fix="Start the courses at its other long border",
            )
        return float(np.max(side * t))

    def _start(self, from_upper: bool) -> tuple[Seam, float, int]:
        name = self.skin.upper if from_upper else self.skin.lower
        points = self.skin.stretch(name).chart
        points = points[::-1] if from_upper else points
        far = self.skin.stretch(self.skin.lower if from_upper else self.skin.upper).chart
        gap = np.abs(far[::20, None] - points[None, ::20])
        guess = 1.15 * float(np.hypot(gap[..., 0], gap[..., 1]).min(axis=1).max()) + 20.0
        seam = self.seam(_every(points, 8), guess, border=name)
        return seam, guess, -1 if from_upper else 1

    def parallel(self, count: int, width: float, from_upper: bool) -> tuple[Course, ...]:
        """Courses of one width, marched from the starting border."""
        base, _, side = self._start(from_upper)
        return self._march(base, width, side, count)

    def _march(self, base: Seam, width: float, side: int, count: int) -> tuple[Course, ...]:
        courses: list[Course] = []
        while len(courses) < count:
            fan = self.fan(base, *sorted((-side * NEAR, 1.35 * side * width)))
            far = None
            if len(courses) + 1 < count:
                far = self.offset_seam(base, fan, side * width)
                if not far.crossings:
                    far = None
            course = self.course(base, fan, far, side, OneWidth(width))
            courses.append(replace(course, number=len(courses) + 1))
            if far is None:
                break
            base = far
        return tuple(courses)

    def even(self, count: int, from_upper: bool) -> tuple[Course, ...]:
        """Courses that share the panel equally between its long borders, end to end."""
        lines = self._shares(count)
        if from_upper:
            lines = lines[::-1]
        side = -1 if from_upper else 1
        start, end = self.skin.upper, self.skin.lower
        start, end = (start, end) if from_upper else (end, start)
        run_on = 60.0 + 2.5 * self._breadth() / count
        seams = [self.seam(lines[0], run_on, border=start)]
        seams += [self.seam(line, run_on) for line in lines[1:-1]]
        seams.append(self.seam(lines[-1], run_on, border=end))
        return tuple(replace(self._between(a, b, side), number=k + 1) for k, (a, b) in enumerate(pairwise(seams)))

    def _between(self, base: Seam, other: Seam, side: int) -> Course:
        gap = np.abs(base.chart[::20, None] - other.chart[None, ::5])
        reach = 1.3 * float(np.hypot(gap[..., 0], gap[..., 1]).min(axis=1).max()) + 10.0
        fan = self.fan(base, *sorted((-side * NEAR, side * reach)))
        s, t = fan.locate(other.chart[::5])
        known = np.isfinite(t)
        order = np.argsort(s[known])
        s_known, t_known = s[known][order], side * t[known][order]

        width = DrawnWidth(interpolant(s_known, t_known), float(s_known[0]), float(s_known[-1]))
        return self.course(base, fan, other, side, width)

    def _shares(self, count: int) -> list[Floats]:
        """Blend of the four borders (Coons) at v = 0, 1/count ... 1: (n, 2) chart points aft to forward."""
        skin = self.skin
        ends = [s for s in skin.stretches if s.border.name not in (skin.lower, skin.upper)]
        if len(ends) < 2:
            raise InputError(
                f'lining = "even" needs a panel with two ends; panel {skin.panel!r} runs to a point',
                where=f"[[planking]] panel {skin.panel!r} lining",
                fix='Write lining = "parallel"',
            )
        lower, upper = skin.stretch(skin.lower).chart, skin.stretch(skin.upper).chart[::-1]
        aft, forward = skin.stretches[3].chart[::-1], skin.stretches[1].chart
        return coons(lower, upper, aft, forward, np.arange(count + 1) / count)

    # -- diagonals ---------------------------------------------------------------------------------

    def diagonal(self, angle_deg: float, layer: int, width: float) -> Seam:
        """The first seam: a geodesic from the middle of the keel, leaning aft in odd layers, forward in even."""
        keel = self.skin.stretch(self.skin.lower).chart
        middle = len(keel) // 2
        start, tangent = keel[middle], keel[middle + 2] - keel[middle - 2]
        _, r_p, r_q = self.patch.jet1(start)
        along = tangent[0] * r_p + tangent[1] * r_q
        along /= np.linalg.norm(along)
        across = np.cross(along, self.patch.normal(start))  # forward x outward = away from the keel
        sign = -1.0 if layer % 2 else 1.0
        angle = np.radians(angle_deg)
        way = sign * np.cos(angle) * along + np.sin(angle) * across
        direction = np.linalg.lstsq(np.stack([r_p, r_q], axis=1), way, rcond=None)[0]
        run_on = 60.0 + 2.5 * width * max(1.0, 1.0 / np.tan(angle))
        reach = 1.3 * self._breadth() / np.sin(angle) + run_on
        chart = np.concatenate(
            [
                geodesic(self.patch, start, -direction, run_on)[::-1][:-1],
                geodesic(self.patch, start, direction, reach),
            ]
        )
        return self.seam(chart, 0.0, margin=MARGIN)

    def _breadth(self) -> float:
        lower, upper = (self.skin.stretch(n).chart[::20] for n in (self.skin.lower, self.skin.upper))
        gap = np.abs(upper[:, None] - lower[None])
        return float(np.hypot(gap[..., 0], gap[..., 1]).min(axis=1).max())

    def both_ways(self, first: Seam, width: float) -> tuple[Course, ...]:
        """Courses aft of the first seam (left of it), then forward; numbered from the aftmost."""
        aft = self._run_out(first, width, 1)
        forward = self._run_out(first, width, -1)
        ordered = [*aft[::-1], *forward]
        return tuple(replace(c, number=k + 1) for k, c in enumerate(ordered))

    def _run_out(self, base: Seam, width: float, side: int) -> list[Course]:
        """March until the next seam no longer touches the panel; a sliver goes to the course before it."""
        courses: list[Course] = []
        while True:
            fan = self.fan(base, *sorted((-side * NEAR, 1.35 * side * width)))
            far: Seam | None = self.offset_seam(base, fan, side * width)
            if far is not None and far.crossings and self._rest(far, width, side) < SLIVER * width:
                far = None
            if far is not None and not far.crossings:
                far = None
            courses.append(self.course(base, fan, far, side, OneWidth(width)))
            if far is None:
                return courses
            base = far

    def _rest(self, seam: Seam, width: float, side: int) -> float:
        """How far the panel still reaches beyond a seam, up to half a width."""
        span = seam.crossings[-1].along - seam.crossings[0].along
        if span > 4 * width:
            return width
        fan = self.fan(seam, *sorted((-side * NEAR, 0.5 * side * width)))
        _, t = fan.locate(self.ring[::4])
        t = side * t[np.isfinite(t)]
        return float(t.max()) if len(t) else width


def _every(points: Floats, step: int) -> Floats:
    """Every step-th point, the last one kept."""
    return np.concatenate([points[:-1:step][: (len(points) - 2) // step], points[-1:]])
