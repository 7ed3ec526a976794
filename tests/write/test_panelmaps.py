"""Maps of a panel and the body plan on surfaces in closed form: cylinder, sphere, helicoid, flared plane."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest

from strakewright.geometry.surface import Patch, fit_patch
from strakewright.hull import Border, Panel
from strakewright.settings import PlankingSettings
from strakewright.write.book import Picture
from strakewright.write.bookpictures import named_pictures, pictures, write_picture
from strakewright.write.panelmaps import USUAL, body_sections, draw_body_plan, draw_map, map_height, maps_of
from strakewright.write.pen import RecordingPen, Role
from tests.geometry.exact_patches import SPHERE, cylinder_patch, plane_patch, scatter, sphere_patch, twisted
from tests.write.small_boat import FACTS

SIDE = PlankingSettings("side", "strakes", 20.0, courses=4)
DIAGONAL = PlankingSettings("side", "herringbone", 10.0, layers=2, width=100.0, angle_deg=45.0)


def panel(patch: Patch, low: tuple[float, float], high: tuple[float, float]) -> Panel:
    """A rectangle of the chart as a panel."""

    def border(name: str, a: tuple[float, float], b: tuple[float, float]) -> Border:
        return Border(name, np.linspace(a, b, 60), False)

    (p0, q0), (p1, q1) = low, high
    ends = border("transom", (p0, q0), (p0, q1)), border("stem", (p1, q0), (p1, q1))
    return Panel("side", patch, border("chine", (p0, q0), (p1, q0)), border("sheer", (p0, q1), (p1, q1)), *ends, 0.0)


CYLINDER = panel(cylinder_patch(), (100.0, 100.0), (5900.0, 1100.0))
BALL = panel(sphere_patch(), (-1000.0, -500.0), (1000.0, 500.0))


def worst(hull: Panel, settings: PlankingSettings, width: float = 100.0) -> dict[str, float]:
    return {m.figure: m.worst for m in maps_of(hull, settings, width, (), 240.0)}


def test_strakes_along_a_cylinder_do_not_bend_and_diagonals_do() -> None:
    along = worst(CYLINDER, SIDE)
    assert along["bend"] < 1e-6
    assert along["twist"] < 1e-6
    across = worst(CYLINDER, DIAGONAL)  # Euler: sin2(45) / R;  torsion sin cos / R
    assert across["bend"] == pytest.approx(10 / 2 * 0.5 / 2000.0, rel=1e-3)
    assert across["twist"] == pytest.approx(10 * 0.5 / 2000.0, rel=1e-3)
    assert across["strain"] < 1e-7


def test_a_sphere_bends_every_way_and_strains() -> None:
    found = worst(BALL, SIDE, width=120.0)
    assert found["bend"] == pytest.approx(20 / (2 * SPHERE), rel=1e-3)
    assert found["twist"] < 1e-6
    assert found["strain"] == pytest.approx(120**2 / (8 * SPHERE**2), rel=1e-3)


def test_a_helicoid_twists() -> None:
    chart = scatter((0, -400), (3000, 400), 4000)
    hull = panel(fit_patch(chart, twisted(chart))[0], (100.0, -300.0), (2900.0, 300.0))
    # torsion of the straight middle line: its turn, 0.3 rad a metre
    assert worst(hull, SIDE)["twist"] == pytest.approx(20 * 3e-4, rel=1e-2)


def test_strokes_stand_where_the_figure_is_above_its_limit() -> None:
    (bend, _, strain) = maps_of(BALL, replace(SIDE, thickness=18.0), 120.0, (("F1", 0.0),), 240.0)
    assert bend.limits[0] < bend.worst < bend.limits[1]  # 0.45 %
    assert strain.limits[0] < strain.worst < strain.limits[1]
    pen = RecordingPen()
    draw_map(pen, bend, 240.0)
    strokes = [s for s in pen.strokes if s.kind == "polyline" and s.role is Role.LABEL]
    assert len(strokes) == len(bend.grid)  # one in every cell, none crossed
    assert [s.words for s in pen.strokes if s.kind == "text"] == ["F1"]
    assert "stroke above 0.25 %, crossed above 0.5 %" in bend.caption()
    easy = maps_of(BALL, replace(SIDE, thickness=9.0), 120.0, (), 240.0)[0]
    pen = RecordingPen()
    draw_map(pen, easy, 240.0)
    assert not [s for s in pen.strokes if s.role is Role.LABEL]


def test_the_body_plan_has_forward_sections_at_the_right() -> None:
    flared = panel(plane_patch(), (10.0, 10.0), (2990.0, 990.0))
    frames = (("F1", 500.0), ("F2", 1500.0), ("F3", 2500.0))
    rows = body_sections([flared], frames)
    for _, _, (line,) in rows:
        y, z = line.T
        assert np.abs(y - 500.0 - 0.3 * z).max() < 1e-3  # the plane's own equation
    pen = RecordingPen()
    draw_body_plan(pen, rows, 240.0, 120.0)
    names = {s.words: float(s.points[0, 0]) for s in pen.strokes if s.kind == "text"}
    assert names["F1"] < 120.0 < names["F3"]
    lines = [s.points for s in pen.strokes if s.role is Role.CUT_OUTSIDE]
    assert min(p.min() for p in lines) > 0.0
    assert max(p[:, 0].max() for p in lines) < 240.0
    assert max(p[:, 1].max() for p in lines) < 120.0


def test_names_of_like_sections_stand_apart() -> None:
    flared = panel(plane_patch(), (10.0, 10.0), (2990.0, 990.0))
    frames = tuple((f"F{n}", 300.0 * n) for n in range(1, 10))
    pen = RecordingPen()
    draw_body_plan(pen, body_sections([flared], frames), 240.0, 120.0)
    spots = [s.points[0] for s in pen.strokes if s.kind == "text"]
    apart = [float(np.abs(a - b).max()) for n, a in enumerate(spots) for b in spots[:n]]
    assert min(apart) >= 6.0


def test_the_book_has_a_body_plan_and_three_maps_a_panel() -> None:
    facts = replace(FACTS, panels=(replace(CYLINDER, name="side"),), frames=(("F1", 600.0), ("F2", 2400.0)))
    assert [each.name for each in named_pictures(facts)] == ["body-plan", "side-bend", "side-twist", "side-strain"]
    section = pictures(facts)
    assert section is not None
    assert sum(isinstance(b, Picture) for b in section.blocks) == 4
    assert pictures(FACTS) is None


def test_a_picture_file_says_below_it_what_it_shows(tmp_path: Path) -> None:
    """By itself on a screen: the caption stands in the picture, within its width, under every stroke of it."""
    of = maps_of(BALL, SIDE, 120.0, (), 240.0)[2]
    picture = Picture(240.0, map_height(of, 240.0), lambda pen: draw_map(pen, of, 240.0), of.caption(), "side-strain")
    write_picture(tmp_path, picture, "Proof")
    seen = ElementTree.fromstring((tmp_path / "side-strain.svg").read_text(encoding="utf-8"))
    words = [t for t in seen.iter("{http://www.w3.org/2000/svg}text") if t.text and not t.text.startswith("F")]
    assert " ".join(t.text or "" for t in words) == f"Proof. {of.caption()}"
    assert "at most 0.045 %" in of.caption()  # w2 / 8 R2 = 120^2 / (8 x 2000^2)
    left, top, wide, tall = (float(v) for v in seen.attrib["viewBox"].split())
    assert (left, wide) <= (0.0, 262.0)
    assert top + tall > 2.0 * 5.0 * len(words)


def test_maps_are_hatched_above_the_limits_of_the_wood() -> None:
    planks = replace(SIDE, thickness=18.0)  # bend 18 / 2R = 0.45 % all over
    for firm, strokes in ((0.002, 2), (0.006, 1)):
        (bend, *_) = maps_of(BALL, planks, 120.0, (), 240.0, {**USUAL, "bend": (0.001, firm)})
        pen = RecordingPen()
        draw_map(pen, bend, 240.0)
        labels = [s for s in pen.strokes if s.role is Role.LABEL]
        assert len(labels) == strokes * len(bend.grid)
        assert f"crossed above {100 * firm:g} %" in bend.caption()
