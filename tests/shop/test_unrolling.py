"""Free-standing surfaces laid flat: hulls known on paper, dirty meshes, refusals."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.bench.flatten_shapes import cylinder, irregular, off_after_fit, sphere_strip, tangents
from tests.exact_hulls import CONE, HELIX, box_prism, cone_wall, helix_wall, running_chine, v_prism
from tests.exact_meshes import Make

from strakewright.arrays import Floats, Ints
from strakewright.errors import InputError, UnworkableError
from strakewright.flats import FlatPanel, Unrolled
from strakewright.geometry.outlines import signed_area
from strakewright.shop.unrolling import flat_checks, unroll_surface

SMALL = Make(triangles=3000)


def codes(done: Unrolled) -> list[str]:
    return [finding.code for finding in done.findings]


def sizes(panel: FlatPanel) -> list[float]:
    return [float(x) for x in np.ptp(panel.flat, axis=0)]


def test_a_box_comes_apart_into_its_planes() -> None:
    """Closed form: bottom 5000 x 1800, sides 5000 x 500; the lowest first."""
    done = unroll_surface(*box_prism(SMALL))
    assert [panel.name for panel in done.panels] == ["panel1", "panel2", "panel3"]
    bottom, *sides = done.panels
    assert sizes(bottom) == pytest.approx([5000.0, 1800.0])
    assert [sizes(side) for side in sides] == [pytest.approx([5000.0, 500.0])] * 2
    assert signed_area(bottom.outline) == pytest.approx(5000.0 * 1800.0)
    assert done.findings == ()
    assert all(check.holds for check in flat_checks(done.panels))


@pytest.mark.parametrize(("mesh", "wall"), [(cone_wall, CONE), (helix_wall, HELIX)])
def test_walls_of_constant_slope_open_to_their_development(mesh, wall) -> None:
    """Closed form of `tests.exact_hulls`; one half of the hull each, mirror images of one another."""
    done = unroll_surface(*mesh(SMALL))
    starboard, port = done.panels
    for panel, mirror in ((port, 1.0), (starboard, -1.0)):
        space = panel.vertices * [1, mirror, 1] + [wall.k, wall._stem_y(), -wall.base]
        theta = _theta(wall, space)
        exact = wall.flat(theta, space[:, 2])
        assert off_after_fit(panel.flat, exact * [1, -mirror]) < 0.01  # seen from outside: mirrored on port


def _theta(wall, space: Floats) -> Floats:
    """Angle of the waterline's tangent at points of a wall (fixed point; exact on the wall)."""
    theta = np.zeros(len(space))
    for _ in range(60):
        centre = wall.k * np.column_stack([np.cos(theta), -np.sin(theta)])
        theta = np.arctan2(*(space[:, :2] - centre).T)
    return theta


def test_mirror_halves_open_to_mirrored_flats() -> None:
    low, high = unroll_surface(*cone_wall(SMALL)).panels
    assert signed_area(low.outline) == pytest.approx(signed_area(high.outline), rel=1e-9)
    assert sizes(low) == pytest.approx(sizes(high), abs=1e-4)


def test_outlines_are_counter_clockwise_and_start_at_the_lower_left() -> None:
    for panel in unroll_surface(*v_prism(SMALL)).panels:
        assert signed_area(panel.outline) > 0
        assert panel.flat.min(axis=0).tolist() == [0.0, 0.0]
        assert panel.outline[0].sum() == panel.outline.sum(axis=1).min()
        assert sizes(panel)[0] >= sizes(panel)[1]


def test_a_window_comes_out_as_a_hole() -> None:
    shape = cylinder(3000)
    middle = shape.flat[shape.triangles].mean(axis=1)
    done = unroll_surface(shape.vertices, shape.triangles[np.hypot(*(middle - [2500, 500]).T) > 250])
    (hole,) = done.panels[0].holes
    assert -signed_area(hole) == pytest.approx(np.pi * 250**2, rel=0.05)
    assert flat_checks(done.panels)[0].holds


def test_loose_triangles_give_the_same_panels() -> None:
    points, faces = box_prism(SMALL)
    loose = unroll_surface(points[faces].reshape(-1, 3), np.arange(3 * len(faces)).reshape(-1, 3))
    whole = unroll_surface(points, faces)
    for a, b in zip(loose.panels, whole.panels, strict=True):
        assert sizes(a) == pytest.approx(sizes(b), abs=1e-6)


def test_winding_is_mended_and_told() -> None:
    points, faces = box_prism(SMALL)
    spoiled = faces.copy()
    spoiled[::5] = spoiled[::5, ::-1]
    done = unroll_surface(points, spoiled)
    assert codes(done) == ["winding-mended"]
    assert done.findings[0].what.startswith(f"{len(faces[::5])} of {len(faces)}")
    assert len(done.panels) == 3


def test_specks_are_left_out_and_told() -> None:
    points, faces = box_prism(SMALL)
    speck = np.array([[0.0, 0, 900], [3, 0, 900], [0, 3, 900]])
    done = unroll_surface(np.concatenate([points, speck]), np.concatenate([faces, np.arange(3)[None] + len(points)]))
    assert codes(done) == ["specks-left-out"]
    assert len(done.panels) == 3


def test_double_curvature_is_told_with_the_width_that_would_do() -> None:
    """Floor K w^2 / 16 = 0.05 %: w = 4 R sqrt(0.0005) = 134 mm at R 1.5 m (closed form)."""
    shape = sphere_strip(600.0, 3000)
    done = unroll_surface(shape.vertices, shape.triangles)
    (finding,) = done.findings
    assert finding.code == "does-not-lie-flat"
    assert "up to 134 mm" in finding.fix
    assert done.panels[0].gauss == pytest.approx((1 / 1500**2, 1 / 1500**2), rel=3e-3)


def test_a_chine_that_fades_is_named_with_the_angle_that_parts_it() -> None:
    """The running chine's fold sinks to 4 degrees in the forefoot: at 15 side and bottom hang together there."""
    mesh = running_chine(Make(triangles=16000))
    done = unroll_surface(*mesh)
    assert codes(done) == ["does-not-lie-flat"] * 2 + ["flats-differ"] * 2  # a surface rounds the hidden chine off
    angle = float(done.findings[0].fix.split("crease angle of ")[1].split(" deg")[0])
    assert 2.0 <= angle <= 4.0
    assert len(unroll_surface(*mesh, crease_deg=angle).panels) == 4


def test_no_crease_is_blamed_on_a_smooth_panel() -> None:
    shape = sphere_strip(600.0, 3000)
    assert "crease" not in unroll_surface(shape.vertices, shape.triangles).findings[0].fix


def test_the_area_check_fails_on_a_wrong_flat() -> None:
    (panel, *_) = unroll_surface(*box_prism(SMALL)).panels
    grown = replace(panel, outline=panel.outline * [1.0, 1.001])
    assert not flat_checks((grown,))[0].holds


# refusals


def test_a_closed_box_at_a_blunt_crease_angle_is_refused_by_name_and_place() -> None:
    points, faces = box_prism(Make(triangles=1500, deck=True, transom=True))
    with pytest.raises(UnworkableError, match=r"panel1 \(x 0 to 5000.*closed"):
        unroll_surface(points, faces, crease_deg=120.0)


def test_a_flat_that_runs_over_itself_is_refused() -> None:
    """Tangents of a helix open about a circle of 1 608 mm: 12 m of them go round more than once (closed form)."""
    shape = tangents(3000, length=12000.0)
    with pytest.raises(UnworkableError, match="runs over itself"):
        unroll_surface(shape.vertices, shape.triangles)


def test_a_twisted_ring_is_refused() -> None:
    """Moebius band: a strip turned by half about a ring of 500 mm, its ends joined the other way round."""
    turn = np.arange(40) * 2 * np.pi / 40
    out = np.column_stack([np.cos(turn), np.sin(turn), np.zeros(40)])
    across = np.cos(turn / 2)[:, None] * out + np.sin(turn / 2)[:, None] * np.array([0, 0, 1.0])
    points = np.concatenate([500 * out + 60 * across, 500 * out - 60 * across])
    a = np.arange(40)
    b = (a + 1) % 40
    c, d = a + 40, (a + 1) % 40 + 40
    b[-1], d[-1] = 40, 0
    faces: Ints = np.concatenate([np.column_stack([a, b, c]), np.column_stack([b, d, c])])
    with pytest.raises(UnworkableError, match="one side"):
        unroll_surface(points, faces, crease_deg=60.0)


def test_no_triangles_are_refused() -> None:
    with pytest.raises(InputError, match="no triangles"):
        unroll_surface(np.zeros((3, 3)), np.zeros((0, 3), dtype=np.int64))


def test_pieces_that_touch_in_one_corner_come_apart() -> None:
    places, faces = irregular(800.0, 400.0, 200)
    space = np.column_stack([places, np.zeros(len(places))])
    far = int(np.argmax(space.sum(axis=1)))
    other = space + space[far] - space[int(np.argmin(space.sum(axis=1)))]
    near = int(np.argmin(space.sum(axis=1)))
    faces_2 = faces + len(space)
    faces_2[faces == near] = far
    done = unroll_surface(np.concatenate([space, other]), np.concatenate([faces, faces_2]))
    assert [round(signed_area(panel.outline)) for panel in done.panels] == [320000, 320000]


def test_a_corner_left_on_a_side_makes_no_hole_and_no_panel() -> None:
    """T-junction: one side of a plate is split on one hand only; the crack has no width."""
    places, faces = irregular(800.0, 400.0, 200)
    space = np.column_stack([places, np.zeros(len(places))])
    inner = int(np.argmin(np.hypot(*(places[faces].mean(axis=1) - [400, 200]).T)))
    a, b, c = faces[inner]
    split = np.array([[a, len(space), c], [len(space), b, c]])
    done = unroll_surface(
        np.concatenate([space, [(space[a] + space[b]) / 2]]), np.concatenate([np.delete(faces, inner, axis=0), split])
    )
    (panel,) = done.panels
    assert panel.holes == ()
    assert signed_area(panel.outline) == pytest.approx(320000.0)


def test_slivers_of_a_single_precision_file_part_nothing() -> None:
    """A plate on the slant with 40 needles without height, its corners rounded as a binary STL does."""
    places, faces = irregular(5000.0, 1000.0, 2000)
    chosen = np.random.default_rng(6).choice(len(faces), 40, replace=False)
    a, b, c = faces[chosen].T
    new = len(places) + np.arange(40)
    slivers = [np.column_stack(each) for each in ((a, b, new), (a, new, c), (new, b, c))]
    places = np.concatenate([places, (places[a] + places[b]) / 2])
    space = places @ np.array([[0.8, 0.36, 0.48], [0.0, 0.8, -0.6]]) + 300.0
    rounded = space.astype(np.float32).astype(np.float64)
    done = unroll_surface(rounded, np.concatenate([np.delete(faces, chosen, axis=0), *slivers]))
    (panel,) = done.panels
    assert done.findings == ()
    assert panel.holes == ()
    assert sizes(panel) == pytest.approx([5000.0, 1000.0], abs=0.002)


def test_a_ball_with_a_small_mouth_folds_over_and_is_refused() -> None:
    """Only 8 degrees about one pole are open: no triangle mesh of it lies flat face up throughout."""
    places, faces = irregular(2.0, 2.0, 4000)
    inside = np.hypot(*(places - 1).T) <= 1
    used, faces = np.unique(faces[inside[faces].all(axis=1)], return_inverse=True)
    x, y = (places[used] - 1).T
    lean, turn = 3.0 * np.hypot(x, y), np.arctan2(y, x)
    ball = 1000 * np.column_stack([np.sin(lean) * np.cos(turn), np.sin(lean) * np.sin(turn), np.cos(lean)])
    with pytest.raises(UnworkableError, match="without folds"):
        unroll_surface(ball, faces.reshape(-1, 3), crease_deg=30.0)
