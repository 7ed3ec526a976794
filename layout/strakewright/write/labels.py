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

from strakewright.arrays import Bools, Floats
from strakewright.parts import FaceUp, Plank
from strakewright.write.pen import text_box

SMALLEST = 5.0
_CLEAR = 1.5  # mm between words and a cut line
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
    middle: Floats = field(init=False)
    across: Floats = field(init=False)

    def __post_init__(self) -> None:
        self.wood = shapely.Polygon(self.ring).buffer(-_CLEAR, join_style="mitre")
        shapely.prepare(self.wood)
        self.taken += [shapely.LineString(line) for line in self.lines if len(line) > 1]
        self.middle, self.across = _middle_line(self.ring)

    def is_free(self, boxes: Floats) -> Bools:
        """Which boxes lie on the wood, clear of what is already there.  boxes : (n, 4, 2); returns (n,)"""
        shapes = np.asarray(shapely.polygons(boxes))
        free = np.asarray(shapely.covers(self.wood, shapes), dtype=np.bool_)
        on_wood = np.flatnonzero(free)
        if len(on_wood) == 0 or not self.taken:
            return free
        taken = np.array(self.taken)
        there, here = shapely.bounds(taken)[:, None], shapely.bounds(shapes[on_wood])[None]
        near = (there[..., :2] <= here[..., 2:]).all(axis=-1) & (there[..., 2:] >= here[..., :2]).all(axis=-1)
        what, box = np.nonzero(near)
        free[on_wood[box[shapely.intersects(taken[what], shapes[on_wood[box]])]]] = False
        return free

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
        self.taken.append(shapely.Polygon(box))

    def _first(self, box: Floats, height: float, near: float) -> Spot | None:
        """The nearest place where the box is free, its lower side along the middle."""
        at, turns = self._places(np.ptp(box, axis=0), near)
        cos, sin = np.cos(np.deg2rad(turns))[:, None], np.sin(np.deg2rad(turns))[:, None]
        turned = np.stack([box[:, 0] * cos - box[:, 1] * sin, box[:, 0] * sin + box[:, 1] * cos], axis=-1)
        boxes = at[:, None] + turned
        free = self.is_free(boxes)
        if not free.any():
            return None
        first = int(np.argmax(free))
        self.take(boxes[first])
        return Spot(at[first], float(turns[first]), height)

    def widest(self) -> Floats:
        """(2,) the point of the middle with most wood across."""
        best: Floats = self.middle[int(np.argmax(self.across))]
        return best

    def _places(self, size: Floats, near: float) -> tuple[Floats, Floats]:
        """Places on the middle, nearest first, then a quarter of the wood off it; each with its slope.  Only where the
        wood is as broad as the words are high.  size : (2,) of the words"""
        x, y = self.middle.T
        width = size[0]
        ends = np.clip(np.stack([x - width / 2, x + width / 2]), x[0], x[-1])
        rise = np.interp(ends[1], x, y) - np.interp(ends[0], x, y)
        turns = np.round(np.rad2deg(np.arctan2(rise, np.maximum(ends[1] - ends[0], 1e-9))), 3)
        order = np.argsort(np.abs(x - near), kind="stable")
        order = order[self.across[order] >= size[1]]
        lanes = [np.column_stack([x, y + lane * self.across])[order] for lane in (0.0, 0.25, -0.25)]
        return np.concatenate(lanes), np.tile(turns[order], 3)


def _middle_line(ring: Floats, stations: int = 61) -> tuple[Floats, Floats]:
    """(stations, 2) middle of the widest crossing of the ring at evenly spread x, and its width."""
    low, high = ring.min(axis=0), ring.max(axis=0)
    x = low[0] + (high[0] - low[0]) * (np.arange(stations) + 0.5) / stations
    ends = np.stack([np.column_stack([x, np.full_like(x, y)]) for y in (low[1] - 1, high[1] + 1)], axis=1)
    crossings = shapely.intersection(shapely.linestrings(ends), shapely.Polygon(ring))
    pieces, at = shapely.get_parts(crossings, return_index=True)
    bounds = shapely.bounds(pieces)
    order = np.lexsort((bounds[:, 3] - bounds[:, 1], at))
    widest = bounds[order[np.searchsorted(at[order], np.arange(stations), side="right") - 1]]
    return np.column_stack([x, (widest[:, 1] + widest[:, 3]) / 2]), widest[:, 3] - widest[:, 1]


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
        free = room.is_free(boxes)
        if free.any():
            first = int(np.argmax(free))
            room.take(boxes[first])
            return Spot(at[first], turn, height)
    return None
