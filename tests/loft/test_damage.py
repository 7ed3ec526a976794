"""Damaged meshes: mended and told, or refused with a cure.  Expected numbers are those of the undamaged hull."""

from __future__ import annotations

import numpy as np
import pytest

from strakewright.arrays import Floats, Ints
from strakewright.errors import InputError
from strakewright.loft.creases import find_creases
from strakewright.loft.holes import filled, least_area
from strakewright.loft.mending import stitched
from tests import exact_hulls as exact
from tests.exact_meshes import Make
from tests.loft.hulls import codes, lofted, space

MAKE = Make(triangles=5000)
RNG_SEED = 3


def chine_of(mesh: tuple[Floats, Ints], **keys: bool) -> tuple[Floats, set[str]]:
    hull = lofted(mesh, **keys)
    bottom, side = hull.panels
    assert [b.name for b, _ in bottom.ring()] == ["keel", "stem", "chine", "transom"]
    assert [b.name for b, _ in side.ring()] == ["chine", "stem", "sheer", "transom"]
    return space(side, "chine"), codes(hull)


def assert_straight(chine: Floats, within: float) -> None:
    """The running chine lies at half breadth 700, height 800."""
    assert np.abs(chine[:, 1:] - [700.0, 800.0]).max() < within


def test_turned_triangles() -> None:
    vertices, triangles = exact.running_chine(MAKE)
    turned = np.random.default_rng(RNG_SEED).random(len(triangles)) < 0.4
    chine, _ = chine_of((vertices, np.where(turned[:, None], triangles[:, ::-1], triangles)))
    assert_straight(chine, 0.03)


def test_noise_of_a_twentieth_is_smoothed() -> None:
    """Noise 0.05 mm each way: the chine is better than its corners' worst."""
    vertices, triangles = exact.running_chine(Make(triangles=16000))
    noisy = vertices + np.random.default_rng(RNG_SEED).normal(0, 0.05, vertices.shape)
    chine, _ = chine_of((noisy, triangles))
    assert_straight(chine, 0.2)


def test_small_holes_are_closed() -> None:
    vertices, triangles = exact.running_chine(MAKE)
    keep = np.ones(len(triangles), dtype=bool)
    keep[[300, 900, 1500]] = False
    chine, said = chine_of((vertices, triangles[keep]))
    assert "holes-closed" in said
    assert_straight(chine, 0.03)


def test_a_fold_that_parts_nothing_is_told() -> None:
    """A ridge of 28 degrees (2 atan 40/150 on paper) for half a metre of the bottom, fading at both ends."""
    vertices, triangles = exact.v_prism(Make(triangles=5000, jitter=0.0))
    vertices, y = vertices.copy(), np.abs(vertices[:, 1])
    on_bottom = np.abs(vertices[:, 2] - y * np.tan(np.radians(20.0))) < 1e-3
    rows = np.unique(y[on_bottom].round(1))
    ridge = rows[np.argmin(np.abs(rows - 450.0))]
    along = np.clip((350.0 - np.abs(vertices[:, 0] - 2300.0)) / 100.0, 0.0, 1.0)
    vertices[on_bottom, 2] -= (40.0 * along * np.clip(1.0 - np.abs(y - ridge) / 150.0, 0.0, 1.0))[on_bottom]
    assert {"crease-inside-panel", "surface-off-mesh"} <= codes(lofted((vertices, triangles)))


def test_a_large_hole_is_refused() -> None:
    vertices, triangles = exact.v_prism(MAKE)
    away = np.linalg.norm(vertices[triangles].mean(axis=1) - [2500.0, 450.0, 160.0], axis=1) < 300.0
    with pytest.raises(InputError, match="a hole of"):
        lofted((vertices, triangles[~away]))


def test_panels_meshed_one_by_one_are_stitched() -> None:
    """Bottom and side with chine corners of their own: 61 and 83 of them on the same line."""
    shape = exact.TwistedBottom()
    parts = [_grid(shape.length, n, k) for n, k in ((60, 0), (82, 1))]
    vertices = np.concatenate([v for v, _ in parts])
    triangles = np.concatenate([parts[0][1], parts[1][1] + len(parts[0][0])])
    hull = lofted((vertices, triangles), half=True)
    bottom, side = hull.panels
    assert "seams-stitched" in codes(hull)
    assert np.abs(bottom.in_space(bottom.upper) - side.in_space(side.lower)).max() < 0.01
    x, y, z = space(bottom, "chine").T
    assert np.abs(z - y * (shape.t0 + shape.t1 * x)).max() < 0.03


def _grid(length: float, columns: int, which: int) -> tuple[Floats, Ints]:
    """Panel `which` (0 bottom, 1 side) of the twisted bottom on its own regular grid."""
    shape, rows = exact.TwistedBottom(), 12
    x, v = np.meshgrid(np.linspace(0, length, columns + 1), np.linspace(0, 1, rows + 1), indexing="ij")
    rise = shape.t0 + shape.t1 * x
    low = shape.half_breadth * rise
    y, z = (
        (v * shape.half_breadth, v * low)
        if which == 0
        else (np.full_like(v, shape.half_breadth), low + v * (shape.sheer - low))
    )
    corner = np.arange(x.size).reshape(x.shape)
    a, b, c, d = (
        corner[:-1, :-1].ravel(),
        corner[1:, :-1].ravel(),
        corner[:-1, 1:].ravel(),
        corner[1:, 1:].ravel(),
    )
    return np.stack([x, y, z], axis=-1).reshape(-1, 3), np.concatenate([np.stack([a, b, c], 1), np.stack([b, d, c], 1)])


def test_stitching_divides_the_edge_a_corner_lies_on() -> None:
    """Two squares, one with an extra corner in the middle of the shared side (drawn by hand)."""
    vertices = np.array([[0, 0, 0], [0, 0, 10], [0, -9, 5], [0, 0, 0], [0, 0, 5], [0, 0, 10], [0, 9, 5]], float)
    triangles = np.array([[0, 1, 2], [3, 6, 4], [4, 6, 5]])
    _, joined, count = stitched(vertices, triangles)
    assert len(joined) == 4
    assert count > 0


def test_filling_leaves_the_outer_border_alone() -> None:
    """Hexagon of six triangles with one missing at the border is no hole; with a ring round it, it is."""
    vertices, triangles = exact.v_prism(Make(triangles=4000))
    assert filled(vertices, triangles)[1] == []
    y = vertices[triangles, 1]
    inner = np.flatnonzero((y.min(axis=1) > 200) & (y.max(axis=1) < 700))[5]
    mended, spots = filled(vertices, np.delete(triangles, inner, axis=0))
    assert len(spots) == 1
    assert len(mended) == len(triangles)


def test_a_hole_is_closed_with_its_own_area() -> None:
    """An L of 3 x 3 less 2 x 2: 5 by the ruler, where a fan from its foot lies folded on itself and has more."""
    ring = np.array([[0, 0, 0], [3, 0, 0], [3, 1, 0], [1, 1, 0], [1, 3, 0], [0, 3, 0]], dtype=float)
    for start in range(6):
        points = np.roll(ring, start, axis=0)
        a, b, c = points[least_area(points).T]
        assert np.linalg.norm(np.cross(b - a, c - a), axis=1).sum() / 2 == pytest.approx(5.0)


def test_a_hole_at_the_chine_keeps_it() -> None:
    """A chine of 100 mm edges with corners 20 mm to either side, 60 degrees of fold: the chord across the corner has
    less area (1785 mm2 by paper) than the two triangles that were there (2000), and they come back all the same."""
    x = np.arange(0.0, 601.0, 100.0)
    low = np.column_stack([x[:-1] + 50, np.full(6, -20.0), np.zeros(6)])
    high = np.column_stack([x[:-1] + 50, np.full(6, 10.0), np.full(6, 20 * np.sin(np.pi / 3))])
    vertices = np.concatenate([np.column_stack([x, 0 * x, 0 * x]), low, high])
    i, k = np.arange(6), np.arange(5)
    rows = [(i, i + 1, i + 13), (i + 1, i, i + 7), (k + 1, k + 14, k + 13), (k + 7, k + 8, k + 1)]
    triangles = np.concatenate([np.stack(row, axis=1) for row in rows])
    keep = ~((triangles == 3).any(axis=1) & (triangles == 4).any(axis=1))
    far = np.array([[5000.0, 0.0, 0.0], [5000.0, 0.0, 300.0], [5000.0, 1000.0, 0.0]])  # so that it counts as small
    mended, holes = filled(np.concatenate([vertices, far]), np.concatenate([triangles[keep], [[19, 20, 21]]]))
    assert len(holes) == 1
    assert {frozenset(t) for t in mended.tolist()} >= {frozenset(t) for t in triangles.tolist()}


def test_a_hole_a_hand_wide_is_warned_of() -> None:
    vertices, triangles = exact.v_prism(Make(triangles=9000))
    away = np.linalg.norm(vertices[triangles].mean(axis=1) - [2500.0, 450.0, 160.0], axis=1) < 90.0
    told = [f for f in lofted((vertices, triangles[~away])).findings if f.code == "holes-closed"]
    assert [f.level for f in told] == ["warning"]
    assert "x 2" in told[0].what


def test_gap_in_a_crease_is_bridged() -> None:
    """Fold below 2 degrees over 670 mm about x = 4200: carried across on a fair line (here a straight one)."""
    chine, said = chine_of(exact.RunningChine(least=1.2).mesh(Make(triangles=16000)))
    assert "crease-followed" in said
    assert_straight(chine, 0.1)


class _LostChine(exact.RunningChine):
    """Fold 60 degrees aft, none from 0.55 of the length on."""

    def fold(self, x: Floats) -> Floats:
        return 60.0 * np.clip(1.0 - x / (0.55 * self.length), 0.0, 1.0) ** 2


def test_chine_that_is_lost_is_refused() -> None:
    with pytest.raises(InputError, match="is lost there"):
        lofted(_LostChine().mesh(MAKE))


def test_rounded_chine_is_refused_with_what_was_seen() -> None:
    """A corner that opens to a radius of 500 mm: no line parts the panels, and several folds look like one."""
    vertices, triangles = exact.box_prism(Make(triangles=16000))
    radius = 500.0 * np.clip(1.0 - np.abs(vertices[:, 0] - 2500.0) / 400.0, 0.0, 1.0)
    with pytest.raises(InputError, match="crease_deg"):
        lofted((_rounded(vertices, radius), triangles))


@pytest.mark.parametrize(("radius", "facets"), [(60.0, 6), (30.0, 6), (30.0, 3)])
def test_chine_rounded_all_along_is_made_sharp(radius: float, facets: int) -> None:
    """Both panels are planes: they meet at y = 900, z = 0, whatever the fillet."""
    hull = lofted(_filleted(radius, facets), half=True)
    assert "chine-sharpened" in codes(hull)
    assert np.abs(space(hull.panels[0], "chine")[:, 1:] - [900.0, 0.0]).max() < 0.001


def test_a_corner_too_round_to_be_a_chine_is_refused() -> None:
    """Radius 220 over 45 degrees is 173 mm of girth: wider than a plank."""
    with pytest.raises(InputError, match="looks like a rounded chine"):
        lofted(_filleted(220.0, 16), half=True)


def test_round_bilge_is_only_told() -> None:
    """Radius 350: 16 degrees in a hand's breadth; wood in narrow strips still does it (common practice, no source)."""
    assert "tight-turn" in codes(lofted(_filleted(350.0, 12), half=True))


def _filleted(radius: float, facets: int) -> tuple[Floats, Ints]:
    """Flat bottom 900 wide, side at 45 degrees, their corner a fillet of flat facets; the same all along."""
    fold = np.pi / 4
    start = 900.0 - radius * np.tan(fold / 2)
    turn = np.linspace(0.0, fold, facets + 1)
    arc = np.stack([start + radius * np.sin(turn), radius * (1 - np.cos(turn))], axis=1)
    bottom = np.stack([np.linspace(0.0, start, 22)[:-1], np.zeros(21)], axis=1)
    rise = np.linspace(0.0, 600.0, 16)[1:, None] * [np.cos(fold), np.sin(fold)]
    section = np.concatenate([bottom, arc, arc[-1] + rise])
    return swept(section, np.linspace(0.0, 5000.0, 100))


def swept(section: Floats, x: Floats) -> tuple[Floats, Ints]:
    """A section (n, 2) of y, z drawn along x."""
    vertices = np.array([[a, *yz] for a in x for yz in section])
    corner = np.arange(len(vertices)).reshape(len(x), -1)
    a, b, c, d = (s.ravel() for s in (corner[:-1, :-1], corner[1:, :-1], corner[:-1, 1:], corner[1:, 1:]))
    return vertices, np.concatenate([np.stack([a, b, c], axis=1), np.stack([b, d, c], axis=1)])


def _rounded(vertices: Floats, radius: Floats) -> Floats:
    """The square corner (900, 0) of the box rounded, girth kept."""
    x, y, z = vertices.T
    run = np.where(np.abs(y) > 899.999, 900.0 + z, np.abs(y))  # girth from the keel
    arc = radius * np.pi / 2
    begin = 900.0 - arc / 2
    turn = np.clip((run - begin) / np.maximum(radius, 1e-9), 0.0, np.pi / 2)
    new_y = np.minimum(run, begin) + radius * np.sin(turn)
    new_z = radius * (1 - np.cos(turn)) + np.maximum(run - begin - arc, 0.0)
    soft = radius > 1e-6
    return np.stack(
        [x, np.where(soft, np.sign(y) * new_y, y), np.where(soft, np.where(run < 1e-9, 0.0, new_z), z)], axis=1
    )


def test_short_noise_creases_part_nothing() -> None:
    """One corner pushed in by 10 mm folds its neighbours past 15 degrees; the panel stays whole."""
    vertices, triangles = exact.v_prism(Make(triangles=6000, whole=False))
    inner = np.argmin(np.linalg.norm(vertices - [2500.0, 450.0, 163.8], axis=1))
    vertices[inner, 2] += 10.0
    assert np.degrees(find_creases(vertices, triangles, 15.0).fold.max()) > 15.0
    hull = lofted((vertices, triangles), half=True)
    assert [p.name for p in hull.panels] == ["bottom", "side"]
    assert hull.panels[0].residual > 1.0
    assert "surface-off-mesh" in codes(hull)


def _beside(mesh: tuple[Floats, Ints], corners: list[list[float]], faces: list[list[int]]) -> tuple[Floats, Ints]:
    vertices, triangles = mesh
    return np.concatenate([vertices, corners]), np.concatenate([triangles, np.array(faces) + len(vertices)])


def test_chips_are_left_out() -> None:
    chip = [[1000.0, 400.0, 700.0], [1040.0, 400.0, 700.0], [1000.0, 440.0, 720.0]]
    mirror = [[x, -y, z] for x, y, z in chip]
    mesh = _beside(exact.v_prism(MAKE), chip + mirror, [[0, 1, 2], [3, 4, 5]])
    assert "loose-pieces" in chine_of(mesh)[1]


def test_bulkheads_beside_the_skin_are_set_aside() -> None:
    """One across at x = 2000 and one reaching past the after end: neither counts for x = 0."""
    plate = [[2000.0, -500, 300], [2000.0, 500, 300], [2000.0, 500, 600], [2000.0, -500, 600]]
    rudder = [[-300.0, 5, 0], [50.0, 5, 0], [50.0, 5, 300], [-300.0, -5, 0], [50.0, -5, 0], [50.0, -5, 300]]
    faces = [[0, 1, 2], [0, 2, 3], [4, 5, 6], [7, 8, 9]]
    vertices, triangles = exact.v_prism(MAKE)
    lifted = vertices + np.array([0.0, 0.0, 100.0])  # so that the rudder touches nothing
    hull = lofted(_beside((lifted, triangles), plate + rudder, faces))
    assert {"bodies-set-aside"} <= codes(hull)
    assert hull.length == pytest.approx(5000.0)


def test_inner_skin_is_set_aside_and_an_open_chine_refused() -> None:
    vertices, triangles = exact.v_prism(Make(triangles=3000))
    inner = vertices * 0.97 + np.array([75.0, 0.0, 30.0])
    hull = lofted(_beside((vertices, triangles), inner.tolist(), triangles[:, ::-1].tolist()))
    assert "inside-set-aside" in codes(hull)
    assert np.abs(space(hull.panels[0], "chine")[:, 1] - 900.0).max() < 0.01
    side = vertices[triangles].mean(axis=1)[:, 2] > 327.7
    lifted = np.concatenate([triangles[~side], triangles[side] + len(vertices)])
    with pytest.raises(InputError, match="Close the gap"):
        lofted((np.concatenate([vertices, vertices + np.array([0.0, 0.0, 8.0])]), lifted))


def test_specks_between_folds_are_joined() -> None:
    """A pimple of 40 mm with sides steeper than any crease, on the middle of the bottom."""
    vertices, triangles = exact.v_prism(Make(triangles=16000, whole=False))
    away = np.linalg.norm(vertices[:, :2] - [2500.0, 450.0], axis=1)
    pushed = vertices + np.outer(np.where(away < 60.0, 25.0, 0.0), [0.0, 0.0, 1.0])
    assert "specks-joined" in codes(lofted((pushed, triangles), half=True))


def test_a_raft_is_one_level_panel() -> None:
    """A flat plate has no bottom and side to tell apart; it is named like every single panel."""
    hull = lofted(swept(np.stack([np.linspace(-500, 500, 9), np.zeros(9)], axis=1), np.linspace(0, 3000, 20)))
    assert [p.name for p in hull.panels] == ["side"]
    assert hull.panels[0].lower.name == "keel"


def test_too_many_panels_say_where() -> None:
    s = np.arange(12.0)
    section = np.stack([100.0 + 60.0 * (s + (s % 2)), 100.0 * s], axis=1)
    with pytest.raises(InputError, match="falls into 11 panels"):
        lofted(swept(section, np.linspace(0, 4000, 30)), half=True)
