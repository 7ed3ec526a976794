"""Every finding of weight and water raised, and not raised where all is well.  Box barges: plane geometry."""

from __future__ import annotations

import numpy as np
import pytest
from tests.afloat.forms import box
from tests.exact_hulls import Prism
from tests.loft.hulls import lofted

from strakewright.hull import Hull
from strakewright.job.capability import capability, number_told
from strakewright.job.water import watered
from strakewright.ledger import Weight
from strakewright.outfit import CapacitySettings, Item, Outfit, WaterSettings, WoodSettings
from strakewright.weigh.weights import Woods

LENGTH, BREADTH, DEPTH = 4000.0, 1600.0, 600.0


def load(mass: float, x: float = 2000.0, y: float = 0.0, z: float = 250.0, group: str = "gear") -> Weight:
    return Weight("load", group, mass, np.array([x, y, z]))


def codes(weights: list[Weight], **asked: object) -> set[str]:
    barge = box(LENGTH, BREADTH, DEPTH)
    return {f.code for f in watered(barge, barge, weights, WaterSettings(**asked)).findings}  # type: ignore[arg-type]


def test_a_sound_barge_says_nothing() -> None:
    assert codes([load(640.0)]) == set()
    assert codes([load(640.0)], designed_waterline=100.0) == set()  # 640 kg on 6.4 m2: 100 mm


@pytest.mark.parametrize(
    ("weights", "asked", "code"),
    [
        ([load(4000.0)], {}, "cannot-float"),
        ([load(2500.0, y=180.0, z=100.0)], {}, "sheer-under-water"),
        ([load(640.0, z=1950.0)], {}, "tender"),
        ([load(640.0, x=1700.0)], {}, "out-of-trim"),
        ([load(640.0, y=60.0)], {}, "lists"),
        ([load(640.0)], {"designed_waterline": 150.0}, "off-her-lines"),
        ([load(640.0)], {"designed_waterline": 900.0}, "waterline-off-hull"),
    ],
)
def test_what_is_told(weights: list[Weight], asked: dict[str, object], code: str) -> None:
    assert code in codes(weights, **asked)


def test_trim_by_the_stern_is_named() -> None:
    barge = box(LENGTH, BREADTH, DEPTH)
    told = watered(barge, barge, [load(640.0, x=1700.0)], WaterSettings()).findings
    assert any("by the stern" in f.what for f in told)


def hull() -> Hull:
    return lofted(Prism(length=4000.0).mesh())


def rule_codes(outfit: Outfit, boat: Hull, weights: list[Weight]) -> set[str]:
    from strakewright.afloat.shell import shell_of

    return {f.code for f in capability(boat, shell_of(boat), weights, outfit)[2]}


def test_findings_of_the_rule() -> None:
    boat, planks = hull(), [load(150.0, group="planking")]
    asked = Outfit(capacity=CapacitySettings(hin="ABC12345D404"))
    assert rule_codes(asked, boat, planks) == set()
    assert rule_codes(Outfit(capacity=CapacitySettings(hin="ABC1234OD404")), boat, planks) == {"hin-form"}
    assert rule_codes(asked, boat, [*planks, load(1500.0, group="person")]) == {"over-capacity"}
    assert rule_codes(asked, lofted(Prism(length=6500.0).mesh()), planks) == {"outside-the-rule"}
    assert rule_codes(Outfit(), boat, planks) == set()


def test_foam_counts_nothing_for_the_wood() -> None:
    boat = hull()
    from strakewright.afloat.shell import shell_of

    planks = [Weight("S1", "planking", 150.0, np.zeros(3), "", "white ash")]
    rows, foam, _ = capability(boat, shell_of(boat), planks, Outfit(capacity=CapacitySettings()))
    found = {r.name: r.value for r in rows}
    assert foam == found["foam, without it"] > (found["foam, with the wood's lift"] or 0.0)
    lift = found["hull under water"] or 0.0
    assert lift < 0.0  # wood lifts
    heavy = Woods((WoodSettings("white ash", density=900.0),))  # as the builder weighed it: W - V, in pounds
    own = capability(boat, shell_of(boat), planks, Outfit(capacity=CapacitySettings()), heavy)[0]
    told = {r.name: r.value for r in own}["hull under water"]
    assert told == pytest.approx((150.0 - 150.0 / 0.9) / 0.45359237, abs=0.5)


def test_what_is_said_of_a_hull_identification_number() -> None:
    """33 CFR 181.25: twelve characters, no I, O or Q in the serial number, month, year, model year."""
    assert number_told(None) == ""
    assert number_told("ABC12345D404").startswith("ABC12345D404, of the form of 33 CFR 181.25")
    assert "hold I, O or Q" in number_told("ABC1234OD404")


def test_no_righting_curve_is_told() -> None:
    """The shell that the curve is drawn with must carry the weight: one of 4 x 0.2 x 0.6 m carries 480 kg."""
    barge, weights = box(LENGTH, BREADTH, DEPTH), [load(640.0)]
    assert watered(barge, barge, weights, WaterSettings()).righting is not None
    narrow = watered(barge, box(LENGTH, 200.0, DEPTH), weights, WaterSettings())
    assert {f.code for f in narrow.findings} == {"no-righting-curve"}


def test_items_weigh_by_their_count() -> None:
    from strakewright.weigh.weights import item_weights

    (row,) = item_weights([Item("crew", 80.0, (1.0, 2.0, 3.0), "person", 3)])
    assert row.mass == 240.0
