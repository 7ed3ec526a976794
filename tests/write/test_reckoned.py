"""What is written of weight, water and stores: figures by name, cautions with the numbers, graphs with round figures.

The boat is a box barge of 4 x 1.6 x 0.6 m (plane geometry), with a crew of two and a motor.
"""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace

import numpy as np
import pytest

from strakewright.floating import Watered
from strakewright.job.water import watered
from strakewright.ledger import (
    Glue,
    JointAreas,
    Movement,
    PanelMove,
    Purchase,
    Reckoned,
    Room,
    Rule,
    Run,
    Screw,
    Screws,
    Sheathed,
    Stores,
    Weight,
)
from strakewright.outfit import WaterSettings
from strakewright.write.book import Picture, Section, Table, Words
from strakewright.write.bookstores import cloth_pages, joint_pages, movement_pages, stores_pages
from strakewright.write.bookwater import rule_pages, water_pages, weight_pages
from strakewright.write.graphs import graphs_of, write_graphs
from strakewright.write.reckonrecords import (
    hydrostatics_document,
    reckoned_figures,
    shopping_text,
    weights_document,
)
from strakewright.write.records import json_text
from tests.afloat.forms import box
from tests.write.small_boat import FACTS


def weight(name: str, group: str, mass: float, x: float, z: float) -> Weight:
    wood = "white ash" if group == "planking" else ""
    basis = "672 kg/m3, derived" if wood else "as entered"
    return Weight(name, group, mass, np.array([x, 0.0, z]), basis, wood)


WEIGHTS = (
    weight("S1", "planking", 120.0, 2000.0, 200.0),
    weight("crew", "person", 160.0, 1500.0, 500.0),
    weight("motor", "motor", 45.0, -100.0, 600.0),
)


def water_of(weights: tuple[Weight, ...]) -> Watered:
    barge = box(4000.0, 1600.0, 600.0)
    return watered(barge, barge, weights, WaterSettings(designed_waterline=60.0))


def reckoned(weights: tuple[Weight, ...] = WEIGHTS) -> Reckoned:
    runs = (Run("side", 1, "along", 0, 1000.0, 4100.0),)
    sheathed = Sheathed(12.0, 13.0, 15.0, 12.0, 6.0, 5.5, 20, 8.0, 0.26, runs, 5.0)
    screw = Screw(8, 38.0, 4.17, 2.5, 19.0, 3000.0, 545.0, "white ash", "0.60, verified")
    stores = Stores(sheathed, JointAreas(1, 0.2, 3, 0.5, 0.3), Glue(2.1, 7, 1.75), Screws(250, False, 120), (screw,))
    return Reckoned(
        weights=weights,
        missing=("frames",),
        lifting=(1000.0, 3000.0),
        afloat=water_of(weights),
        water="fresh",
        rules=(
            Rule("largest weight carried", 793.7, "lb", "(4409 lb - 441 lb) / 5", "33 CFR 183.35"),
            Rule("inboard", None, "lb", "use the rule", "33 CFR 183.33"),
        ),
        rooms=(Room(0.0, 600.0, 50.0),),
        stores=stores,
        skin=12.0,
        moistures="shop 12 %; service 15 %",
        movements=(Movement("S1", "white ash", 120.0, 0.99, 0.00274, "verified"),),
        panels=(PanelMove("side", "white ash", 500.0, 4.1, 0.0082, 0.01, True, "secondary"),),
        widest={"white ash": 122.0},
        woods=(("white ash", "durability 5 of 5 (from memory); rots fast where damp"),),
        purchases=(Purchase("glue", 2.1, "kg", 20.0, "7 pots", "joint areas"), Purchase("foam", 0.1, "m3")),
        currency="EUR",
        hin="ABC12345D404, of the form asked",
    )


def facts(found: Reckoned):  # type: ignore[no-untyped-def]
    from dataclasses import replace

    return replace(FACTS, reckoned=found)


def words(section: Section | None) -> str:
    assert section is not None
    told = []
    for block in section.blocks:
        if isinstance(block, Words):
            told.append(block.text)
        if isinstance(block, Table):
            told += [block.caption, *block.head, *(cell for row in block.rows for cell in row)]
    return "\n".join(told)


@pytest.mark.parametrize(
    ("page", "must"),
    [
        (
            weight_pages,
            ("Wood varies", "Slings", "NOT IN THIS TABLE", "rots fast", "160.0 kg (353 lb)", "nobody under"),
        ),
        (
            water_pages,
            (
                "not a stability assessment",
                "GM",
                "kg, salt",
                "without rudder",
                "transom, port edge",
                "by the stern",
                "licensed practice",
            ),
        ),
        (
            rule_pages,
            (
                "replaces none of its tests",
                "33 CFR 183.35",
                "not reckoned",
                "12217-3",
                "183.114",
                "LACKS frames",
                "ABC12345D404",
            ),
        ),
        (stores_pages, ("Gloves", "42.00", "1 lines without a price", "EUR")),
        (cloth_pages, ("Gloves", "5.5 litres", "20", "side 1", '5 mm (3/16") radius')),
        (joint_pages, ("never count on end grain", "ESTIMATED", "lead hole", "gravity 0.60, verified")),
        (movement_pages, ("0.00274", "verified", "shop 12 %", "Widest plank", "white ash, quoted", "sheathed")),
    ],
)
def test_cautions_stand_on_the_page_with_the_numbers(page, must: tuple[str, ...]) -> None:  # type: ignore[no-untyped-def]
    told = words(page(facts(reckoned())))
    for text in must:
        assert text in told, text
    assert page(FACTS) is None  # nothing was reckoned


def test_weights_and_water_as_records() -> None:
    """325 kg on 4 x 1.6 m: 50.8 mm deep in fresh water; centre by moments."""
    found = reckoned()
    heavy = json.loads(json_text(weights_document(found)))
    assert (heavy["format"], heavy["units"]) == ("strakewright/weights@1", "mm")
    assert heavy["total_kg"] == 325.0
    assert heavy["bare_shell_kg"] == 120.0
    assert heavy["centre"][0] == pytest.approx((120 * 2000 + 160 * 1500 - 45 * 100) / 325)
    assert [g["group"] for g in heavy["groups"]] == ["planking", "person", "motor"]
    assert heavy["shopping"][0]["cost"] == 42.0
    assert heavy["sheathing"]["runs"][0]["length"] == 4100.0
    assert "Weigh what you can" in heavy["caution"]
    wet = json.loads(json_text(hydrostatics_document(found)))
    middle = np.mean([wet["afloat"][w]["draught"] for w in ("fresh", "salt")])
    assert middle > 325 / 6.4  # trimmed by the stern: deeper than level
    assert wet["designed_waterline"]["displacement_kg"] == pytest.approx(4000 * 1600 * 60e-6)
    assert wet["righting"]["through"] == "the sheer"
    assert wet["righting"]["points"][0]["arm"] == pytest.approx(0.0, abs=1e-6)
    assert "stability" in wet["caution"]
    assert "own-build" in wet["rule_caution"].lower()
    short = json.loads(json.dumps(reckoned_figures(found), default=lambda a: a.tolist()))
    assert short["weight"]["total_kg"] == 325.0
    assert short["afloat"]["floods_at_deg"] == pytest.approx(wet["righting"]["floods_at_deg"])


def test_shopping_list_opens_as_a_table() -> None:
    rows = list(csv.DictReader(io.StringIO(shopping_text(reckoned()))))
    assert rows[0]["what"] == "glue"
    assert (rows[0]["quantity"], rows[0]["price EUR"], rows[0]["cost EUR"]) == ("2.1", "20.00", "42.00")
    assert rows[1]["cost EUR"] == ""


def test_graphs_end_where_the_sheer_meets_the_water(tmp_path) -> None:  # type: ignore[no-untyped-def]
    water = reckoned().afloat
    graphs = graphs_of(water)
    assert [len(g.curves) for g in graphs] == [4, 1, 1]
    assert water.righting is not None
    assert graphs[2].curves[0].points[-1, 0] == pytest.approx(np.rad2deg(water.righting.floods_at))
    assert "the sheer" in graphs[2].title
    write_graphs(tmp_path / "curves.svg", water, "Box")
    text = (tmp_path / "curves.svg").read_text(encoding="utf-8")
    assert text.count("<path") > 30
    assert "degrees of heel" in text


def test_a_boat_that_cannot_float_says_so_on_the_page() -> None:
    heavy = (*WEIGHTS, weight("stones", "ballast", 9000.0, 2000.0, 300.0))
    found = reckoned(heavy)
    assert [f.code for f in found.afloat.findings] == ["cannot-float"]
    assert "SHE DOES NOT FLOAT" in words(water_pages(facts(found)))
    assert hydrostatics_document(found)["afloat"] == {}
    section = water_pages(facts(found))
    assert section is not None
    assert sum(isinstance(b, Picture) for b in section.blocks) == 1  # curves of form only


def test_whether_foam_goes_in_along_the_sides_is_said() -> None:
    rule = Rule("foam, without it", 60.0, "litres", "", "USCG handbook")
    found = replace(reckoned(), rules=(rule,))
    assert "THE SIDES HOLD ONLY 50 OF 60 LITRES" in words(rule_pages(facts(found)))
    assert "room along the sides 50 litres" in words(
        rule_pages(facts(replace(found, rules=(replace(rule, value=40.0),))))
    )
