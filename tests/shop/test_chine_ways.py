"""Ways of finishing planks at chine, stem and keel, against the trade page's worked numbers (trigonometry).

A5: a flat of 44 mm takes 5.6 mm at 14.8 degrees, 8.6 at 23, 15.8 at 46; past 25.6 the outer 9.5 mm is cut through.
A6: lap u = (Tb + s cos theta) / sin theta; at 150 degrees and 19 mm the outside steps by 38 mm and the bevel from -60
(90 - theta) to 15 (90 - theta / 2).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.acceptance.yard import settings_of
from tests.exact_hulls import Prism, RunningChine, wedge_bow
from tests.exact_meshes import Make

from strakewright.arrays import Floats
from strakewright.hull import Hull
from strakewright.loft.hulls import loft_hull
from strakewright.settings import BackboneSettings, ChineSettings, PlankingSettings
from strakewright.shop.bevels import Corner, Cut, border_cut, chine_cut, edge_frame, surroundings
from strakewright.shop.keelflat import ridge_findings, ridges, taken_by_flat
from strakewright.shop.lining import line_off
from strakewright.shop.rabbets import rabbet_findings, rabbet_records, rabbets
from strakewright.shop.shapes import Run, shapes_of
from strakewright.shop.skins import skin_of
from strakewright.triangles import TriangleMesh

T = 19.0
SMALL = Make(triangles=3000)


def corner(theta_deg: float, forward: str = "mitre", mitre_from: float = 0.0) -> Corner:
    x = np.linspace(0.0, 1000.0, 11)
    points = np.stack([x, 0 * x, 0 * x], axis=-1)
    theta = np.radians(np.full(11, theta_deg))
    return Corner("chine1", points, theta, (T, 0.0), (T, 0.0), mitre_from, forward)  # type: ignore[arg-type]


def run() -> Run:
    x = np.linspace(100.0, 900.0, 5)
    flat = np.stack([x, 0 * x], axis=-1)
    return Run("border", "chine1", flat, flat, flat, np.stack([x, 0 * x, 0 * x], axis=-1))


def reach(cut: Cut, at: float, corner_u: float) -> Floats:
    """Distance of the cut from the outer corner at depth `at`, from its shift at mid-thickness and its bevel."""
    return np.asarray(-cut.shift + corner_u + (at - T / 2) * np.tan(cut.bevel))


def test_worked_step_of_lap_and_mitre() -> None:
    """Side's edge at 150 degrees: outside 38 mm apart, inside together; bevels -60 and +15."""
    theta = np.radians(150.0)
    lap, mitre = (chine_cut(run(), corner(150.0), T / 2, True, mitred) for mitred in (False, True))
    assert np.degrees(lap.bevel) == pytest.approx(-60.0, abs=1e-6)
    assert np.degrees(mitre.bevel) == pytest.approx(15.0, abs=1e-6)
    at_corner = 0.0
    assert reach(lap, 0.0, at_corner) == pytest.approx(T / np.sin(theta))
    assert reach(lap, 0.0, at_corner)[0] == pytest.approx(38.0, abs=0.01)
    assert reach(mitre, 0.0, at_corner) == pytest.approx(0.0, abs=1e-9)
    inside = (T + T * np.cos(theta)) / np.sin(theta)
    assert reach(lap, T, at_corner) == pytest.approx(inside)
    assert reach(mitre, T, at_corner) == pytest.approx(inside)


@pytest.mark.parametrize("theta_deg", [130.0, 150.0, 170.0])
def test_a_butt_has_a_square_side_and_all_of_the_fold_on_the_bottom(theta_deg: float) -> None:
    """The two cuts are one plane: turned by the corner's angle, the same points (derived)."""
    theta = np.radians(theta_deg)
    side, bottom = (chine_cut(run(), corner(theta_deg, "butt"), T / 2, above, True) for above in (True, False))
    assert side.bevel == pytest.approx(0.0, abs=1e-9)
    assert np.degrees(bottom.bevel) == pytest.approx(180.0 - theta_deg)
    along, inward = np.array([np.cos(theta), np.sin(theta)]), np.array([np.sin(theta), -np.cos(theta)])
    for depth in (0.0, 9.5, 19.0):
        point = reach(bottom, depth, 0.0)[0] * along + depth * inward  # in the side's axes: up its edge, inwards
        assert point[0] == pytest.approx(reach(side, 0.0, 0.0)[0])
    assert reach(bottom, T, 0.0)[0] == pytest.approx((T + T * np.cos(theta)) / np.sin(theta))


def running() -> Hull:
    return loft_hull(TriangleMesh(*RunningChine().mesh(SMALL)), settings_of(()).hull, "x")


def test_the_limit_of_the_lap_and_a_mitre_all_along() -> None:
    """Fold of the running chine is known at every x: 180 - limit is reached where the closed form says."""
    side = PlankingSettings(panel="side", pattern="strakes", thickness=T, courses=2)
    hull, planks = running(), (side, replace(side, panel="bottom"))
    x = np.linspace(500.0, 4000.0, 4000)
    for limit in (135.0, 145.0):
        around = surroundings(hull, planks, BackboneSettings(), ChineSettings(lap_limit_deg=limit))
        expected = x[np.argmax(RunningChine().fold(x) < 180.0 - limit)]
        assert next(iter(around.corners.values())).mitre_from == pytest.approx(expected, abs=25.0)
    around = surroundings(hull, planks, BackboneSettings(), ChineSettings(joint="mitre", forward_joint="butt"))
    assert next(iter(around.corners.values())).mitre_from == -np.inf
    mitred = chine_cut(run(), next(iter(around.corners.values())), T / 2, True, True)
    assert (np.degrees(mitred.bevel) > 0).all()  # nowhere a butt: that is for forward of a lap only


def test_a_rabbet_takes_square_ends_at_the_rabbet_line() -> None:
    """Sides at 29 degrees: the outside of a 19 mm plank stops where it stands half the siding off the centreline."""
    hull = loft_hull(TriangleMesh(*wedge_bow(SMALL, half_angle_deg=29.0)), settings_of(()).hull, "x")
    side = PlankingSettings(panel="side", pattern="strakes", thickness=T, courses=2, start="sheer", joint="none")
    backbone = BackboneSettings(stem_end="rabbet", half_siding=30.0)
    skin = skin_of(hull.panel("side"), side, 1, "outside")
    lined = line_off(skin, side)
    shape = shapes_of(lined, lined.courses[0])[0]
    end = next(r for r in shape.runs if r.name == "stem")
    edge = edge_frame(skin.patch, end, lined.up)
    cut = border_cut(end, edge, surroundings(hull, (side,), backbone), T / 2, (T, 0.0))
    assert cut.bevel == pytest.approx(0.0)
    outside = end.space + cut.shift[:, None] * edge.away + T / 2 * edge.normal
    assert np.abs(outside[:, 1]) == pytest.approx(30.0, abs=0.05)


@pytest.mark.parametrize(
    ("siding", "middle", "level"), [(30.0, 26.8, None), (22.2, 11.2, "warning"), (16.0, -1.2, "blocking")]
)
def test_what_rabbets_leave_of_the_stem(siding: float, middle: float, level: str | None) -> None:
    """Worked by hand: 2 (H - 19 cos 29): 26.8 mm of 60, 11.2 of 44.4 (wanted 16), and none of 32."""
    hull = loft_hull(TriangleMesh(*wedge_bow(SMALL, half_angle_deg=29.0)), settings_of(()).hull, "x")
    side = PlankingSettings(panel="side", pattern="strakes", thickness=T, courses=2, start="sheer", joint="none")
    rows = rabbets(hull, (side,), BackboneSettings(stem_end="rabbet", half_siding=siding))
    assert [r.middle for r in rows] == [pytest.approx(middle, abs=0.05)]
    assert np.degrees(rows[0].half_angle) == pytest.approx(29.0, abs=0.05)
    told = rabbet_findings(rows, 16.0)
    assert [(f.code, f.level) for f in told] == ([("rabbet-too-deep", level)] if level else [])
    assert rabbet_records(rows)[0]["middle_min"] == rows[0].middle
    assert rabbets(hull, (side,), BackboneSettings(half_siding=siding)) == []


V = Prism(length=2400.0, half_breadth=500.0, side_height=300.0)
BOTTOM = PlankingSettings(panel="bottom", pattern="herringbone", thickness=9.5, layers=2, width=90.0)
FRAMES = (("F1", 600.0), ("F2", 1200.0), ("F3", 1800.0))


@pytest.mark.parametrize(("degrees", "taken"), [(14.8, 5.6), (23.0, 8.6), (46.0, 15.8)])
def test_worked_flats(degrees: float, taken: float) -> None:
    assert taken_by_flat(44.0, np.radians(degrees)) == pytest.approx(taken, abs=0.05)


def v_hull(deadrise: float) -> Hull:
    mesh = replace(V, deadrise_deg=deadrise).mesh(SMALL)
    return loft_hull(TriangleMesh(*mesh), settings_of(()).hull, "x")


def test_what_the_flat_leaves_at_every_frame() -> None:
    """44 mm: at 23 degrees 8.6 of 19 mm are taken, at 30 degrees layer 2 is cut through, at 46 too little is left."""
    flat = BackboneSettings(keel_flat=((0.0, 44.0),))
    rows = ridges(v_hull(23.0), (BOTTOM,), flat, FRAMES)
    assert [r.frame for r in rows] == ["F1", "F2", "F3"]
    assert [r.left for r in rows] == pytest.approx([19.0 - 22.0 * np.sin(np.radians(23.0))] * 3, abs=0.01)
    assert ridge_findings(rows) == []
    (through,) = ridge_findings(ridges(v_hull(30.0), (BOTTOM,), flat, FRAMES))
    assert (through.code, through.level) == ("keel-flat-through-layer", "warning")
    (thin,) = ridge_findings(ridges(v_hull(46.0), (BOTTOM,), flat, FRAMES))
    assert (thin.code, thin.level) == ("keel-flat-too-wide", "blocking")
    assert "3.2 mm" in thin.what


@pytest.mark.parametrize(("degrees", "through"), [(25.5, False), (25.7, True)])
def test_past_25_6_degrees_44_mm_cut_the_outer_layer_through(degrees: float, through: bool) -> None:
    """9.5 mm, the outer layer, is (44 / 2) sin 25.59 (A5)."""
    rows = ridges(v_hull(degrees), (BOTTOM,), BackboneSettings(keel_flat=((0.0, 44.0),)), FRAMES)
    assert {r.through for r in rows} == {through}


def test_a_flat_that_narrows_forward_and_none_at_all() -> None:
    narrows = BackboneSettings(keel_flat=((600.0, 44.0), (1800.0, 20.0)))
    rows = ridges(v_hull(46.0), (BOTTOM,), narrows, FRAMES)
    assert [r.flat for r in rows] == [44.0, 32.0, 20.0]
    assert [f.subject for f in ridge_findings(rows) if f.level == "blocking"] == ["F1"]
    assert ridges(v_hull(46.0), (BOTTOM,), BackboneSettings(), FRAMES) == []
