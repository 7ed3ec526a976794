"""Rings of every plank of several boats: contract ("edges and ends together make the whole ring") and trade rule A2.

A2: each edge of a face lies (t/2) tan(bevel) from the fitted mid-thickness edge, square to it, + = outside wider;
`outline` holds both faces.  Expected lines are worked out here from `fitted` and `bevel` alone.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from tests.acceptance.conftest import STRAKES
from tests.acceptance.yard import Planked, margins, planked, settings_of
from tests.exact_hulls import Prism
from tests.exact_meshes import Make

from strakewright.arrays import Floats
from strakewright.parts import Margin, Plank

BOATS = ["prism", "capped", "lapped", "running", "arc_diagonal", "twisted", "jointed", "sphere"]
each_boat = pytest.mark.parametrize("name", BOATS)
RINGS = ("net_outline", "fitted_outline", "face_inside", "face_outside", "outline")
GLUE_AND_CHORD = 0.05 + 0.05  # half the glue line, and what the line to cut may leave the true curve


@pytest.fixture
def boat(name: str, request: pytest.FixtureRequest) -> Planked:
    found: Planked = request.getfixturevalue(name)
    return found


def chained(plank: Plank) -> Floats:
    """The ring that edges and ends make when laid end to end."""
    rest = [m.flat for m in margins(plank)]
    chain = [rest.pop(0)]
    while rest:
        at = next((i for i, x in enumerate(rest) if min(_gap(x[0], chain), _gap(x[-1], chain)) < 1e-6), None)
        assert at is not None, f"{plank.id}: no stretch goes on from {chain[-1][-1]}"
        piece = rest.pop(at)
        chain.append(piece if _gap(piece[0], chain) < 1e-6 else piece[::-1])
    assert _gap(chain[0][0], chain) < 1e-6
    return np.concatenate([c[:-1] for c in chain])


def _gap(point: Floats, chain: list[Floats]) -> float:
    return float(np.linalg.norm(point - chain[-1][-1]))


@each_boat
def test_edges_and_ends_make_the_whole_ring(boat: Planked) -> None:
    for plank in boat.planks:
        ring = chained(plank)
        assert len(ring) == len(plank.net_outline)
        apart = shapely.Polygon(ring).symmetric_difference(shapely.Polygon(plank.net_outline)).area
        assert apart < 1e-3


@each_boat
def test_rings_are_simple_and_counter_clockwise(boat: Planked) -> None:
    for plank in boat.planks:
        for name in RINGS:
            ring = shapely.LinearRing(getattr(plank, name))
            assert ring.is_simple, (plank.id, name)
            assert ring.is_ccw, (plank.id, name)


def squarely_out(margin: Margin, plank: Plank) -> Floats:
    """Unit directions square to the fitted edge, out of the plank."""
    along = np.gradient(margin.fitted, axis=0)
    along /= np.linalg.norm(along, axis=1, keepdims=True)
    out = np.stack([along[:, 1], -along[:, 0]], axis=1)
    ring = margins(plank)
    inside = np.concatenate([m.flat for m in ring]).mean(axis=0)
    middle = len(out) // 2
    probe = shapely.Point(margin.flat[middle] + 0.02 * out[middle])
    if len(margin.flat) < 3:
        return out if out[0] @ (margin.flat.mean(axis=0) - inside) > 0 else -out
    return -out if shapely.Polygon(plank.net_outline).contains(probe) else out


def face_line(margin: Margin, plank: Plank, sign: float) -> Floats:
    return np.asarray(
        margin.fitted + (sign * plank.thickness / 2 * np.tan(margin.bevel))[:, None] * squarely_out(margin, plank)
    )


@each_boat
def test_faces_lie_half_the_thickness_by_the_bevel_from_the_fitted_edge(boat: Planked) -> None:
    """No point of an expected edge lies inside the face; most lie on its ring (near corners another edge cuts)."""
    for plank in boat.planks:
        for face, sign in (("face_outside", 1.0), ("face_inside", -1.0)):
            ring = np.asarray(getattr(plank, face))
            body, line = shapely.Polygon(ring), shapely.LinearRing(ring)
            for m in (m for m in margins(plank) if len(m.flat) > 12):
                points = shapely.points(face_line(m, plank, sign)[2:-2])
                off = np.asarray(shapely.distance(line, points))
                deep = off[shapely.contains(body, points)]
                assert deep.max(initial=0.0) < 0.03, (plank.id, face, m.meets)
                assert np.median(off) < 0.03, (plank.id, face, m.meets)


@pytest.mark.parametrize(("degrees", "apart"), [(10.0, 1.7), (30.0, 5.5), (60.0, 16.5)])
def test_worked_faces_of_a_19_mm_plank(degrees: float, apart: float) -> None:
    """A2: the faces lie 1.7 mm from the mid-thickness edge at 10 degrees, 5.5 at 30, 16.5 at 60: keel edges of a bottom
    that rises so, the outside wider."""
    hull = Prism(length=1500.0, half_breadth=300.0, deadrise_deg=degrees, side_height=300.0)
    bottom = replace(STRAKES, panel="bottom", start="keel", courses=2)
    garboard = planked(hull.mesh(Make(triangles=1500)), settings_of((bottom,))).port("bottom")[0]
    keel = garboard.first
    assert keel.border == "keel"
    across = keel.fitted[:, 1].mean()
    to_seam = np.sign(garboard.second.fitted[:, 1].mean() - across)
    for face, sign in (("face_outside", -1.0), ("face_inside", 1.0)):
        reach = (to_seam * getattr(garboard, face)[:, 1]).min() - to_seam * across
        assert reach == pytest.approx(sign * apart, abs=0.06)


@each_boat
def test_the_line_to_cut_holds_both_faces(boat: Planked) -> None:
    for plank in boat.planks:
        body = shapely.Polygon(plank.outline)
        for ring in (plank.face_inside, plank.face_outside):
            assert shapely.distance(body, shapely.points(ring)).max() < GLUE_AND_CHORD, plank.id


@each_boat
def test_exactly_one_mark_for_every_frame_crossed_and_it_crosses_the_whole_plank(boat: Planked) -> None:
    """A frame is crossed when its x lies between the plank's least and greatest."""
    for plank in boat.planks:
        x = np.concatenate([m.seam for m in margins(plank)])[:, 0]
        crossed = sorted(name for name, at in boat.frames if x.min() + 0.5 < at < x.max() - 0.5)
        marks = [m for m in plank.marks if m.kind == "frame"]
        assert sorted(m.name for m in marks) == crossed, plank.id
        ring = shapely.LinearRing(plank.net_outline)
        for mark in marks:
            assert shapely.distance(ring, shapely.points(mark.points[[0, -1]])).max() < 0.05, (plank.id, mark.name)


@each_boat
def test_edges_run_aft_to_forward_or_keel_to_chine(boat: Planked) -> None:
    for plank in boat.planks:
        for m in (plank.first, plank.second):
            assert len(m.flat) >= 2
            assert m.flat[-1, 0] >= m.flat[0, 0]


@each_boat
def test_mates_have_equal_numbers_and_opposite_sides(boat: Planked) -> None:
    by_id = {p.id: p for p in boat.planks}
    for plank in boat.planks:
        mate = by_id[plank.mate or ""]
        assert mate.mate == plank.id
        assert {plank.side, mate.side} == {"port", "starboard"}
        assert plank.face_up != mate.face_up
        for name in RINGS:
            assert np.array_equal(getattr(plank, name), getattr(mate, name))
        assert np.array_equal(plank.first.seam * [1, -1, 1], mate.first.seam)
        port = np.concatenate([m.seam for m in margins(plank)])[:, 1].mean() > 0
        assert port == (plank.side == "port")
