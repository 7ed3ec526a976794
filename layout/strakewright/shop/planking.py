"""From the choice of seams to every plank, both sides.

strake        a course that runs fore and aft;  herringbone : diagonal courses, mirrored about the centreline
plank         one piece of a course in its true flat shape, with faces, bevels, tails and marks
hood end      end of a plank at the stem;  tail : wood left past a trim line
spiling       taking a plank's shape off the boat; here it is worked out from the surface
mate          the same plank on the other side: equal numbers in its own axes, seen from the other face

Source: derived; rules of faces, ends and tails: DEVELOPERS.md, "Trade rules".
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np

from strakewright.arrays import Floats
from strakewright.errors import Finding
from strakewright.geometry.margins import outward, shifted_ring
from strakewright.geometry.outlines import as_ccw, thin_ring, union_ring
from strakewright.hull import Hull
from strakewright.parts import FaceUp, Margin, Mark, Meets, Plank
from strakewright.settings import PlankingSettings
from strakewright.shop.bevels import (
    Cut,
    Surroundings,
    border_cut,
    chine_cut,
    edge_frame,
    seam_bevel,
)
from strakewright.shop.fit import Limits, judge, measure
from strakewright.shop.joints import SPOIL, Joinable, Room, place_joints
from strakewright.shop.lining import Course, Lined, Seam
from strakewright.shop.marks import frame_marks
from strakewright.shop.shapes import Run, Shape, shapes_of, split, stretch

CUT_CHORD = 0.05  # mm: how far the line to cut may leave the true curve
CUT_LONGEST = 50.0  # mm: longest straight of the line to cut
MIRROR = np.array([1.0, -1.0, 1.0])


@dataclass(frozen=True, eq=False)
class Bench:
    """What every plank of one layer needs to know.

    frames : name and x of each;  room : boards to cut from;  total : thickness of the panel's planking, and how
    much of it lies outside the described surface
    """

    hull: Hull
    settings: PlankingSettings
    lined: Lined
    around: Surroundings
    frames: tuple[tuple[str, float], ...]
    room: Room
    limits: Limits
    inner: bool = False

    @property
    def cut_thickness(self) -> float:
        """Net thickness and what fairing takes: half as much off a layer that is planked over."""
        return self.settings.thickness + self.settings.fair_allow * (0.5 if self.inner else 1.0)

    @property
    def total(self) -> tuple[float, float]:
        whole = self.settings.layers * self.settings.thickness
        out = {"outside": 0.0, "middle": whole / 2, "inside": whole}[self.hull.surface]
        return whole, out

    @property
    def depth(self) -> float:
        """Middle of this layer below the outside of all planking, mm."""
        return self.lined.skin.depth + self.total[1]


@dataclass(frozen=True, eq=False)
class _Blank:
    """A shape with its place in the numbering."""

    id: str
    course: Course
    piece: int
    shape: Shape
    joined: tuple[str | None, str | None] = field(default=(None, None))


def plank_layer(bench: Bench) -> tuple[list[Plank], list[Finding]]:
    """All planks of one layer: port first, then starboard, each in hanging order."""
    whole = [(c, shape) for c in bench.lined.courses for shape in shapes_of(bench.lined, c)]
    joints, findings = _joints(bench, whole)
    extra = _seam_stations(bench.lined, whole, joints)
    final = [(c, s) for c in bench.lined.courses for s in shapes_of(bench.lined, c, extra)] if extra else whole
    blanks = _blanks(bench, final, joints)
    port = [_plank(bench, blank, blanks) for blank in blanks]
    return [*port, *(_mirrored(p) for p in port)], findings


def _letter(panel: str) -> str:
    """Short chalk letters of a panel: bottom B, side S, bilge1 G1."""
    return panel.replace("bilge", "G") if panel.startswith("bilge") else panel[0].upper()


def _joints(bench: Bench, whole: list[tuple[Course, Shape]]) -> tuple[list[list[float]], list[Finding]]:
    settings = bench.settings
    if settings.joint == "none" or settings.pattern == "herringbone" or not whole:
        return [[] for _ in whole], []
    scarf = settings.scarf_slope * settings.thickness
    courses = [_joinable(bench, c, shape) for c, shape in whole]
    return place_joints(courses, np.array([x for _, x in bench.frames]), bench.room, scarf)


def _joinable(bench: Bench, course: Course, shape: Shape) -> Joinable:
    lo, hi = shape.reach()
    skin, settings = bench.lined.skin, bench.settings
    st = np.concatenate([r.st for r in shape.runs])
    flat = np.concatenate([r.flat for r in shape.runs])
    sides = settings.trim_sheer if any(r.name == "sheer" for r in shape.runs) else 0.0
    sides += settings.trim_chine if any(r.name.startswith("chine") for r in shape.runs) else 0.0

    def x_at(s: Floats) -> Floats:
        middle = course.side * course.width(s) / 2
        return np.asarray(skin.patch.at(course.fan.pq(s, middle))[:, 0])

    def blank(s0: float, s1: float) -> tuple[float, float]:
        here = flat[(st[:, 0] >= s0 - 1e-6) & (st[:, 0] <= s1 + 1e-6)]
        middle = course.side * course.width(np.array([s0, s1])) / 2
        chord = np.diff(shape.flatten(np.stack([[s0, s1], middle], axis=-1)), axis=0)[0]
        chord /= np.linalg.norm(chord)
        along, across = here @ chord, here @ np.array([-chord[1], chord[0]])
        tails = (s0 <= lo) * settings.tail_aft + (s1 >= hi) * settings.tail_forward
        return float(np.ptp(along)) + tails + 4.0, float(np.ptp(across)) + sides + 4.0

    return Joinable(_id(bench, course, 0, 1), lo, hi, x_at, blank)


def _id(bench: Bench, course: Course, piece: int, pieces: int, side: str = "P") -> str:
    layer = f"{bench.lined.skin.layer}." if bench.settings.layers > 1 else ""
    part = chr(ord("a") + piece) if pieces > 1 else ""
    return f"{_letter(bench.lined.skin.panel)}{layer}{course.number:02d}{part}{side}"


def _seam_stations(
    lined: Lined, whole: list[tuple[Course, Shape]], joints: list[list[float]]
) -> dict[int, list[float]]:
    """Where joints end on seams, so that the planks on both sides list the same points there."""
    found: dict[int, list[float]] = {}
    for (course, _), cuts in zip(whole, joints, strict=True):
        for seam in (course.left, course.right):
            if seam is None or not cuts:
                continue
            found.setdefault(id(seam), []).extend(_stations_at(course, seam, cuts))
    return found


def _stations_at(course: Course, seam: Seam, cuts: list[float]) -> list[float]:
    if seam is course.base:
        return cuts
    stations = np.array(cuts)
    coarse = seam.stations[::10]
    s, _ = course.fan.locate(seam.curve.at(coarse))
    known = np.isfinite(s)
    sigma = np.interp(stations, s[known], coarse[known])
    for _ in range(4):  # secant steps on s(sigma) = cut
        here, _ = course.fan.locate(seam.curve.at(sigma))
        ahead, _ = course.fan.locate(seam.curve.at(sigma + 1.0))
        sigma = sigma + (stations - here) / (ahead - here)
    return [float(x) for x in sigma]


def _blanks(bench: Bench, whole: list[tuple[Course, Shape]], joints: list[list[float]]) -> list[_Blank]:
    blanks: list[_Blank] = []
    for course in bench.lined.courses:
        pieces: list[tuple[Shape, bool]] = []
        for (owner, shape), cuts in zip(whole, joints, strict=True):
            if owner is course:
                parts = split(shape, cuts, ["scarf"] * len(cuts))
                pieces += [(p, i > 0) for i, p in enumerate(parts)]
        pieces = [p for p in pieces if len(p[0].runs) > 2]
        pieces.sort(key=lambda p: p[0].reach()[0])
        ids = [_id(bench, course, i, len(pieces)) for i in range(len(pieces))]
        for i, (shape, joined) in enumerate(pieces):
            after = i + 1 < len(pieces) and pieces[i + 1][1]
            mates = (ids[i - 1] if joined else None, ids[i + 1] if after else None)
            blanks.append(_Blank(ids[i], course, i + 1, shape, mates))
    return blanks


# -- one plank -------------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class _Edged:
    """A run with what it meets and how it is cut.  allowance : mm left outside the larger face."""

    run: Run
    meets: Meets
    border: str | None
    cut: Cut
    allowance: float
    tail: float


def _plank(bench: Bench, blank: _Blank, blanks: list[_Blank]) -> Plank:
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
        "fitted_outline": shifted_ring(flats, shifts),
        "face_outside": shifted_ring(flats, [s + x for s, x in zip(shifts, lean, strict=True)]),
        "face_inside": shifted_ring(flats, [s - x for s, x in zip(shifts, lean, strict=True)]),
    }
    grown = [
        s + np.abs(x) + e.allowance + e.tail * np.abs(w[:, 0])
        for s, x, e, w in zip(shifts, lean, edged, ways, strict=True)
    ]
    cut_line = union_ring(shifted_ring(flats, grown), union_ring(*(rings["face_inside"], rings["face_outside"])))
    outline = as_ccw(thin_ring(cut_line, CUT_CHORD, CUT_LONGEST))
    margins = [_margin(e, f, w, blank) for e, f, w in zip(edged, flats, ways, strict=True)]
    first, second, ends = _sorted_out(bench, margins, edged, blank, blanks)
    marks = [_turned(m, turn) for m in frame_marks(bench.lined.skin, shape, bench.frames)]
    marks += [Mark("trim", m.meets, m.fitted) for m in ends if m.meets in ("stem", "transom", "keel", "chine")]
    fit = judge(measure(bench.lined.skin, shape), settings.thickness, _fold_out(shape), bench.limits)
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
        cut=settings.cut,
        first=first,
        second=second,
        ends=tuple(ends),
        marks=tuple(marks),
        fit=fit,
        extra=_extra(blank, shape),
        **rings,
    )


def _fold_out(shape: Shape) -> float:
    """Largest strain of laying the plank flat with both edges true, a fraction."""
    lo, hi = shape.reach()
    s = np.linspace(lo, hi, 101)[:, None]
    t = shape.band.a(s) + np.linspace(0.0, 1.0, 9) * (shape.band.b(s) - shape.band.a(s))
    return float(np.abs(shape.band.strain(s, t)).max())


def _extra(blank: _Blank, shape: Shape) -> dict[str, object]:
    along = np.linspace(*shape.reach(), 50)
    return {"width_max": float(blank.course.width(along).max())}


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


def _edged(bench: Bench, blank: _Blank, run: Run) -> list[_Edged]:
    """What a run meets; a chine run that changes from lap to mitre is parted there by a square step."""
    settings, lined = bench.settings, bench.lined
    edge = edge_frame(lined.skin.patch, run, lined.up)
    still = np.zeros(len(run.chart))
    if run.kind in ("left", "right"):
        width = blank.course.width(run.st[:, 0])
        cut = Cut(seam_bevel(lined.skin.patch, run, edge, width), still)
        return [_Edged(run, "seam", None, cut, -settings.glue_line / 2, 0.0)]
    if run.kind == "joint":
        slope = np.arctan(settings.scarf_slope)
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


def _margin(e: _Edged, flat: Floats, way: Floats, blank: _Blank) -> Margin:
    neighbour = None
    if e.meets == "scarf":
        neighbour = blank.joined[1] if e.cut.bevel[0] < 0 else blank.joined[0]
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
    bench: Bench, margins: list[Margin], edged: list[_Edged], blank: _Blank, blanks: list[_Blank]
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
    ends = [m for i, m in enumerate(margins) if i not in chosen]
    return pair[0], pair[1], ends


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


def _neighbour(blank: _Blank, blanks: list[_Blank], step: int, m: Margin) -> str | None:
    """The piece of the next course that shares most of this seam."""
    course = blank.course.number + step
    middle = m.seam[len(m.seam) // 2]
    rows = [b for b in blanks if b.course.number == course]
    if not rows:
        return None

    def gap(b: _Blank) -> float:
        return float(min(np.linalg.norm(r.space - middle, axis=-1).min() for r in b.shape.runs))

    return min(rows, key=gap).id


def _mirrored(p: Plank) -> Plank:
    """The mate on the other side: the same numbers, seen from the other face."""

    def across(m: Margin) -> Margin:
        return replace(m, seam=m.seam * MIRROR, neighbour=_other(m.neighbour))

    face: FaceUp = "outside" if p.face_up == "inside" else "inside"
    return replace(
        p,
        id=_other(p.id),
        side="starboard",
        mate=p.id,
        face_up=face,
        first=across(p.first),
        second=across(p.second),
        ends=tuple(across(m) for m in p.ends),
    )


def _other(name: str | None) -> str | None:
    return None if name is None else name[:-1] + "S"
