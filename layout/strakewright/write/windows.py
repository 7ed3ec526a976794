"""Cutting a drawing that is larger than the paper.

strokes   a drawing kept as pen calls, hatching as plain lines;  box : the space that one of them may cover
window    a rectangle of the drawing, sides along x and y: what one sheet shows

Lines are cut exactly at the window's sides (Y.-D. Liang, B. Barsky, "A new concept and method for line clipping",
1984); words belong to every window their box touches.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from strakewright.arrays import Floats
from strakewright.write.pen import Hatch, Pen, RecordingPen, Role, Stroke, hatch_lines, text_box


class StrokePen(RecordingPen):
    """Keeps a drawing whole, to be drawn again in parts; hatching becomes plain lines."""

    def area(self, ring: Floats, hatch: Hatch, role: Role) -> None:
        self.polyline(ring, closed=True, role=role)
        for line in hatch_lines(ring, hatch):
            self.polyline(line, closed=False, role=role)


def box_of(stroke: Stroke) -> Floats:
    """(2, 2) lowest and highest corner of what a stroke may cover."""
    if stroke.kind == "text":
        points = text_box(stroke.points[0], stroke.words, stroke.size, stroke.turn, stroke.anchor)
    elif stroke.kind == "circle":
        points = np.concatenate([stroke.points - stroke.size, stroke.points + stroke.size])
    else:
        points = stroke.points
    return np.stack([points.min(axis=0), points.max(axis=0)])


@dataclass(frozen=True, eq=False)
class Drawing:
    """Strokes with the space that each may cover.  boxes : (n, 2, 2) lowest and highest corner of each"""

    strokes: Sequence[Stroke]
    boxes: Floats

    @property
    def extent(self) -> Floats:
        """(2, 2) corners of the whole."""
        return np.stack([self.boxes[:, 0].min(axis=0), self.boxes[:, 1].max(axis=0)])


def drawing_of(strokes: Sequence[Stroke]) -> Drawing:
    """A drawing ready to be cut into windows, however many."""
    return Drawing(strokes, np.array([box_of(stroke) for stroke in strokes]).reshape(-1, 2, 2))


def draw_in(pen: Pen, drawing: Drawing, low: Floats, high: Floats) -> None:
    """Draw what lies in the window from `low` to `high`."""
    a, b = drawing.boxes[:, 0], drawing.boxes[:, 1]
    seen = np.flatnonzero(np.all((b >= low) & (a <= high), axis=1))
    whole = np.all((a[seen] >= low) & (b[seen] <= high), axis=1)
    for n, is_whole in zip(seen.tolist(), whole.tolist(), strict=True):
        stroke = drawing.strokes[n]
        if is_whole or stroke.kind == "text":
            stroke.draw(pen)
        else:
            for piece in clipped(_open(stroke), low, high):
                pen.polyline(piece, closed=False, role=stroke.role)


def _open(stroke: Stroke) -> Floats:
    """A stroke as one open line."""
    if stroke.kind == "circle":
        turn = np.linspace(0.0, 2 * np.pi, 97)
        return np.asarray(stroke.points[0] + stroke.size * np.column_stack([np.cos(turn), np.sin(turn)]))
    return np.concatenate([stroke.points, stroke.points[:1]]) if stroke.closed else stroke.points


def clipped(line: Floats, low: Floats, high: Floats) -> list[Floats]:
    """The stretches of an open line (n, 2) inside a window, in order.

    >>> zig = np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 4.0]])
    >>> [piece.tolist() for piece in clipped(zig, np.array([1.0, -1.0]), np.array([9.0, 3.0]))]
    [[[1.0, 0.0], [4.0, 0.0], [4.0, 3.0]]]
    """
    start, step = line[:-1], np.diff(line, axis=0)
    enter, leave = np.zeros(len(step)), np.ones(len(step))
    for axis in (0, 1):
        for wall, sign in ((low[axis], 1.0), (high[axis], -1.0)):
            inside, rate = sign * (start[:, axis] - wall), sign * step[:, axis]
            at = -inside / np.where(rate == 0, 1.0, rate)
            enter = np.where(rate > 0, np.maximum(enter, at), enter)
            leave = np.where(rate < 0, np.minimum(leave, at), leave)
            leave = np.where((rate == 0) & (inside < 0), -1.0, leave)
    kept = np.flatnonzero(enter < leave)
    pieces: list[list[Floats]] = []
    for i in kept:
        if not (pieces and enter[i] == 0.0 and leave[i - 1] == 1.0 and enter[i - 1] < leave[i - 1]):
            pieces.append([start[i] + enter[i] * step[i]])
        pieces[-1].append(line[i + 1] if leave[i] == 1.0 else start[i] + leave[i] * step[i])
    return [np.array(piece) for piece in pieces]
