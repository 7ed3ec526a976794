"""One plank, from its flat shape to faces, bevels, tails, marks and verdict.

bench     what every plank of one layer needs to know
blank     a flat shape with its place in the numbering
edged     a stretch of the ring with what it meets and how it is cut
at rest   turned and shifted so that the longest edge's chord lies along x

Source: derived; rules of faces, ends and tails: DEVELOPERS.md, "Trade rules in the code".
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np

from strakewright.arrays import Floats
from strakewright.geometry.margins import outward, shifted_ring
from strakewright.geometry.outlines import as_ccw, thin_ring
from strakewright.hull import Hull
from strakewright.parts import Margin, Mark, Meets, Plank
from strakewright.settings import PlankingSettings
from strakewright.shop.bevels import Cut, Edge, Surroundings, border_cut, chine_cut, curvature_across, edge_frame
from strakewright.shop.courses import Course, Lined, TaperedWidth
from strakewright.shop.fit import Limits, judge, measure, tightness
from strakewright.shop.folds import EdgeTable, Fold, bevel_rows, planed, width_at
from strakewright.shop.joints import SPOIL, Room, slope_at
from strakewright.shop.marks import frame_marks
from strakewright.shop.shapes import Run, Shape, stretch
from strakewright.shop.sweetness import nibs_cut

CUT_CHORD = 0.05  # mm: how far the line to cut may leave the true curve
CUT_LONGEST = 50.0  # mm: longest straight of the line to cut
TRIMMED = ("stem", "transom", "keel", "chine", "sheer")  # finished lines scribed on the inside face
BLOCK = 6.0  # thicknesses that a butt block reaches to either side of its joint; common practice, no source
LEAST_TRIM = 8.0  # mm left at an end that runs nearly along the plank


@dataclass(frozen=True, eq=False)
class Bench:
    """What every plank of one layer needs to know.

    frames : name and x of each;  room : boards to cut from;  joints : course -> x of joints fixed beforehand;
    spare : further lawful splits wanted of each jointed course;  starboard : as `joints`, where that side is unlike
    folds : of every seam, by its id;  half_frame : half the siding of the frames
    total : thickness of the panel's planking, and how much of it lies outside the described surface
    """

    hull: Hull
    settings: PlankingSettings
    lined: Lined
    around: Surroundings
    frames: tuple[tuple[str, float], ...]
    room: Room
    limits: Limits
    inner: bool = False
    joints: dict[int, tuple[float, ...]] = field(default_factory=dict)
    spare: int = 0
    folds: dict[int, Fold] = field(default_factory=dict)
    half_frame: float = 16.0
    starboard: dict[int, tuple[float, ...]] = field(default_factory=dict)

    @property
    def cut_thickness(self) -> float:
        """Net thickness and what fairing takes: half as much off a layer that is planked over."""
        return self.settings.thickness + self.settings.fair_allow * (0.5 if self.inner else 1.0)

    def spare_of(self, course: Course, side: str) -> float:
        """Wood left on a seam: the shutter is cut to a measured gap, so it is left wide against the course before."""
        last = len(self.lined.courses)
        shutter = self.settings.pattern == "strakes" and course.number == last > 1
        before = "left" if self.lined.first_is_left else "right"
        return self.settings.spare_shutter if shutter and side == before else 0.0

    @property
    def total(self) -> tuple[float, float]:
        return self.settings.total, self.settings.outside_of(self.hull.surface)

    @property
    def depth(self) -> float:
        """Middle of this layer below the outside of all planking, mm."""
        return self.lined.skin.depth + self.total[1]


@dataclass(frozen=True, eq=False)
class Blank:
    """A shape with its place in the numbering."""

    id: str
    course: Course
    piece: int
    shape: Shape
    joined: tuple[str | None, str | None] = field(default=(None, None))


@dataclass(frozen=True, eq=False)
class _Edged:
    """A run with what it meets and how it is cut.  allowance : mm left outside the larger face."""

    run: Run
    meets: Meets
    border: str | None
    cut: Cut
    allowance: float
    tail: float


def plank_of(bench: Bench, blank: Blank, blanks: list[Blank]) -> Plank:
    settings, shape = bench.settings, blank.shape
    edged = [e for run in shape.runs for e in _edged(bench, blank, run)]
    turn = _Rest.of(edged)
    flats = [turn(e.run.flat) for e in edged]
    half = settings.thickness / 2
    shifts = [e.cut.shift for e in edged]
    lean = [half * np.tan(e.cut.bevel) for e in edged]
    ways = [outward(f) for f in flats]
    rings = {
        "net_outline": np.concatenate([f[:-1] for f in flats]),
        "fitted_outline": shifted_ring(flats, shifts, ways),
        "face_outside": shifted_ring(flats, [s + x for s, x in zip(shifts, lean, strict=True)], ways),
        "face_inside": shifted_ring(flats, [s - x for s, x in zip(shifts, lean, strict=True)], ways),
    }
    grown = [
        s + np.abs(x) + e.allowance + np.maximum(e.tail * np.abs(w[:, 0]), min(e.tail, LEAST_TRIM))
        for s, x, e, w in zip(shifts, lean, edged, ways, strict=True)
    ]
    outline = as_ccw(thin_ring(shifted_ring(flats, grown, ways), CUT_CHORD, CUT_LONGEST))
    margins = [_margin(e, f, w, blank) for e, f, w in zip(edged, flats, ways, strict=True)]
    first, second, ends = _sorted_out(bench, margins, edged, blank, blanks)
    marks = [_turned(m, turn) for m in frame_marks(bench.lined.skin, shape, bench.frames)]
    marks += [
        Mark("trim", e.meets, f + (s - x)[:, None] * w)
        for e, f, w, s, x in zip(edged, flats, ways, shifts, lean, strict=True)
        if e.meets in TRIMMED or (e.meets == "seam" and e.allowance > 0)
    ]
    marks += [
        _slope_mark(e, f, np.abs(x)[:, None] * w)
        for e, f, w, x in zip(edged, flats, ways, lean, strict=True)
        if e.meets == "scarf"
    ]
    marks += [_block_mark(bench, f, w) for e, f, w in zip(edged, flats, ways, strict=True) if e.meets == "butt"]
    fit = judge(measure(bench.lined.skin, shape), settings.thickness, _fold_out(shape), bench.limits, bench.frames)
    return Plank(
        id=blank.id,
        side="port",
        panel=bench.lined.skin.panel,
        layer=bench.lined.skin.layer,
        course=blank.course.number,
        piece=blank.piece,
        mate=blank.id[:-1] + "S",
        thickness=settings.thickness,
        cut_thickness=bench.cut_thickness,
        species=settings.species,
        outline=outline,
        face_up="inside" if bench.lined.up > 0 else "outside",
        cut="spiled",
        first=first,
        second=second,
        ends=tuple(ends),
        marks=tuple(marks),
        fit=fit,
        extra=_extra(blank, shape, outline) | {"bevels": _bevels(bench, edged, flats)},
        **rings,
    )


def _bevels(bench: Bench, edged: list[_Edged], flats: list[Floats]) -> list[dict[str, object]]:
    """Table of the bevels of seams, chine and keel."""
    rows: list[dict[str, object]] = []
    for e, flat in zip(edged, flats, strict=True):
        if e.meets not in ("seam", "chine", "keel"):
            continue
        which = "first" if (e.run.kind == "left") == bench.lined.first_is_left else "second"
        fold = np.zeros(len(flat)) if e.cut.fold is None else e.cut.fold
        table = EdgeTable(e.border or which, flat[:, 0], e.run.space[:, 0], e.cut.bevel, fold)
        rows += bevel_rows(table, bench.settings.thickness, bench.frames)
    return rows


def _slope_mark(e: _Edged, flat: Floats, reach: Floats) -> Mark:
    """The ground that a scarf's slope covers, named by the face it is cut into."""
    near, far = flat - reach, flat + reach
    face = "outside" if e.cut.bevel[0] < 0 else "inside"
    return Mark("joint", f"scarf, taper {face}", np.stack([near[0], near[-1], far[-1], far[0]]))


def _block_mark(bench: Bench, flat: Floats, way: Floats) -> Mark:
    """The ground of the butt block on this side of the joint."""
    inward = -BLOCK * bench.settings.thickness * way
    return Mark("joint", "butt block", np.stack([flat[0], flat[-1], (flat + inward)[-1], (flat + inward)[0]]))


def _fold_out(shape: Shape) -> float:
    """Largest strain of laying the plank flat with both edges true, a fraction."""
    lo, hi = shape.reach()
    s = np.linspace(lo, hi, 101)[:, None]
    t = shape.band.a(s) + np.linspace(0.0, 1.0, 9) * (shape.band.b(s) - shape.band.a(s))
    ring = np.concatenate([r.st for r in shape.runs]).T  # a corner may lie past the strip between the edges
    return max(float(np.abs(shape.band.strain(*st)).max()) for st in ((s, t), ring))


def _extra(blank: Blank, shape: Shape, outline: Floats) -> dict[str, object]:
    """Widest place and sny of the plank, and the width of straight-edged board that its line to cut wants, mm."""
    along = np.linspace(*shape.reach(), 50)
    course = blank.course
    found: dict[str, object] = {
        "width_max": float(course.width(along).max()),
        "sny": shape.sny(),
        "board_width": float(np.ptp(outline[:, 1])),
    }
    if ends := nibs_cut(course, shape):
        found["nibs"] = ends
    if isinstance(course.width, TaperedWidth):
        found["taper"] = course.width.taper
    return found


@dataclass(frozen=True, eq=False)
class _Rest:
    """Turn and shift that lay the longest edge's chord along x, with the ring's least x and y at 0."""

    turn: Floats
    shift: Floats

    @staticmethod
    def of(edged: list[_Edged]) -> _Rest:
        longest = max(edged, key=lambda e: float(np.linalg.norm(e.run.flat[-1] - e.run.flat[0])))
        lo, hi = longest.run.st[[0, -1], 0].argsort()
        ends = longest.run.flat[[0, -1]]
        chord = ends[hi] - ends[lo]
        chord = chord / np.linalg.norm(chord)
        turn = np.array([[chord[0], -chord[1]], [chord[1], chord[0]]])
        ring = np.concatenate([e.run.flat for e in edged]) @ turn
        return _Rest(turn, ring.min(axis=0))

    def __call__(self, flat: Floats) -> Floats:
        return np.asarray(flat @ self.turn - self.shift)


def _turned(mark: Mark, turn: _Rest) -> Mark:
    return replace(mark, points=turn(mark.points))


def _edged(bench: Bench, blank: Blank, run: Run) -> list[_Edged]:
    """What a run meets; a chine run that changes from lap to mitre is parted there by a square step."""
    settings, lined = bench.settings, bench.lined
    edge = edge_frame(lined.skin.patch, run, lined.up)
    still = np.zeros(len(run.chart))
    if run.kind in ("left", "right"):
        spare = bench.spare_of(blank.course, run.kind)
        return [_Edged(run, "seam", None, _seam_cut(bench, blank, run, edge), spare - settings.glue_line / 2, 0.0)]
    if run.kind == "nib":  # let in square
        return [_Edged(run, "seam", None, Cut(still, still), -settings.glue_line / 2, 0.0)]
    if run.kind == "joint" and run.name == "butt":
        return [_Edged(run, "butt", None, Cut(still, still), 0.0, 0.0)]
    if run.kind == "joint":
        bend = tightness(lined.skin, blank.course, run.st[:1, 0], settings.thickness)
        slope = np.arctan(slope_at(float(bend[0]), settings.scarf_slope))
        sign = -1.0 if edge.away[:, 0].mean() > 0 else 1.0
        return [_Edged(run, "scarf", None, Cut(still + sign * slope, still), 0.0, SPOIL)]
    if run.name.startswith("chine"):
        return _chine_edges(bench, run)
    cut = border_cut(run, edge, bench.around, bench.depth, bench.total)
    if run.name == "sheer":
        return [_Edged(run, "sheer", run.name, cut, settings.trim_sheer, 0.0)]
    tails: dict[str, tuple[Meets, float]] = {
        "keel": ("keel", settings.tail_keel if settings.pattern == "herringbone" else 0.0),
        "stem": ("stem", settings.tail_forward),
        "bow transom": ("transom", settings.tail_forward),
    }
    meets, tail = tails.get(run.name, ("transom", settings.tail_aft))
    return [_Edged(run, meets, run.name, cut, 0.0, tail)]


def _seam_cut(bench: Bench, blank: Blank, run: Run, edge: Edge) -> Cut:
    """Bevel of a long edge: its share of the fold with the plank beyond, or none where square edges close."""
    patch, course = bench.lined.skin.patch, blank.course
    across = curvature_across(patch, run.chart, edge.away)  # half the fold of flat planks: this x width / 2
    own = across * course.width(run.st[:, 0]) / 2
    still = np.zeros(len(run.chart))
    fold = bench.folds.get(id(run.seam))
    other = fold.beyond(course) if fold is not None else None
    if fold is None or other is None:
        return Cut(own, still, 2 * own)
    beyond = across * width_at(other, run.chart) / 2
    is_first = (run.kind == "left") == bench.lined.first_is_left
    return Cut(planed(own, beyond, is_first, fold, bench.settings), still, own + beyond)


def _chine_edges(bench: Bench, run: Run) -> list[_Edged]:
    corner = bench.around.corners.get(run.name)
    if corner is None:  # an open panel: nothing to be joined to, left square
        still = np.zeros(len(run.chart))
        return [_Edged(run, "chine", run.name, Cut(still, still), bench.settings.trim_chine, 0.0)]
    above = run.name == bench.lined.skin.lower
    over = run.space[:, 0] - corner.mitre_from
    flips = np.nonzero(np.diff(np.sign(over)))[0] if np.isfinite(corner.mitre_from) else np.zeros(0, int)
    steps = [float(i + over[i] / (over[i] - over[i + 1])) for i in flips]
    bounds = [0.0, *steps, float(len(over) - 1)]
    found = []
    for lo, hi in pairwise(bounds):
        if hi - lo < 1e-6:
            continue
        part = stretch(run, lo, hi)
        cut = chine_cut(part, corner, bench.depth, above, bool(part.space[:, 0].mean() > corner.mitre_from))
        found.append(_Edged(part, "chine", run.name, cut, bench.settings.trim_chine, 0.0))
    return found


def _margin(e: _Edged, flat: Floats, way: Floats, blank: Blank) -> Margin:
    neighbour = None
    if e.run.kind == "joint":
        lo, hi = blank.shape.reach()
        neighbour = blank.joined[int(e.run.st[:, 0].mean() > (lo + hi) / 2)]
    return Margin(
        e.meets,
        neighbour,
        e.border,
        e.run.space,
        flat,
        flat + e.cut.shift[:, None] * way,
        e.cut.bevel,
        e.tail,
    )


def _sorted_out(
    bench: Bench, margins: list[Margin], edged: list[_Edged], blank: Blank, blanks: list[Blank]
) -> tuple[Margin, Margin, list[Margin]]:
    """`first`, `second` and the ends.  Where no seam lies on a side, the border that faces it is the edge."""
    names = ("left", "right") if bench.lined.first_is_left else ("right", "left")
    chosen: list[int] = []
    for kind in names:
        at = [i for i, e in enumerate(edged) if e.run.kind == kind]
        at = at or _facing(bench, edged, kind, chosen)
        chosen.append(max(at, key=lambda i: _length(margins[i].flat)))
    pair = []
    for i, step in zip(chosen, (-1, 1), strict=True):
        m = _aft_first(margins[i], edged[i].run)
        near = _neighbour(blank, blanks, step, m) if m.meets == "seam" else m.neighbour
        pair.append(replace(m, neighbour=near))
    ends = [_beside(m, edged[i].run, blank, blanks) for i, m in enumerate(margins) if i not in chosen]
    return pair[0], pair[1], ends


def _beside(m: Margin, run: Run, blank: Blank, blanks: list[Blank]) -> Margin:
    """An end with the plank it lies against: a nib has one, and so has the seam past it."""
    if m.meets != "seam":
        return m
    courses = (
        [int(run.name)] if run.kind == "nib" else [b.course.number for b in blanks if b.course is not blank.course]
    )
    return replace(m, neighbour=_nearest(blanks, courses, m))


def _facing(bench: Bench, edged: list[_Edged], kind: str, taken: list[int]) -> list[int]:
    """Border runs whose outward side is the side asked for; the most squarely facing long one."""
    want = 1.0 if kind == "left" else -1.0
    scores = []
    for i, e in enumerate(edged):
        if i in taken or e.run.kind in ("left", "right", "joint"):
            continue
        way = outward(e.run.flat).mean(axis=0)[1] * bench.lined.up
        scores.append((want * way * _length(e.run.flat), i))
    if not scores:
        scores = [(0.0, i) for i in range(len(edged)) if i not in taken]
    return [max(scores)[1]]


def _length(flat: Floats) -> float:
    return float(np.linalg.norm(np.diff(flat, axis=0), axis=-1).sum())


def _aft_first(m: Margin, run: Run) -> Margin:
    if run.st[0, 0] <= run.st[-1, 0]:
        return m
    return replace(m, seam=m.seam[::-1], flat=m.flat[::-1], fitted=m.fitted[::-1], bevel=m.bevel[::-1])


def _neighbour(blank: Blank, blanks: list[Blank], step: int, m: Margin) -> str | None:
    """The piece of the next course that shares most of this seam; of the one after it where that one was dropped."""
    first = blank.course.number + step
    dropped = any(b.course.number == first and b.course.nibs for b in blanks)
    return _nearest(blanks, [first, first + step] if dropped else [first], m)


def _nearest(blanks: list[Blank], courses: list[int], m: Margin) -> str | None:
    """The piece of one of these courses that is nearest to the middle of a margin."""
    middle = m.seam[len(m.seam) // 2]
    rows = [b for b in blanks if b.course.number in courses]
    if not rows:
        return None

    def gap(b: Blank) -> float:
        return float(min(np.linalg.norm(r.space - middle, axis=-1).min() for r in b.shape.runs))

    return min(rows, key=gap).id
