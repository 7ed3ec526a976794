"""Weights against an independent library's solids, closed forms, and sums by hand."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
import trimesh

from strakewright.arrays import Floats
from strakewright.ledger import Weight, bare_shell, centre_of_gravity, groups, total
from strakewright.outfit import Item, WoodSettings
from strakewright.solids import Body, centroid
from strakewright.weigh.weights import (
    Woods,
    body_weights,
    item_weights,
    lifting_points,
    plank_volume,
    plank_weights,
    spread_weight,
)
from strakewright.write.bodies import bodies_of
from tests.acceptance.conftest import HERRINGBONE, STRAKES
from tests.acceptance.yard import Planked, planked, settings_of
from tests.exact_hulls import Prism


@pytest.fixture(scope="module")
def boat() -> Planked:
    """V bottom in two crossing layers of ash, sides in strakes."""
    from dataclasses import replace

    return planked(Prism(length=2400.0).mesh(), settings_of((replace(STRAKES, courses=4), HERRINGBONE)))


def stood_up(ring: Floats, thickness: float) -> trimesh.Trimesh:
    """A flat shape as a solid of that thickness, triangulated by shapely."""
    pieces = shapely.constrained_delaunay_triangles(shapely.Polygon(ring))
    corners = np.array([shapely.get_coordinates(p)[:3] for p in shapely.get_parts(pieces)])
    index = np.linalg.norm(corners[:, :, None] - ring[None, None], axis=-1).argmin(axis=-1)
    a, b, c = (ring[index[:, k]] for k in range(3))
    turned = np.where(np.cross(b - a, c - a)[:, None] > 0, index, index[:, ::-1])
    n, rim = len(ring), np.arange(len(ring))
    after = np.roll(rim, -1)
    walls = np.concatenate([np.column_stack([rim, after, after + n]), np.column_stack([rim, after + n, rim + n])])
    points = np.concatenate([np.column_stack([ring, np.full(n, z)]) for z in (0.0, thickness)])
    return trimesh.Trimesh(points, np.concatenate([turned[:, ::-1], turned + n, walls]), process=False)


def test_planks_weigh_what_an_independent_library_says_of_their_solids(boat: Planked) -> None:
    """trimesh sums the volumes of the planks' finished flat shapes stood up to their thickness, and finds where the
    planks in their places balance; ash at 12 % is 672 kg/m3 (Wood Handbook gravity 0.60)."""
    bodies = bodies_of(boat.planks, {})
    weights = plank_weights(boat.planks, {b.name: centroid(b) for b in bodies}, Woods())
    flat = [stood_up(p.fitted_outline, p.thickness) for p in boat.planks]
    assert all(s.is_watertight for s in flat)
    assert total(weights) == pytest.approx(sum(s.volume for s in flat) * 672e-9, rel=0.005)
    for weight, solid in zip(weights, flat, strict=True):
        assert weight.mass == pytest.approx(solid.volume * 672e-9, rel=0.005)
    solids = [trimesh.Trimesh(b.vertices, b.triangles, process=False) for b in bodies]
    assert total(weights) == pytest.approx(sum(s.volume for s in solids) * 672e-9, rel=0.01)  # ends not yet fitted
    for weight, solid in zip(weights, solids, strict=True):
        assert weight.centre == pytest.approx(solid.center_mass, abs=1.0)
    middle = sum(s.volume * s.center_mass for s in solids) / sum(s.volume for s in solids)
    assert centre_of_gravity(weights) == pytest.approx(middle, abs=1.5)
    assert centre_of_gravity(weights)[1] == pytest.approx(0.0, abs=1e-3)


def test_planks_of_the_prism_add_up_to_her_skin(boat: Planked) -> None:
    """Mid-surface of each layer x its thickness (plane panels, closed form to the chine's lap): within 1 %."""
    (_, _), (b, rise), (out, top) = Prism(length=2400.0).section()
    girths = np.hypot(b, rise) * 2 * 9.5 + np.hypot(out - b, top - rise) * 19.0
    assert sum(map(plank_volume, boat.planks)) == pytest.approx(2 * girths * 2400.0, rel=0.012)


def test_densities_at_other_moistures_and_of_the_builder() -> None:
    """Ash of 672 kg/m3 at 12 % weighs 720 at 20 %; a measured 600 at 12 % weighs 642.9."""
    assert Woods(moisture=20.0).density("ash") == (pytest.approx(720.0), "derived")
    own = Woods((WoodSettings("white ash", density=600.0),), 20.0)
    assert own.density("white ash") == (pytest.approx(600 * 1.20 / 1.12), "measured")
    assert own.density("teak")[1] != "measured"


def box(name: str, size: tuple[float, float, float], wood: str) -> Body:
    solid = trimesh.creation.box(size)
    return Body(name, solid.vertices + np.array([500.0, 0.0, 100.0]), solid.faces, {"species": wood})


def test_bodies_of_any_wood() -> None:
    """1000 x 100 x 50 mm of Sitka spruce at 448 kg/m3: 2.24 kg in its middle."""
    (row,) = body_weights([box("keelson", (1000.0, 100.0, 50.0), "spruce")], "members", Woods())
    assert row.mass == pytest.approx(2.24)
    assert row.centre == pytest.approx([500.0, 0.0, 100.0])
    assert row.basis == "448 kg/m3, derived"


def test_items_groups_and_the_bare_shell() -> None:
    items = (Item("crew", 80.0, (1500.0, 0.0, 500.0), "person", 2), Item("motor", 45.0, (-100.0, 0.0, 600.0), "motor"))
    planks = [Weight("S1", "planking", 30.0, np.array([2000.0, 0.0, 300.0]))]
    glue = spread_weight("glue", "glue", 2.0, planks, "")
    every = [*planks, glue, *item_weights(items)]
    table = groups(every)
    assert [(g.name, g.mass) for g in table] == [("planking", 30.0), ("glue", 2.0), ("person", 160.0), ("motor", 45.0)]
    assert total(every) == 237.0
    assert centre_of_gravity(every)[0] == pytest.approx((32 * 2000 + 160 * 1500 - 45 * 100) / 237)
    assert total(bare_shell(every)) == 32.0
    aft, forward = lifting_points(every, 4000.0)
    assert (aft + forward) / 2 == pytest.approx(2000.0)
    assert forward - aft == pytest.approx(2000.0)


def test_nothing_has_no_centre() -> None:
    with pytest.raises(ValueError, match="nothing weighs"):
        centre_of_gravity([])
