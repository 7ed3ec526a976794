"""From a course on the skin to its true flat shape.

run       a stretch of a plank's ring: a piece of seam, of border or of a joint, known at once on the skin
          (chart), in the course's own measure (s along, t across), in space and in the flat
shape     the closed ring of runs of one plank, counter-clockwise in the flat
joint     a cut square across the plank where two pieces of a course meet
nib       square end of a dropped course, let into a notch of its neighbour (see shop.nibs)

Source: derived; the flat shape keeps both long edges at their true length (see geometry.developable).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from strakewright.arrays import Floats
from strakewright.errors import UnworkableError
from strakewright.geometry.crossings import Piece, along
from strakewright.geometry.developable import Band
from strakewright.geometry.fans import shoot_fan
from strakewright.geometry.stepped import Strip, unroll_strip
from strakewright.geometry.surface import Patch
from strakewright.shop.courses import Course, Lined, Seam
from strakewright.shop.nibs import Kind, Located, ended, let_into
from strakewright.shop.seams import ACROSS
from strakewright.shop.skins import RING_STEP, Skin

STATION = 10.0  # mm between the listed points of a seam: chord against arc 0.0005 mm a metre at R 2 m
REACH = 0.6  # steps of the fan between the places where a plank's edges are known
TWIN = 1e-6  # mm
SPECK = 0.05  # mm: a run shorter than this is no edge
ASTRAY, STRAINED = 0.02, 0.004  # mm, and share: edges that miss their length by more are measured with finer steps
FINER = (0.5, 0.25)  # of the usual steps of a fan


@dataclass(frozen=True, eq=False)
class Run:
    """kind : which seam, or border, joint or nib;  name : the border's or joint's name, the course beside a nib
    chart, st, flat : (n, 2);  space : (n, 3);  in ring order, end points shared with the neighbours.
    seam : the seam it lies on, None elsewhere"""

    kind: Kind
    name: str
    chart: Floats
    st: Floats
    flat: Floats
    space: Floats
    seam: Seam | None = None


@dataclass(frozen=True, eq=False)
class Shape:
    """One plank's ring.  band : the flat strip it lies in, to place more points."""

    patch: Patch
    course: Course
    band: Band | Strip
    up: int
    runs: tuple[Run, ...]

    def flatten(self, st: Floats) -> Floats:
        """(n, 2) flat points of (n, 2) points in the course's measure."""
        return _flat(self.band, self.up, st)

    def ring(self) -> Floats:
        """(n, 2) flat points of the whole ring, first not repeated."""
        return np.concatenate([r.flat[:-1] for r in self.runs])

    def sny(self) -> float:
        """How far the middle line stands off its chord in the flat, mm."""
        s = np.linspace(*self.reach(), 80)
        return sag(self.flatten(np.stack([s, self.course.middle(s)], axis=-1)))

    def reach(self) -> tuple[float, float]:
        """Smallest and largest s."""
        s = np.concatenate([r.st[:, 0] for r in self.runs])
        return float(s.min()), float(s.max())


def sag(line: Floats) -> float:
    """Largest distance of a flat line (n, 2) from the chord of its ends, mm.

    >>> sag(np.array([[0.0, 0.0], [50.0, 3.0], [100.0, 0.0]]))
    3.0
    """
    chord = (line[-1] - line[0]) / np.linalg.norm(line[-1] - line[0])
    return float(np.abs((line - line[0]) @ np.array([-chord[1], chord[0]])).max())


def shapes_of(lined: Lined, course: Course, extra: dict[int, list[float]] | None = None) -> list[Shape]:
    """The flat shape of every region of a course (nearly always one).

    extra : id of a seam -> further stations (mm along it) that must be listed, because a joint ends there
    """
    listed = {k: [*lined.listed.get(k, []), *(extra or {}).get(k, [])] for k in {*lined.listed, *(extra or {})}}
    return [_shape(lined, course, loop, listed) for loop in course.loops]


def _shape(lined: Lined, course: Course, loop: tuple[Piece, ...], extra: dict[int, list[float]]) -> Shape:
    """Measured by the course's own fan, or by finer ones where that does not lay its edges down at their length."""
    shape = _measured(lined, course, loop, extra)
    for part in FINER:
        if not _astray(shape):
            break
        s_lo, s_hi, t_lo, t_hi = course.fan.box
        steps = {"t_step": part * ACROSS, "s_step": part * course.fan.step}
        fan = shoot_fan(shape.patch, course.base.curve, t_lo=t_lo, t_hi=t_hi, s_lo=s_lo, s_hi=s_hi, **steps)
        shape = _measured(lined, replace(course, fan=fan), loop, extra)
    return shape


def _astray(shape: Shape) -> bool:
    """Whether a seam is not as long in the flat as on the boat, or a border strained at once from point to point."""
    for run in shape.runs:
        flat, space = (np.linalg.norm(np.diff(points, axis=0), axis=-1) for points in (run.flat, run.space))
        if run.kind in ("left", "right") and abs(float((flat - space).sum())) > ASTRAY:
            return True
        if (np.abs(flat - space) > ASTRAY + STRAINED * space).any():
            return True
    return False


def _measured(lined: Lined, course: Course, loop: tuple[Piece, ...], extra: dict[int, list[float]]) -> Shape:
    located = _located(lined.skin, course, loop, extra)
    for nib in course.notches:
        located = let_into(located, _located(lined.skin, nib.owner, nib.owner.loops[0], extra), nib, course.fan)
    for nib in course.nibs:
        located = ended(located, nib, course.fan)
    s = np.concatenate([r.st[:, 0] for r in located])
    if not np.isfinite(s).all():
        raise UnworkableError(
            f"course {course.number} of panel {lined.skin.panel!r} runs out at so fine an angle that its end cannot "
            "be measured",
            where=f"[[planking]] panel {lined.skin.panel!r}",
            fix="Start the courses from another border, or use another angle or width",
        )
    reach = np.linspace(s.min() - 15.0, s.max() + 15.0, max(41, int((np.ptp(s) + 30.0) / (REACH * course.fan.step))))
    s0, s1, _, _ = course.fan.box
    reach = reach[(reach >= s0) & (reach <= s1)]

    def edges(s: Floats) -> tuple[Floats, Floats]:
        near, far = course.reaches(s)
        return np.minimum(near, far), np.maximum(near, far)

    band = unroll_strip(course.fan, reach, edges, [nib.station for nib in course.notches])
    runs = [
        Run(r.kind, r.name, r.chart, r.st, _flat(band, lined.up, r.st), lined.skin.patch.at(r.chart), r.seam)
        for r in located
    ]
    if lined.up < 0:
        runs = [_reversed(r) for r in runs[::-1]]
    return Shape(lined.skin.patch, course, band, lined.up, tuple(runs))


def _located(skin: Skin, course: Course, loop: tuple[Piece, ...], extra: dict[int, list[float]]) -> list[Located]:
    """The runs of a loop on the skin and in the course's measure, joined up."""
    found = [r for piece in loop for r in _on_skin(skin, course, piece, extra)]
    asked = [r for r in found if r.seam is not course.base]  # all at once: a fan is slow to ask, however little
    if asked:
        st = np.stack(course.fan.locate(np.concatenate([r.chart for r in asked])), axis=-1)
        for r, mine in zip(asked, np.split(st, np.cumsum([len(r.chart) for r in asked])[:-1]), strict=True):
            r.st[:] = mine
    return _joined(found)


def _on_skin(skin: Skin, course: Course, piece: Piece, extra: dict[int, list[float]]) -> list[Located]:
    """Chart points of one piece of a loop, s along the base seam; a ring piece is parted at the panel's corners."""
    if piece.source == "ring":
        return [Located("border", n, c, np.zeros_like(c)) for n, c in _around(skin, piece)]
    seam = course.right if piece.source == "right" else course.left
    assert seam is not None
    stations = listed_stations(seam, piece.start, piece.stop, extra.get(id(seam), []))
    return [Located(piece.source, "", seam.curve.at(stations), np.stack([stations, 0.0 * stations], axis=-1), seam)]


def listed_stations(seam: Seam, start: float, stop: float, extra: list[float]) -> Floats:
    """The stations of a seam that both its planks list, from start to stop: a fixed grid, ends and joints."""
    lo, hi = min(start, stop), max(start, stop)
    grid = np.arange(np.ceil(lo / STATION), np.floor(hi / STATION) + 1) * STATION
    joints = np.array([x for x in extra if lo + SPECK < x < hi - SPECK])
    inner = np.concatenate([grid, joints])
    if len(joints):
        far = np.abs(grid[:, None] - joints[None]).min(axis=1) > 0.5 if len(grid) else np.ones(0, bool)
        inner = np.concatenate([grid[far], joints])
    inner = np.sort(inner[(inner > lo + 0.5) & (inner < hi - 0.5)])
    stations = np.concatenate([[lo], inner, [hi]])
    return stations if stop >= start else stations[::-1]


def _around(skin: Skin, piece: Piece) -> list[tuple[str, Floats]]:
    """The borders that a ring piece runs over, each with its chart points."""
    ring, count = skin.ring(), len(skin.ring())
    stop = piece.stop if piece.stop > piece.start else piece.stop + count
    corners = sorted(c + turn * count for c in skin.starts() for turn in (0, 1, 2))
    cuts = [piece.start, *[float(c) for c in corners if piece.start < c < stop], stop]
    closed = np.concatenate([ring, ring, ring, ring[:1]])
    thin = int(STATION / RING_STEP)
    found = []
    for lo, hi in pairwise(cuts):
        inner = np.arange(np.floor(lo / thin) + 1, np.ceil(hi / thin)) * thin
        inner = inner[(inner > lo + 0.2) & (inner < hi - 0.2)]
        points = along(closed, np.concatenate([[lo], inner, [hi]]))
        found.append((skin.border_at((lo + hi) / 2 % count), points))
    return found


def _joined(located: list[Located]) -> list[Located]:
    """Without specks, and with each run's first point made equal to the last of the run before it.

    Where a seam meets a border the seam's point is kept."""
    runs = [r for r in located if np.linalg.norm(np.diff(r.chart, axis=0), axis=-1).sum() > SPECK]
    if len(runs) == 2:  # a lens of one seam and one border: the border's last stretch is its end
        at = next(i for i, r in enumerate(runs) if r.kind == "border")
        half = max(1, len(runs[at].chart) - 3)
        runs[at : at + 1] = [runs[at].part(0, half + 1), runs[at].part(half, None)]
    for i in range(len(runs)):
        a, b = runs[i - 1], runs[i]
        keep, change, at_end = (b, i - 1, True) if a.kind == "border" and b.kind != "border" else (a, i, False)
        chart, st = runs[change].chart.copy(), runs[change].st.copy()
        here, there = (-1, 0) if at_end else (0, -1)
        chart[here], st[here] = keep.chart[there], keep.st[there]
        runs[change] = replace(runs[change], chart=chart, st=st)
    return [_without_twin(r) for r in runs]


def _without_twin(run: Located) -> Located:
    """Without a listed point that has come to lie on the run's end: between the two there is no direction."""
    if len(run.chart) < 3:
        return run
    gaps = np.linalg.norm(np.diff(run.chart, axis=0), axis=-1)
    keep = np.ones(len(run.chart), dtype=bool)
    keep[1], keep[-2] = gaps[0] > TWIN, gaps[-1] > TWIN
    return replace(run, chart=run.chart[keep], st=run.st[keep])


def _flat(band: Band | Strip, up: int, st: Floats) -> Floats:
    flat = band.flat(st[:, 0], st[:, 1])
    return np.asarray(flat * np.array([1.0, float(up)]))


def _reversed(run: Run) -> Run:
    return replace(run, chart=run.chart[::-1], st=run.st[::-1], flat=run.flat[::-1], space=run.space[::-1])


def split(shape: Shape, joints: list[float], names: list[str]) -> list[Shape]:
    """The pieces of a shape cut square across at each s in `joints` (ascending), aftmost piece first."""
    pieces, rest = [], shape
    for s, name in zip(joints, names, strict=True):
        before = replace(rest, runs=_half(rest, s, name, keep_below=True))
        rest = replace(rest, runs=_half(rest, s, name, keep_below=False))
        pieces.append(before)
    return [*pieces, rest]


def _half(shape: Shape, s_cut: float, name: str, keep_below: bool) -> tuple[Run, ...]:
    """The part of a ring on one side of s = s_cut, closed by a run along the cut."""
    sign = 1.0 if keep_below else -1.0
    stays: list[Run] = []
    for run in shape.runs:
        stays += _clipped(run, s_cut, sign)
    closed: list[Run] = []
    for i, run in enumerate(stays):
        closed.append(run)
        follower = stays[(i + 1) % len(stays)]
        if np.linalg.norm(run.flat[-1] - follower.flat[0]) > SPECK:
            closed.append(_cut_run(shape, run, follower, name))
    return tuple(closed)


def _clipped(run: Run, s_cut: float, sign: float) -> list[Run]:
    """Stretches of a run with sign * (s_cut - s) >= 0; crossing points are put in between listed ones."""
    d = sign * (s_cut - run.st[:, 0])
    d[np.abs(d) < 1e-6] = 0.0
    if (d >= 0).all():
        return [run]
    if (d <= 0).all():
        return []
    index = np.arange(len(d), dtype=float)
    flips = np.nonzero(d[:-1] * d[1:] < 0)[0]
    marks = np.concatenate([index[d == 0], flips + d[flips] / (d[flips] - d[flips + 1])])
    cuts = np.unique(np.concatenate([[0.0], marks, [index[-1]]]))
    found = []
    for lo, hi in pairwise(cuts):
        if np.interp((lo + hi) / 2, index, d) > 0 and hi - lo > 1e-9:
            found.append(stretch(run, lo, hi))
    return found


def stretch(run: Run, lo: float, hi: float) -> Run:
    """The part of a run between two fractional point indices."""
    index = np.concatenate([[lo], np.arange(int(np.floor(lo)) + 1, int(np.ceil(hi))), [hi]])
    chart, st, flat, space = (along(a, index) for a in (run.chart, run.st, run.flat, run.space))
    return replace(run, chart=chart, st=st, flat=flat, space=space)


def _cut_run(shape: Shape, run: Run, follower: Run, name: str) -> Run:
    part = np.linspace(0.0, 1.0, 9)[:, None]
    st = run.st[-1] * (1 - part) + follower.st[0] * part
    chart, flat = shape.course.fan.pq(*st.T), shape.flatten(st)
    space = shape.patch.at(chart)
    for own, ends in ((chart, "chart"), (flat, "flat"), (space, "space")):
        own[0], own[-1] = getattr(run, ends)[-1], getattr(follower, ends)[0]
    return Run("joint", name, chart, st, flat, space)
