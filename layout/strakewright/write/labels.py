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

from strakewright.arrays import Floats
from strakewright.geometry.outlines import clip_lines
from strakewright.parts import FaceUp, Plank
from strakewright.write.pen import LETTER_WIDTH, text_box

SMALLEST = 5.0
_CLEAR = 1.5  # mm between words and a cut line
_SNAP = np.deg2rad(12.0)


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
    side = {"port": "PORT", "starboard": "STBD"}[plank.side]
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

    def __post_init__(self) -> None:
        self.wood = shapely.Polygon(self.ring).buffer(-_CLEAR, join_style="mitre")
        shapely.prepare(self.wood)
        self.taken += [shapely.LineString(line) for line in self.lines if len(line) > 1]
        self.middle = _middle_line(self.ring)

    def is_free(self, box: Floats) -> bool:
        """True when the box lies on the wood, clear of what is already there."""
        shape = shapely.Polygon(box)
        return bool(shapely.covers(self.wood, shape)) and not any(shape.intersects(t) for t in self.taken)

    def take(self, box: Floats) -> None:
        """Note that something stands here."""
        self.taken.append(shapely.Polygon(box))

    def spot(self, words: str, heights: tuple[float, ...], near: float) -> Spot | None:
        """Largest of `heights` at which the words fit, the free place nearest to x = `near`; takes it."""
        for height in heights:
            for at, turn in self._places(LETTER_WIDTH * height * len(words), near):
                box = text_box(at, words, height, turn, "middle")
                if self.is_free(box):
                    self.take(box)
                    return Spot(at, turn, height)
        return None

    def block(self, width: float, height: float, near: float) -> Spot | None:
        """Room for a drawing of the given size on the middle, nearest to x = `near`; takes it."""
        corners = np.array([[-1.0, -1], [1, -1], [1, 1], [-1, 1]]) * [width / 2, height / 2]
        for at, turn in self._places(width, near):
            angle = np.deg2rad(turn)
            cos, sin = np.cos(angle), np.sin(angle)
            box = at + corners @ np.array([[cos, sin], [-sin, cos]])
            if self.is_free(box):
                self.take(box)
                return Spot(at, turn, height)
        return None

    def _places(self, width: float, near: float) -> list[tuple[Floats, float]]:
        """Points of the middle, nearest first, each with the slope of the middle over the width."""
        x, y = self.middle.T
        order = np.argsort(np.abs(x - near), kind="stable")
        ends = np.clip(np.stack([x - width / 2, x + width / 2]), x[0], x[-1])
        rise = np.interp(ends[1], x, y) - np.interp(ends[0], x, y)
        turns = np.rad2deg(np.arctan2(rise, np.maximum(ends[1] - ends[0], 1e-9)))
        return [(self.middle[i], round(float(turns[i]), 3)) for i in order]


def _middle_line(ring: Floats, stations: int = 61) -> Floats:
    """(stations, 2) middle of the widest crossing of the ring at evenly spread x."""
    low, high = ring.min(axis=0), ring.max(axis=0)
    x = low[0] + (high[0] - low[0]) * (np.arange(stations) + 0.5) / stations
    rays = [np.array([[at, low[1] - 1], [at, high[1] + 1]]) for at in x]
    pieces = [clip_lines(ray, ring) for ray in rays]
    widest = [max(piece, key=lambda line: float(np.ptp(line[:, 1]))) for piece in pieces]
    return np.array([[at, line[:, 1].mean()] for at, line in zip(x, widest, strict=True)])


def beside(line: Floats, words: str, room: Room) -> Spot | None:
    """Room for the name of a mark along its line on the wood, (n, 2); takes it."""
    a, b = line[0], line[-1]
    length = float(np.hypot(*(b - a)))
    if length == 0:
        return None
    way = (b - a) / length
    turn, side = round(float(np.rad2deg(np.arctan2(way[1], way[0]))), 3), np.array([-way[1], way[0]])
    for height in (12.0, 10.0, 8.0, 6.0, SMALLEST):
        for share, off in itertools.product((0.5, 0.7, 0.3), (0.8, -0.8)):
            at = a + share * (b - a) + off * height * side
            box = text_box(at, words, height, turn, "middle")
            if room.is_free(box):
                room.take(box)
                return Spot(at, turn, height)
    return None
