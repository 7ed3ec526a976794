"""What the boat weighs and what must be bought, as frozen rows.

weight     a mass in its place; groups of them make the table of weights
standing   where a figure comes from: "measured" (the builder's own), "verified", "secondary", "derived", "memory"
purchase   one line of the shopping list
movement   how much wider or narrower a plank becomes between the shop and the water
rule       one line of a reckoning by a published rule, with its paragraph
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from strakewright.arrays import Floats, frozen_array


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
        return None if self.price is None else self.price * self.quantity


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
