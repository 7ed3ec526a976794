"""Keeping diagonals at their angle, and steepening them to staves where the bottom is wound.

lean      acute angle between a seam and x laid into the surface, half way along the seam
drift     change of the lean since the first seam; planks of one width cannot help it on a wound bottom
taper     how much narrower one end of a plank is than the other; it turns the next seam
load      bend and twist that a plank along a seam would have to take, over what the wood stands firmly (1 = all of it)
stave     a plank forward of the place where the load first passes 1 and a steeper plank would carry less, or of the
          frame where the builder wants staves

Where the drift is about to pass 3 degrees planks are tapered, at most 8 mm each, to hold it.  From the first stave on
the planks are tapered up to a third of their width and turn towards square with the keel, as long as that eases them
and the layers still cross by 30 degrees.

Source: derived; figures of taper, drift and crossing: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from strakewright.arrays import Floats
from strakewright.geometry.surface import Patch, geodesic_twist, normal_curvature
from strakewright.settings import PlankingSettings
from strakewright.shop.bevels import X, chart_direction
from strakewright.shop.courses import OneWidth, Seam, TaperedWidth

MOST_TAPER = 8.0  # mm that one plank is tapered to bring drift back
MOST_DRIFT = np.radians(3.0)
LOOK_AHEAD = 4.0  # courses over which the drift is foreseen
STAVE_TAPER = 1 / 3  # of the width, at most, in staves
STEEPEST_CROSSED = np.radians(75.0)  # two layers of staves then still cross by 30 degrees
STEEPEST = np.radians(90.0)
TRIAL = np.radians(3.0)
EASED = 0.99  # a turn must take at least a hundredth off the load


@dataclass(frozen=True)
class Load:
    """What diagonals may be asked for before they become staves.  bend : t / R;  shear : t x twist"""

    thickness: float
    bend: float
    shear: float

    @staticmethod
    def of(settings: PlankingSettings) -> Load:
        return Load(settings.thickness, settings.stave_bend, settings.stave_shear)

    def along(self, patch: Patch, seam: Seam, turned: float = 0.0) -> float:
        """The largest load on a plank along a seam, turned about each of its points by an angle in the surface."""
        chart, way = _middle_spots(seam)
        _, r_p, r_q = patch.jet1(chart)
        tangent = _unit(way[:, :1] * r_p + way[:, 1:] * r_q)
        left = np.cross(tangent, patch.normal(chart))
        direction = chart_direction(r_p, r_q, np.cos(turned) * tangent + np.sin(turned) * left)
        bend = self.thickness * np.abs(normal_curvature(patch, chart, direction)) / self.bend
        shear = self.thickness * np.abs(geodesic_twist(patch, chart, direction)) / self.shear
        return float(np.maximum(bend, shear).max())


@dataclass(frozen=True)
class Turn:
    """lean : radians;  towards : +1 or -1, the turn to the left that steepens the seam"""

    lean: float
    towards: int


def lean_of(patch: Patch, seam: Seam) -> Turn:
    """Angle of a seam half way along it to x laid into the surface."""
    spots, way = _middle_spots(seam)
    chart, way = spots[len(spots) // 2][None], way[len(way) // 2][None]
    _, r_p, r_q = patch.jet1(chart)
    normal = patch.normal(chart)[0]
    tangent = _unit(way[:, :1] * r_p + way[:, 1:] * r_q)[0]
    ahead = X - (X @ normal) * normal
    ahead /= np.linalg.norm(ahead)
    share = float(np.clip(tangent @ ahead, -1.0, 1.0))
    left = float(  # the chart is seen from inside
        np.cross(tangent, normal) @ ahead
    )
    return Turn(float(np.arccos(abs(share))), -1 if share * left > 0 else 1)


class Helm:
    """Steers the courses laid off one way from the first seam.

    staves_from : x at the keel of the first seam of staves, None where there are none
    drift : largest change of the lean aft of the staves, radians
    """

    def __init__(self, patch: Patch, first: Seam, settings: PlankingSettings, forward: bool) -> None:
        self.patch, self.settings, self.forward = patch, settings, forward
        self.load = Load.of(settings)
        self.nominal = self.before = lean_of(patch, first).lean
        self.given = 0.0  # radians by which the last taper turned its seam
        self.cap = STEEPEST if settings.layers == 1 else STEEPEST_CROSSED
        self.steers = settings.pattern == "herringbone"
        self.staves_from: float | None = None
        self.drift = 0.0

    def width(self, base: Seam, width: float, side: int) -> OneWidth | TaperedWidth:
        """Of the course beside `base`, on its left (side = 1) or right."""
        if not self.steers or not base.crossings:
            return OneWidth(width)
        turn = lean_of(self.patch, base)
        if self.staves_from is None and self.forward and self._begins(base, turn):
            self.staves_from = self._x(base)
        if self.staves_from is not None:
            wanted, most = self._eased(base, turn), STAVE_TAPER * width
        else:
            wanted, most = self._held(turn), MOST_TAPER
        found = tapered(base, width, side * turn.towards * wanted, most)
        self.given = side * turn.towards * float(np.arctan(found.slope))
        return found

    def _x(self, base: Seam) -> float:
        return float(self.patch.at(base.curve.at(np.array([base.crossings[0].along])))[0, 0])

    def _held(self, turn: Turn) -> float:
        """Radians to steepen the next seam by, so that the drift some courses on will not pass 3 degrees."""
        drift = turn.lean - self.nominal
        self.drift = max(self.drift, abs(drift))
        natural = turn.lean - self.before - self.given
        self.before = turn.lean
        expected = drift + LOOK_AHEAD * natural
        return float(np.clip(expected, -MOST_DRIFT, MOST_DRIFT)) - expected

    def _begins(self, base: Seam, turn: Turn) -> bool:
        if self.settings.staves_x is not None:
            return self._x(base) >= self.settings.staves_x
        here = self.load.along(self.patch, base)
        return here > 1.0 and self.load.along(self.patch, base, turn.towards * TRIAL) < EASED * here

    def _eased(self, base: Seam, turn: Turn) -> float:
        """Radians to steepen the next seam by.  Where the builder asked for staves: as far as the wood stands it; else
        only where and as far as that eases the plank."""
        here = self.load.along(self.patch, base)
        asked = self.settings.staves_x is not None
        if turn.lean >= self.cap or (here <= 1.0 and not asked):
            return 0.0
        tries = np.minimum(TRIAL * np.arange(1, 6), self.cap - turn.lean)
        loads = np.array([self.load.along(self.patch, base, turn.towards * float(angle)) for angle in tries])
        if asked and here <= 1.0:
            stood = np.nonzero(loads <= 1.0)[0]
            return float(tries[stood[-1]]) if len(stood) else 0.0
        best = int(np.argmin(loads))
        return float(tries[best]) if loads[best] < EASED * here else 0.0


def tapered(base: Seam, width: float, turn: float, most: float) -> OneWidth | TaperedWidth:
    """A course whose far seam is turned against its base by `turn` radians (+ = wider towards the seam's end), its
    taper at most `most` mm between the crossings of the base; the wider end has the full width."""
    first, last = base.crossings[0].along, base.crossings[-1].along
    taper = float(np.clip(np.tan(turn) * (last - first), -most, most))
    if abs(taper) < 0.05:
        return OneWidth(width)
    return TaperedWidth(width - max(taper, 0.0), taper / (last - first), first, last)


def _middle_spots(seam: Seam) -> tuple[Floats, Floats]:
    """Chart points and directions at seven places of a seam between its crossings."""
    share = np.linspace(0.05, 0.95, 7)
    s = seam.crossings[0].along + share * (seam.crossings[-1].along - seam.crossings[0].along)
    return seam.curve.at(s), seam.curve.tangent(s)


def _unit(vectors: Floats) -> Floats:
    return np.asarray(vectors / np.linalg.norm(vectors, axis=-1, keepdims=True))
