"""Movement of planks and panels: Wood Handbook coefficients times widths, by hand; findings raised and not raised."""

from __future__ import annotations

from dataclasses import replace

import pytest

from strakewright.outfit import MoistureSettings, WoodSettings
from strakewright.settings import PlankingSettings
from strakewright.weigh.movement import (
    Moistures,
    across_planks,
    coefficient,
    growth,
    judged,
    moistures,
    movement_findings,
    movements,
    panel_move,
    widest_allowed,
    width_of,
)
from tests.acceptance.yard import Planked, planked, settings_of
from tests.exact_hulls import Prism

ASH = WoodSettings("white ash")
BETWEEN = Moistures(8.0, 12.0, "")


@pytest.fixture(scope="module")
def boat() -> Planked:
    side = PlankingSettings("side", "strakes", 19.0, courses=4, start="sheer", joint="none")
    bottom = replace(side, panel="bottom", start="keel")
    return planked(Prism(length=2400.0).mesh(), settings_of((side, bottom)))


def test_each_plank_by_its_width(boat: Planked) -> None:
    """Four even courses of a 507.7 mm side: 126.9 mm each; ash flat-sawn .00274 x 4 % = 1.39 mm."""
    rows = movements(boat.planks, "flat", (), BETWEEN)
    assert len(rows) == len(boat.planks) // 2
    for plank in boat.port("side"):
        row = next(r for r in rows if r.name == plank.id)
        assert row.width == pytest.approx(width_of(plank))
        assert row.change == pytest.approx(row.width * 0.00274 * 4.0)
    assert max(width_of(p) for p in boat.port("side")[1:3]) == pytest.approx(126.9, abs=1.0)


def test_quarter_sawn_moves_less() -> None:
    flat, quarter = (growth("white ash", g, ASH, BETWEEN) for g in ("flat", "quarter"))  # type: ignore[arg-type]
    assert flat is not None
    assert quarter is not None
    assert quarter[0] / flat[0] == pytest.approx(0.00169 / 0.00274)


def test_beyond_the_range_the_shrinkage_is_taken() -> None:
    """Eq. 13-3 from 8 to 20 %: 12 / (30 x 100 / 7.8 - 30 + 8) (formula from memory, arithmetic derived)."""
    found = growth("white ash", "flat", ASH, Moistures(8.0, 20.0, ""))
    assert found is not None
    assert found[0] == pytest.approx(12 / (30 * 100 / 7.8 - 30 + 8))


def test_imported_woods_keep_their_coefficient() -> None:
    """The tables of shrinkage and movement rest on different samples there: mahogany .00238, not .00140."""
    found = growth("mahogany", "flat", WoodSettings("mahogany"), Moistures(8.0, 20.0, ""))
    assert found is not None
    assert found[0] == pytest.approx(12 * 0.00238)


def test_a_measured_coefficient_wins_and_an_unknown_one_is_none() -> None:
    assert coefficient("white ash", "flat", WoodSettings("white ash", move_tangential=0.003)) == (0.003, "measured")
    assert coefficient("sapele", "flat", WoodSettings("sapele")) is None
    assert growth("sapele", "flat", WoodSettings("sapele"), BETWEEN) is None


def test_moistures_given_or_by_the_air() -> None:
    """20 degrees C and 65 % humidity: 12.0 % (Wood Handbook equation)."""
    found = moistures(MoistureSettings(shop=9.0, service_air=(20.0, 65.0)))
    assert found.shop == 9.0
    assert found.service == pytest.approx(11.996, abs=1e-3)
    assert "common practice" in moistures(MoistureSettings()).words


def test_widest_plank_a_wood_allows() -> None:
    """A seam may move 1 mm: 1 / (.00274 x 4) = 91 mm of flat-sawn ash; the builder's own limit wins."""
    assert widest_allowed("white ash", "flat", ASH, BETWEEN) == pytest.approx(1 / (0.00274 * 4))
    assert widest_allowed("white ash", "flat", WoodSettings("white ash", widest=140.0), BETWEEN) == 140.0
    assert widest_allowed("white ash", "flat", ASH, Moistures(12.0, 12.0, "")) is None


def test_a_panel_that_pushes_is_told(boat: Planked) -> None:
    pushing = panel_move("bottom", "white ash", 958.0, (0.0164, "derived"), False)
    assert pushing.change == pytest.approx(15.7, abs=0.02)
    (told,) = movement_findings([pushing], [], {})
    assert told.code == "panel-moves"
    assert "grows by 15.7 mm" in told.what
    (told,) = movement_findings([panel_move("bottom", "white ash", 958.0, (-0.0164, "derived"), False)], [], {})
    assert "shrinks" in told.what
    assert movement_findings([panel_move("bottom", "white ash", 958.0, (0.0164, "derived"), True)], [], {}) == []
    rows = movements(boat.planks, "flat", (), BETWEEN)
    (wide,) = movement_findings([], rows, {"white ash": 100.0})
    assert wide.code == "plank-wide-for-wood"
    assert movement_findings([], rows, {"white ash": 500.0}) == []


def test_only_planks_that_can_open_a_seam_are_judged_by_their_width(boat: Planked) -> None:
    """Common practice, no source: a caulked seam takes up its own planks' movement; planks glued edge to edge move as
    one panel; layers that cross hold each other. The builder's own widest plank is always kept."""
    rows = movements(boat.planks, "flat", (), BETWEEN)
    assert judged(rows, boat.planks, frozenset(), frozenset()) == []
    caulked = judged(rows, boat.planks, frozenset({"side"}), frozenset())
    assert {r.name for r in caulked} == {p.id for p in boat.port("side")}
    assert judged(rows, boat.planks, frozenset(), frozenset({"white ash"})) == rows


def test_over_what_width_movement_adds_up() -> None:
    strakes = PlankingSettings("side", "strakes", 19.0, courses=4)
    assert across_planks(strakes, 500.0, 4000.0) == 500.0
    assert across_planks(replace(strakes, glue_line=0.0), 500.0, 4000.0) is None
    athwart = PlankingSettings("bottom", "cross", 19.0, width=100.0)
    assert across_planks(athwart, 500.0, 4000.0) == 4000.0
    assert across_planks(replace(athwart, pattern="herringbone", layers=2), 500.0, 4000.0) is None
