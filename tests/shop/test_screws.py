"""The screw map: distances measured again on the boat, on planes where every place is known on paper.

Rules: 12 mm from the seams of every layer, 10 mm from screws below, plugs from 16 mm, not through (common practice).
"""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
import shapely
from tests.acceptance.yard import Planked, planked, settings_of
from tests.exact_hulls import Prism
from tests.exact_meshes import Make

from strakewright.frames import Framing
from strakewright.job.fastening import fasten
from strakewright.job.planked import Layer
from strakewright.parts import Margin, Plank
from strakewright.settings import PlankingSettings
from strakewright.shop.screws import Fastening, Ground, screwed

SMALL = Make(triangles=3000)
HULL = Prism(length=2000.0, half_breadth=600.0, deadrise_deg=20.0, side_height=300.0, flare_deg=0.0)
SIDE = PlankingSettings(panel="side", pattern="strakes", thickness=19.0, courses=3, start="sheer", joint="none")
BOTTOM = PlankingSettings(panel="bottom", pattern="herringbone", thickness=9.5, layers=2, width=95.0, joint="none")
RISE = np.radians(20.0)


@pytest.fixture(scope="module")
def boat() -> Planked:
    return planked(HULL.mesh(SMALL), settings_of((BOTTOM, SIDE), spacing=500.0))


@pytest.fixture(scope="module")
def layers(boat: Planked) -> tuple[Layer, ...]:
    return fasten(boat.layers, Framing(), boat.frames, plugs=True)[0]


def screws(plank: Plank) -> np.ndarray:
    return np.concatenate([np.zeros((0, 2)), *(m.points for m in plank.marks if m.kind == "screw")])


def unrolled(space: np.ndarray) -> np.ndarray:
    """Along the boat and up the slope of the plane bottom, whatever the layer."""
    return np.stack([space[:, 0], space[:, 1] * np.cos(RISE) + space[:, 2] * np.sin(RISE)], axis=-1)


def test_a_place_of_the_flat_plank_is_carried_to_the_boat(boat: Planked) -> None:
    """On a plane distances are kept exactly: from the edges' listed points in the flat and on the boat."""
    for plank in boat.port("bottom", 1)[3:6]:
        ground = Ground.of(plank)
        spots = np.array([[300.0, 40.0], [450.0, 20.0]])
        space, normal = ground.on_boat(spots)
        flat = np.linalg.norm(spots[:, None] - plank.first.flat[None], axis=-1)
        real = np.linalg.norm(space[:, None] - plank.first.seam[None], axis=-1)
        assert real == pytest.approx(flat, abs=0.05)
        assert np.abs(normal @ [0.0, np.sin(RISE), -np.cos(RISE)]) == pytest.approx(1.0, abs=1e-4)


def test_screws_keep_clear_of_the_seams_of_both_layers(layers: tuple[Layer, ...]) -> None:
    bottom = [layer for layer in layers if layer.settings.panel == "bottom"]
    seams = [
        shapely.LineString(unrolled(m.seam))
        for layer in bottom
        for p in layer.planks
        if p.on_port
        for m in (p.first, p.second)
        if m.meets == "seam"
    ]
    tree = shapely.STRtree(seams)
    for layer in bottom:
        points = shapely.points(unrolled(layer.screws))
        assert len(points) > 100
        _, gaps = tree.query_nearest(points, return_distance=True)
        assert gaps.min() >= 12.0


def test_the_outer_layer_misses_the_screws_of_the_inner(layers: tuple[Layer, ...]) -> None:
    inner, outer = (unrolled(layer.screws) for layer in layers if layer.settings.panel == "bottom")
    assert np.linalg.norm(inner[:, None] - outer[None], axis=-1).min() >= 10.0


def test_screws_lie_in_the_plank_and_on_the_frames(layers: tuple[Layer, ...], boat: Planked) -> None:
    stations = np.array([x for _, x in boat.frames])
    for layer in layers:
        for p in (p for p in layer.planks if p.on_port):
            wood = shapely.Polygon(p.fitted_outline)
            assert all(wood.contains(shapely.Point(s)) for s in screws(p))
        names = {m.name for p in layer.planks for m in p.marks if m.kind == "screw"}
        if layer.settings.panel == "side":
            assert names == {"plug"}
            assert np.abs(layer.screws[:, 0][:, None] - stations).min(axis=1).min() < 1e-3


def test_thin_layers_get_washers_and_what_is_covered_is_flush(layers: tuple[Layer, ...]) -> None:
    """9.5 mm is under 16: no plugs; 19 mm in all, so the grid takes screws of at most 16 mm."""
    inner, outer = (layer for layer in layers if layer.settings.panel == "bottom")
    assert {m.name for p in inner.planks for m in p.marks if m.kind == "screw"} == {"flush"}
    assert {m.name for p in outer.planks for m in p.marks if m.kind == "screw"} == {"washer", "washer, to 16 mm long"}


def test_planks_are_dressed_to_net_and_what_fairing_takes(layers: tuple[Layer, ...]) -> None:
    """Common practice: 1 mm is left for fairing on sides and outer layers, half of it on a layer that is covered."""
    inner, outer = (layer for layer in layers if layer.settings.panel == "bottom")
    assert {p.cut_thickness for p in inner.planks} == {10.0}
    assert {p.cut_thickness for p in outer.planks} == {10.5}


def test_frames_that_are_sawn_move_the_row_to_their_middle(boat: Planked) -> None:
    side = [p for p in boat.planks if p.panel == "side"]
    how = Fastening(19.0, False, False, True, {name: 16.0 for name, _ in boat.frames})
    found = screwed(side, (), np.zeros((0, 3)), how)
    assert np.abs(found.spots[:, 0][:, None] - np.array([516.0, 1016.0, 1516.0])).min(axis=1).min() < 1e-3
    marked = [p for p in found.planks if p.id.endswith("S")]
    for p in marked:
        mate = next(q for q in found.planks if q.id == p.mate)
        assert np.array_equal(screws(p), screws(mate))


def test_a_frame_without_a_clear_place_is_told(boat: Planked) -> None:
    """Strips 24 mm wide have no place 12 mm clear of both their seams."""
    narrow = planked(HULL.mesh(SMALL), settings_of((replace(SIDE, courses=12),), spacing=500.0))
    _, told = fasten(narrow.layers, Framing(), narrow.frames, plugs=True)
    assert {f.code for f in told} <= {"no-clear-screw"}
    tight = replace(BOTTOM, width=40.0, layers=2)
    crowded = planked(HULL.mesh(SMALL), settings_of((tight,), spacing=500.0))
    _, told = fasten(crowded.layers, Framing(), crowded.frames, plugs=True)
    assert "no-clear-screw" in {f.code for f in told}


def test_a_place_of_a_bent_plank_is_carried_to_the_boat() -> None:
    """A plank 85 wide bent round a cylinder of R 1500 (closed form): 30 mm in from its edge is 30 mm along the axis."""
    s = np.linspace(-500.0, 500.0, 101)

    def edge(across: float) -> Margin:
        flat = np.column_stack([s, np.full(101, across)])
        seam = np.column_stack([1500.0 * np.sin(s / 1500.0), np.full(101, across), 1500.0 * np.cos(s / 1500.0)])
        return Margin("seam", None, None, seam, flat, flat, np.zeros(101), 0.0)

    ring = np.array([[-500.0, 0.0], [500.0, 0.0], [500.0, 85.0], [-500.0, 85.0]])
    bent = SimpleNamespace(first=edge(0.0), second=edge(85.0), net_outline=ring)
    spots, _ = Ground.of(bent).on_boat(np.array([[-480.0, 30.0], [0.0, 60.0]]))  # type: ignore[arg-type]
    turn = -480.0 / 1500.0
    want = [[1500.0 * np.sin(turn), 30.0, 1500.0 * np.cos(turn)], [0.0, 60.0, 1500.0]]
    assert spots == pytest.approx(np.array(want), abs=0.05)
