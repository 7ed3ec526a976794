"""The shop book as content, before it is set on paper or on a screen.

section   one operation or one question of the builder; begins a page
bench     a section that is read at arm's length: figures of 5 mm, part numbers of 10 mm
block     words, a table, a picture, or room to write in

Pictures are drawn in mm of the page, so that words in them have the size they say.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TypeAlias

import numpy as np

from strakewright.errors import Check, Finding
from strakewright.frames import Framing
from strakewright.hull import Hull, Panel
from strakewright.ledger import Reckoned
from strakewright.lumber import Board, Rules
from strakewright.members import Member, Sawn
from strakewright.parts import Part, Plank
from strakewright.plan import Plan
from strakewright.settings import PlankingSettings
from strakewright.units import print_mm, print_tape
from strakewright.write.pen import Pen, kept
from strakewright.write.sheets import Sheet

FIGURE, NUMBER = 5.0, 10.0  # mm on bench pages
PICTURE = 246.0  # mm: the widest picture, fits both papers lying
BOX = "[        ]"


@dataclass(frozen=True)
class Words:
    """A paragraph; strong ones are set heavier."""

    text: str
    strong: bool = False


@dataclass(frozen=True)
class Table:
    """Cells may hold line breaks.  tall : columns of part numbers, set 10 mm high;  caption : above it"""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    caption: str = ""
    tall: tuple[int, ...] = ()

    def is_figure(self, column: int) -> bool:
        """True when the column holds figures only: set to the right."""
        free = column > 0 and column not in self.tall
        return free and all(_FIGURES.fullmatch(row[column]) for row in self.rows)


_FIGURES = re.compile(r"[-+0-9./'\" \u00a0\n–]*")


@dataclass(frozen=True, eq=False)
class Picture:
    """width, height : mm on the page;  draw : on a pen with (0, 0) at the lower left, worked out once for all papers;
    name : of its own file, without ending ("" = none)"""

    width: float
    height: float
    draw: Callable[[Pen], None]
    caption: str = ""
    name: str = ""

    def __post_init__(self) -> None:
        object.__setattr__(self, "draw", kept(self.draw))


Block: TypeAlias = Words | Table | Picture


@dataclass(frozen=True, eq=False)
class Section:
    """one_page : lines may stand closer to keep it to one"""

    title: str
    blocks: tuple[Block, ...]
    bench: bool = False
    one_page: bool = False


@dataclass(frozen=True, eq=False)
class Book:
    boat: str
    revision: str
    sections: tuple[Section, ...]

    @property
    def pictures(self) -> tuple[Picture, ...]:
        """Every picture, in order."""
        return tuple(b for section in self.sections for b in section.blocks if isinstance(b, Picture))


@dataclass(frozen=True, eq=False)
class LayerFacts:
    """One layer of planking, both sides.  girths : frame -> mm round the port skin;  area : mm2, one side

    linings : rows of figures, one a way of lining off, the one taken first (strakes)
    """

    settings: PlankingSettings
    layer: int
    planks: tuple[Plank, ...]
    girths: dict[str, float]
    area: float
    linings: tuple[tuple[str, ...], ...] = ()

    @property
    def port(self) -> tuple[Plank, ...]:
        return tuple(p for p in self.planks if p.on_port)

    @property
    def told(self) -> tuple[Plank, ...]:
        """One of every pair, and all that have no mate, on either side."""
        return tuple(p for p in self.planks if p.stands_for)

    @property
    def unlike(self) -> tuple[Plank, ...]:
        """Starboard planks without a mate: their joints are shifted."""
        return tuple(p for p in self.told if not p.on_port)

    @property
    def starboard(self) -> tuple[Plank, ...]:
        """All that hang on the starboard side, wholly or in part."""
        return tuple(p for p in self.planks if p.side != "port")

    @property
    def name(self) -> str:
        s = self.settings
        return s.panel + (f" layer {self.layer}" if s.layers > 1 else "")


@dataclass(frozen=True, eq=False)
class Facts:
    """Everything the book tells of.  hull : figures by name;  limits : rows (what, easy up to, firm up to, source)

    map_limits : species -> figure of the maps -> easy and firm up to, fractions
    """

    boat: str
    revision: str
    hull: dict[str, float | str]
    frames: tuple[tuple[str, float], ...]
    layers: tuple[LayerFacts, ...]
    parts: tuple[Part, ...]
    rules: Rules
    boards: tuple[Board, ...]
    plan: Plan
    sheets: tuple[Sheet, ...]
    checks: tuple[Check, ...]
    findings: tuple[Finding, ...]
    limits: tuple[tuple[str, str, str, str], ...]
    framing: Framing = field(default_factory=Framing)
    members: tuple[Member, ...] = ()
    sawn_members: tuple[Sawn, ...] = ()
    reckoned: Reckoned | None = None
    panels: tuple[Panel, ...] = ()
    lofted: Hull | None = None
    map_limits: Mapping[str, Mapping[str, tuple[float, float]]] = field(default_factory=dict)

    @property
    def board_of(self) -> dict[str, str]:
        return {p.part: p.board for p in self.plan.placements}


def in_line(mm: float) -> str:
    """A length as both tapes show it, in one line."""
    return f"{print_mm(mm)} ({print_tape(mm)})"


def counted(number: int, one: str, many: str) -> str:
    """A number with its noun or verb.

    >>> counted(1, "PROOF FAILS", "PROOFS FAIL")
    '1 PROOF FAILS'
    """
    return f"{number} {one if number == 1 else many}"


def thick(mm: float) -> str:
    """A thickness: as it was asked for, and on the tape.

    >>> thick(16.875)
    '16.875 mm (21/32")'
    """
    return f"{mm:g} mm ({print_tape(mm)})"


def bare(mm: float) -> str:
    """To half a millimetre, unit understood."""
    return print_mm(mm).removesuffix(" mm")


def two_lines(mm: float) -> str:
    """For narrow columns: bare millimetres, inches under them, never parted at a line's end."""
    return f"{bare(mm)}\n{print_tape(mm)}".replace(" ", "\N{NO-BREAK SPACE}")


def tenths(mm: float) -> str:
    """Small differences: to a tenth of a millimetre, with sign."""
    value = round(mm, 1)
    return f"{value:+.1f}" if value else "0"


def blank_size(part: Part) -> tuple[float, float]:
    """Length along the grain and width of the smallest straight blank, mm."""
    long, wide = np.ptp(part.outline, axis=0)
    return float(long), float(wide)


def side_by_side(head: tuple[str, ...], rows: list[tuple[str, ...]], lots: int) -> Table:
    """A long list as `lots` lists beside each other, read down; the first column of each holds part numbers."""
    share = -(-len(rows) // lots)
    empty = ("",) * len(head)
    columns = [rows[n * share : (n + 1) * share] for n in range(lots)]
    body = [sum((c[k] if k < len(c) else empty for c in columns), ()) for k in range(share)]
    return Table(head * lots, tuple(body), tall=tuple(n * len(head) for n in range(lots)))


def said(sections: tuple[Section | None, ...]) -> tuple[Section, ...]:
    """Those that have something to say."""
    return tuple(s for s in sections if s is not None)
