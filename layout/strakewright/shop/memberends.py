"""How the ends of members are cut that run up to a transom.

cut     the transom's inside, as it meets the member's run
angle   between the run and the transom's plane there: 90 degrees is a square cut
over the outer face, over the side   the cut's two lines on the blank, each from square

Source: derived; a raked plane gives its rake over an upright side, closed forms in the tests.
"""

from __future__ import annotations

import numpy as np

from strakewright.arrays import Floats
from strakewright.members import EndCut, Swept
from strakewright.shop.transoms import Plate

LEFT_LONG = 40.0  # mm the last station of a run lies at most off the face it is cut to: more than one step of the run


def end_cuts(swept: Swept, plates: dict[str, Plate], thick: float) -> tuple[EndCut, ...]:
    """Of every end within LEFT_LONG of a transom's inside, aft first.  plates : outsides;  thick : mm"""
    found = []
    for at, end in ((0, "aft"), (-1, "forward")):
        for name, plate in plates.items():
            off = plate.level(swept.corners[at]) + thick
            if off.max() > -LEFT_LONG and off.min() < LEFT_LONG:
                found.append(_cut(swept, at, (name, end), plate.at(thick)))
    return tuple(found)


def _cut(swept: Swept, at: int, names: tuple[str, str], face: Plate) -> EndCut:
    blank = swept.blank
    line = blank.outer + blank.depth / 2 * blank.deep
    slopes = np.gradient(line, np.linspace(0.0, 1.0, len(line)), axis=0, edge_order=2)
    away = slopes[at] / np.linalg.norm(slopes[at]) * (-1.0 if at == 0 else 1.0)
    square = _met(line[at], away, face)
    ahead = float(square @ away)
    # a line of the face that goes one mm across goes so many mm along the run
    over = [float(np.arctan2(-square @ way[at] * np.sign(ahead), abs(ahead))) for way in (blank.across, blank.deep)]
    upward = 1.0 if blank.across[at, 2] >= 0 else -1.0
    return EndCut(names[1], names[0], float(np.arcsin(min(abs(ahead), 1.0))), upward * over[0], over[1])


def _met(point: Floats, away: Floats, face: Plate) -> Floats:
    """(3,) normal of the face where a line from `point` along `away` meets it."""
    for _ in range(8):
        square = face.normal(point[None])[0]
        point = point - float(face.level(point[None])[0]) / float(square @ away) * away
    return np.asarray(face.normal(point[None])[0])
