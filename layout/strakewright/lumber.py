"""Boards as they lie in the rack.

board     one piece of stock; x runs with the grain; outline = usable wood (trim already off)
leaf      one of the thinner boards a thick one is resawn into
defect    knot, check, wane ... as an outline no part may touch
"""

from __future__ import annotations

from dataclasses import dataclass

from strakewright.arrays import Floats, frozen_array


@dataclass(frozen=True, eq=False)
class Defect:
    """outline : (n, 2) mm in the board's axes."""

    kind: str
    outline: Floats

    def __post_init__(self) -> None:
        object.__setattr__(self, "outline", frozen_array(self.outline, (None, 2), f"defect {self.kind!r}"))


@dataclass(frozen=True, eq=False)
class Board:
    """outline : (n, 2) mm, counter-clockwise;  thickness : mm it finishes at;  rough_thickness : as bought;
    price : for the whole board, None when not known;  leaves : boards of `thickness` it yields by resawing."""

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

    def __post_init__(self) -> None:
        object.__setattr__(self, "outline", frozen_array(self.outline, (None, 2), f"board {self.id!r}"))


@dataclass(frozen=True)
class Rules:
    """Clearances of a nesting job.  mm and degrees, as in parts.json.

    objective : gross | net | boards | price
    """

    spacing: float = 8.0
    edge_margin: float = 3.0
    defect_margin: float = 3.0
    max_skew_deg: float = 3.0
    min_offcut: float = 600.0
    objective: str = "net"
    run_out: float | None = None
