"""Strips cut straight, against the bending of beams and circles worked out on paper."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from tests.acceptance.yard import planked, settings_of
from tests.exact_hulls import cone_wall
from tests.exact_meshes import Make

from strakewright.arrays import Floats
from strakewright.parts import Fit
from strakewright.settings import PlankingSettings
from strakewright.shop.blanks import blank_of
from strakewright.shop.fit import Limits
from strakewright.shop.strips import edge_set, judged, straightened

STRIPS = PlankingSettings(
    panel="side", pattern="strakes", thickness=19.0, courses=18, start="sheer", joint="none", cut="straight"
)
EASY = Fit(5000.0, 0.0, 0.0, 0.0, 0.0005, 0.0, "easy", "bends to R 5 m")


def arc(radius: float, length: float) -> Floats:
    """Points of a circle, evenly along it."""
    turn = np.linspace(-0.5, 0.5, 81) * length / radius
    return np.stack([radius * np.sin(turn), radius * np.cos(turn)], axis=-1)


def test_edge_set_of_a_circle() -> None:
    """Strain w / 2R, sag R (1 - cos(L / 2R)); over 3 m L^2 / 8R within a few in ten thousand."""
    radius, length, width = 40_000.0, 5600.0, 27.0
    found = edge_set(arc(radius, length), width, 18.0, 11_000.0)
    assert found.strain == pytest.approx(width / (2 * radius), rel=1e-3)
    assert found.sag == pytest.approx(radius * (1 - np.cos(length / (2 * radius))), rel=1e-6)
    assert found.sag_3m == pytest.approx(3000.0**2 / (8 * radius), rel=2e-3)


@pytest.mark.parametrize(("width", "kgf"), [(96.0, 34.0), (48.0, 4.2)])
def test_the_force_of_edge_set(width: float, kgf: float) -> None:
    """Worked example: 80 mm in 5.6 m, 19 mm thick, E 11 GPa: about 34 kgf at 96 mm wide, about 4 at 48 (48 E I h /
    L^3, derived)."""
    length, sag = 5600.0, 80.0
    radius = length**2 / (8 * sag)
    found = edge_set(arc(radius, length), width, 19.0, 11_000.0)
    assert found.force / 9.80665 == pytest.approx(kgf, rel=0.03)


def test_wide_strips_buckle_and_narrow_ones_do_not() -> None:
    """More than 6 mm in 3 m is refused where width / thickness is over 3 (common practice, no source)."""
    limits = Limits(0.0086, softwood=False)
    hard = edge_set(arc(3000.0**2 / (8 * 6.5), 5000.0), 60.0, 19.0, 11_000.0)
    soft = edge_set(arc(3000.0**2 / (8 * 5.5), 5000.0), 60.0, 19.0, 11_000.0)
    assert judged(EASY, hard, 60.0 / 19.0, limits).verdict == "refused"
    assert "buckles" in judged(EASY, hard, 60.0 / 19.0, limits).reason
    assert judged(EASY, soft, 60.0 / 19.0, limits).verdict == "easy"
    narrow = judged(EASY, hard, 2.9, limits)
    assert narrow.verdict == "easy"
    assert "kgf" in narrow.reason
    assert narrow.strain_total == pytest.approx(EASY.strain_total + hard.strain)


def test_strain_of_edge_set_counts() -> None:
    """Share of the breaking strain: easy to 30 %, firm to 60 % (common practice, no source)."""
    limits = Limits(0.0086, softwood=False)
    for share, verdict in ((0.25, "easy"), (0.45, "firm"), (0.65, "refused")):
        pushed = replace(edge_set(arc(40_000.0, 5000.0), 27.0, 18.0, 1e4), strain=share * 0.0086 - EASY.strain_total)
        assert judged(EASY, pushed, 1.5, limits).verdict == verdict


def test_straightening_an_arc() -> None:
    """A ring drawn off a circle comes out as the rectangle it is along it."""
    radius = 20_000.0
    line = arc(radius, 4000.0)
    spots = np.array([[-0.5, 30.0], [0.1, -20.0], [0.5, 0.0]])
    turn = spots[:, 0] * 4000.0 / radius
    points = (radius + spots[:, 1:]) * np.stack([np.sin(turn), np.cos(turn)], axis=-1)
    found = straightened(points, line)
    assert found[:, 0] == pytest.approx((spots[:, 0] + 0.5) * 4000.0, abs=0.05)
    assert found[:, 1] == pytest.approx(spots[:, 1], abs=0.05)


def test_strips_of_a_cone_are_rectangles() -> None:
    """A cone's parallels have sideways bend sin(flare) / rho: the edge-set of its strips; blanks are rectangles with
    every frame mark across them."""
    boat = planked(cone_wall(Make(triangles=4000)), settings_of((STRIPS,), surface="middle"))
    for plank in boat.port("side"):
        assert plank.cut == "straight"
        part = blank_of(plank)
        box = shapely.Polygon(part.outline)
        assert box.area == pytest.approx(np.prod(np.ptp(part.outline, axis=0)), rel=1e-9)
        frames = [m for m in part.marks if m.kind == "frame"]
        assert len(frames) == len([m for m in plank.marks if m.kind == "frame"]) > 0
        assert all(box.buffer(1.0).contains(shapely.LineString(m.points)) for m in frames)
    middle = boat.port("side")[9]
    bends = middle.extra["edge_set_3m"]
    assert isinstance(bends, float)
    lengths = float(np.linalg.norm(np.diff(middle.first.seam, axis=0), axis=1).sum())
    assert middle.fit.edge_set > 0
    assert float(np.ptp(middle.outline[:, 0])) >= lengths
    assert "edge-set" in middle.fit.reason or middle.fit.verdict != "easy"
