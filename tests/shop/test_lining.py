"""Lining off on planes and simple surfaces, where every seam is known on paper."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from tests.acceptance.shapes import raked_wedge
from tests.acceptance.yard import planked, settings_of
from tests.exact_hulls import CONE, Prism, TwistedBottom
from tests.exact_meshes import Make, Mesh

from strakewright.arrays import Floats
from strakewright.errors import InputError
from strakewright.hull import Panel
from strakewright.loft.hulls import loft_hull
from strakewright.settings import PlankingSettings
from strakewright.shop.courses import Lined
from strakewright.shop.lining import line_off
from strakewright.shop.shapes import shapes_of
from strakewright.shop.skins import skin_of
from strakewright.triangles import TriangleMesh

SMALL = Make(triangles=3000)
BOX = Prism(length=2500.0, half_breadth=900.0, deadrise_deg=0.0, flare_deg=0.0)
STRAKES = PlankingSettings(panel="side", pattern="strakes", thickness=19.0, courses=4, start="sheer", joint="none")
DIAGONALS = PlankingSettings(panel="bottom", pattern="herringbone", thickness=9.5, layers=2, width=100.0)


def panel_of(mesh: Mesh, name: str) -> Panel:
    return loft_hull(TriangleMesh(*mesh), settings_of((STRAKES,)).hull, "x").panel(name)


@pytest.fixture(scope="module")
def bottom() -> Panel:
    """A rectangle 2500 x 900."""
    return panel_of(BOX.mesh(SMALL), "bottom")


@pytest.fixture(scope="module")
def side() -> Panel:
    """A rectangle 2500 x 500."""
    return panel_of(BOX.mesh(SMALL), "side")


def lined(panel: Panel, settings: PlankingSettings, layer: int = 1) -> Lined:
    return line_off(skin_of(panel, settings, layer, "outside"), settings)


def areas(line: Lined) -> Floats:
    return np.array([sum(shapely.Polygon(s.ring()).area for s in shapes_of(line, c)) for c in line.courses])


def test_strakes_share_the_girth(side: Panel) -> None:
    """500 high in four: 125 each, course 1 at the sheer."""
    found = lined(side, STRAKES)
    assert areas(found) == pytest.approx(2500.0 * 125.0)
    assert found.courses[0].base.border == "sheer"
    assert found.first_is_left


def test_max_width_gives_the_fewest_courses(side: Panel) -> None:
    for most, count in ((125.0, 4), (124.0, 5), (500.0, 1), (95.0, 6)):
        assert len(lined(side, replace(STRAKES, courses=None, max_width=most)).courses) == count


@pytest.mark.parametrize("start", ["keel", "chine"])
def test_start_says_where_course_1_lies(bottom: Panel, start: str) -> None:
    settings = replace(STRAKES, panel="bottom", start=start, courses=3)  # type: ignore[arg-type]
    found = lined(bottom, settings)
    assert found.courses[0].base.border == start
    assert areas(found) == pytest.approx(2500.0 * 300.0)


def test_a_start_the_panel_has_not(bottom: Panel, side: Panel) -> None:
    for panel, start in ((bottom, "sheer"), (side, "keel")):
        with pytest.raises(InputError, match=start):
            lined(panel, replace(STRAKES, panel=panel.name, start=start))  # type: ignore[arg-type]


@pytest.mark.parametrize("layer", [1, 2])
@pytest.mark.parametrize("width", [80.0, 170.0])
def test_diagonals_cover_the_panel(bottom: Panel, layer: int, width: float) -> None:
    """Rectangle 2500 x 900: areas add up; the inner ones are whole parallelograms of area 900 w / sin 45."""
    found = areas(lined(bottom, replace(DIAGONALS, width=width), layer))
    assert found.sum() == pytest.approx(2500.0 * 900.0, rel=1e-6)
    assert found.max() == pytest.approx(900.0 * width * np.sqrt(2.0), rel=0.3)


def test_the_middle_courses_are_whole_parallelograms(bottom: Panel) -> None:
    found = areas(lined(bottom, DIAGONALS))
    whole = found[np.isclose(found, 900.0 * 100.0 * np.sqrt(2.0), rtol=1e-6)]
    assert len(whole) in (10, 11)  # (2500 - 900) / 141.4 = 11.3 of them, less one where both ends are cut


def test_odd_layers_lean_aft_and_even_ones_forward(bottom: Panel) -> None:
    """Issue: layer 2 crosses layer 1."""
    for layer, sign in ((1, -1.0), (2, 1.0)):
        seam = lined(bottom, DIAGONALS, layer).courses[9].base
        points = skin_of(bottom, DIAGONALS, layer, "outside").patch.at(seam.chart)
        keel_to_chine = points[np.argsort(points[:, 1])]
        assert np.sign(keel_to_chine[-1, 0] - keel_to_chine[0, 0]) == sign


@pytest.mark.parametrize("length", [2500.0, 2545.0, 2590.0])
def test_no_last_course_is_a_sliver(length: float) -> None:
    """A corner less than a quarter of a width across goes to its neighbour: no corner course has an area below that
    of the triangle of height w / 4, (w / 4)^2 at 45 degrees."""
    panel = panel_of(replace(BOX, length=length).mesh(SMALL), "bottom")
    found = areas(lined(panel, DIAGONALS))
    assert found.sum() == pytest.approx(length * 900.0, rel=1e-6)
    assert found.min() >= 0.99 * 25.0**2


@pytest.mark.parametrize(("angle", "width"), [(30.0, 100.0), (60.0, 160.0), (75.0, 100.0), (90.0, 160.0)])
def test_other_angles(bottom: Panel, angle: float, width: float) -> None:
    found = areas(lined(bottom, replace(DIAGONALS, angle_deg=angle, width=width)))
    assert found.sum() == pytest.approx(2500.0 * 900.0, rel=1e-6)
    expected = 900.0 * width / np.sin(np.radians(angle))
    assert np.isclose(found, expected, rtol=1e-6).sum() >= 3


@pytest.mark.parametrize(("angle", "width"), [(30.0, 160.0), (45.0, 300.0), (20.0, 100.0), (15.0, 60.0)])
def test_wide_planks_at_a_fine_angle(bottom: Panel, angle: float, width: float) -> None:
    """Lawful by the contract (angle 15-90, width 10-1000); a plane has no trouble of its own."""
    found = areas(lined(bottom, replace(DIAGONALS, angle_deg=angle, width=width)))
    assert found.sum() == pytest.approx(2500.0 * 900.0, rel=1e-6)


@pytest.mark.parametrize("lining", ["even", "parallel"])
@pytest.mark.parametrize("start", ["sheer", "chine"])
def test_strakes_from_either_border_of_raked_and_flared_sides(lining: str, start: str) -> None:
    """Areas on paper: wedge side, mean length x 600 x the plane's stretch sqrt(1 + tan^2 a / cos^2 r); cone, its
    waterlines added up."""
    settings = replace(STRAKES, lining=lining, start=start, courses=3)  # type: ignore[arg-type]
    mean = 4000.0 + np.tan(np.radians(30.0)) * 300.0
    wedge = planked(raked_wedge(25.0, 30.0, SMALL), settings_of((settings,), surface="middle"))
    area = sum(shapely.Polygon(p.net_outline).area for p in wedge.port("side"))
    stretch = np.sqrt(1.0 + (np.tan(np.radians(25.0)) / np.cos(np.radians(30.0))) ** 2)
    assert area == pytest.approx(mean * 600.0 * stretch, rel=1e-6)
    cone = planked(CONE.mesh(SMALL), settings_of((replace(settings, courses=4),), surface="middle"))
    area = sum(shapely.Polygon(p.net_outline).area for p in cone.port("side"))
    z = np.linspace(0.0, 600.0, 2001)
    exact = np.trapezoid(CONE.stem(z) * (CONE.rho + z * np.tan(CONE.flare)) / np.cos(CONE.flare), z)
    assert area == pytest.approx(exact, rel=1e-5)


def test_frame_marks_of_corner_planks_reach_from_border_to_border() -> None:
    """Box bottom: the marks of one frame, end to end, are the whole half breadth 900 (closed form).

    In this boat frame F1 cuts 5.6 mm off the corner of B2.08P."""
    settings = replace(DIAGONALS, angle_deg=60.0, width=160.0)
    boat = planked(BOX.mesh(Make(triangles=6000)), settings_of((settings,)))
    for layer in (1, 2):
        for name, _ in boat.frames:
            lines = [m.points for p in boat.port("bottom", layer) for m in p.marks if m.name == name]
            runs = [float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum()) for line in lines]
            assert sum(runs) == pytest.approx(900.0, abs=0.2)


def test_seams_that_run_out_on_a_twisted_bottom() -> None:
    """The proof must not blame a sound boat: on a doubly curved panel a border that runs out across a plank cannot keep
    its length in the flat where both seams keep theirs (Gauss); seams must."""
    from strakewright.proof.closure import closure

    settings = replace(STRAKES, panel="bottom", start="keel", courses=5)
    boat = planked(TwistedBottom().mesh(SMALL), settings_of((settings,)))
    assert [c.name for c in closure(boat.planks, [x.truth for x in boat.layers]) if not c.holds] == []
