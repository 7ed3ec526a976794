"""What the boat weighs and what must be bought, as frozen rows.

weight     a mass in its place; groups of them make the table of weights
standing   where a figure comes from: "measured" (the builder's own), "verified", "secondary", "derived", "memory"
purchase   one line of the shopping list
movement   how much wider or narrower a plank becomes between the shop and the water
rule       one line of a reckoning by a published rule, with its paragraph
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from strakewright.arrays import Floats, frozen_array
from strakewright.floating import Afloat, Watered


@dataclass(frozen=True, eq=False)
class Weight:
    """mass kg at centre (3,) mm;  group : "planking", "frames", "motor" ...;  basis : how it was found

    wood : the species where it is wood, else "" """

    name: str
    group: str
    mass: float
    centre: Floats
    basis: str = ""
    wood: str = ""

    def __post_init__(self) -> None:
        object.__setattr__(self, "centre", frozen_array(self.centre, (3,), f"weight {self.name!r}"))


def total(weights: Iterable[Weight]) -> float:
    """kg"""
    return float(sum(w.mass for w in weights))


def centre_of_gravity(weights: Iterable[Weight]) -> Floats:
    """(3,) mm; raises ValueError when nothing weighs anything.

    >>> a, b = (Weight(n, "gear", m, np.array([x, 0.0, 0.0])) for n, m, x in (("a", 1, 0), ("b", 3, 400)))
    >>> centre_of_gravity([a, b]).tolist()
    [300.0, 0.0, 0.0]
    """
    rows = [w for w in weights if w.mass > 0.0]
    if not rows:
        raise ValueError("nothing weighs anything")
    masses = np.array([w.mass for w in rows])
    return np.asarray(masses @ np.array([w.centre for w in rows]) / masses.sum())


SHELL = ("planking", "frames", "members", "transom", "glue", "fastenings", "sheathing")
"""Groups of the bare shell: what is turned over on the strongback."""


def groups(weights: Sequence[Weight]) -> tuple[Group, ...]:
    """The table of weights in the order in which groups first come."""
    names = dict.fromkeys(w.group for w in weights)
    rows = [[w for w in weights if w.group == name] for name in names]
    return tuple(Group(r[0].group, total(r), centre_of_gravity(r)) for r in rows if total(r) > 0.0)


def bare_shell(weights: Iterable[Weight]) -> list[Weight]:
    """What is turned over: the hull without what is carried in her."""
    return [w for w in weights if w.group in SHELL]


@dataclass(frozen=True)
class Purchase:
    """quantity of unit, bought as `note` says;  price : of one unit, None = not known;  basis : how it was reckoned"""

    what: str
    quantity: float
    unit: str
    price: float | None = None
    note: str = ""
    basis: str = ""

    @property
    def cost(self) -> float | None:
        """To the cent, so that a list as printed adds up."""
        return None if self.price is None else round(self.price * self.quantity, 2)


@dataclass(frozen=True)
class Movement:
    """width mm;  change : mm from shop to service;  coefficient : fraction of width per 1 % moisture"""

    name: str
    wood: str
    width: float
    change: float
    coefficient: float
    standing: str


@dataclass(frozen=True)
class Rule:
    """One figure of a published rule.  value with unit;  formula in words with its numbers;  paragraph of the rule"""

    name: str
    value: float | None
    unit: str
    formula: str
    paragraph: str


@dataclass(frozen=True)
class Run:
    """One length of cloth, mm.  low, high : the band it covers, measured across the runs in the panel's flat"""

    panel: str
    number: int
    way: str
    low: float
    high: float
    length: float


@dataclass(frozen=True)
class Sheathed:
    """Both sides of the boat.  areas m2; masses kg; cloth m of the roll

    net : skin;  covered : with laps;  bought : runs x roll x layers;  resin : with waste;  aboard : cloth and resin
    corner_radius : mm, of keel and chine before the cloth goes on
    """

    net: float
    covered: float
    bought: float
    cloth: float
    resin: float
    litres: float
    pots: int
    aboard: float
    thickness: float
    runs: tuple[Run, ...]
    corner_radius: float


@dataclass(frozen=True)
class JointAreas:
    """m2, every glued face once, both sides of the boat."""

    seams: float
    scarfs: float
    layers: float
    frames: float
    ends: float

    @property
    def total(self) -> float:
        return self.seams + self.scarfs + self.layers + self.frames + self.ends


@dataclass(frozen=True)
class Glue:
    """kg in all, with a fifth more for what stays in the pot;  pots : mixed in one go within pot life"""

    mass: float
    pots: int
    aboard: float


@dataclass(frozen=True)
class Screws:
    """count of all screws, both sides;  mapped : from marks on the planks, else estimated;  plugged : those covered"""

    count: int
    mapped: bool
    plugged: int


@dataclass(frozen=True, eq=False)
class Group:
    """name, kg and (3,) mm"""

    name: str
    mass: float
    centre: Floats


@dataclass(frozen=True)
class PanelMove:
    """A panel as one glued piece.  girth : mm across its planks, at its widest;  change : mm;  push : share of that

    sheathed : cloth and resin seal it;  standing : of the wood's figure
    """

    panel: str
    wood: str
    girth: float
    change: float
    push: float
    limit: float
    sheathed: bool = False
    standing: str = ""


@dataclass(frozen=True)
class Swamped:
    """What must be held up when she is full, lb.  hull : weight under water (negative: wood lifts);  others likewise"""

    hull: float
    motor: float
    persons: float

    @property
    def total(self) -> float:
        return self.hull + self.motor + self.persons


@dataclass(frozen=True)
class Screw:
    """How one screw is used.  mm and N;  ultimate, design : pull from side grain of the wood it goes into

    gravity : of that wood, with its standing, in words
    """

    gauge: int
    length: float
    diameter: float
    lead: float
    thread: float
    ultimate: float
    design: float
    wood: str
    gravity: str = ""


@dataclass(frozen=True)
class Room:
    """Where foam fits: along the sides between two stations.  mm; litres, both sides together"""

    aft: float
    forward: float
    litres: float


@dataclass(frozen=True)
class Stores:
    """Cloth, glue and screws of the planking.  screw : how one is used in each wood"""

    sheathed: Sheathed | None
    joints: JointAreas
    glue: Glue
    screws: Screws
    screw: tuple[Screw, ...]


@dataclass(frozen=True, eq=False)
class Reckoned:
    """Everything worked out besides the planks.  None or empty = not asked for.

    weights : with all that is carried;  missing : what of the boat is not weighed, in words
    water : "fresh" or "salt", what she is meant for;  lifting : x of two slings;  skin : m2 outside, both sides
    widest : mm by wood;  woods : each wood picked, with what to mind;  hin : what is said of the hull's number
    """

    weights: tuple[Weight, ...]
    missing: tuple[str, ...]
    lifting: tuple[float, float]
    afloat: Watered
    water: str
    rules: tuple[Rule, ...]
    rooms: tuple[Room, ...]
    stores: Stores
    skin: float
    moistures: str
    movements: tuple[Movement, ...]
    panels: tuple[PanelMove, ...]
    widest: Mapping[str, float]
    woods: tuple[tuple[str, str], ...]
    purchases: tuple[Purchase, ...]
    currency: str
    hin: str = ""

    @property
    def lies(self) -> Afloat | None:
        """How she lies in the water she is meant for."""
        return self.afloat.lies.get(self.water)
