"""What every piece weighs and where: planks from their own faces, other wood from its bodies, and what is carried.

plank's volume   thickness x (inner face + 4 x middle + outer face) / 6, exact for straight bevels (prismoid)
group            planking, frames, members, transom, sheathing, glue, fastenings; motor, battery, fuel, person, gear
bare shell       what is turned over on the strongback: planking and its glue (frames and members with it)
lifting points   two slings from the centre of gravity, each carrying half

Source: derived; density by the Wood Handbook (`weigh.moisture`).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from strakewright.arrays import Floats
from strakewright.geometry.outlines import signed_area
from strakewright.ledger import Weight, bare_shell, centre_of_gravity
from strakewright.outfit import Item, WoodSettings
from strakewright.parts import Plank
from strakewright.solids import Body, centroid, volume
from strakewright.tables import species, words_of
from strakewright.weigh.moisture import density_at

AS_TABLED = 12.0  # % moisture of the table's densities
LIQUID = ("fuel",)


@dataclass(frozen=True)
class Woods:
    """Densities as the builder knows them, at the moisture the boat is weighed at."""

    own: tuple[WoodSettings, ...] = ()
    moisture: float = AS_TABLED

    def density(self, name: str) -> tuple[float, str]:
        """kg/m3 and its standing.  Raises KeyError for a wood that is not known."""
        wood = species(name)
        measured = {w.name: w.density for w in self.own}.get(wood.name)
        if measured is not None:
            return density_at(measured, self.moisture), "measured"
        if wood.density is None:
            raise KeyError(f"{name}: no density known")
        return density_at(wood.density.value, self.moisture), wood.density.status


def plank_volume(plank: Plank) -> float:
    """mm3 of a finished plank."""
    inner, middle, outer = (abs(signed_area(r)) for r in (plank.face_inside, plank.fitted_outline, plank.face_outside))
    return plank.thickness * (inner + 4 * middle + outer) / 6


def plank_weights(planks: Iterable[Plank], centres: Mapping[str, Floats], woods: Woods) -> list[Weight]:
    """Every plank.  centres : plank id -> (3,) mm"""
    rows = []
    for plank in planks:
        dense, standing = woods.density(plank.species)
        mass = plank_volume(plank) * dense * 1e-9
        rows.append(Weight(plank.id, "planking", mass, centres[plank.id], _basis(dense, standing), plank.species))
    return rows


def body_weights(bodies: Iterable[Body], group: str, woods: Woods) -> list[Weight]:
    """Wood that stands as bodies in its place; info["species"] names the wood."""
    rows = []
    for body in bodies:
        wood = body.info["species"]
        dense, standing = woods.density(wood)
        mass = abs(volume(body)) * dense * 1e-9
        rows.append(Weight(body.name, group, mass, centroid(body), _basis(dense, standing), wood))
    return rows


def _basis(dense: float, standing: str) -> str:
    return f"{dense:.0f} kg/m3, {words_of(standing)}"


def item_weights(items: Iterable[Item]) -> list[Weight]:
    """What the builder entered, each in its place."""
    return [Weight(i.name, i.group, i.weight * i.count, np.array(i.at), "as entered") for i in items]


def spread_weight(name: str, group: str, mass: float, over: Sequence[Weight], basis: str) -> Weight:
    """A mass spread over other weights in proportion: glue and screws over the planking they hold."""
    return Weight(name, group, mass, centre_of_gravity(over), basis)


def lifting_points(weights: Sequence[Weight], length: float) -> tuple[float, float]:
    """x of two slings that carry half the bare shell each: as far apart as half her length, about her centre."""
    middle = float(centre_of_gravity(bare_shell(weights))[0])
    reach = min(length / 4, middle * 0.9, (length - middle) * 0.9)
    return middle - reach, middle + reach
