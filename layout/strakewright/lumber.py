"""Boards as they lie in the rack.

board     one piece of stock; x runs with the grain; outline = usable wood (trim already off)
leaf      one of the thinner boards a thick one is resawn into
resawn    sawn through its thickness into leaves, each of which is a board as long and wide
defect    knot, check, wane ... as an outline no part may touch, unless the part's quality takes it
state     whole (or none) as bought, "opened" already cut into, "offcut" what was left of a board
taken     wood already cut away, as an outline
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from strakewright.arrays import Floats, frozen_array

TAKES: dict[str, dict[str, float]] = {
    "show": {},
    "sound": {"pin knot": 6.0, "stain": 1e6, "sapwood": 1e6},
    "hidden": {"pin knot": 10.0, "sound knot": 10.0, "stain": 1e6, "sapwood": 1e6},
}
"""Which defects a part of each quality may hold: kind -> largest extent in mm.  Common practice, no source; sound knots
up to 10 mm only where a sound layer lies over them.  A kind not listed is never taken."""
OPENED = frozenset({"opened", "offcut"})
"""States of boards that are paid for and cut into already."""
TAKEN = "taken"
"""Kind of defect that wood cut away already is."""


@dataclass(frozen=True, kw_only=True)
class Dressing:
    """What comes off boards of a table before parts lie on them.  mm

    end_trim : off each end, for checks;  skip : off each face in planing;  measured : whether thicknesses are rough
    """

    end_trim: float = 50.0
    skip: float = 1.5
    measured: Literal["rough", "dressed"] = "rough"


USUAL = Dressing()
"""Where nobody says otherwise."""


@dataclass(frozen=True, eq=False)
class Defect:
    """outline : (n, 2) mm in the board's axes;  part : whose wood it was, of what is taken."""

    kind: str
    outline: Floats
    part: str | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "outline", frozen_array(self.outline, (None, 2), f"defect {self.kind!r}"))


@dataclass(frozen=True, eq=False)
class Board:
    """outline : (n, 2) mm, counter-clockwise;  thickness : mm it finishes at;  rough_thickness : as bought;
    price : for the whole board, None when not known;  leaves : boards of `thickness` it yields by resawing;
    end_trim : mm already off each end of the outline, bought with the board."""

    id: str
    outline: Floats
    thickness: float
    species: str
    defects: tuple[Defect, ...] = ()
    price: float | None = None
    rough_thickness: float | None = None
    grade: str | None = None
    state: str | None = None
    leaves: int = 1
    end_trim: float = 0.0

    def __post_init__(self) -> None:
        object.__setattr__(self, "outline", frozen_array(self.outline, (None, 2), f"board {self.id!r}"))


@dataclass(frozen=True)
class Pile:
    """One wood as a mill has it.  mm;  thickness : as it dresses, rough : as bought;  width : (least, greatest);
    length : (least, greatest) in steps of `step`;  knots : to the m2;  price : of a board foot."""

    species: str
    thickness: float
    rough: float
    width: tuple[float, float]
    length: tuple[float, float]
    step: float = 304.8
    end_trim: float = 50.0
    knots: float = 0.0
    price: float | None = None

    def share(self, width: float, length: float) -> float:
        """Share of its boards at least so wide and so long."""
        low, high = self.width
        wide = 1.0 if width <= low else (high - width) / (high - low) if width < high else 0.0
        lengths = self.lengths()
        return wide * sum(v >= length - 1e-6 for v in lengths) / len(lengths)

    def lengths(self) -> list[float]:
        """Every length there is."""
        count = int((self.length[1] - self.length[0]) / self.step + 1e-6)
        return [self.length[0] + k * self.step for k in range(count + 1)]


@dataclass(frozen=True)
class Rules:
    """Clearances of a nesting job.  mm and degrees, as in parts.json.

    objective : gross | net | boards | price
    run_out : 1 in so many, the steepest a part's middle line may run to the grain; None = not checked
    by_stage : no board holds parts of two stages
    resaw_kerf : mm the resaw takes, None = boards are not resawn;  resaw_skip : off each face of a board first
    resaw_clean : off every leaf after;  resaw_max : widest board that is resawn
    snipe : mm at either end of a board that the planer cuts too deep, so no part lies there, None = not checked
    planer_min : shortest board that goes through the planer: nothing lies on a shorter one, None = not checked
    """

    spacing: float = 8.0
    edge_margin: float = 3.0
    defect_margin: float = 3.0
    max_skew_deg: float = 3.0
    min_offcut: float = 600.0
    objective: str = "net"
    run_out: float | None = None
    by_stage: bool | None = None
    resaw_kerf: float | None = None
    resaw_skip: float | None = None
    resaw_clean: float | None = None
    resaw_max: float | None = None
    snipe: float | None = None
    planer_min: float | None = None

    def for_planing(self, board: Board) -> Rules:
        """These rules without the planer's, where a board is planed already: one cut into before."""
        return replace(self, snipe=None, planer_min=None) if board.state in OPENED else self

    def keep_off(self, kind: str) -> float:
        """Clear distance from a defect.  From wood cut away no less than between parts: the saw was there."""
        return max(self.defect_margin, self.spacing) if kind == TAKEN else self.defect_margin
