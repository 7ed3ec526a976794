"""Loading, persons, power and level flotation by the United States' rule for small boats, as an estimate.

factor        length x transom width in feet
W             largest weight carried: persons, motor and gear
persons       pounds, and how many people that is
swamped       full of water after 18 hours; level flotation: she then still floats level with part of her load
K             weight under water over dry weight, (SG - 1) / SG: negative for wood, which carries itself
foam          lb or kg of lift = volume x (water - foam)

Source: 33 CFR 183 (monohull outboards and manually propelled boats under 20 ft): 183.33, .35, .37, .41, .43, .53, .75,
.105, .220 to .235, .320 to .335, and the US Coast Guard Boatbuilder's Handbook for the flotation sum. Not reckoned,
because the text read for this program does not hold it: the inboard weight formula of 183.33. Pounds and feet inside,
as the rule is written.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from strakewright.afloat.shell import Shell
from strakewright.arrays import Floats
from strakewright.floating import FRESH
from strakewright.geometry.immersion import immersed
from strakewright.ledger import Rule, Swamped
from strakewright.outfit import CapacitySettings
from strakewright.tables import Outboard, outboard_of, outboards
from strakewright.units import POUND

KG, FOOT, INCH = float(POUND), 304.8, 25.4
WATER = 62.4  # lb/ft3, as 183.105 has it
CUBIC_FOOT = FOOT**3
FLAT = 5.0  # degrees of deadrise; common practice, no source
LONGEST = 20.0  # ft
SMALL_MOTOR = 2.0  # hp
_POWERS = ((35, 3.0), (39, 5.0), (42, 7.5), (45, 10.0), (52, 15.0))


@dataclass(frozen=True)
class Sizes:
    """mm and kg.  transom : width of a full transom, else the broadest beam in the aftermost quarter

    carries : kg displaced with the water up to where it would come in, level by her sheer;  deadrise_deg : aft
    """

    length: float
    beam: float
    transom: float
    carries: float
    deadrise_deg: float


def sizes_of(shell: Shell, flooding: Floats | None, deadrise_deg: float) -> Sizes:
    """Sizes as the rule takes them: length and beam over the deck, the transom's width, the largest displacement."""
    x, y = shell.sheer[:, 0], shell.sheer[:, 1]
    length, beam = float(np.ptp(shell.vertices[:, 0])), 2 * float(shell.vertices[:, 1].max())
    width = 2 * float(shell.transom[:, 1].max())
    if width <= beam / 2:
        width = 2 * float(y[x <= x.min() + np.ptp(x) / 4].max())
    return Sizes(length, beam, width, _most_carried(shell, flooding), deadrise_deg)


def _most_carried(shell: Shell, flooding: Floats | None) -> float:
    """kg of fresh water up to the lowest way in: both ends of the sheer equally far above it, or level by the base
    line, whichever is less."""
    first, last = shell.sheer[0], shell.sheer[-1]
    by_sheer = np.array([-(last[2] - first[2]), 0.0, last[0] - first[0]])
    ways = shell.sheer if flooding is None else np.concatenate([shell.sheer, flooding[None]])
    return min(_carried(shell, ways, up / np.linalg.norm(up)) for up in (by_sheer, np.array([0.0, 0.0, 1.0])))


def _carried(shell: Shell, ways: Floats, up: Floats) -> float:
    axes = np.stack([np.array([up[2], 0.0, -up[0]]), np.array([0.0, 1.0, 0.0]), up])
    level = float((ways @ up).min()) - 1e-6
    return immersed(shell.vertices, shell.triangles, axes, level).volume * FRESH * 1e-9


def persons_of(pounds: float) -> int:
    """How many people a persons capacity is: (lb + 32) / 141 to the nearest whole, halves up.

    >>> persons_of(550), persons_of(547), persons_of(546)
    (4, 4, 4)
    """
    return max(0, math.floor((pounds + 32.0) / 141.0 + 0.5))


def power_of(length: float, width: float, remote_high: bool, flat: bool) -> tuple[float, str]:
    """Largest hp and how it was found.  length, width : ft;  remote_high : remote steering and a transom of 20 in or
    more;  flat : flat bottom with hard chines

    >>> power_of(19.5, 7.0, True, False)[0]
    185.0
    """
    factor = length * width
    nearest = math.floor(factor + 0.5)
    said = f"factor {length:.2f} ft x {width:.2f} ft = {factor:.1f}"
    if nearest <= 52:
        steps = [hp for _, hp in _POWERS]
        at = next(i for i, (most, _) in enumerate(_POWERS) if nearest <= most)
        step = max(0, at - 1) if flat else at
        return steps[step], f"{said}, table{', one step down for a flat bottom with hard chines' if flat else ''}"
    rule, words = (2 * factor - 90, "2 F - 90") if remote_high else (0.8 * factor - 25, "0.8 F - 25")
    if flat and not remote_high:
        rule, words = 0.5 * factor - 15, "0.5 F - 15"
    raised = 5.0 * math.ceil(rule / 5.0 - 1e-9)
    return raised, f"{said}, {words} = {rule:.1f}, may be raised to the next 5"


def capacity(sizes: Sizes, boat_weight: float, asked: CapacitySettings) -> list[Rule]:
    """Weight, persons and power.  boat_weight : kg of hull and what is permanently fixed in her"""
    spare = (sizes.carries - boat_weight) / KG
    said = f"({sizes.carries / KG:.0f} lb displaced - {boat_weight / KG:.0f} lb boat)"
    if asked.propulsion == "inboard":
        why = "the rule's formulae for inboards are not in this program: use the rule's own text"
        return [Rule("largest weight carried", None, "lb", why, "33 CFR 183.33")]
    if asked.propulsion == "outboard":
        most = spare / 5
        rows = [Rule("largest weight carried", most, "lb", f"{said} / 5", "33 CFR 183.35")]
        return rows + _outboard_persons(most, sizes, asked)
    most = 0.3 * spare
    rows = [Rule("largest weight carried", most, "lb", f"3/10 of {said}", "33 CFR 183.37")]
    less = 25.0 if asked.propulsion == "small outboard" else 0.0
    persons = 0.9 * most - less
    words = f"0.90 x {most:.0f} lb" + (" - 25 lb" if less else "")
    return [*rows, *_persons(persons, words, "33 CFR 183.43")]


def _persons(pounds: float, words: str, paragraph: str) -> list[Rule]:
    pounds = max(0.0, pounds)
    count = f"({pounds:.0f} lb + 32) / 141 to the nearest whole"
    return [
        Rule("persons capacity", pounds, "lb", words, paragraph),
        Rule("persons", float(persons_of(pounds)), "", count, paragraph),
    ]


def _outboard_persons(most: float, sizes: Sizes, asked: CapacitySettings) -> list[Rule]:
    high = asked.remote_steering and (asked.transom_height or 0.0) >= 20 * INCH - 0.5
    flat = sizes.deadrise_deg < FLAT if asked.flat_bottom is None else asked.flat_bottom
    power, how = power_of(sizes.length / FOOT, sizes.transom / FOOT, high, flat)
    motor = motor_of(asked, power)
    pounds, words = most - motor.total, f"{most:.0f} lb - {motor.total:.0f} lb of motor, controls, battery and tank"
    if asked.list_weight is not None and asked.list_weight / KG / 0.6 < pounds and asked.list_weight / KG < 550:
        pounds = asked.list_weight / KG / 0.6
        words = f"{asked.list_weight / KG:.0f} lb in the persons list test / 0.6"
    elif asked.list_weight is None:
        words += "; the list test of the rule may lower it"
    return [*_persons(pounds, words, "33 CFR 183.41"), Rule("largest power", power, "hp", how, "33 CFR 183.53")]


def motor_of(asked: CapacitySettings, power: float) -> Outboard:
    """The table's weights for the motor meant, else for the largest allowed."""
    return outboard_of(min(asked.motor_hp if asked.motor_hp is not None else power, outboards()[-1].most))


def sinks_by(gravity: float) -> float:
    """K: weight under water over dry weight, negative for what floats.

    >>> round(sinks_by(1.5), 3), round(sinks_by(0.55), 2)
    (0.333, -0.82)
    """
    return (gravity - 1.0) / gravity


def swamped(hull: list[tuple[float, float]], rules: list[Rule], asked: CapacitySettings) -> Swamped:
    """hull : (kg, specific gravity) of everything fixed in her;  rules : what `capacity` found"""
    found = {r.name: r.value or 0.0 for r in rules}
    most, persons = max(found.get("largest weight carried", 0.0), 0.0), found.get("persons capacity", 0.0)
    under = sum(mass / KG * sinks_by(gravity) for mass, gravity in hull)
    if asked.propulsion != "outboard":
        motor = outboard_of(SMALL_MOTOR) if asked.propulsion == "small outboard" else None
        rest = max(0.0, most - persons - (motor.total if motor else 0.0))
        return Swamped(under, motor.swamped if motor else 0.0, persons * 2 / 15 + 0.25 * rest)
    motor = motor_of(asked, found.get("largest power", 0.0))
    rest = max(0.0, most - motor.total - persons)
    carried = 0.5 * min(persons, 550.0) + 0.125 * max(0.0, persons - 550.0) + 0.25 * rest
    return Swamped(under, motor.swamped + motor.battery_submerged, carried)


def foam_volume(pounds: float, foam: float) -> float:
    """Litres of foam (kg/m3) that hold up so many lb in fresh water; 0 when nothing needs holding.

    >>> round(foam_volume(60.4, 32.037) / 28.3168, 3)
    1.0
    """
    lift = WATER - foam / KG * CUBIC_FOOT * 1e-9
    return max(0.0, pounds) / lift * CUBIC_FOOT / 1e6


def flotation_rules(load: Swamped, dry: Swamped, asked: CapacitySettings) -> list[Rule]:
    """The flotation sum as rows.  load : with the wood's own lift;  dry : without it"""
    level = asked.propulsion == "outboard"
    persons = "33 CFR 183.220" if level else "33 CFR 183.320"
    share = "1/2 of the first 550 lb, 1/8 of the rest, 1/4 of other weight" if level else "2/15, 1/4 of other weight"
    lift = f"/ ({WATER} - {asked.foam / KG * CUBIC_FOOT * 1e-9:.1f} lb/ft3 of foam)"
    without = "the same counting nothing for the wood: soaked wood loses its lift"
    return [
        Rule(
            "hull under water", load.hull, "lb", "sum of weight x (SG - 1) / SG, negative = it lifts", "USCG handbook"
        ),
        Rule("motor and battery under water", load.motor, "lb", "swamped and submerged weights", "33 CFR 183.75"),
        Rule("persons and gear to hold up", load.persons, "lb", share, persons),
        Rule("foam, with the wood's lift", foam_volume(load.total, asked.foam), "litres", lift, "USCG handbook"),
        Rule("foam, without it", foam_volume(dry.total, asked.foam), "litres", without, "USCG handbook"),
    ]


def hin_fault(number: str) -> str:
    """What is wrong with a hull identification number (33 CFR 181.25), "" when its form is right.

    >>> hin_fault("ABC12345D404"), hin_fault("ABC12O45D404")
    ('', 'characters 4 to 8, the serial number, hold I, O or Q')
    """
    if len(number) != 12 or not number.isascii() or not number.isalnum() or number != number.upper():
        return f"{len(number)} characters: a number has exactly 12 capital letters and digits, nothing between"
    if set(number[3:8]) & set("IOQ"):
        return "characters 4 to 8, the serial number, hold I, O or Q"
    if number[8] not in "ABCDEFGHIJKL":
        return f"character 9, {number[8]}, is no month: A is January, L December"
    if not number[9:].isdigit():
        return "characters 10 to 12, the years, are not digits"
    return ""
