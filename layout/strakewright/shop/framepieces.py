"""The pieces of one frame, cut to the inside of planking at both of their faces.

strip     what lies within the moulded depth of a panel's line, run on past its corners and out past the planking
corner    where two strips meet: lapped (each runs through to the other's planking) or cut on the bisector
region    strip cut by the planking at one face: the same inner edge on both faces, an outer edge of its own on each

Sources: derived.  Floor 1.5 x moulded deep measured square to the planking, gusset legs 2.5 x moulded, gussets set
back 10 mm, half-lap halves of equal depth: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from strakewright.arrays import Floats
from strakewright.frames import BevelAt
from strakewright.geometry.curves import arc_length
from strakewright.geometry.regions import (
    NONE,
    beyond,
    hull_ring,
    join,
    moved_left,
    run_on,
    share,
    shrunk,
)
from strakewright.shop.inside import InnerLine
from strakewright.shop.notches import mirrored_ring

OUT = 80.0  # mm a strip reaches out past the planking
HEAD = 25.0  # mm left above the sheer, to be trimmed when the planking is on
LONGEST_LAP = 2.5  # moulded depths
LEGS = 2.5  # gusset legs in moulded depths
SET_BACK = 10.0  # mm between gusset and planking
SQUARE_BELOW = 0.3  # mm over the siding
BEVEL_STEP = 300.0  # mm between bevels at most
FLAT_BOTTOM = np.radians(3.0)  # below this deadrise the bottom piece runs right across
PORT = np.array([1.0, 0.0])


@dataclass(frozen=True, eq=False)
class Section:
    """Inside of planking in the plane x.  lines : port half, keel up;  whole : ring of both halves, open above the
    sheer by 200 mm"""

    x: float
    lines: tuple[InnerLine, ...]
    whole: Floats

    def line(self, panel: str) -> InnerLine | None:
        return {line.panel: line for line in self.lines}.get(panel)


def section_of(x: float, lines: tuple[InnerLine, ...]) -> Section:
    """The section with its ring."""
    if not lines:
        return Section(x, (), NONE)
    chain = np.concatenate([_thinned(line.flat) for line in lines])
    chain = chain[np.concatenate([[True], np.linalg.norm(np.diff(chain, axis=0), axis=1) > 1e-6])]
    chain = run_on(chain, 0.0, 200.0)
    both = np.concatenate([(chain * [-1.0, 1.0])[::-1], chain])
    return Section(x, lines, join([both]))


def _thinned(line: Floats) -> Floats:
    """Every fourth point, both ends kept."""
    return np.concatenate([line[:-1:4], line[-1:]])


@dataclass(frozen=True, eq=False)
class Strip:
    """One panel's piece before it is cut by the planking.  kind : the panel's name;  line : control line
    inner : its inner edge, run on as far as the strip;  ring : finished;  headed : with the head's tail"""

    kind: str
    line: InnerLine
    inner: Floats
    ring: Floats
    headed: Floats
    whole: bool = False


def strips_of(section: Section, moulded: float, lapped: bool) -> list[Strip]:
    """A strip for every panel, lowest first, port half (a flat bottom runs right across)."""
    lines = section.lines
    folds = [_fold(a.flat, b.flat) for a, b in pairwise(lines)]
    strips = []
    for i, line in enumerate(lines):
        below = 3 * moulded if i == 0 else _lap(folds[i - 1], moulded, lapped)
        above = 0.0 if i == len(lines) - 1 else _lap(folds[i], moulded, lapped)
        head = HEAD if i == len(lines) - 1 else 0.0
        strips.append(_strip(line, moulded, below, above, head))
    if not lapped:
        strips = _mitred(strips, section)
    return [_halved_or_whole(s, moulded) for s in strips]


def _fold(lower: Floats, upper: Floats) -> float:
    """Angle between two lines where they meet, radians."""
    a, b = lower[-1] - lower[-2], upper[1] - upper[0]
    return float(np.arccos(np.clip(a @ b / np.linalg.norm(a) / np.linalg.norm(b), -1.0, 1.0)))


def _lap(fold: float, moulded: float, lapped: bool) -> float:
    """How far a strip runs on past a corner."""
    through = moulded / np.tan(max(fold, 1e-3)) if fold < np.pi / 2 else 0.0
    return float(np.clip(through, 0.0, LONGEST_LAP * moulded)) + (0.0 if lapped else moulded)


def _strip(line: InnerLine, moulded: float, below: float, above: float, head: float) -> Strip:
    thin = _thinned(line.flat)

    def ring(top: float) -> tuple[Floats, Floats]:
        run = run_on(thin, below, top)
        inner = moved_left(run, moulded)
        return inner, join([np.concatenate([moved_left(run, -OUT), inner[::-1]])])

    inner, finished = ring(above)
    return Strip(line.panel, line, inner, finished, ring(above + head)[1])


def _mitred(strips: list[Strip], section: Section) -> list[Strip]:
    """Neighbours cut on the bisector of their corner."""
    cut = list(strips)
    for i, (a, b) in enumerate(pairwise(section.lines)):
        corner, along = b.flat[0], bisector(a.flat, b.flat)
        up = np.array([along[1], -along[0]])  # square to the bisector, towards the upper piece
        if up @ (b.flat[1] - b.flat[0]) < 0:
            up = -up
        for k, way in ((i, -up), (i + 1, up)):
            cut[k] = replace(cut[k], ring=beyond(cut[k].ring, corner, way), headed=beyond(cut[k].headed, corner, way))
    return cut


def bisector(lower: Floats, upper: Floats) -> Floats:
    """(2,) unit vector from a corner into the boat, half way between two lines."""
    a, b = lower[-2] - lower[-1], upper[1] - upper[0]
    both = a / np.linalg.norm(a) + b / np.linalg.norm(b)
    size = float(np.linalg.norm(both))
    return np.asarray(both / size) if size > 1e-6 else np.array([-b[1], b[0]]) / np.linalg.norm(b)


def _halved_or_whole(strip: Strip, moulded: float) -> Strip:
    """Cut at the centreline, or mirrored onto itself for a flat bottom."""
    flat = strip.line.flat
    rise = np.arctan2(flat[-1, 1] - flat[0, 1], flat[-1, 0] - flat[0, 0])
    port = [beyond(r, np.zeros(2), PORT) for r in (strip.ring, strip.headed)]
    if strip.line.lower != "centreline" or abs(rise) > FLAT_BOTTOM:
        return replace(strip, ring=port[0], headed=port[1])
    across = [join([r, mirrored_ring(r)]) for r in (_past(strip.ring), _past(strip.headed))]
    return replace(strip, ring=across[0], headed=across[1], whole=True)


def _past(ring: Floats) -> Floats:
    """A strip cut a hair past the centreline, so that it and its twin overlap."""
    return beyond(ring, np.array([-1.0, 0.0]), PORT)


# -- floor, backer, gusset ---------------------------------------------------------------------------


@dataclass(frozen=True)
class FloorSize:
    """top : z of its upper edge;  half : half its length;  backer : there is no bottom piece beside it"""

    top: float
    half: float
    backer: bool


def floor_size(section: Section, moulded: float, over: float) -> FloorSize:
    """How large a floor is.  over : z above which the member it carries leaves it whole."""
    low = section.lines[0]
    foot, flat = float(low.flat[0, 1]), low.flat
    rise = np.arctan2(flat[-1, 1] - flat[0, 1], flat[-1, 0] - flat[0, 0])
    backer = len(section.lines) == 1
    deep = min(1.5 * moulded / max(float(np.cos(rise)), 0.2), 4.0 * moulded)
    top = max(foot + deep, over + moulded)
    chain = np.concatenate([line.flat for line in section.lines])
    inside = chain[chain[:, 1] < top - moulded / 2]
    half = float(inside[:, 0].max()) if len(inside) else moulded
    if not backer:
        half = min(half, max(0.6 * float(flat[-1, 0]), 1.2 * moulded))
    return FloorSize(top, half, backer)


def floor_ring(section: Section, size: FloorSize) -> Floats:
    """The floor at one face, both halves."""
    ring = beyond(section.whole, np.array([0.0, size.top]), np.array([0.0, -1.0]))
    ring = beyond(ring, np.array([size.half, 0.0]), np.array([-1.0, 0.0]))
    return beyond(ring, np.array([-size.half, 0.0]), np.array([1.0, 0.0]))


def gusset_ring(lower: Floats, upper: Floats, far: Section, moulded: float) -> Floats:
    """Plate over a corner, port: legs along both pieces, its inner edge straight, set back from the planking at
    the face `far` away from the frame."""
    points = [lower[-1]]
    for line in (lower[::-1], upper):
        way = _ahead(line, LEGS * moulded)
        side = np.array([-way[1], way[0]])
        if side @ bisector(lower, upper) < 0:
            side = -side
        end = line[0] + min(LEGS * moulded, 0.8 * float(arc_length(line)[-1])) * way
        points += [end, end + moulded * side]
    plate = share(hull_ring(np.array(points)), shrunk(far.whole, SET_BACK))
    return beyond(plate, np.zeros(2), PORT) if len(plate) else NONE


def _ahead(line: Floats, far: float) -> Floats:
    run = arc_length(line)
    end = line[int(np.searchsorted(run, min(far, float(run[-1]))).clip(1, len(line) - 1))]
    return np.asarray((end - line[0]) / np.linalg.norm(end - line[0]))


# -- bevels, grain -----------------------------------------------------------------------------------


def bevels_along(line: InnerLine, siding: float, way: int) -> tuple[BevelAt, ...]:
    """Bevels at both ends of a control line, at its middle and at least every 300 mm.

    way : +1 when the piece lies forward of its control face
    """
    run = arc_length(line.flat)
    count = max(3, int(np.ceil(run[-1] / BEVEL_STEP)) + 1)
    at = np.linspace(0.0, float(run[-1]), count)
    y, z, angle = (np.interp(at, run, v) for v in (*line.flat.T, way * line.bevel))
    names = [line.lower, *(f"{u:.0f} from {line.lower}" for u in at[1:-1]), line.upper]
    return tuple(
        BevelAt(name, np.array([y[i], z[i]]), float(angle[i]), bool(siding * np.tan(abs(angle[i])) < SQUARE_BELOW))
        for i, name in enumerate(names)
    )


def grain_of(line: Floats) -> tuple[Floats, float]:
    """Unit vector along the piece's chord, and the largest slope of its line to it, radians."""
    way = line[-1] - line[0]
    way = way / np.linalg.norm(way)
    steps = np.diff(line[:: max(1, len(line) // 60)], axis=0)
    across = np.abs(steps @ np.array([-way[1], way[0]]))
    return np.asarray(way), float(np.arctan2(across, steps @ way).max())


def removal(lines: tuple[InnerLine, ...], siding: float) -> tuple[float, float]:
    """Wood that bevelling takes when the frame lies forward of its station, and aft of it: mm2 of its outline."""
    total = [0.0, 0.0]
    for line in lines:
        steps = np.linalg.norm(np.diff(line.flat, axis=0), axis=1)
        lean = np.tan((line.bevel[1:] + line.bevel[:-1]) / 2) * siding
        total[0] += float((np.maximum(lean, 0.0) * steps).sum())
        total[1] += float((np.maximum(-lean, 0.0) * steps).sum())
    return total[0], total[1]
