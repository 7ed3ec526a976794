"""Diagonals held at their angle and steepened to staves.

Closed forms: planes (a prism's bottom keeps every angle); z = y (t0 + t1 x), whose twist along a section is
t1 / (1 + slope^2 + (t1 y)^2) and whose sections are straight; and an upright cone, in whose development seams of one
width are parallel straight lines while x laid into the surface turns.  Limits of taper, drift and crossing: common
practice.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.acceptance.yard import Planked, planked, settings_of
from tests.exact_hulls import CYLINDER, Prism, TwistedBottom, Wall
from tests.exact_meshes import Make

from strakewright.errors import InputError
from strakewright.geometry.crossings import Crossing
from strakewright.hull import Panel
from strakewright.loft.hulls import loft_hull
from strakewright.proof.closure import closure
from strakewright.settings import PlankingSettings
from strakewright.shop.courses import Lined, OneWidth, TaperedWidth
from strakewright.shop.layers import layer_findings
from strakewright.shop.lining import line_off
from strakewright.shop.skins import skin_of
from strakewright.shop.steering import Load, lean_of
from strakewright.triangles import TriangleMesh

SMALL = Make(triangles=3000)
FLAT = Prism(length=3000.0, half_breadth=700.0, deadrise_deg=20.0, side_height=300.0)
WOUND = TwistedBottom()
SIDE = PlankingSettings(panel="side", pattern="strakes", thickness=16.0, courses=2, start="sheer", joint="none")
BOTTOM = PlankingSettings(panel="bottom", pattern="herringbone", thickness=9.5, layers=2, width=90.0, joint="none")


@pytest.fixture(scope="module")
def flat() -> Panel:
    return loft_hull(TriangleMesh(*FLAT.mesh(SMALL)), settings_of((SIDE,)).hull, "x").panel("bottom")


@pytest.fixture(scope="module")
def wound() -> Panel:
    return loft_hull(TriangleMesh(*WOUND.mesh(SMALL)), settings_of((SIDE,)).hull, "x").panel("bottom")


def lined(panel: Panel, settings: PlankingSettings, layer: int = 1) -> Lined:
    return line_off(skin_of(panel, settings, layer, "outside"), settings)


def leans(line: Lined) -> np.ndarray:
    return np.degrees([lean_of(line.skin.patch, c.base).lean for c in line.courses if c.base.crossings])


def test_on_a_plane_nothing_is_steered(flat: Panel) -> None:
    for layer in (1, 2):
        line = lined(flat, BOTTOM, layer)
        assert leans(line) == pytest.approx(45.0, abs=0.01)
        assert all(isinstance(c.width, OneWidth) for c in line.courses)
        assert (line.figures["tapered"], line.figures["drift_max_deg"]) == (0.0, pytest.approx(0.0, abs=0.01))
        assert "staves_from_x" not in line.figures


@pytest.mark.parametrize("layer", [1, 2])
def test_staves_asked_for_steepen_by_tapered_planks(flat: Panel, layer: int) -> None:
    """From x 2000 on towards 75 degrees, each plank at most a third narrower at one end, the other at full width."""
    line = lined(flat, replace(BOTTOM, staves_x=2000.0), layer)
    begun = line.figures["staves_from_x"]
    assert 2000.0 <= begun < 2000.0 + 90.0 / np.sin(np.radians(45.0)) + 1.0
    found = leans(line)
    assert (np.diff(found) > -0.01).all()
    assert found[-1] > 55.0
    assert found.max() <= 75.01
    for course in line.courses:
        if isinstance(course.width, TaperedWidth):
            assert course.width.taper <= 30.0 + 1e-9
            ends = course.width(np.array([course.width.first, course.width.last]))
            assert max(ends) == pytest.approx(90.0)


def test_a_single_layer_may_stand_square(flat: Panel) -> None:
    line = lined(flat, replace(BOTTOM, layers=1, staves_x=1600.0, width=120.0))
    assert 75.5 < leans(line).max() <= 90.0


def test_load_is_bend_and_twist_over_what_is_stood(wound: Panel) -> None:
    """Along a section of z = y (t0 + t1 x): no bend, twist t1 / (1 + slope^2 + (t1 y)^2) (derived)."""
    settings = replace(BOTTOM, layers=1, thickness=10.0, pattern="cross", stave_shear=0.004)
    patch = wound.patch
    skin = replace(skin_of(wound, settings, 1, "outside"), patch=patch)
    p = np.linspace(-20.0, 20.0, 41)
    x, y = 2500.0, np.linspace(5.0, 795.0, 41)
    chart = _chart_of(wound, np.full_like(y, x), y)
    from strakewright.shop.seams import Liner

    seam = Liner(skin).seam(chart, 0.0, margin=0.0)
    lo, hi = seam.curve.s_lo, seam.curve.s_hi
    seam = replace(seam, crossings=(Crossing(lo, 0.0, True), Crossing(hi, 1.0, False)))
    slope = WOUND.t0 + WOUND.t1 * x
    twist = WOUND.t1 / (1 + slope**2 + (WOUND.t1 * y) ** 2)
    assert len(p) == len(y)
    assert Load(10.0, 0.01, 0.004).along(patch, seam) == pytest.approx(10.0 * twist.max() / 0.004, rel=0.01)
    assert np.degrees(lean_of(patch, seam).lean) == pytest.approx(90.0, abs=5.0)


def _chart_of(panel: Panel, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Chart points of the wound bottom at given x and y (Newton)."""
    p0, p1, q0, q1 = panel.patch.box
    grid = np.stack(np.meshgrid(np.linspace(p0, p1, 200), np.linspace(q0, q1, 80), indexing="ij"), axis=-1)
    space = panel.patch.at(grid.reshape(-1, 2))
    found = []
    for wanted in np.stack([x, y], axis=-1):
        chart = grid.reshape(-1, 2)[np.argmin(np.linalg.norm(space[:, :2] - wanted, axis=1))][None]
        for _ in range(20):
            r, r_p, r_q = panel.patch.jet1(chart)
            jacobian = np.stack([r_p[0, :2], r_q[0, :2]], axis=1)
            chart = chart + np.linalg.solve(jacobian, wanted - r[0, :2])
        found.append(chart[0])
    return np.array(found)


def test_drift_past_3_degrees_is_brought_back_by_tapers_of_at_most_8_mm(monkeypatch: pytest.MonkeyPatch) -> None:
    """On a bottom wound enough planks of one width drift past 3 degrees; tapered by at most 8 mm they keep within.

    The drift told is the largest change of the seams' own leans from the first seam's."""
    hull = TwistedBottom(t0=0.1, t1=1.6 / 5000.0, sheer=2200.0)
    panel = loft_hull(TriangleMesh(*hull.mesh(SMALL)), settings_of((SIDE,)).hull, "x").panel("bottom")
    held = lined(panel, BOTTOM)
    monkeypatch.setattr("strakewright.shop.steering.MOST_TAPER", 0.0)
    free = lined(panel, BOTTOM)
    assert free.figures["drift_max_deg"] > 4.0
    assert held.figures["drift_max_deg"] <= 3.0
    tapers = [c.width.taper for c in held.courses if isinstance(c.width, TaperedWidth)]
    assert tapers
    assert max(tapers) <= 8.0 + 1e-9
    for line in (held, free):
        drift = np.abs(leans(line) - line.figures["lean_deg"]).max()
        assert drift == pytest.approx(line.figures["drift_max_deg"], abs=0.01)


def ahead_in_the_flat(wall: Wall, theta: np.ndarray) -> np.ndarray:
    """Direction of x, laid into the wall, in its development: atan(sin f tan theta) - theta sin f (derived).

    x is cos theta of the way along and sin theta sin f of the way up; along and up turn by theta sin f in the flat."""
    sin = np.sin(wall.flare)
    return np.asarray(np.arctan2(np.sin(theta) * sin, np.cos(theta)) - theta * sin)


@pytest.mark.parametrize(("wall", "drift"), [(CYLINDER, 0.0), (Wall(4000.0, 700.0, 0.85, flare_deg=35.0), 6.0)])
def test_drift_on_cylinder_and_cone_is_that_of_parallel_lines_in_the_flat(
    wall: Wall, drift: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Diagonals of one width from x 1500, 60 degrees from the lower edge: every seam leans by 60 + theta0 sin f + the
    direction of x half way along it.  drift: the largest change from the first, degrees."""
    monkeypatch.setattr("strakewright.shop.steering.MOST_TAPER", 0.0)
    panel = loft_hull(TriangleMesh(*wall.mesh(SMALL)), settings_of((SIDE,)).hull, "x").panel("side")
    asked = replace(BOTTOM, panel="side", layers=1, angle_deg=60.0, width=180.0, start_x=1500.0)
    line = line_off(skin_of(panel, asked, 1, "middle"), asked)
    seams = [c.base for c in line.courses if c.base.crossings]
    middles = [np.mean([s.crossings[0].along, s.crossings[-1].along]) for s in seams]
    at = np.array([panel.patch.at(s.curve.at(np.array([m])))[0] for s, m in zip(seams, middles, strict=True)])
    theta = np.arctan2(at[:, 0], at[:, 1] + wall.rho * np.cos(wall.turn))
    started = np.arcsin(1500.0 / wall.rho)
    expected = 60.0 + np.degrees(started * np.sin(wall.flare) + ahead_in_the_flat(wall, theta))
    assert leans(line) == pytest.approx(expected, abs=0.02)
    most = np.abs(expected - line.figures["lean_deg"]).max()
    assert line.figures["drift_max_deg"] == pytest.approx(most, abs=0.02)
    assert most == pytest.approx(drift, abs=0.1)


@pytest.mark.parametrize("layer", [1, 2])
def test_work_goes_both_ways_from_the_frame_asked_for(flat: Panel, layer: int) -> None:
    """Seams leave the keel at x 1400 and every 90 / sin 45 from it, aft and forward; layer 2 half way between them."""
    line = lined(flat, replace(BOTTOM, start_x=1400.0), layer)
    seams = [c.base for c in line.courses if c.base.crossings]
    feet = [(s, s.crossings[0].along) for s in seams if line.skin.border_at(s.crossings[0].around) == "keel"]
    x = np.array([line.skin.patch.at(seam.curve.at(np.array([foot])))[0, 0] for seam, foot in feet])
    steps = (x - 1400.0) / (90.0 / np.sin(np.radians(45.0))) - (layer - 1) / 2
    assert steps == pytest.approx(np.round(steps), abs=0.005)
    assert len(set(np.round(steps))) >= 15
    assert min(steps) < -8
    assert max(steps) > 8


@pytest.fixture(scope="module")
def staved() -> Planked:
    bottom = replace(BOTTOM, staves_from="F3", start_at="F2")
    return planked(FLAT.mesh(SMALL), settings_of((bottom, SIDE), spacing=700.0))


def test_staved_planks_close_and_carry_their_taper(staved: Planked) -> None:
    assert all(c.holds for c in closure(staved.planks, [layer.truth for layer in staved.layers]))
    tapered = [p for p in staved.planks if "taper" in p.extra]
    assert tapered
    assert {p.panel for p in tapered} == {"bottom"}
    for p in tapered:
        wide = [np.ptp(m.points[:, 1]) for m in p.marks if m.kind == "frame"]
        assert wide is not None
        assert 0.0 < float(p.extra["taper"]) <= 30.001  # type: ignore[arg-type]


def test_layers_of_the_flat_bottom_cross_and_keep_their_keel_ends_apart(staved: Planked) -> None:
    """90 degrees aft, 30 and more among staves; half a spacing apart at the keel: no finding names the keel."""
    codes = {f.code for f in staved.findings}
    assert "layers-cross-shallow" not in codes
    assert "angle-drift" not in codes
    assert not any("keel" in f.what for f in staved.findings if f.code == "layer-ends-close")


def test_shallow_crossings_drift_and_close_ends_are_told(flat: Panel) -> None:
    """20 degrees either way cross at 40; seams from one point end on it together."""
    low = replace(BOTTOM, angle_deg=20.0)
    layers = [lined(flat, low, 1), lined(flat, low, 2)]
    told = {f.code: f for f in layer_findings("bottom", layers)}
    assert "only 40 degrees" in told["layers-cross-shallow"].what
    twice = [layers[0], replace(layers[0], figures={**layers[0].figures, "drift_max_deg": 4.2})]
    told = {f.code: f for f in layer_findings("bottom", twice)}
    assert "4.2 degrees" in told["angle-drift"].what
    assert told["layer-ends-close"].level == "note"


@pytest.mark.parametrize(("angle", "aft", "among"), [(20.0, True, False), (14.0, True, True), (31.0, False, False)])
def test_staves_may_cross_at_30_degrees_what_lies_aft_of_them_at_60(
    flat: Panel, angle: float, aft: bool, among: bool
) -> None:
    """On a plane layers at a degrees either way cross at 2 a: 40 will do among staves only, 28 nowhere, 62 anywhere."""
    low = replace(BOTTOM, angle_deg=angle)
    layers = [lined(flat, low, 1), lined(flat, low, 2)]

    def told(begins: float) -> list[str]:
        staved = [replace(x, figures={**x.figures, "staves_from_x": begins}) for x in layers]
        return [f.what for f in layer_findings("bottom", staved) if f.code == "layers-cross-shallow"]

    assert [("at least 60" in what) for what in told(9000.0)] == [True] * aft
    assert [("at least 30" in what) for what in told(-9000.0)] == [True] * among


def test_staves_from_a_frame_the_boat_has_not() -> None:
    with pytest.raises(InputError, match="staves_from"):
        planked(FLAT.mesh(SMALL), settings_of((replace(BOTTOM, staves_from="F9"), SIDE), spacing=700.0))
