"""The boat file on weight, water, wood and stores: what a sound one gives, and how faults are told.

Pounds and ounces by the yard and pound agreement of 1959 (1 lb = 0.45359237 kg, 1 yd = 0.9144 m): 1 oz/yd2 is
33.906 g/m2.
"""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from tests.read.test_boatfile import SOUND, faults, read

from strakewright.errors import InputError
from strakewright.units import parse_cloth, parse_mass

TABLES = """\
[sheathing]
cloth = "6 oz"
thickness = "1/32 in"
panels = ["bottom"]
[species."white ash"]
density = 640
widest = 5
easy_radius = 220
[[item]]
name = "motor"
group = "motor"
weight = "100 lb"
at = [-4, 0, "2 ft"]
[[item]]
name = "crew"
group = "person"
weight = 80
count = 2
at = [60, 0, 20]
[afloat]
water = "salt"
downflooding = [10, 20, 30]
[capacity]
motor_hp = 20
[moisture]
shop_air = [18, 55]
service = 15
[glue]
pot_life = 25
[fastenings]
gauge = 10
[prices]
currency = "EUR"
resin = 14.5
"""


def test_a_sound_file_gives_kg_and_mm(tmp_path: Path) -> None:
    boat = read(tmp_path, SOUND + TABLES)
    assert boat.sheathing is not None
    assert boat.sheathing.cloth == pytest.approx(203.43, abs=0.01)
    assert boat.sheathing.thickness == pytest.approx(0.79375)
    assert boat.sheathing.panels == ("bottom",)
    assert boat.sheathing.corner_radius == 5.0
    ash = boat.own_wood("white ash")
    assert (ash.density, ash.widest, ash.easy_radius, ash.firm_radius) == (640.0, 127.0, 220.0, None)
    assert boat.own_wood("teak").density is None
    motor, crew = boat.outfit.items
    assert motor.weight == pytest.approx(45.359237)
    assert motor.at == (-101.6, 0.0, 609.6)
    assert (crew.count, crew.group, crew.where) == (2, "person", "boat.toml:50")
    assert boat.outfit.water.downflooding == (254.0, 508.0, 762.0)
    assert boat.outfit.moisture.shop_air == (18.0, 55.0)
    assert (boat.outfit.glue.pot_life, boat.outfit.fastenings.gauge, boat.outfit.prices.resin) == (25.0, 10, 14.5)


def test_nothing_is_asked_for_by_default(tmp_path: Path) -> None:
    boat = read(tmp_path, SOUND)
    assert boat.sheathing is None
    assert boat.woods == ()
    assert boat.outfit.items == ()
    assert boat.outfit.capacity is None


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('cloth = "6 oz"', 'cloth = "6 kg"', "[sheathing] cloth: '6 kg' is not a weight of cloth"),
        ('cloth = "6 oz"', "cloth = 6", "[sheathing] cloth: 6 is 6 g/m2, outside 20 to 3000"),
        ('thickness = "1/32 in"', "thickness = 3", "[sheathing] thickness: 3 is 76.2 mm, outside 0 to 20 mm"),
        ('panels = ["bottom"]', 'panels = ["botom"]', "[sheathing] panels: 'botom' is no name of a panel"),
        ('panels = ["bottom"]', "radius = 3", "[sheathing] radius: is not a known key"),
        ('[species."white ash"]', "[species.oak]", "[species]: 'oak' is no wood of the table"),
        ("density = 640", "density = 64", "[species] white ash.density: 64 is not a number from 80 to 1400"),
        ("density = 640", "densty = 640", 'densty: is not a known key. Did you mean "density"?'),
        ('weight = "100 lb"', 'weight = "100 mm"', "[[item]] weight: '100 mm' is not a weight"),
        ('weight = "100 lb"', "weight = -3", "[[item]] weight: -3 is -3 kg, outside 0 to 20000"),
        ('weight = "100 lb"', "", '[[item]] weight: is missing. Write weight = "45 kg"'),
        ('at = [-4, 0, "2 ft"]', "at = [3, 4]", "[[item]] at: [3, 4] is no place aboard"),
        ('group = "motor"', 'group = "engine"', "[[item]] group: 'engine' is not allowed"),
        ("count = 2", "count = 0", "[[item]] count: 0 is not a whole number from 1 to 100"),
        ('water = "salt"', 'water = "sweet"', "[afloat] water: 'sweet' is not allowed"),
        ("motor_hp = 20", "motor_hp = -1", "[capacity] motor_hp: -1 is not a number from 0 to 1000"),
        ("shop_air = [18, 55]", "shop_air = [18]", "[moisture] shop_air: [18] is no air"),
        ("shop_air = [18, 55]", "shop_air = [18, 99]", "is outside the table of moistures"),
        ("service = 15", "service = 45", "[moisture] service: 45 is not a number from 0 to 30"),
        ("service = 15", "shop = 9", "[moisture] shop_air: both shop and shop_air"),
        ("pot_life = 25", "pot_life = 1", "[glue] pot_life: 1 is not a number from 2 to 1000"),
        ("gauge = 10", "gauge = 99", "[fastenings] gauge: 99 is not a whole number from 2 to 24"),
        ("resin = 14.5", "resin = 'x'", "[prices] resin: 'x' is not a number"),
    ],
)
def test_faults_are_told_with_their_key(tmp_path: Path, old: str, new: str, message: str) -> None:
    told = faults(tmp_path, SOUND + TABLES.replace(old + "\n", new + "\n", 1))
    assert any(message in line for line in told), told


def test_one_wood_has_one_table(tmp_path: Path) -> None:
    twice = "[species.ash]\ndensity = 600\n[species.'white ash']\ndensity = 610\n"
    assert any('"white ash" stands twice' in line for line in faults(tmp_path, SOUND + twice))


def test_items_are_a_list_of_tables(tmp_path: Path) -> None:
    assert any("[[item]]: is not a list" in line for line in faults(tmp_path, SOUND + "[item]\nname = 'x'\n"))


def test_weights_of_cloth_by_the_yard() -> None:
    """33.906 g/m2 to the ounce: 4, 6 and 10 oz are 136, 203 and 339 g/m2."""
    assert [round(parse_cloth(f"{n} oz")) for n in (4, 6, 10)] == [136, 203, 339]
    assert parse_cloth("1 oz") == pytest.approx(33.906, abs=5e-4)


@pytest.mark.parametrize("value", [True, "heavy", "12", None, float("nan"), [3]])
def test_what_is_no_weight(value: object) -> None:
    with pytest.raises(InputError, match="is not a weight"):
        parse_mass(value)


def test_planks_already_bent(tmp_path: Path) -> None:
    """Twist is written in degrees a metre, kept in radians a mm."""
    text = """
[species."white ash"]
bent_ok = [{ thickness = "19 mm", radius = "1.4 m" }, { thickness = "19 mm", twist_deg_per_m = 35 }]
"""
    (wood,) = read(tmp_path, SOUND + text).woods
    assert [(b.thickness, b.radius) for b in wood.bent_ok] == [(19.0, 1400.0), (19.0, None)]
    assert wood.bent_ok[1].twist == pytest.approx(math.radians(35.0) / 1000)
