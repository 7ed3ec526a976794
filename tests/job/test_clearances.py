"""Figures of screws and of the joint at the keel, on a prism whose bottom is a plane of 20 degrees.

Every place of it is known on paper: up the slope lies y cos 20 + z sin 20, distances are kept when it is laid flat,
and planks that meet at the keel are cut to the deadrise (trigonometry).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from tests.acceptance.yard import Planked, planked, settings_of
from tests.exact_hulls import Prism
from tests.exact_meshes import Make

from strakewright.frames import Framing
from strakewright.job.clearances import centre_joint, screw_checks, screw_figures
from strakewright.job.fastening import fasten
from strakewright.job.planked import Layer
from strakewright.parts import Plank
from strakewright.settings import PlankingSettings

HULL = Prism(length=2000.0, half_breadth=600.0, deadrise_deg=20.0, side_height=300.0, flare_deg=0.0)
BOTTOM = PlankingSettings(panel="bottom", pattern="herringbone", thickness=9.5, layers=2, width=95.0, joint="none")
RISE = np.radians(20.0)


@pytest.fixture(scope="module")
def boat() -> Planked:
    return planked(HULL.mesh(Make(triangles=3000)), settings_of((BOTTOM,), spacing=500.0))


@pytest.fixture(scope="module")
def layers(boat: Planked) -> tuple[Layer, ...]:
    return fasten(boat.layers, Framing(), boat.frames, plugs=True)[0]


def unrolled(space: np.ndarray) -> np.ndarray:
    return np.stack([space[:, 0], space[:, 1] * np.cos(RISE) + space[:, 2] * np.sin(RISE)], axis=-1)


def test_least_distance_of_screws_from_seams_of_both_layers(layers: tuple[Layer, ...]) -> None:
    """Measured again in the plane with shapely's segments; never below the 12 mm that are kept."""
    planks = [p for layer in layers for p in layer.planks if p.on_port]
    lines = [shapely.LineString(unrolled(m.seam)) for p in planks for m in (p.first, p.second) if m.meets == "seam"]
    for layer in layers:
        want = float(shapely.distance(shapely.points(unrolled(layer.screws)), shapely.union_all(lines)).min())
        found = screw_figures(layer, layers)
        assert found["screw_to_seam_min"] == pytest.approx(want, abs=0.1)
        assert found["screw_to_seam_min"] >= 12.0
    gaps = np.linalg.norm(unrolled(layers[1].screws)[:, None] - unrolled(layers[0].screws), axis=-1)
    assert screw_figures(layers[1], layers)["screw_to_screw_below_min"] == pytest.approx(gaps.min(), abs=0.1)
    assert screw_figures(layers[0], layers)["screw_to_screw_below_min"] is None


def test_a_screw_moved_to_a_seam_or_over_another_shows(layers: tuple[Layer, ...]) -> None:
    first, second = layers
    seam = next(p for p in first.planks if p.on_port and p.second.meets == "seam").second.seam[3]
    on_seam = replace(second, screws=np.concatenate([second.screws, seam[None]]))
    assert screw_figures(on_seam, (first, on_seam))["screw_to_seam_min"] < 1.0
    over = replace(second, screws=np.concatenate([second.screws, first.screws[:1]]))
    assert screw_figures(over, (first, over))["screw_to_screw_below_min"] < 1.0


def test_screws_too_near_fail_their_checks(layers: tuple[Layer, ...]) -> None:
    """12 mm from seams, 10 mm from screws below (common practice): what is moved 6 mm off a screw falls 4 mm short."""
    first, second = layers
    assert [c.holds for c in screw_checks(layers)] == [True] * 3
    along = np.array([6.0, 9.5 * np.sin(RISE), -9.5 * np.cos(RISE)])  # out to the middle of the next layer
    over = replace(second, screws=np.concatenate([second.screws, first.screws[:1] + along]))
    seam = next(p for p in first.planks if p.on_port and p.second.meets == "seam").second.seam[3]
    failed = {c.name: c.value for c in screw_checks((first, over)) if not c.holds}
    assert failed["screws 10 mm clear of screws below, bottom layer 2"] == pytest.approx(4.0, abs=0.05)
    on_seam = replace(first, screws=seam[None])
    failed = {c.name: c.value for c in screw_checks((on_seam, second)) if not c.holds}
    assert failed["screws 12 mm clear of seams of every layer, bottom layer 1"] == pytest.approx(12.0, abs=0.5)


def test_planks_meet_at_the_keel_cut_to_the_deadrise(boat: Planked) -> None:
    for layer in boat.layers:
        found = centre_joint(layer, boat.frames)["centre_joint"]
        assert found["apart_max"] == pytest.approx(0.0, abs=0.01)
        assert [found["bevel_min_deg"], found["bevel_max_deg"]] == pytest.approx([20.0, 20.0], abs=0.02)
        inside = [name for name, x in boat.frames if 0.0 < x < 2000.0]
        assert set(found["bevel_at_frames_deg"]) >= set(inside[1:-1])
        assert list(found["bevel_at_frames_deg"].values()) == pytest.approx(
            [20.0] * len(found["bevel_at_frames_deg"]), abs=0.02
        )


def test_planks_moved_apart_at_the_keel_show(boat: Planked) -> None:
    def off(plank: Plank) -> Plank:
        moved = [replace(e, seam=e.seam + np.array([0.0, 1.5, 0.0])) if e.border == "keel" else e for e in plank.ends]
        return replace(plank, ends=tuple(moved))

    layer = boat.layers[0]
    wide = replace(layer, hung=replace(layer.hung, planks=tuple(off(p) for p in layer.planks)))
    assert centre_joint(wide, boat.frames)["centre_joint"]["apart_max"] == pytest.approx(3.0, abs=0.01)
