"""Tables that ship with the program: woods, and what dressing takes off rough boards.

species     a wood by its trade name, with figures at 12 % moisture content
figure      a number with its standing: read at the source, quoted, derived here, or from memory only
care        how long a wood lasts, and what to mind in gluing and working it
dressing    planing both faces of a rough board;  quarters : rough thickness in quarter inches, 4/4 = 1 in

Sources stand in the tables themselves.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, Literal

from strakewright.units import parse_cell

Status = Literal["verified", "secondary", "derived", "memory", "measured"]
Kind = Literal["hardwood", "softwood", "southern pine"]


@dataclass(frozen=True)
class Figure:
    """A number and how well it is known."""

    value: float
    status: Status


def words_of(standing: str) -> str:
    """How well a figure is known, as a page says it.

    >>> words_of("memory"), words_of("secondary"), words_of("measured")
    ('from memory', 'quoted', 'measured')
    """
    return {"memory": "from memory", "secondary": "quoted"}.get(standing, standing)


@dataclass(frozen=True)
class Species:
    """A wood.  Units as in species.toml: density kg/m3, stiffness and strength MPa, movement as a fraction of
    width per 1 % moisture, shrinkage and saturation in %; None where no figure is known."""

    name: str
    latin: str
    kind: Kind
    gravity_basis: Literal["12 %", "green"]
    saturation: float
    also: tuple[str, ...] = ()
    gravity: Figure | None = None
    density: Figure | None = None
    stiffness: Figure | None = None
    strength: Figure | None = None
    move_radial: Figure | None = None
    move_tangential: Figure | None = None
    shrink_radial: Figure | None = None
    shrink_tangential: Figure | None = None
    shrink_volume: Figure | None = None

    @property
    def breaking_strain(self) -> float | None:
        """Strain at which a clear piece breaks in bending, strength / stiffness; None where one is unknown.

        >>> round(species("white ash").breaking_strain, 5)
        0.00858
        """
        if self.strength is None or self.stiffness is None:
            return None
        return self.strength.value / self.stiffness.value


@cache
def all_species() -> dict[str, Species]:
    """Every wood by its trade name."""
    rows = _table("species.toml")["species"]
    woods = [Species(**_fields(row)) for row in rows]
    return {wood.name: wood for wood in woods}


def species(name: str) -> Species:
    """The wood of that name, also by another name it goes by; capitals and hyphens do not matter.

    raises KeyError when the name is not known

    >>> species("douglas fir").name
    'Douglas-fir'
    """
    return _by_any_name()[_folded(name)]


def species_names() -> tuple[str, ...]:
    """Every name a wood goes by, trade names first."""
    woods = all_species()
    return (*woods, *(other for wood in woods.values() for other in wood.also))


@dataclass(frozen=True)
class Care:
    """durability : of heartwood, 1 very durable to 5 rots fast (from memory);  gluing, care : common practice"""

    durability: int
    gluing: str
    care: str


@cache
def _cares() -> dict[str, Care]:
    return {name: Care(**row) for name, row in _table("care.toml").items()}


def care_of(name: str) -> Care:
    """What to mind with a wood, by any of its names; raises KeyError when it is not known.

    >>> care_of("ash").durability
    5
    """
    return _cares()[species(name).name]


@dataclass(frozen=True)
class Outboard:
    """Weights in pounds of a motor of from..to hp and what goes with it (33 CFR 183.75)."""

    least: float
    most: float
    dry: float
    running: float
    swamped: float
    controls: float
    battery: float
    battery_submerged: float
    tank: float
    total: float


@cache
def outboards() -> tuple[Outboard, ...]:
    """The table's rows, smallest motor first."""
    return tuple(Outboard(*row) for row in _table("outboards.toml")["rows"])


def outboard_of(power: float) -> Outboard:
    """The row of a motor of that many hp (between two rows: the heavier); raises KeyError beyond the table.

    >>> outboard_of(20).total
    234
    """
    for row in outboards():
        if power <= row.most:
            return row
    raise KeyError(f"no outboard of {power:g} hp in the table")


@cache
def dressed_quarters() -> dict[float, float]:
    """Rough nominal thickness in mm -> mm after surfacing both faces.

    >>> dressed_quarters()[25.4]
    20.6375
    """
    rows = _table("dressing.toml")["two_sides"]
    return {parse_cell(rough, "in"): parse_cell(dressed, "in") for rough, dressed in rows.items()}


@cache
def _by_any_name() -> dict[str, Species]:
    woods = all_species().values()
    return {_folded(name): wood for wood in woods for name in (wood.name, *wood.also)}


def _folded(name: str) -> str:
    return " ".join(name.casefold().replace("-", " ").replace("_", " ").split())


def _fields(row: dict[str, Any]) -> dict[str, Any]:
    """A row of species.toml with figures and tuples in place of lists."""
    return {key: _from_list(value) if isinstance(value, list) else value for key, value in row.items()}


def _from_list(value: list[Any]) -> Figure | tuple[str, ...]:
    return tuple(value) if isinstance(value[0], str) else Figure(float(value[0]), value[1])


def _table(name: str) -> dict[str, Any]:
    return tomllib.loads(files(__name__).joinpath(name).read_text(encoding="utf-8"))
