"""What is written on a piece of wood, and where on it the words fit.

label     side of the boat, face that lies up, which way is forward, a few words
spot      room for words on a part, clear of its edges, marks and other words
middle    line half way between the edges of a part, from one end to the other

Words run along the middle, as large as there is room for, never below `SMALLEST` mm; the id of a part is at
least 10 mm high wherever the part has room for that (common practice: read at arm's length).
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np
import shapely

from strakewright.arrays import Floats, Ints
from strakewright.geometry.outlines import chords
from strakewright.parts import FaceUp, Plank
from strakewright.write.pen import text_box

SMALLEST = 5.0
_CLEAR = 1.5  # mm between words and a cut line
_FEW = 8  # places looked at first: the nearest one is mostly free
_SNAP = np.deg2rad(28.0)


@dataclass(frozen=True)
class Label:
    """side : PORT, STBD or empty;  forward : direction on the part that points to the bow, None = no arrow."""

    side: str = ""
    face_up: FaceUp = "inside"
    forward: tuple[float, float] | None = (1.0, 0.0)
    words: str = ""


@dataclass(frozen=True)
class Spot:
    """at : (2,) mm;  turn : degrees;  height : mm of capitals"""

    at: Floats
    turn: float
    height: float


def labels_of(planks: Iterable[Plank]) -> dict[str, Label]:
    """A label for every plank, as its part lies on the board: the inside up."""
    return {plank.id: _label(plank) for plank in planks}


def _label(plank: Plank) -> Label:
    x, y = _forward(plank)
    seen = (x, -y) if plank.face_up == "outside" else (x, y)
    side = {"port": "PORT", "starboard": "STBD", "both": "PORT + STBD"}[plank.side]
    layer = f" layer {plank.layer}" if plank.panel != "side" else ""
    return Label(side, "inside", seen, f"{plank.panel}{layer} course {plank.course}")


def _forward(plank: Plank) -> tuple[float, float]:
    """Direction in the plank's flat axes in which x of the boat grows fastest, snapped to a near axis.

    Least squares over the seam points, whose places in space and in the flat are both known.
    """
    rims = [plank.first, plank.second, *plank.ends]
    flat, x = np.concatenate([m.flat for m in rims]), np.concatenate([m.seam[:, 0] for m in rims])
    slope = np.linalg.lstsq(flat - flat.mean(axis=0), x - x.mean(), rcond=None)[0]
    angle = float(np.arctan2(slope[1], slope[0]))
    quarter = round(angle / (np.pi / 2)) * (np.pi / 2)
    angle = quarter if abs(angle - quarter) < _SNAP else angle
    return round(float(np.cos(angle)), 6) + 0.0, round(float(np.sin(angle)), 6) + 0.0


@dataclass
class Room:
    """The free room of one part; every `take` leaves less of it.

    ring : (n, 2) mm outline;  lines : marks that words should stay off
    """

    ring: Floats
    lines: list[Floats] = field(default_factory=list)
    taken: list[shapely.Geometry] = field(default_factory=list)
    wood: shapely.Geometry = field(init=False)
    marks: shapely.Geometry = field(init=False)
    middle: Floats = field(init=False)
    across: Floats = field(init=False)
    low: float = field(init=False)
    high: float = field(init=False)

    def __post_init__(self) -> None:
        self.wood = shapely.Polygon(self.ring).buffer(-_CLEAR, join_style="mitre")
        self.marks = shapely.MultiLineString([line for line in self.lines if len(line) > 1])
        shapely.prepare([self.wood, self.marks])
        self.middle, self.across = _middle_line(self.ring)
        self.low, self.high = float(self.ring[:, 0].min()), float(self.ring[:, 0].max())

    def free(self, boxes: Floats) -> int | None:
        """The first box that lies on the wood, clear of what is already there.  boxes : (n, 4, 2)"""
        for start, end in ((0, _FEW), (_FEW, len(boxes))):
            shapes = np.asarray(shapely.polygons(boxes[start:end]))
            clear = np.flatnonzero(shapely.covers(self.wood, shapes))
            clear = clear[~shapely.intersects(self.marks, shapes[clear])]
            words = np.array(self.taken, dtype=object)[:, None]
            clear = clear[~shapely.intersects(words, shapes[clear]).any(axis=0)]
            if len(clear):
                return start + int(clear[0])
        return None

    def spot(self, words: str, heights: tuple[float, ...], near: float) -> Spot | None:
        """Largest of `heights` at which the words fit, the free place nearest to x = `near`; takes it."""
        sizes = ((height, text_box(np.zeros(2), words, height, 0.0, "middle")) for height in heights)
        return next((spot for height, box in sizes if (spot := self._first(box, height, near))), None)

    def block(self, width: float, height: float, near: float) -> Spot | None:
        """Room for a drawing of the given size on the middle, nearest to x = `near`; takes it."""
        box = np.array([[-0.5, -0.5], [0.5, -0.5], [0.5, 0.5], [-0.5, 0.5]]) * [width, height]
        return self._first(box, height, near)

    def take(self, box: Floats) -> None:
        """Note that something stands here.  box : (4, 2)"""
        words = shapely.Polygon(box)
        shapely.prepare(words)
        self.taken.append(words)

    def _first(self, box: Floats, height: float, near: float) -> Spot | None:
        """The nearest place where the box is free, its lower side along the middle."""
        (long, high), x = np.ptp(box, axis=0).tolist(), self.middle[:, 0]
        wide = self.across >= high if long >= high else np.ones(len(x), dtype=np.bool_)
        fits = np.flatnonzero(wide)  # no box stands higher than the wood there
        if not len(fits):
            return None
        at, turns = self._places(long, near, fits)
        cos, sin = np.cos(np.deg2rad(turns))[:, None], np.sin(np.deg2rad(turns))[:, None]
        boxes = np.empty((len(at), 4, 2))
        boxes[..., 0] = at[:, :1] + (box[:, 0] * cos - box[:, 1] * sin)
        boxes[..., 1] = at[:, 1:] + (box[:, 0] * sin + box[:, 1] * cos)
        reach = boxes[..., 0]
        inside = np.flatnonzero((reach.min(axis=1) > self.low) & (reach.max(axis=1) < self.high))
        first = self.free(boxes[inside]) if len(inside) else None
        if first is None:
            return None
        found = inside[first]
        self.take(boxes[found])
        return Spot(at[found], float(turns[found]), height)

    def widest(self) -> Floats:
        """(2,) the point of the middle with most wood across."""
        best: Floats = self.middle[int(np.argmax(self.across))]
        return best

    def _places(self, width: float, near: float, fits: Ints) -> tuple[Floats, Floats]:
        """Places on the middle, nearest first, then a quarter of the wood off it; each with its slope."""
        x, y = self.middle.T
        ends = np.clip(np.stack([x - width / 2, x + width / 2]), x[0], x[-1])
        rise = np.interp(ends[1], x, y) - np.interp(ends[0], x, y)
        turns = np.round(np.rad2deg(np.arctan2(rise, np.maximum(ends[1] - ends[0], 1e-9))), 3)
        order = fits[np.argsort(np.abs(x[fits] - near), kind="stable")]
        lanes = [np.column_stack([x, y + lane * self.across])[order] for lane in (0.0, 0.25, -0.25)]
        return np.concatenate(lanes), np.tile(turns[order], 3)


def _middle_line(ring: Floats, stations: int = 61) -> tuple[Floats, Floats]:
    """(stations, 2) middle of the widest crossing of the ring at evenly spread x, and its width."""
    low, high = ring.min(axis=0), ring.max(axis=0)
    x = low[0] + (high[0] - low[0]) * (np.arange(stations) + 0.5) / stations
    pairs = chords(ring, x)
    widest = pairs[np.arange(stations), np.nanargmax(pairs[..., 1] - pairs[..., 0], axis=1)]
    return np.column_stack([x, widest.mean(axis=1)]), widest[:, 1] - widest[:, 0]


def beside(line: Floats, words: str, room: Room) -> Spot | None:
    """Room for the name of a mark along its line on the wood, (n, 2); takes it."""
    a, b = line[0], line[-1]
    length = float(np.hypot(*(b - a)))
    if length == 0:
        return None
    way = (b - a) / length
    turn, side = round(float(np.rad2deg(np.arctan2(way[1], way[0]))), 3), np.array([-way[1], way[0]])
    for height in (12.0, 10.0, 8.0, 6.0, SMALLEST):
        places = itertools.product((0.5, 0.7, 0.3), (0.8, -0.8))
        at = np.array([a + share * (b - a) + off * height * side for share, off in places])
        boxes = text_box(np.zeros(2), words, height, turn, "middle") + at[:, None]
        first = room.free(boxes)
        if first is not None:
            room.take(boxes[first])
            return Spot(at[first], turn, height)
    return None
