"""Loading, persons, power and flotation against printed examples.

CFR: Code of Federal Regulations, title 33, parts 181 and 183.  BH: US Coast Guard, Boatbuilder's Handbook.
"""

from __future__ import annotations

import re

import numpy as np
import pytest

from strakewright.afloat.capacity import (
    KG,
    Sizes,
    Swamped,
    capacity,
    flotation_rules,
    foam_volume,
    hin_fault,
    persons_of,
    power_of,
    sinks_by,
    sizes_of,
    swamped,
)
from strakewright.outfit import CapacitySettings
from strakewright.tables import outboard_of, outboards
from tests.afloat.forms import box


@pytest.mark.parametrize(("pounds", "count"), [(550, 4), (547, 4), (908, 7), (546, 4), (545 / 0.6, 7)])
def test_persons(pounds: float, count: int) -> None:
    """BH: 550 lb is 4.12, 547 lb 4.10, 546 lb 4.09: 4 persons; (lb + 32) / 141 to the nearest whole, halves up."""
    assert persons_of(pounds) == count


def test_power_of_the_printed_example() -> None:
    """CFR 183.53: 19 ft 6 in by 84 in, remote steering, 20 in transom: 2 x 136.5 - 90 = 183, may be raised to 185."""
    power, how = power_of(19.5, 7.0, True, False)
    assert power == 185.0
    assert "183.0" in how


@pytest.mark.parametrize(
    ("factor", "flat", "hp"),
    [
        (35, False, 3.0),
        (36, False, 5.0),
        (39.4, False, 5.0),
        (41, False, 7.5),
        (44, False, 10.0),
        (46, False, 15.0),
        (52.4, False, 15.0),
        (46, True, 10.0),  # the handbook's 12 ft by 46 in boat: printed 10 hp, which is the step down for a flat bottom
        (30, True, 3.0),
        (70, True, 20.0),
        (70, False, 35.0),
        (58, False, 25.0),  # Wisconsin NR 5.12: 21 to 24 hp are raised to 25
    ],
)
def test_power_by_the_table_and_the_tiller_formulae(factor: float, flat: bool, hp: float) -> None:
    assert power_of(factor, 1.0, False, flat)[0] == hp


def test_outboards_of_the_table_follow_their_own_rules() -> None:
    """CFR 183.75: running = 1.05 dry, swamped = 0.85 running, controls = 0.05 dry from 7 hp up, total = their sum."""
    rows = outboards()
    assert len(rows) == 14
    for row in rows:
        assert row.running == pytest.approx(1.05 * row.dry, abs=0.6)
        assert row.swamped == pytest.approx(0.85 * row.running, abs=0.75)
        assert row.total == row.running + row.controls + row.battery + row.tank
        if row.least >= 7:
            assert row.controls == pytest.approx(0.05 * row.dry, abs=0.75)
    assert outboard_of(20.0).total == 234
    assert outboard_of(6.95).total == 185  # between two rows: the heavier
    with pytest.raises(KeyError, match="no outboard"):
        outboard_of(400.0)


SIZES = Sizes(length=5000.0, beam=2000.0, transom=1800.0, carries=2000.0, deadrise_deg=15.0)


def values(rules: list) -> dict:
    return {r.name: r.value for r in rules}


def test_outboard_boat() -> None:
    """(2000 - 200) kg / 5 = 360 kg = 793.7 lb; less 350 lb of a 25 hp motor and its kit: 443.7 lb, 3 persons."""
    found = values(capacity(SIZES, 200.0, CapacitySettings(motor_hp=25.0)))
    assert found["largest weight carried"] == pytest.approx(793.66, abs=0.01)
    assert found["persons capacity"] == pytest.approx(443.66, abs=0.01)
    assert found["persons"] == 3
    assert found["largest power"] == 55.0  # factor 16.40 x 5.91 = 96.9, tiller: .8 F - 25 = 52.5


def test_list_test_limits_the_persons() -> None:
    """BH: a list test of 328 lb gives 546 lb, of 545 lb 908 lb; the lesser rules."""
    big = Sizes(5000.0, 2000.0, 1800.0, 4000.0, 15.0)
    asked = CapacitySettings(motor_hp=25.0, list_weight=328 * KG)
    assert values(capacity(big, 200.0, asked))["persons capacity"] == pytest.approx(546.7, abs=0.1)
    asked = CapacitySettings(motor_hp=25.0, list_weight=600 * KG)
    assert values(capacity(big, 200.0, asked))["persons capacity"] > 1000


def test_rowing_boat_and_small_outboard() -> None:
    """CFR 183.37 and 183.43: 3/10 of (carried - boat), persons 90 % of it, 25 lb less with a motor up to 2 hp."""
    rows = values(capacity(SIZES, 200.0, CapacitySettings("manual")))
    assert rows["largest weight carried"] == pytest.approx(0.3 * 1800 / KG)
    assert rows["persons capacity"] == pytest.approx(0.27 * 1800 / KG)
    small = values(capacity(SIZES, 200.0, CapacitySettings("small outboard")))
    assert rows["persons capacity"] - small["persons capacity"] == pytest.approx(25.0)


def test_inboard_is_not_reckoned_and_says_so() -> None:
    (row,) = capacity(SIZES, 200.0, CapacitySettings("inboard"))
    assert row.value is None
    assert "use the rule's own text" in row.formula


def test_every_row_names_its_paragraph() -> None:
    rows = capacity(SIZES, 200.0, CapacitySettings())
    load = swamped([(200.0, 0.5)], rows, CapacitySettings())
    for row in [*rows, *flotation_rules(load, load, CapacitySettings())]:
        assert re.search(r"33 CFR 18[13]\.\d+|USCG", row.paragraph), row


@pytest.mark.parametrize(("gravity", "printed"), [(1.5, 0.33), (2.73, 0.63), (1.12, 0.11)])
def test_weight_under_water(gravity: float, printed: float) -> None:
    """K as a former regulator's page prints it: glass fibre .33, aluminium .63, ABS .11."""
    assert sinks_by(gravity) == pytest.approx(printed, abs=0.005)


def test_wood_lifts_itself() -> None:
    """(SG - 1) / SG: .55 gives -.82, white cedar of .33 -2.03 (derived); the handbook's pages print it positive."""
    assert sinks_by(0.55) == pytest.approx(-0.818, abs=1e-3)
    assert sinks_by(0.33) == pytest.approx(-2.03, abs=1e-2)


def test_level_flotation_sum() -> None:
    """CFR 183.220: half of the first 550 lb of persons, an eighth of the rest, a quarter of other weight; motor swamped
    and battery submerged (183.75)."""
    rows = capacity(Sizes(6000.0, 2200.0, 2100.0, 4000.0, 15.0), 300.0, CapacitySettings(motor_hp=25.0))
    found = values(rows)
    load = swamped([], rows, CapacitySettings(motor_hp=25.0))
    persons = found["persons capacity"]
    assert persons > 550
    rest = found["largest weight carried"] - 350 - persons
    assert load.persons == pytest.approx(275 + 0.125 * (persons - 550) + 0.25 * rest)
    assert load.motor == 167 + 25


def test_small_boats_flotation_sum() -> None:
    """CFR 183.320: 2/15 of the persons capacity and a quarter of other weight."""
    rows = capacity(SIZES, 200.0, CapacitySettings("manual"))
    found = values(rows)
    load = swamped([], rows, CapacitySettings("manual"))
    other = found["largest weight carried"] - found["persons capacity"]
    assert load.persons == pytest.approx(found["persons capacity"] * 2 / 15 + 0.25 * other)
    assert load.motor == 0


def test_foam() -> None:
    """Calculator page: 60.4 lb of lift to the cubic foot of foam of 2 lb/ft3 in water of 62.4."""
    assert foam_volume(604.0, 2 * KG / 0.028316846592) == pytest.approx(10 * 28.3168, rel=1e-5)
    assert foam_volume(-5.0, 32.0) == 0.0
    rows = flotation_rules(Swamped(-300.0, 100.0, 150.0), Swamped(0.0, 100.0, 150.0), CapacitySettings())
    assert values(rows)["foam, with the wood's lift"] == 0.0
    assert values(rows)["foam, without it"] > 100


def test_sizes_of_a_box() -> None:
    """An open box 5 x 2 x 0.6 m carries 6000 kg to her sheer; with a hole at 0.4 m, 4000."""
    barge = box(5000.0, 2000.0, 600.0)
    found = sizes_of(barge, None, 0.0)
    assert (found.length, found.beam, found.transom) == pytest.approx((5000.0, 2000.0, 2000.0))
    assert found.carries == pytest.approx(6000.0, rel=1e-6)
    assert sizes_of(barge, np.array([100.0, 0.0, 400.0]), 0.0).carries == pytest.approx(4000.0, rel=1e-6)


@pytest.mark.parametrize(
    ("number", "said"),
    [
        ("ABC12345D404", ""),
        ("ABC1234QD404", "hold I, O or Q"),
        ("ABC12345M404", "is no month"),
        ("ABC12345D4O4", "are not digits"),
        ("ABC12345D40", "exactly 12"),
        ("ABC-12345D404", "exactly 12"),
        ("abc12345d404", "exactly 12"),
    ],
)
def test_hull_identification_number(number: str, said: str) -> None:
    """CFR 181.25: 3 maker's code, 5 serial without I, O, Q, month A to L, last digit of the year, model year."""
    told = hin_fault(number)
    assert (told == "") == (said == "")
    assert said in told
    form = r"[A-Z0-9]{3}[A-HJ-NPR-Z0-9]{5}[A-L][0-9][0-9]{2}"
    assert (told == "") == bool(re.fullmatch(form, number))
