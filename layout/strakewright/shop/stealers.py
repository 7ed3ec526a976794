"""Which courses are dropped, and where: one that would end too narrow stops in a nib, its neighbour takes its place.

stealer   the plank that takes the place of two; dropped : the course that stops
nib       its square end, at least 20 mm and a third of its widest place, in the middle of a frame
half      half the siding of a frame: the nib stands so far from the station line, where the frame's wood is

A course goes into the one hung next, or, where that one cannot take it, into the one hung before; no course takes and
is dropped at the same end.

Source: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from strakewright.arrays import Floats
from strakewright.geometry.drawn import interpolant
from strakewright.geometry.fans import Fan
from strakewright.settings import PlankingSettings
from strakewright.shop.courses import Course, DrawnWidth, Lined, Nib, Seam, SteppedWidth, Width
from strakewright.shop.seams import Liner
from strakewright.shop.shapes import Shape
from strakewright.shop.sweetness import end_widths, nib_at

MOST_OFF = 1.6  # halves of the siding that a slanting nib's middle may lie off the station line
CLEAR = 3.0  # mm: a nib keeps off the station line, so that a frame's mark never crosses it
BEFORE = 100.0  # mm: how far before the nib the taker's new edge is known
SPARE = 30.0  # mm a fan reaches past what it must measure


@dataclass(eq=False)
class _Bench:
    """The courses as they are changed, one nib after another."""

    lined: Lined
    settings: PlankingSettings
    frames: tuple[tuple[str, float], ...]
    half: float
    shapes: dict[int, Shape]
    courses: dict[int, Course]
    liner: Liner
    listed: dict[int, list[float]] = field(default_factory=dict)


def with_stealers(
    lined: Lined,
    whole: list[tuple[Course, Shape]],
    settings: PlankingSettings,
    frames: tuple[tuple[str, float], ...],
    half: float,
) -> Lined:
    """The lining with every course dropped that ends narrower than `min_end_width`; the same one where none does.

    whole : every course with its flat shape;  half : half the siding of the frames, mm
    """
    narrow = [
        (course.number, meets)
        for course, shape in whole
        for meets, width in end_widths(shape)
        if width < settings.min_end_width and len(course.loops) == 1
    ]
    if not narrow:
        return lined
    shapes = {course.number: shape for course, shape in whole}
    courses = {course.number: course for course in lined.courses}
    bench = _Bench(lined, settings, frames, half, shapes, courses, Liner(lined.skin))
    for forward in (False, True):
        _drop_at(bench, [n for n, meets in narrow if (meets != "transom") == forward], forward)
    return replace(lined, courses=tuple(bench.courses[k] for k in sorted(courses)), listed=bench.listed)


def _drop_at(bench: _Bench, narrow: list[int], forward: bool) -> None:
    """Every narrow course of one end, in hanging order."""
    takers: set[int] = set()
    gone: set[int] = set()
    for number in narrow:
        if number in takers:
            continue
        for taker in (number + 1, number - 1):
            if taker in gone or taker not in bench.courses or len(bench.courses[taker].loops) > 1:
                continue
            nib = _nib(bench, number, taker, forward)
            if nib is not None:
                _let_in(bench, nib)
                takers.add(taker)
                gone.add(number)
                break


def _nib(bench: _Bench, number: int, taker: int, forward: bool) -> Nib | None:
    """The nib of one course in another; None where no frame will do, or the course has another neighbour there."""
    owner, shape = bench.courses[number], bench.shapes[number]
    way = 1.0 if forward else -1.0
    spot = nib_at(shape, tuple((name, x + way * bench.half) for name, x in bench.frames), forward)
    seams = (owner.left, owner.right)
    takes = bench.courses[taker]
    shared = next((s for s in seams if s is not None and s in (takes.left, takes.right)), None)
    if spot is None or shared is None or len(shared.crossings) != 2:
        return None
    rim = next((s for s in seams if s is not shared), None)
    if owner.notches or (rim is not None and len(rim.crossings) != 2):
        return None
    frame, station = spot[0], spot[1] - way * bench.half
    wide = 2.0 * float(owner.width(np.linspace(*shape.reach(), 60)).max()) + SPARE
    fan = _wide_fan(bench, takes, shared, wide)
    bench.courses[taker] = takes = replace(takes, fan=fan)
    edge = _Rim(bench.lined, owner, shape, rim, fan)
    along = _at_x(bench, shared, station)
    for _ in range(3):  # the nib's middle to the middle of the frame's wood
        line = _line(shared, along, edge, fan)
        if line is None:
            return None
        x = bench.liner.patch.at(line[0])[:, 0]
        off = max(bench.half, float(np.ptp(x)) / 2 + CLEAR)
        if off > MOST_OFF * bench.half:
            return None
        along += _per_x(bench, shared, along) * (station + way * off - float(x.min() + x.max()) / 2)
    line = _line(shared, along, edge, fan)
    if line is None:
        return None
    chart, s, rim_along, width = line
    if not _on_panel(shared, along) or not (rim is None or _on_panel(rim, rim_along)):
        return None  # the seam has run out on a border before it comes to the frame
    return Nib(owner, taker, frame, forward, shared, along, chart, rim, rim_along, s, width)


def _on_panel(seam: Seam, along: float) -> bool:
    """Whether a place of a seam lies clear of its crossings with the panel's borders."""
    lo, hi = sorted(crossing.along for crossing in seam.crossings)
    return lo + CLEAR < along < hi - CLEAR


def _wide_fan(bench: _Bench, takes: Course, shared: Seam, wide: float) -> Fan:
    """The taker's fan, reaching over the whole of its neighbour as well."""
    _, _, lo, hi = takes.fan.box
    behind = shared is takes.base
    below = (takes.side > 0) == behind
    return bench.liner.fan(takes.base, lo - wide if below else lo, hi if below else hi + wide)


def _at_x(bench: _Bench, seam: Seam, station: float) -> float:
    s = np.linspace(seam.crossings[0].along, seam.crossings[-1].along, 200)
    x = bench.liner.patch.at(seam.curve.at(s))[:, 0]
    order = np.argsort(x)
    return float(np.interp(station, x[order], s[order]))


def _per_x(bench: _Bench, seam: Seam, along: float) -> float:
    """mm along a seam for each mm of x."""
    x = bench.liner.patch.at(seam.curve.at(np.array([along - 1.0, along + 1.0])))[:, 0]
    return 2.0 / float(x[1] - x[0])


class _Rim:
    """The side of the dropped course that becomes its neighbour's edge, in the neighbour's measure."""

    def __init__(self, lined: Lined, owner: Course, shape: Shape, seam: Seam | None, fan: Fan) -> None:
        self.seam, self.fan = seam, fan
        if seam is not None:
            self.along = seam.stations[::5]
            self.chart = seam.curve.at(self.along)
        else:
            skin = lined.skin
            runs = [r for r in shape.runs if r.kind == "border" and r.name in (skin.lower, skin.upper)]
            self.chart = max(runs, key=lambda r: len(r.chart)).chart
            self.along = np.arange(len(self.chart), dtype=float)
        s, t = fan.locate(self.chart)
        known = np.isfinite(s)
        order = np.argsort(s[known])
        self.s, self.t = s[known][order], t[known][order]
        self.along, self.chart = self.along[known][order], self.chart[known][order]

    def at(self, s: float) -> tuple[Floats, float, float] | None:
        """Chart point, t and place on the seam where it passes s; None where it does not reach it."""
        if len(self.s) < 4 or not self.s[0] < s < self.s[-1]:
            return None
        along = float(np.interp(s, self.s, self.along))
        if self.seam is None:
            chart = np.array([np.interp(s, self.s, self.chart[:, k]) for k in (0, 1)])
            return chart, float(self.fan.locate(chart[None])[1][0]), along
        for _ in range(4):  # secant steps on s(along) = s
            here, ahead = self.fan.locate(self.seam.curve.at(np.array([along, along + 1.0])))[0]
            along += float((s - here) / (ahead - here))
        chart = self.seam.curve.at(np.array([along]))
        return chart[0], float(self.fan.locate(chart)[1][0]), along


def _line(shared: Seam, along: float, rim: _Rim, fan: Fan) -> tuple[Floats, float, float, float] | None:
    """Chart points from the shared seam across the dropped course, s, place on the rim's seam, width."""
    start = shared.curve.at(np.array([along]))
    s, t = (float(v[0]) for v in fan.locate(start))
    end = rim.at(s) if np.isfinite(s) else None
    if end is None:
        return None
    chart, far, rim_along = end
    across = np.linspace(t, far, max(5, int(abs(far - t) / 10.0) + 1))
    line = fan.pq(np.full_like(across, s), across)
    line[0], line[-1] = start[0], chart
    return line, s, rim_along, abs(far - t)


def _let_in(bench: _Bench, nib: Nib) -> None:
    """The dropped course ended, its neighbour widened past the nib, and the nib's ends listed on their seams."""
    owner, takes = nib.owner, bench.courses[nib.taker]
    rim = _Rim(bench.lined, owner, bench.shapes[owner.number], nib.rim, takes.fan)
    way = 1.0 if nib.forward else -1.0
    there = way * (rim.s - nib.station) > -BEFORE
    edge = DrawnWidth(interpolant(rim.s[there], np.abs(rim.t[there])), float(rim.s[there][0]), float(rim.s[there][-1]))
    step = (nib.station, nib.forward)
    if nib.seam is takes.base:
        own = takes.width
        behind = SteppedWidth(takes.behind or _none, ((*step, edge),))
        width = SteppedWidth(own, ((*step, _both(_front(takes), edge)),))
        bench.courses[nib.taker] = replace(takes, width=width, behind=behind, notches=(*takes.notches, nib))
    else:
        width = SteppedWidth(takes.width, ((*step, _both(takes.behind or _none, edge)),))
        bench.courses[nib.taker] = replace(takes, width=width, notches=(*takes.notches, nib))
    bench.courses[owner.number] = replace(owner, nibs=(*owner.nibs, nib), instead=_stood_in(nib, takes))
    bench.listed.setdefault(id(nib.seam), []).append(nib.along)
    if nib.rim is not None:
        bench.listed.setdefault(id(nib.rim), []).append(nib.rim_along)


def _none(s: Floats) -> Floats:
    return np.zeros(np.shape(s))


def _both(one: Width, other: Width) -> Width:
    return lambda s: one(s) + other(s)


def _front(course: Course) -> Width:
    """Width of a course on its own side of its base."""
    return lambda s: course.width(s) - (0.0 if course.behind is None else course.behind(s))


def _stood_in(nib: Nib, takes: Course) -> Width:
    """Width of a dropped course; past its nib that of the plank that stands there instead, for the planks beside it."""
    owner = nib.owner
    s, _ = owner.fan.locate(nib.line)
    at = float(np.max(s) + 1.0 if nib.forward else np.min(s) - 1.0)
    shift = nib.station - float(s[0])
    return SteppedWidth(
        owner.instead or owner.width, ((at, nib.forward, lambda x: owner.width(x) + takes.width(x + shift)),)
    )
