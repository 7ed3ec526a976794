"""How a boat lies in the water, as frozen figures.

draught     depth of the lowest point of the hull below the water
trim        turn about the beam axis, + = by the stern (bow up);  heel : + = to starboard
LCB, LCF    where the buoyancy and the waterplane have their centres, mm forward of the aftmost point
KB, BM, KM  height of the buoyancy over the lowest point, from it to the metacentre, and their sum
GM          height of the metacentre over the centre of gravity: + = she rights herself from a small heel
righting arm  horizontal distance between weight and buoyancy at a heel (GZ)
downflooding  the lowest opening through which water comes in
"""

from __future__ import annotations

from dataclasses import dataclass

from strakewright.arrays import Floats, frozen_array
from strakewright.errors import Check, Finding

FRESH, SALT = 1000.0, 1025.0  # kg/m3; 62.4 lb/ft3 fresh stands in 33 CFR 183.105


@dataclass(frozen=True)
class Hydrostatics:
    """Upright and level at one draught, to the outside of planking and outer members.  mm, kg, kg/m3.

    level : height of the water over the base line;  bm, bm_long : transverse and lengthwise;  immersion : kg for one
    mm deeper;  trim_moment : kg mm to trim 1 mm over the waterline's length (by BM, as is usual)
    """

    level: float
    draught: float
    volume: float
    displacement: float
    lcb: float
    kb: float
    waterplane: float
    lcf: float
    bm: float
    bm_long: float
    wetted: float
    length: float
    breadth: float
    largest_section: float
    immersion: float
    trim_moment: float

    @property
    def km(self) -> float:
        return self.kb + self.bm

    @property
    def block(self) -> float:
        """Volume over length, breadth and draught of the waterline."""
        return self.volume / (self.length * self.breadth * self.draught)

    @property
    def prismatic(self) -> float:
        """Volume over length and the largest section."""
        return self.volume / (self.length * self.largest_section)

    @property
    def plane(self) -> float:
        """Waterplane over its length and breadth."""
        return self.waterplane / (self.length * self.breadth)


@dataclass(frozen=True, eq=False)
class Afloat:
    """How she lies under a weight.  Angles in radians, mm, kg.

    up : (3,) the vertical in the boat's axes;  level : height of the water along it;  water : kg/m3
    draught_aft, draught_forward : below the water at the hull's lowest points aft and forward quarter of her length
    freeboard : least height of the sheer over the water, at freeboard_x;  gm, gm_long : metacentric heights
    """

    weight: float
    centre: Floats
    water: float
    up: Floats
    level: float
    trim: float
    heel: float
    draught: float
    freeboard: float
    freeboard_x: float
    gm: float
    gm_long: float
    waterplane: float
    wetted: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "centre", frozen_array(self.centre, (3,), "centre of gravity"))
        object.__setattr__(self, "up", frozen_array(self.up, (3,), "vertical"))


@dataclass(frozen=True)
class Righting:
    """One heel of the righting curve: radians, mm.  trim is free."""

    heel: float
    arm: float
    level: float
    trim: float


@dataclass(frozen=True, eq=False)
class RightingCurve:
    """Righting arms up to the heel at which water comes in.  floods_at : radians, None when beyond the last heel;
    through : what lets it in"""

    points: tuple[Righting, ...]
    floods_at: float | None
    through: str


@dataclass(frozen=True)
class WaterMark:
    """Where to paint a point of the waterline: name of the place, x, y, z on the hull, and how far below the
    sheer, measured straight down the stem or the transom's edge.  mm"""

    name: str
    x: float
    y: float
    z: float
    below_sheer: float


@dataclass(frozen=True, eq=False)
class Watered:
    """What the water says.  table : upright, fresh water;  lines : at the designed waterline

    lies : by the water's name, "fresh" and "salt"; empty when she cannot float;  marks, areas (x and mm2 of the
    sections) and righting curve : in the water she is meant for
    """

    table: tuple[Hydrostatics, ...]
    lines: Hydrostatics | None
    lies: dict[str, Afloat]
    righting: RightingCurve | None
    marks: tuple[WaterMark, ...]
    areas: Floats
    checks: tuple[Check, ...]
    findings: tuple[Finding, ...]
