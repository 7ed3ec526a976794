"""What the shop has to cut with and to print on, as the boat file says.

cutting   router : a machine that follows the sheet;  bandsaw, table saw : cut by hand to patterns and rip lists
bed       what the router reaches: longer boards are moved along and cut in windows
tab       a bridge left under a part so that it does not come loose;  skin : the last half millimetre left everywhere
measured  what the check bars on paper measure with a good rule: later papers are drawn that much the other way
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Cutting = Literal["router", "bandsaw", "table saw"]
CLEAR = 2.0  # mm between parts beyond the cutter (common practice, no source)
BY_HAND = 5.0  # mm between parts that a saw cuts apart by hand (common practice, no source)


@dataclass(frozen=True)
class MachineSettings:
    """mm.  bed : length along the board and width, None = takes every board whole;  cutter : diameter

    resaw_max : widest board the bandsaw resaws, None = any;  planer_min : shorter pieces go through the planer as one
    board first, shorter boards not at all;  snipe : at both ends of what comes off the planer, None = cut off before
    dxf, arcs, text : how sheets are written (see `write.dxf`)
    """

    cutting: Cutting = "router"
    bed: tuple[float, float] | None = None
    cutter: float = 6.0
    tabs: Literal["tabs", "skin", "none"] = "tabs"
    resaw_max: float | None = None
    planer_min: float = 350.0
    snipe: float | None = None
    dxf: Literal["R2000", "R12"] = "R2000"
    arcs: bool = False
    text: Literal["words", "strokes"] = "words"
    where: str = ""

    @property
    def spacing(self) -> float:
        """Least clear distance between parts."""
        return self.cutter + CLEAR if self.cutting == "router" else BY_HAND


@dataclass(frozen=True)
class PaperSettings:
    """roll : mm wide;  tiles : paper for planks and patterns too, None = girth staffs only;  book : paper of the book,
    None = by the boat's units

    roll_measured : what the 1 000 mm bar along the roll and the 100 mm bar across it measure;  tile_measured : the two
    100 mm bars of a sheet, along and across
    """

    roll: float = 914.4
    tiles: Literal["A4", "Letter", "A3"] | None = None
    book: Literal["A4", "Letter"] | None = None
    roll_measured: tuple[float, float] = (1000.0, 100.0)
    tile_measured: tuple[float, float] = (100.0, 100.0)

    @property
    def roll_correction(self) -> tuple[float, float]:
        """What to draw for 1 mm, along and across the roll.

        >>> PaperSettings(roll_measured=(1004.0, 100.0)).roll_correction[0] == 1000 / 1004
        True
        """
        return 1000.0 / self.roll_measured[0], 100.0 / self.roll_measured[1]

    @property
    def tile_correction(self) -> tuple[float, float]:
        """Likewise for sheets."""
        return 100.0 / self.tile_measured[0], 100.0 / self.tile_measured[1]
