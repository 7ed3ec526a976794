"""The boat file on weight, water and stores, as frozen types: everything aboard and everything bought besides boards.

item       a weight aboard that is no part of the hull: motor, battery, fuel, people, gear
water      fresh or salt;  downflooding : the lowest opening through which water comes in
moisture   of wood, % of its dry mass: in the shop and in service, given straight or by the air around it
pot        glue or resin mixed in one go;  pot life : minutes until it sets in the pot

Lengths mm, masses kg, angles none.  Defaults marked in the book as common practice have no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Place = tuple[float, float, float]
Group = Literal["motor", "battery", "fuel", "person", "gear", "ballast", "fitting"]
Grain = Literal["flat", "quarter"]


@dataclass(frozen=True)
class Item:
    """weight : kg of one;  at : (x, y, z) of its centre, mm;  where : "boat.toml:31" for messages"""

    name: str
    weight: float
    at: Place
    group: Group = "gear"
    count: int = 1
    where: str = ""


@dataclass(frozen=True)
class WaterSettings:
    """designed_waterline : height of the drawn waterline over the base line;  deck : closed at the sheer

    downflooding : (x, y, z) of the lowest opening, either side; None = the sheer itself
    """

    water: Literal["fresh", "salt"] = "fresh"
    designed_waterline: float | None = None
    downflooding: Place | None = None
    deck: bool = False


@dataclass(frozen=True)
class CapacitySettings:
    """What 33 CFR 183 asks of a boat.  motor_hp : largest motor meant;  list_weight : kg that lists her to the
    sheer in the persons test ("A" of 183.41);  hin : hull identification number

    flat_bottom : None = flat where her deadrise aft is under 5 degrees
    propulsion : outboard over 2 hp, manual (also outboards up to 2 hp), inboard;  foam : kg/m3
    """

    propulsion: Literal["outboard", "small outboard", "manual", "inboard"] = "outboard"
    motor_hp: float | None = None
    remote_steering: bool = False
    transom_height: float | None = None
    flat_bottom: bool | None = None
    list_weight: float | None = None
    foam: float = 32.0
    hin: str | None = None


@dataclass(frozen=True)
class MoistureSettings:
    """shop, service : % moisture of the wood;  *_air : (deg C, % relative humidity) in its place"""

    shop: float | None = None
    service: float | None = None
    shop_air: tuple[float, float] | None = None
    service_air: tuple[float, float] | None = None
    grain: Grain = "flat"


@dataclass(frozen=True)
class GlueSettings:
    """spread : g/m2 of joint, both faces together;  pot : g;  pot_life : minutes;  pace : m2 of joint an hour
    open_time : minutes from first glue to last clamp;  clamps : how many there are, None = not said
    clamp_spacing : mm between clamps on bent members"""

    spread: float = 350.0
    pot: float = 300.0
    pot_life: float = 20.0
    pace: float = 4.0
    open_time: float = 30.0
    clamps: int | None = None
    clamp_spacing: float = 100.0


@dataclass(frozen=True)
class FasteningSettings:
    """gauge : screw number;  length : mm;  plugs : True = plugged where the plank is thick enough"""

    gauge: int = 8
    length: float = 38.0
    plugs: bool = True


@dataclass(frozen=True)
class PriceSettings:
    """Money for one unit, None where not known."""

    currency: str = ""
    board_foot: float | None = None
    glue: float | None = None
    resin: float | None = None
    cloth: float | None = None
    screws: float | None = None
    plugs: float | None = None
    foam: float | None = None
    varnish: float | None = None


@dataclass(frozen=True)
class Outfit:
    """All of it; what is None was not asked for."""

    items: tuple[Item, ...] = ()
    water: WaterSettings = WaterSettings()
    capacity: CapacitySettings | None = None
    moisture: MoistureSettings = MoistureSettings()
    glue: GlueSettings = GlueSettings()
    fastenings: FasteningSettings = FasteningSettings()
    prices: PriceSettings = PriceSettings()


@dataclass(frozen=True)
class BentPlank:
    """A plank that the builder has bent and that stood it.  thickness, radius : mm;  twist : rad per mm"""

    thickness: float
    radius: float | None = None
    twist: float = 0.0


@dataclass(frozen=True)
class WoodSettings:
    """[species.NAME]: what the builder knows better of a wood; None = as the table of woods says.

    density : kg/m3 at 12 %;  strength, stiffness : MPa;  move_* : fraction of width per 1 % moisture
    durability : 1 (very durable) to 5 (rots fast);  widest : mm, widest plank allowed
    limits of bending: *_radius : radius over thickness;  *_strain : share of breaking strain;  *_shear : shear of
    twist as a fraction;  *_hollow : mm;  bent_ok : planks already bent, which move the limits
    """

    name: str
    density: float | None = None
    strength: float | None = None
    stiffness: float | None = None
    move_radial: float | None = None
    move_tangential: float | None = None
    durability: int | None = None
    widest: float | None = None
    easy_radius: float | None = None
    firm_radius: float | None = None
    easy_strain: float | None = None
    firm_strain: float | None = None
    easy_shear: float | None = None
    firm_shear: float | None = None
    most_shear: float | None = None
    easy_hollow: float | None = None
    firm_hollow: float | None = None
    bent_ok: tuple[BentPlank, ...] = ()
