"""Where the screws of the planking go.

frame row   along the middle of the frame under a plank;  end row : a line set in from a plank's ends on keel, chine,
            stem and transom;  grid : between frames, a thin outer layer drawn down on the layer below it
clear       no screw within 12 mm of a seam of any layer of the panel, nor within 10 mm of a screw of a layer below
plugged     counterbored and plugged, where the plank is 16 mm or thicker;  washer : in thinner planks a washer under
            the head; the hole is filled when it is drawn;  flush : what the next layer covers
pierce      a screw with nothing behind it is at least 3 mm shorter than the planking is thick

Everything is reckoned from the finished planks: a point of the flat plank is carried to the boat by its foot on the
nearer long edge.  Source: derived; distances are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from strakewright.arrays import Floats
from strakewright.geometry.margins import outward
from strakewright.geometry.nearby import pairs_within
from strakewright.geometry.outlines import clip_lines
from strakewright.parts import Margin, Mark, Plank

FROM_SEAM = 12.0
FROM_SCREW = 10.0
SLACK = 0.5  # mm more than asked, for what carrying a point to the boat may be off
PLUGGED_FROM = 16.0
BEHIND = 3.0
ROW = 75.0  # mm between screws of a row at most
GRID = 100.0
INSET = 25.0  # mm of a row of screws from the end of a plank
NEXT = 20.0  # mm between two screws of one row at least
LEAST_ACROSS = 1.0  # mm between the edges: nearer they meet in a point
OVER = np.array([1.0, -1.0, 1.0])  # to the other side of the boat
TRIES = 2.0  # mm between places tried
SEEN = 45.0  # mm from a place within which seams and screws of other layers are looked for: layers lie closer
HELD = 40.0  # mm of a frame under a plank from which at least one screw is wanted
ENDS = ("keel", "chine", "stem", "transom")


@dataclass(frozen=True)
class Fastening:
    """How one layer is fastened.

    total : mm of planking of the panel;  covered : another layer comes over it;  on_layer : it lies on another layer
    plugs : wanted where the planks are thick enough;  frames : name -> mm by which the middle of the frame lies
    forward of its station
    """

    total: float
    covered: bool
    on_layer: bool
    plugs: bool
    frames: dict[str, float]

    def name(self, thickness: float, grid: bool = False) -> str:
        """What is written of these screws."""
        if grid:
            return f"washer, to {np.floor(self.total - BEHIND):.0f} mm long"
        if self.covered:
            return "flush"
        return "plug" if self.plugs and thickness >= PLUGGED_FROM else "washer"


@dataclass(frozen=True, eq=False)
class Screwed:
    """planks : with their marks;  bare : ids and frames where no screw is clear of the seams;  spots : (n, 3)"""

    planks: tuple[Plank, ...]
    bare: tuple[tuple[str, str], ...]
    spots: Floats


def screwed(planks: Sequence[Plank], others: Sequence[Plank], below: Floats, how: Fastening) -> Screwed:
    """One layer's planks with screw marks; starboard as port, but for pieces that have no mate: theirs are told of as
    they would lie to port.

    others : planks of the panel's other layers;  below : (n, 3) screws of the layers under it
    """
    seams = _seams(others)
    made: dict[str, tuple[Mark, ...]] = {}
    bare: list[tuple[str, str]] = []
    spots: list[Floats] = [np.zeros((0, 3))]
    for plank in planks:
        if plank.stands_for:
            over = np.ones(3) if plank.on_port else OVER
            marks, missed, here = _one(plank, seams * over, below * over, how)
            made[plank.id] = marks
            if plank.mate is not None:
                made[plank.mate] = marks
            bare += [(plank.id, frame) for frame in missed]
            spots.append(here * over)
    told = tuple(replace(p, marks=(*p.marks, *made.get(p.id, ()))) for p in planks)
    return Screwed(told, tuple(bare), np.concatenate(spots))


def _seams(planks: Sequence[Plank]) -> Floats:
    """(n, 3) points about 5 mm apart of every seam between planks, port side."""
    rows = [np.zeros((0, 3))]
    for plank in planks:
        if plank.on_port:
            rows += [_dense(m.seam) for m in (plank.first, plank.second, *plank.ends) if m.meets == "seam"]
    return np.concatenate(rows)


def _dense(points: Floats) -> Floats:
    run = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=-1))])
    at = np.linspace(0.0, run[-1], max(2, int(run[-1] / 5.0) + 1))
    return np.stack([np.interp(at, run, points[:, k]) for k in range(3)], axis=-1)


def _one(plank: Plank, seams: Floats, below: Floats, how: Fastening) -> tuple[tuple[Mark, ...], list[str], Floats]:
    ground = Ground.of(plank)
    whole = np.concatenate([m.seam for m in (plank.first, plank.second, *plank.ends)])  # a tip reaches past its edges
    box = whole.min(axis=0) - SEEN, whole.max(axis=0) + SEEN
    near = [pts[((pts > box[0]) & (pts < box[1])).all(axis=1)] for pts in (seams, below)]
    taken = np.zeros((0, 2))
    marks: list[Mark] = []
    missed: list[str] = []

    def place(line: Floats, name: str, spacing: float) -> int:
        nonlocal taken
        tries = _along(line)
        good = tries[_is_clear(plank, ground, tries, near)]
        chosen = _spread(line, good, spacing, taken)
        if len(chosen):
            marks.append(Mark("screw", name, chosen))
            taken = np.concatenate([taken, chosen])
        return len(chosen)

    for name, line in _frame_rows(plank, ground, how.frames):
        if place(line, how.name(plank.thickness), ROW) == 0 and _length(line) >= HELD:
            missed.append(name)
    for line in _end_rows(plank):
        place(line, how.name(plank.thickness), ROW)
    if how.on_layer and plank.thickness < PLUGGED_FROM:
        place(_middle(plank), how.name(plank.thickness, grid=True), GRID)
    spots = ground.on_boat(taken)[0] if len(taken) else np.zeros((0, 3))
    return tuple(marks), missed, spots


@dataclass(frozen=True, eq=False)
class Ground:
    """The long edges of a plank, known in the flat and on the boat.  flat (n, 2), space (n, 3), into (n, 2) the way
    into the plank in the flat, away (n, 3) the same on the boat, normal (n, 3) square to its face."""

    flat: Floats
    space: Floats
    into: Floats
    away: Floats

    @staticmethod
    def of(plank: Plank) -> Ground:
        middle = plank.net_outline.mean(axis=0)
        first, second = plank.first, plank.second
        rows = [_edge_ground(m, middle, other.seam) for m, other in ((first, second), (second, first))]
        return Ground(*(np.concatenate(parts) for parts in zip(*rows, strict=True)))

    def on_boat(self, points: Floats) -> tuple[Floats, Floats]:
        """(n, 3) places of flat points and (n, 3) directions square to the face there."""
        k = np.linalg.norm(points[:, None] - self.flat[None], axis=-1).argmin(axis=1)
        off = points - self.flat[k]
        across = (off * self.into[k]).sum(axis=1, keepdims=True)
        way = np.stack([-self.into[k][:, 1], self.into[k][:, 0]], axis=-1)
        ahead = (off * way).sum(axis=1, keepdims=True)
        tangent = self._tangent[k]
        normal = np.cross(tangent, self.away[k])
        return self.space[k] + across * self.away[k] + ahead * tangent, normal

    @property
    def _tangent(self) -> Floats:
        """On the boat, in the direction that is a quarter turn to the left of `into` in the flat."""
        flat, space = np.gradient(self.flat, axis=0), np.gradient(self.space, axis=0)
        way = np.stack([-self.into[:, 1], self.into[:, 0]], axis=-1)
        sign = np.sign((flat * way).sum(axis=1, keepdims=True))
        return np.asarray(sign * space / np.maximum(np.linalg.norm(space, axis=1, keepdims=True), 1e-12))


def _edge_ground(m: Margin, middle: Floats, other: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    way = np.gradient(m.flat, axis=0)
    way /= np.maximum(np.linalg.norm(way, axis=1, keepdims=True), 1e-12)
    into = np.stack([-way[:, 1], way[:, 0]], axis=-1)
    into *= np.sign(((middle - m.flat) * into).sum(axis=1)[len(m.flat) // 2]) or 1.0
    tangent = np.gradient(m.seam, axis=0)
    tangent /= np.maximum(np.linalg.norm(tangent, axis=1, keepdims=True), 1e-12)
    # across the plank to the edge facing it: its middle lies off the surface of a bent plank
    to = other[np.linalg.norm(m.seam[:, None] - other[None], axis=-1).argmin(axis=1)]
    meet = np.linalg.norm(to - m.seam, axis=1) < LEAST_ACROSS
    to = np.where(meet[:, None], other.mean(axis=0), to)
    away = (to - m.seam) - ((to - m.seam) * tangent).sum(axis=1, keepdims=True) * tangent
    away /= np.maximum(np.linalg.norm(away, axis=1, keepdims=True), 1e-12)
    return m.flat, m.seam, into, away


def _frame_rows(plank: Plank, ground: Ground, frames: dict[str, float]) -> list[tuple[str, Floats]]:
    """The middle of every frame under the plank, as lines in the flat."""
    slope = np.linalg.lstsq(
        ground.flat - ground.flat.mean(axis=0), ground.space[:, 0] - ground.space[:, 0].mean(), rcond=None
    )[0]
    step = slope / max(float(slope @ slope), 1e-12)
    rows = []
    for mark in plank.marks:
        if mark.kind == "frame" and len(mark.points) > 1:
            moved = mark.points + frames.get(mark.name, 0.0) * step
            rows += [(mark.name, piece) for piece in clip_lines(moved, plank.fitted_outline)]
    return rows


def _end_rows(plank: Plank) -> list[Floats]:
    """Lines set in from the ends of the plank, and from long edges that lie on keel or chine."""
    rows = []
    middle = plank.fitted_outline.mean(axis=0)
    for m in (plank.first, plank.second, *plank.ends):
        line = _apart(m.fitted)
        if m.meets in ENDS and _length(line) >= HELD:
            way = outward(line)
            way = way if ((line - middle) * way).sum() > 0 else -way
            rows += clip_lines(line - INSET * way, plank.fitted_outline)
    return rows


def _apart(points: Floats) -> Floats:
    """The line without points that lie on the one before: they have no direction.

    >>> _apart(np.array([[0.0, 0.0], [0.0, 1e-10], [5.0, 0.0]])).tolist()
    [[0.0, 0.0], [5.0, 0.0]]
    """
    step = np.linalg.norm(np.diff(points, axis=0), axis=-1)
    return np.asarray(points[np.append(True, step > 1e-6)])


def _middle(plank: Plank) -> Floats:
    """Half way between the long edges."""
    share = np.linspace(0.04, 0.96, 60)
    a, b = (_at_share(m.flat, share) for m in (plank.first, plank.second))
    same, swapped = np.linalg.norm(a - b, axis=1).sum(), np.linalg.norm(a - b[::-1], axis=1).sum()
    return np.asarray((a + (b if same <= swapped else b[::-1])) / 2)


def _at_share(points: Floats, share: Floats) -> Floats:
    run = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=-1))])
    return np.stack([np.interp(share * run[-1], run, points[:, k]) for k in (0, 1)], axis=-1)


def _length(points: Floats) -> float:
    return float(np.linalg.norm(np.diff(points, axis=0), axis=-1).sum())


def _along(line: Floats) -> Floats:
    return _at_share(line, np.linspace(0.0, 1.0, max(2, int(_length(line) / TRIES) + 1)))


def _is_clear(plank: Plank, ground: Ground, tries: Floats, near: list[Floats]) -> np.ndarray:
    """Which places are clear of the plank's own edges, of the other layers' seams and of screws below."""
    least = FROM_SEAM + SLACK
    own = np.concatenate([m.fitted for m in (plank.first, plank.second, *plank.ends)])
    clear = np.linalg.norm(tries[:, None] - own[None], axis=-1).min(axis=1) >= np.hypot(least, 5.0)
    at = np.flatnonzero(clear)
    spots, normal = ground.on_boat(tries[at])
    for others, reach in ((near[0], least), (near[1], FROM_SCREW + SLACK)):
        clear[at[_least_apart(spots, normal, others) < reach]] = False
    return np.asarray(clear)


def _least_apart(spots: Floats, normal: Floats, others: Floats) -> Floats:
    """(n,) least distance, seen square to the face at each spot, of points within `SEEN` of it; inf where none is."""
    least = np.full(len(spots), np.inf)
    spot, other = pairs_within(spots, others, SEEN)
    gap = others[other] - spots[spot]
    gap -= np.einsum("ij,ij->i", gap, normal[spot])[:, None] * normal[spot]
    np.minimum.at(least, spot, np.linalg.norm(gap, axis=1))
    return least


def _spread(line: Floats, good: Floats, spacing: float, taken: Floats) -> Floats:
    """The places nearest to an even spread along a line, each apart from those already taken."""
    count = max(1 if _length(line) < 60.0 else 2, int(np.ceil(_length(line) / spacing)))
    wanted = _at_share(line, (np.arange(count) + 0.5) / count)
    chosen: list[Floats] = []
    for target in wanted:
        held = np.concatenate([taken, np.array(chosen).reshape(-1, 2)])
        free = good
        if len(held):
            free = good[np.linalg.norm(good[:, None] - held[None], axis=-1).min(axis=1, initial=np.inf) >= NEXT]
        if len(free):
            gaps = np.linalg.norm(free - target, axis=1)
            if gaps.min() <= _length(line) / count:
                chosen.append(free[int(gaps.argmin())])
    return np.array(chosen).reshape(-1, 2)
