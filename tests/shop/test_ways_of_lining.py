"""Straight and graded seams, sweetness, sny, the shutter and the order of hanging, on walls whose development is known.

Cylinder wall (radius R, height h, ends square): its flat is a rectangle, so geodesics are straight lines and even,
parallel and straight lining are one.  Cone wall: a sector of a circle in the flat (see tests.exact_hulls).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.acceptance.yard import Planked, planked, settings_of
from tests.exact_hulls import CONE, CYLINDER, Prism, cone_wall
from tests.exact_meshes import Make

from strakewright.arrays import Floats
from strakewright.hull import Panel
from strakewright.job.strakes import lining_rows, strake_figures
from strakewright.parts import Plank
from strakewright.settings import PlankingSettings
from strakewright.shop.compare import least_width, modes_of
from strakewright.shop.hanging import Hanging, in_steps
from strakewright.shop.lining import line_off
from strakewright.shop.seams import Liner
from strakewright.shop.shapes import shapes_of
from strakewright.shop.skins import Skin, skin_of
from strakewright.shop.sweetness import narrow_ends, nib_at, turns, unfair_seams

SMALL = Make(triangles=4000)
STRAKES = PlankingSettings(panel="side", pattern="strakes", thickness=19.0, courses=4, start="sheer", joint="none")
CONE_WIDTHS = {"width_transom": 150.0, "width_midship": 130.0, "width_stem": 120.0}


@pytest.fixture(scope="module")
def cone() -> Planked:
    return planked(cone_wall(SMALL), settings_of((STRAKES,), surface="middle"))


@pytest.fixture(scope="module")
def skin(cone: Planked) -> Skin:
    return skin_of(cone.hull.panel("side"), STRAKES, 1, "middle")


@pytest.fixture(scope="module")
def box() -> Panel:
    """A rectangle 2500 x 500."""
    prism = Prism(length=2500.0, half_breadth=900.0, deadrise_deg=0.0, flare_deg=0.0)
    return planked(prism.mesh(SMALL), settings_of((STRAKES,))).hull.panel("side")


def on_flat_cone(skin: Skin, chart: Floats) -> Floats:
    """The exact development of points of the cone wall: slant radius from the apex, turned by psi = theta sin f."""
    points = skin.patch.at(chart) + np.array([CONE.k, CONE._stem_y(), 0.0])
    theta = np.arctan2(points[:, 0], points[:, 1])
    return CONE.flat(theta, points[:, 2])


def test_straight_seams_of_a_cone_are_straight_lines_in_its_development(skin: Skin) -> None:
    """Geodesics of a developable surface are straight in the flat: sag below 0.05 mm over the panel."""
    lined = line_off(skin, replace(STRAKES, lining="straight", courses=3))
    assert lined.figures["seams_straightened"] <= 1.0
    if lined.figures["seams_straightened"] == 1.0:
        for course in lined.courses[1:]:
            seam = course.base
            lo, hi = seam.crossings[0].along, seam.crossings[-1].along
            flat = on_flat_cone(skin, seam.curve.at(np.linspace(lo, hi, 60)))
            chord = (flat[-1] - flat[0]) / np.linalg.norm(flat[-1] - flat[0])
            off = (flat - flat[0]) @ np.array([-chord[1], chord[0]])
            assert np.abs(off).max() < 0.05


def test_all_linings_of_a_rectangle_are_one(box: Panel) -> None:
    """Straight, even and parallel seams of a plane rectangle: 125 mm apart, no sny, boards as wide as the strakes."""
    skin = skin_of(box, STRAKES, 1, "outside")
    rows = modes_of(skin, STRAKES, line_off(skin, STRAKES))
    assert [r.lining for r in rows] == ["parallel", "even", "straight"]
    for row in rows:
        assert row.sny_max == pytest.approx(0.0, abs=1e-3)
        assert row.board_max == pytest.approx(125.0, abs=1e-2)
        assert row.end_min == pytest.approx(125.0, abs=1e-2)
        assert row.sheer_change == pytest.approx(0.0, abs=1e-3)


def test_straight_lining_wants_the_straightest_boards(skin: Skin) -> None:
    """Of three ways to line the same crooked panel the one whose seams are geodesics has the least mean sny;
    parallels of the sheer keep its whole crook."""
    rows = {m.lining: m for m in modes_of(skin, STRAKES, line_off(skin, STRAKES))}
    assert rows["straight"].sny_mean < rows["even"].sny_mean
    assert rows["straight"].sny_mean < 0.8 * rows["parallel"].sny_mean


def test_wave_of_the_sheer_strake_on_a_parabola() -> None:
    """A cylinder laid flat, upper edge straight, lower edge a known parabola: the sheer strake of four even ones is a
    quarter of the height left, so what it leaves an even taper by within a metre is known; a parallel one leaves none.
    """
    wall = replace(CYLINDER, least=200.0)
    boat = planked(wall.mesh(SMALL), settings_of((STRAKES,), surface="middle"))
    z = np.linspace(0.0, 400.0, 4000)
    edge = wall.at(np.sqrt(z / 400.0) * wall.stem(z), z)
    along = wall.rho * np.arctan2(edge[:, 0], edge[:, 1] + wall._stem_y())
    width = (600.0 - z) / 4.0
    order = np.argsort(along)
    s = np.linspace(along.min(), along.max(), 2001)
    wave = np.interp(s, along[order], width[order])
    wave -= np.interp(s, s[[0, -1]], wave[[0, -1]])
    first = s[s <= s[-1] - 1000.0]
    want = np.abs(np.interp(first + 1000.0, s, wave) - np.interp(first, s, wave)).max()
    rows = {m.lining: m for m in boat.layers[0].modes}
    assert want > 5.0
    assert rows["even"].sheer_change == pytest.approx(want, abs=0.5)
    assert rows["parallel"].sheer_change == pytest.approx(0.0, abs=1e-6)


def test_least_width_of_a_tilted_rectangle() -> None:
    turn = np.radians(3.0)
    ring = np.array([[0.0, 0.0], [1000.0, 0.0], [1000.0, 80.0], [0.0, 80.0]])
    ring = ring @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    assert least_width(ring) == pytest.approx(80.0, abs=1e-3)


def test_graded_courses_have_the_widths_asked_for(skin: Skin) -> None:
    """Square across, at transom, midship and stem of the panel (the builder's own figures)."""
    settings = replace(STRAKES, lining="graded", courses=None, **CONE_WIDTHS)  # type: ignore[arg-type]
    lined = line_off(skin, settings)
    x = skin.patch.at(skin.ring())[:, 0]
    wanted = ((x.min(), 150.0), ((x.min() + x.max()) / 2, 130.0), (x.max(), 120.0))
    for course in lined.courses[:-1]:
        s = np.linspace(course.base.stations[0], course.base.stations[-1], 4000)
        at = skin.patch.at(course.base.curve.at(s))[:, 0]
        for station, width in wanted[:2]:
            here = s[int(np.abs(at - station).argmin())]
            assert float(course.width(np.array([here]))[0]) == pytest.approx(width, abs=0.5)
    assert sum(len(shapes_of(lined, c)) for c in lined.courses) == len(lined.courses)


def test_a_last_course_that_would_be_a_runt_goes_to_its_neighbour(box: Panel) -> None:
    """500 in courses of 110: four and a rest of 60 (more than 0.35 x 110) is a course; courses of 120: 4 and 20, which
    goes to the fourth."""
    skin = skin_of(box, STRAKES, 1, "outside")
    for width, count in ((110.0, 5), (120.0, 4)):
        even = {"width_transom": width, "width_midship": width, "width_stem": width}
        assert len(line_off(skin, replace(STRAKES, lining="graded", courses=None, **even)).courses) == count  # type: ignore[arg-type]


def test_sweet_seams_and_one_with_a_hump(skin: Skin) -> None:
    """Seams drawn from borders that bend one way bend one way; a seam with a wave of 30 mm in it is told."""
    lined = line_off(skin, STRAKES)
    assert unfair_seams(lined) == []
    liner = Liner(skin)
    base = lined.courses[2].base
    s = np.linspace(base.crossings[0].along, base.crossings[-1].along, 200)
    wave = 15.0 * np.sin(np.linspace(0.0, 6.0 * np.pi, 200))
    humped = liner.seam(base.curve.at(s) + np.stack([0 * s, wave], axis=-1), 200.0)
    courses = (*lined.courses[:2], replace(lined.courses[2], base=humped), *lined.courses[3:])
    told = unfair_seams(replace(lined, courses=courses))
    assert [f.code for f in told] == ["seam-not-sweet"]


def test_turns_are_counted_on_a_sine() -> None:
    """sin over n half waves changes its bend n - 1 times; waves too small to see do not count."""
    s = np.linspace(0.0, 4000.0, 400)
    for halves in (1, 2, 3, 4):
        assert turns(1e-4 * np.sin(halves * np.pi * s / 4000.0), s) == halves - 1
        assert turns(1e-7 * np.sin(halves * np.pi * s / 4000.0), s) == 0


def test_an_end_too_narrow_is_told(skin: Skin) -> None:
    lined = line_off(skin, STRAKES)
    whole = [(f"S{c.number:02d}P", s) for c in lined.courses for s in shapes_of(lined, c)]
    assert narrow_ends(whole, STRAKES) == []
    told = narrow_ends(whole, replace(STRAKES, min_end_width=400.0))
    assert {f.code for f in told} == {"end-too-narrow"}


def test_a_nib_is_twenty_and_a_third_wide_over_a_frame(skin: Skin) -> None:
    """Even courses of a panel taper: the frame told is the foremost with max(20 mm, w / 3), by trying all."""
    lined = line_off(skin, replace(STRAKES, lining="even"))
    shape = shapes_of(lined, lined.courses[1])[0]
    s = np.linspace(*shape.reach(), 2000)
    x = skin.patch.at(shape.course.fan.pq(s, shape.course.middle(s)))[:, 0]
    width = shape.course.width(s)
    frames = tuple((f"F{i}", 100.0 * i) for i in range(1, 60))
    inside = [(n, float(width[np.abs(x - at).argmin()])) for n, at in frames if x.min() < at < x.max()]
    wide = [n for n, w in inside if w >= max(20.0, float(width.max()) / 3)]
    found = nib_at(shape, frames, forward=True)
    assert found is not None
    assert found[0] == wide[-1]
    assert nib_at(shape, (), forward=True) is None


def test_the_shutter_is_left_wide(cone: Planked) -> None:
    """Default 18 mm on the seam against the course before, no other course: the line to cut stands that far outside."""
    snug = planked(cone_wall(SMALL), settings_of((replace(STRAKES, spare_shutter=0.0),), surface="middle"))
    for wide, net in zip(cone.port("side"), snug.port("side"), strict=True):
        more = float(np.ptp(wide.outline[:, 1]) - np.ptp(net.outline[:, 1]))
        assert more == pytest.approx(18.0 if wide.course == 4 else 0.0, abs=0.8)


def _bare(plank: Plank, name: str, course: int) -> Plank:
    return replace(plank, id=name, mate=name[:-1] + "S", course=course)


def test_what_must_hang_first(cone: Planked) -> None:
    """Sheer strake first, each after the one before it; the bottom after the side's last course (common practice)."""
    port = cone.port("side")
    side = Hanging("side", 1, 1, tuple(cone.planks))
    bottom = Hanging("bottom", 1, 0, tuple(_bare(p, f"B{p.course:02d}P", p.course) for p in port))
    first, second = in_steps([bottom, side])[::-1]
    steps = {p.id: (p.extra["step"], p.extra["needs"]) for p in (*first, *second)}
    assert steps["S01P"] == (1, [])
    assert steps["S03P"] == (3, ["S02P"])
    assert steps["S03S"] == (3, ["S02S"])
    assert steps["B01P"] == (5, ["S04P"])
    assert steps["B02P"][0] == 6


def test_the_widest_plank_stands_beside_what_its_wood_allows(cone: Planked) -> None:
    """Question 21.  White ash, flat sawn, from 12 to 16 %: 0.00274 a percent (Wood Handbook table 13-5), so 1 mm is
    moved by 91.2 mm; the cone's slant height, 600 / cos 20, is shared by four strakes."""
    allowed = 1.0 / (0.00274 * 4.0)
    layer = cone.layers[0]
    told = strake_figures(layer, cone.frames, allowed)["widest_plank"]
    assert told["width"] == pytest.approx(600.0 / np.cos(np.radians(20.0)) / 4.0, abs=0.05)
    assert (told["species"], told["allowed"], told["seams"]) == ("white ash", allowed, "glued")
    rows = lining_rows(layer, allowed)
    assert [row[6] for row in rows] == ["91"] * 3
    assert [row[6] for row in lining_rows(layer, None)] == ["–"] * 3
