"""Which edge takes the bevel, which may stay square, and the table of bevels.

Closed form: flat planks of width w round a cylinder of radius R meet at a fold of w / R; square edges of thickness t
gape by t tan(fold).  Worked numbers of the trade page: 19 mm and 2 degrees gape 0.66 mm, 0.9 degrees 0.3 mm.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.acceptance.shapes import ARC_FROM, ARC_TO, arc_section
from tests.acceptance.yard import Planked, planked, settings_of
from tests.exact_meshes import Make

from strakewright.parts import Margin, Plank
from strakewright.settings import PlankingSettings
from strakewright.shop.folds import EdgeTable, Fold, bevel_rows, planed

STRAKES = PlankingSettings(
    panel="side", pattern="strakes", thickness=19.0, courses=8, start="sheer", joint="none", species="white ash"
)
FOLD = (ARC_TO - ARC_FROM) / 8
SMALL = Make(triangles=3000)


def arc(settings: PlankingSettings) -> Planked:
    return planked(arc_section(SMALL), settings_of((settings,)))


@pytest.fixture(scope="module")
def on_next() -> Planked:
    return arc(replace(STRAKES, bevel_on="next"))


def seams(plank: Plank) -> dict[str, Margin]:
    return {name: m for name, m in (("first", plank.first), ("second", plank.second)) if m.meets == "seam"}


def test_the_next_plank_takes_the_whole_fold(on_next: Planked) -> None:
    for plank in on_next.port("side"):
        for name, m in seams(plank).items():
            wanted = FOLD if name == "first" else 0.0
            assert np.degrees(m.bevel) == pytest.approx(wanted, abs=0.05)


def test_strips_cut_straight_are_bevelled_on_the_next_unless_asked(on_next: Planked) -> None:
    fold = Fold((), gap=9.0)
    half = np.full(3, 0.02)
    for cut, asked, first, wanted in (
        ("straight", None, True, 0.04),
        ("straight", None, False, 0.0),
        ("straight", "both", True, 0.02),
        ("spiled", None, True, 0.02),
        ("spiled", "next", False, 0.0),
    ):
        settings = replace(STRAKES, cut=cut, bevel_on=asked)  # type: ignore[arg-type]
        assert planed(half, half, first, fold, settings) == pytest.approx(wanted)


@pytest.mark.parametrize(("degrees", "gap"), [(2.0, 0.66), (0.9, 0.30)])
def test_worked_gaps(degrees: float, gap: float) -> None:
    fold = np.radians(np.full(2, degrees))
    table = EdgeTable("second", np.array([0.0, 700.0]), np.array([0.0, 700.0]), fold / 2, fold)
    rows = bevel_rows(table, 19.0, (("F1", 450.0),))
    assert [row["x"] for row in rows] == pytest.approx([0.0, 300.0, 450.0, 600.0])
    assert [row["frame"] for row in rows] == [None, None, "F1", None]
    for row in rows:
        assert row["gap_if_square"] == pytest.approx(gap, abs=0.005)
        assert row["bevel_deg"] == pytest.approx(degrees / 2)
        assert row["back"] == pytest.approx(19.0 * np.tan(np.radians(degrees / 2)))


def test_a_seam_is_left_square_by_its_gap_not_by_its_angle() -> None:
    """19 tan(7.5 degrees) = 2.50 mm: square when 2.6 mm may gape, bevelled when only 2.4."""
    for allowed, square in ((2.6, True), (2.4, False)):
        boat = arc(replace(STRAKES, square_gap=allowed))
        bevels = np.concatenate([m.bevel for p in boat.port("side") for m in seams(p).values()])
        assert (np.abs(bevels).max() == 0.0) == square


def test_every_plank_carries_its_table(on_next: Planked) -> None:
    """A row at each frame on each edge, degrees as the edge itself; the gap is that of the whole fold."""
    for plank in on_next.port("side")[1:-1]:
        rows = plank.extra["bevels"]
        assert isinstance(rows, list)
        for name in seams(plank):
            mine = [r for r in rows if r["edge"] == name]
            assert {r["frame"] for r in mine if r["frame"]} == {name for name, _ in on_next.frames}
            for row in mine:
                assert row["gap_if_square"] == pytest.approx(19.0 * np.tan(np.radians(FOLD)), rel=0.01)
                assert row["bevel_deg"] == pytest.approx(FOLD if name == "first" else 0.0, abs=0.05)


def test_layers_of_a_round_side_bend_to_their_own_radii() -> None:
    """Two layers of 9.5 outside R 2.0095 m: middles at R - 4.75 and R - 14.25 (closed form), fold w / R of each."""
    two = replace(STRAKES, layers=2, thickness=9.5)
    boat = arc(two)
    for layer, radius in ((1, 2009.5 - 14.25), (2, 2009.5 - 4.75)):
        planks = boat.port("side", layer)
        assert len(planks) == 8
        for plank in planks:
            width = radius * np.radians(FOLD)
            assert float(plank.extra["width_max"]) == pytest.approx(width, abs=0.02)  # type: ignore[arg-type]
            assert plank.fit.hollow == pytest.approx(width**2 / 8 / radius, rel=0.01)
            seam = plank.first.seam
            assert np.hypot(seam[:, 1] - 300.0, seam[:, 2] - 2009.5) == pytest.approx(radius, abs=0.02)
