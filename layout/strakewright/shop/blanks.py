"""From planks to the blanks that are cut from boards.

blank     the line to cut, as it lies on the board with its marked face up
face up   the inside lies up (frame lines and labels belong there); a plank whose own axes show the outside is
          turned over on the way here, never by the nesting
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from strakewright.arrays import Floats
from strakewright.parts import Mark, Part, Plank
from strakewright.shop.strips import strip_marks

OVER = np.array([1.0, -1.0])
DECIMALS = 3  # mm: the machine's line is written to 0.001


def blank_of(plank: Plank, quality: str | None = None, stage: int | None = None, match: bool = False) -> Part:
    """The part of a plank, inside face up; its outline is the polyline that is cut.  match : on its mate's board."""
    outline, marks = plank.outline, strip_marks(plank) if plank.cut == "straight" else plank.marks
    if plank.face_up == "outside":
        outline, marks = turned_over(outline), tuple(_mark_over(m) for m in marks)
    return Part(
        id=plank.id,
        outline=np.round(outline, DECIMALS),
        thickness=plank.cut_thickness,
        species=plank.species,
        may_flip=False,
        marks=marks,
        mate=plank.mate,
        quality=quality,
        stage=stage,
        match=match and plank.mate is not None,
    )


def turned_over(ring: Floats) -> Floats:
    """A ring seen from its other face, still counter-clockwise.

    >>> turned_over(np.array([[0.0, 0.0], [2.0, 0.0], [2.0, 1.0]])).tolist()
    [[2.0, -1.0], [2.0, -0.0], [0.0, -0.0]]
    """
    return np.asarray((ring * OVER)[::-1])


def _mark_over(mark: Mark) -> Mark:
    return replace(mark, points=mark.points * OVER)
