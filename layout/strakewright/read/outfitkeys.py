"""Keys of the boat file on weight, water, wood and stores (the types are in `outfit` and `settings`).

Bounds are common practice, no source: wide enough for any boat of 2 to 20 m.
"""

from __future__ import annotations

import math
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict

from strakewright.errors import InputError
from strakewright.outfit import (
    BentPlank,
    CapacitySettings,
    FasteningSettings,
    GlueSettings,
    Item,
    MoistureSettings,
    Outfit,
    PriceSettings,
    WaterSettings,
    WoodSettings,
)
from strakewright.read.keyvalues import (
    Air,
    Name,
    Panels,
    Place,
    Switch,
    choice,
    cloth,
    length,
    mass,
    number,
    read_wood,
    whole,
)
from strakewright.settings import SheathingSettings

_Price = Annotated[float, number(0, 1_000_000, "money")]
_Share = Annotated[float, number(0.01, 1, "share of breaking strain")]
_Radius = Annotated[float, number(10, 2000, "radius over thickness")]
_Shear = Annotated[float, number(0.0001, 0.1, "fraction")]
_Cloth = Annotated[float, cloth(20, 3000)]
_Screw = Annotated[float, length(8, 200)]
_Hollow = Annotated[float, length(0, 20)]
_Moisture = Annotated[float, number(0, 30, "% of dry mass")]
_Move = Annotated[float, number(0.0001, 0.01, "fraction of width per 1 % moisture")]


class _Keys(BaseModel):
    """A key left out stays unset: its default stands with the types."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class SheathingTable(_Keys):
    cloth: _Cloth | None = None
    thickness: Annotated[float, length(0, 20)] | None = None
    corner_radius: Annotated[float, length(0, 200)] | None = None
    layers: Annotated[int, whole(1, 10)] | None = None
    roll: Annotated[float, length(100, 5000)] | None = None
    lap: Annotated[float, length(0, 500)] | None = None
    corner_lap: Annotated[float, length(0, 500)] | None = None
    panels: Panels | None = None
    fill_coats: Annotated[int, whole(0, 20)] | None = None
    waste: Annotated[float, number(0, 1, "share")] | None = None


class BentTable(_Keys):
    thickness: Annotated[float, length(1, 200)]
    radius: Annotated[float, length(50, 1_000_000)] | None = None
    twist_deg_per_m: Annotated[float, number(0, 360, "degrees a metre")] | None = None


class WoodTable(_Keys):
    density: Annotated[float, number(80, 1400, "kg/m3")] | None = None
    strength: Annotated[float, number(10, 400, "MPa")] | None = None
    stiffness: Annotated[float, number(1000, 40_000, "MPa")] | None = None
    move_radial: _Move | None = None
    move_tangential: _Move | None = None
    durability: Annotated[int, whole(1, 5)] | None = None
    widest: Annotated[float, length(10, 1000)] | None = None
    easy_radius: _Radius | None = None
    firm_radius: _Radius | None = None
    easy_strain: _Share | None = None
    firm_strain: _Share | None = None
    easy_shear: _Shear | None = None
    firm_shear: _Shear | None = None
    most_shear: _Shear | None = None
    easy_hollow: _Hollow | None = None
    firm_hollow: _Hollow | None = None
    bent_ok: tuple[BentTable, ...] | None = None


class ItemTable(_Keys):
    name: Name
    weight: Annotated[float, mass(0, 20_000)]
    at: Place
    group: Annotated[str, choice("motor", "battery", "fuel", "person", "gear", "ballast", "fitting")] | None = None
    count: Annotated[int, whole(1, 100)] | None = None


class WaterTable(_Keys):
    water: Annotated[str, choice("fresh", "salt")] | None = None
    designed_waterline: Annotated[float, length(-20_000, 20_000)] | None = None
    downflooding: Place | None = None
    deck: Switch | None = None


class CapacityTable(_Keys):
    propulsion: Annotated[str, choice("outboard", "small outboard", "manual", "inboard")] | None = None
    motor_hp: Annotated[float, number(0, 1000, "hp")] | None = None
    remote_steering: Switch | None = None
    transom_height: Annotated[float, length(100, 1500)] | None = None
    flat_bottom: Switch | None = None
    list_weight: Annotated[float, mass(0, 20_000)] | None = None
    foam: Annotated[float, number(10, 200, "kg/m3")] | None = None
    hin: Name | None = None


class MoistureTable(_Keys):
    shop: _Moisture | None = None
    service: _Moisture | None = None
    shop_air: Air | None = None
    service_air: Air | None = None
    grain: Annotated[str, choice("flat", "quarter")] | None = None


class GlueTable(_Keys):
    spread: Annotated[float, number(50, 2000, "g/m2")] | None = None
    pot: Annotated[float, number(10, 20_000, "g")] | None = None
    pot_life: Annotated[float, number(2, 1000, "minutes")] | None = None
    pace: Annotated[float, number(0.1, 100, "m2 an hour")] | None = None
    open_time: Annotated[float, number(1, 1000, "minutes")] | None = None
    clamps: Annotated[int, whole(2, 1000)] | None = None
    clamp_spacing: Annotated[float, length(20, 600)] | None = None


class FasteningTable(_Keys):
    gauge: Annotated[int, whole(2, 24)] | None = None
    length: _Screw | None = None
    plugs: Switch | None = None


class PricesTable(_Keys):
    currency: Name | None = None
    board_foot: _Price | None = None
    glue: _Price | None = None
    resin: _Price | None = None
    cloth: _Price | None = None
    screws: _Price | None = None
    plugs: _Price | None = None
    foam: _Price | None = None
    varnish: _Price | None = None


def _known_woods(value: object) -> object:
    if isinstance(value, dict):
        named = [read_wood(name) for name in value]
        for name in {n for n in named if named.count(n) > 1}:
            raise InputError(f'"{name}" stands twice, under two of its names', fix="Write one table for it")
    return value


Woods = Annotated[dict[str, WoodTable], BeforeValidator(_known_woods)]

OUTFIT_TABLES: dict[str, type[BaseModel]] = {
    "sheathing": SheathingTable,
    "species": WoodTable,
    "item": ItemTable,
    "afloat": WaterTable,
    "capacity": CapacityTable,
    "moisture": MoistureTable,
    "glue": GlueTable,
    "fastenings": FasteningTable,
    "prices": PricesTable,
}


def wood_settings(woods: dict[str, WoodTable]) -> tuple[WoodSettings, ...]:
    """[species.NAME] tables under the woods' trade names."""
    return tuple(
        WoodSettings(read_wood(name), **_given(table, leave={"bent_ok"}), bent_ok=_bent(table.bent_ok or ()))
        for name, table in woods.items()
    )


def _bent(tables: tuple[BentTable, ...]) -> tuple[BentPlank, ...]:
    """Twist in radians per mm."""
    return tuple(BentPlank(t.thickness, t.radius, math.radians(t.twist_deg_per_m or 0.0) / 1000) for t in tables)


def sheathing_settings(table: SheathingTable | None) -> SheathingSettings | None:
    """None where no table stands: not sheathed."""
    return SheathingSettings(**_given(table)) if table is not None else None


def outfit_settings(boat: Any, places: list[str]) -> Outfit:
    """Everything else.  boat : the boat file as read;  places : "boat.toml:31" of each [[item]]"""
    return Outfit(
        items=tuple(Item(**_given(item), where=place) for item, place in zip(boat.item, places, strict=True)),
        water=WaterSettings(**_given(boat.afloat)),
        capacity=CapacitySettings(**_given(boat.capacity)) if boat.capacity is not None else None,
        moisture=MoistureSettings(**_given(boat.moisture)),
        glue=GlueSettings(**_given(boat.glue)),
        fastenings=FasteningSettings(**_given(boat.fastenings)),
        prices=PriceSettings(**_given(boat.prices)),
    )


def _given(table: BaseModel, leave: set[str] | None = None) -> dict[str, Any]:
    return table.model_dump(exclude_none=True, exclude=leave)
