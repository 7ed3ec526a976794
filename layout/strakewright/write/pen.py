"""One way of drawing for every output: a shape draws itself once, on any pen.

role      what a line is for: cut outside, cut inside, drill, scribe, label, board, defect, check
pen       takes polylines, circles, words and hatched areas in mm and puts them in a file
placed    the same pen seen from a part's own axes: lines are flipped and turned, words stay readable
hatch     straight lines across an area, told apart in black and white by their slope
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from enum import Enum
from typing import Literal, Protocol, TypeAlias

import numpy as np

from strakewright.arrays import Floats
from strakewright.geometry.outlines import chords
from strakewright.plan import Placement

Anchor: TypeAlias = Literal["left", "middle", "right"]
LETTER_WIDTH = 0.9  # of the height: wide enough for the plotter alphabets that readers put in


class Role(Enum):
    """What a line is for; the value is its layer."""

    CUT_OUTSIDE = "CUT_OUTSIDE"
    CUT_INSIDE = "CUT_INSIDE"
    DRILL = "DRILL"
    SCRIBE = "SCRIBE"
    LABEL = "LABEL"
    BOARD = "BOARD"
    DEFECT = "DEFECT"
    CHECK = "CHECK"


@dataclass(frozen=True)
class Hatch:
    """Lines at `slope_deg` from x, `gap` mm apart; crossed adds the same square to them."""

    slope_deg: float = 45.0
    gap: float = 8.0
    crossed: bool = False


class Pen(Protocol):
    """Where drawings go.  Points are (n, 2) mm; words stand with half their height at `at`."""

    def polyline(self, points: Floats, *, closed: bool, role: Role) -> None:
        """A line through the points, back to the first when closed."""

    def circle(self, centre: Floats, radius: float, role: Role) -> None:
        """A full circle."""

    def text(self, at: Floats, words: str, *, height: float, turn: float, anchor: Anchor, role: Role) -> None:
        """Words of capital height `height` mm, running at `turn` degrees counter-clockwise from x."""

    def area(self, ring: Floats, hatch: Hatch, role: Role) -> None:
        """A hatched ring with its outline."""


def hatch_lines(ring: Floats, hatch: Hatch) -> list[Floats]:
    """The hatching of a ring as polylines.  ring : (n, 2)

    >>> square = np.array([[0.0, 0.0], [9.0, 0.0], [9.0, 9.0], [0.0, 9.0]])
    >>> len(hatch_lines(square, Hatch(slope_deg=0, gap=3)))
    3
    """
    slopes = (hatch.slope_deg, hatch.slope_deg + 90) if hatch.crossed else (hatch.slope_deg,)
    return [piece for slope in slopes for piece in _one_way(ring, np.deg2rad(slope), hatch.gap)]


def _one_way(ring: Floats, slope: float, gap: float) -> list[Floats]:
    along, across = np.array([np.cos(slope), np.sin(slope)]), np.array([-np.sin(slope), np.cos(slope)])
    run, rise = ring @ along, ring @ across
    levels = np.arange(rise.min() + gap / 2, rise.max(), gap)
    ends = chords(np.column_stack([rise, run]), levels)
    lines = ends[..., None] * along + levels[:, None, None, None] * across
    return list(lines[~np.isnan(ends[..., 0])])


def lay(points: Floats, placement: Placement) -> Floats:
    """Points of a part as they lie on the board: flip (y to -y), turn about (0, 0), shift.

    points : (n, 2) in the part's axes;  returns (n, 2) in the board's
    """
    x, y = points[:, 0], -points[:, 1] if placement.flip else points[:, 1]
    cos, sin = _exact_turn(placement.rotation_deg)
    laid = np.empty((len(x), 2))
    laid[:, 0], laid[:, 1] = x * cos - y * sin + placement.x, x * sin + y * cos + placement.y
    return laid


def _exact_turn(degrees: float) -> tuple[float, float]:
    """Cosine and sine, exact at the quarter turns."""
    quarters = {0: (1.0, 0.0), 90: (0.0, 1.0), 180: (-1.0, 0.0), 270: (0.0, -1.0)}
    angle = degrees % 360
    return quarters.get(int(angle), (1.0, 0.0)) if angle % 90 == 0 else _turn(angle)


def _turn(degrees: float) -> tuple[float, float]:
    return float(np.cos(np.deg2rad(degrees))), float(np.sin(np.deg2rad(degrees)))


@dataclass(frozen=True)
class _Placed:
    """A pen in the axes of a part that lies on a board."""

    pen: Pen
    placement: Placement

    def polyline(self, points: Floats, *, closed: bool, role: Role) -> None:
        self.pen.polyline(lay(points, self.placement), closed=closed, role=role)

    def circle(self, centre: Floats, radius: float, role: Role) -> None:
        self.pen.circle(self._spot(centre), radius, role)

    def text(self, at: Floats, words: str, *, height: float, turn: float, anchor: Anchor, role: Role) -> None:
        flipped = -turn if self.placement.flip else turn
        stands, swapped = readable(flipped + self.placement.rotation_deg)
        held: Anchor = {"left": "right", "right": "left"}.get(anchor, anchor) if swapped else anchor  # type: ignore[assignment]
        self.pen.text(self._spot(at), words, height=height, turn=stands, anchor=held, role=role)

    def area(self, ring: Floats, hatch: Hatch, role: Role) -> None:
        self.pen.area(lay(ring, self.placement), hatch, role)

    def _spot(self, at: Floats) -> Floats:
        """One point as it lies, (2,)."""
        (x, y), held = at.tolist(), self.placement
        cos, sin = _exact_turn(held.rotation_deg)
        y = -y if held.flip else y
        return np.array((x * cos - y * sin + held.x, x * sin + y * cos + held.y))


def readable(turn: float) -> tuple[float, bool]:
    """The angle in (-90, 90] at which words read from the front or the right, and whether they were swapped.

    >>> readable(180.0), readable(-3.0), readable(270.0)
    ((0.0, True), (-3.0, False), (90.0, True))
    """
    angle = (turn + 180) % 360 - 180
    swapped = not -90 < angle <= 90
    return (angle + 180 if angle <= -90 else angle - 180) if swapped else angle, swapped


def placed(pen: Pen, placement: Placement) -> Pen:
    """`pen` as seen from the axes of the part that `placement` lays on the board."""
    return _Placed(pen, placement)


@dataclass(frozen=True)
class Stroke:
    """One call on a pen.  points : (n, 2);  size : radius or height;  words : text only;  hatch : areas only"""

    kind: Literal["polyline", "circle", "text", "area"]
    role: Role
    points: Floats
    closed: bool = False
    size: float = 0.0
    words: str = ""
    turn: float = 0.0
    anchor: Anchor = "middle"
    hatch: Hatch | None = None

    def draw(self, pen: Pen) -> None:
        """The same call on another pen."""
        if self.kind == "text":
            held = {"height": self.size, "turn": self.turn}
            pen.text(self.points[0], self.words, **held, anchor=self.anchor, role=self.role)
        elif self.kind == "circle":
            pen.circle(self.points[0], self.size, self.role)
        elif self.hatch is not None:
            pen.area(self.points, self.hatch, self.role)
        else:
            pen.polyline(self.points, closed=self.closed, role=self.role)


@dataclass(frozen=True)
class RecordingPen:
    """Keeps what was drawn, for a look at it before or instead of a file."""

    strokes: list[Stroke] = field(default_factory=list)

    def polyline(self, points: Floats, *, closed: bool, role: Role) -> None:
        self.strokes.append(Stroke("polyline", role, points, closed=closed))

    def circle(self, centre: Floats, radius: float, role: Role) -> None:
        self.strokes.append(Stroke("circle", role, centre[None], closed=True, size=radius))

    def text(self, at: Floats, words: str, *, height: float, turn: float, anchor: Anchor, role: Role) -> None:
        self.strokes.append(Stroke("text", role, at[None], size=height, words=words, turn=turn, anchor=anchor))

    def area(self, ring: Floats, hatch: Hatch, role: Role) -> None:
        self.strokes.append(Stroke("area", role, ring, closed=True, size=hatch.gap, hatch=hatch))


def kept(draw: Callable[[Pen], None]) -> Callable[[Pen], None]:
    """The same drawing, worked out once however often it is drawn."""
    strokes: list[Stroke] = []

    def again(pen: Pen) -> None:
        if not strokes:
            draw(RecordingPen(strokes))
        for stroke in strokes:
            stroke.draw(pen)

    return again


def text_box(at: Floats, words: str, height: float, turn: float, anchor: Anchor) -> Floats:
    """(4, 2) corners of the space that words may take, with a quarter of the height to spare all round."""
    width, spare = LETTER_WIDTH * height * len(words), height / 4
    left = {"left": 0.0, "middle": -width / 2, "right": -width}[anchor] - spare
    right, up = left + width + 2 * spare, 0.5 * (height + 2 * spare)
    (cos, sin), (x, y) = _exact_turn(turn), at.tolist()
    spots = ((left, -up), (right, -up), (right, up), (left, up))
    return np.array([(x + a * cos - b * sin, y + a * sin + b * cos) for a, b in spots])
