"""Sawn frames on hulls known on paper.

Sources: trigonometry of planes (prism, wedge); the rules of faces, bevels, notches and limbers (common practice, no
source) by their worked numbers: a log at 25 degrees shifts 15 mm across 32 mm of frame, 0.3 mm over the siding counts
as square, 20 mm limbers are 25 x 15, at least half the moulded depth stays behind a notch.  Solids are cut by an
independent library (manifold3d through trimesh).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
import trimesh
from tests.acceptance.shapes import raked_wedge
from tests.acceptance.yard import settings_of
from tests.exact_hulls import Prism, RunningChine
from tests.exact_meshes import Make, Mesh
from tests.shop.sticks import stick

from strakewright.frames import FramePiece, Framing, SawnFrame
from strakewright.loft.hulls import loft_hull
from strakewright.members import Member
from strakewright.proof.framing import judge_frames
from strakewright.settings import PlankingSettings
from strakewright.shop.framebodies import piece_body
from strakewright.shop.frameparts import part_of, pattern_of, seen
from strakewright.shop.frames import saw_frame
from strakewright.shop.inside import Inside, inside_of
from strakewright.shop.notches import limber_ring, notch_ring
from strakewright.shop.rawpieces import FrameSpec
from strakewright.shop.setup import set_up
from strakewright.triangles import TriangleMesh

SMALL = Make(triangles=5000)
SIDE = PlankingSettings(panel="side", pattern="strakes", thickness=19.0, courses=4, start="sheer")
BOTTOM = PlankingSettings(panel="bottom", pattern="herringbone", thickness=9.5, layers=2, width=100.0)
PRISM = Prism(length=3000.0)
SPEC = FrameSpec()
UP, AHEAD = np.array([0.0, 0.0, 1.0]), np.array([1.0, 0.0, 0.0])


def inside(mesh: Mesh, *planking: PlankingSettings, surface: str = "outside") -> Inside:
    hull = loft_hull(TriangleMesh(*mesh), settings_of(planking, surface=surface).hull, "x")
    return inside_of(hull, planking)


@pytest.fixture(scope="module")
def prism() -> Inside:
    return inside(PRISM.mesh(SMALL), SIDE, BOTTOM)


@pytest.fixture(scope="module")
def wedge() -> Inside:
    return inside(raked_wedge(29.0, 0.0, SMALL), SIDE)


def keelson() -> Member:
    """40 x 45 on the centreline, its outer face 10 mm above the keel's inside (so that it stands in the V)."""
    return stick("keelson", np.array([0.0, 0.0, 30.0]), AHEAD, UP, (40.0, 45.0), "centre")


def batten(plan_deg: float = 25.0) -> Member:
    """25 x 20 on the inside of the bottom, running across it at an angle in the bottom's own plane."""
    d, a = np.radians(20.0), np.radians(plan_deg)
    inward, out = np.array([0.0, -np.sin(d), np.cos(d)]), np.array([0.0, np.cos(d), np.sin(d)])
    start = np.array([1300.0, 0.0, 19.0 / np.cos(d)]) + 250.0 * out - 500 * (np.cos(a) * AHEAD + np.sin(a) * out)
    return stick("batten", start, np.cos(a) * AHEAD + np.sin(a) * out, inward, (25.0, 20.0), "port")


def saw(inside: Inside, station: float = 1300.0, members: tuple[Member, ...] = (), **spec: object) -> SawnFrame:
    frame, _ = saw_frame("F1", station, replace(SPEC, **spec), inside, members)  # type: ignore[arg-type]
    assert frame is not None
    return frame


def piece(frame: SawnFrame, name: str) -> FramePiece:
    return {p.id: p for p in frame.pieces}[f"F1-{name}"]


def test_outline_of_the_v_prism_is_the_inside_of_planking(prism: Inside) -> None:
    """Square bevels: both faces alike; outer edges on the two inner lines, inner edges 70 mm from them."""
    frame = saw(prism, joint="gusset", limber=0.0)
    d, f = np.radians(20.0), np.radians(10.0)
    _, chine, _ = PRISM.section()
    n_bottom, n_side = np.array([np.sin(d), -np.cos(d)]), np.array([np.cos(f), -np.sin(f)])
    bottom, side = piece(frame, "bottom-P").control, piece(frame, "side-P").control
    for ring, normal, level in ((bottom, n_bottom, -19.0), (side, n_side, n_side @ chine - 19.0)):
        depth = level - ring @ normal
        assert depth.min() == pytest.approx(0.0, abs=0.05)
        assert depth.max() == pytest.approx(70.0, abs=0.05)
    corner = np.linalg.solve([n_bottom, n_side], [-19.0, n_side @ chine - 19.0])
    for ring in (bottom, side):  # cut on the bisector: both hold the corner and the point 70 mm inside it
        inner = np.linalg.solve([n_bottom, n_side], [-89.0, n_side @ chine - 89.0])
        for point in (corner, inner):
            assert np.linalg.norm(ring - point, axis=1).min() < 0.05
    assert all(b.square for p in frame.pieces for b in p.bevels)


def test_bevelled_faces_of_the_wedge(wedge: Inside) -> None:
    """Sides closing at 29 degrees: 32 mm further forward the face is 32 tan 29 = 17.7 mm narrower; it looks aft."""
    frame = saw(wedge, 2500.0)
    a = np.radians(29.0)
    side = piece(frame, "side-P")
    assert frame.control_faces == "aft"
    assert side.control_faces == "aft"
    assert side.x_other - side.x_control == 32.0
    assert side.control[:, 0].max() - side.other[:, 0].max() == pytest.approx(32 * np.tan(a), abs=0.05)
    assert side.control[:, 0].max() == pytest.approx(1500 * np.tan(a) - 19 / np.cos(a), abs=0.05)
    assert [b.angle for b in side.bevels] == pytest.approx([a] * len(side.bevels), abs=np.radians(0.02))
    assert not any(b.square for b in side.bevels)


def test_square_below_three_tenths(wedge: Inside) -> None:
    """32 mm x tan b < 0.3 for b < 0.537 degrees."""
    hull = inside(raked_wedge(0.5, 0.0, SMALL), replace(SIDE, thickness=3.0))
    assert all(b.square for b in saw(hull, 500.0, moulded=15.0).pieces[0].bevels)
    hull = inside(raked_wedge(0.6, 0.0, SMALL), replace(SIDE, thickness=3.0))
    assert not any(b.square for b in saw(hull, 500.0, moulded=15.0).pieces[0].bevels)


def test_where_signs_differ_the_cut_line_holds_both_faces() -> None:
    """Chine straight along x: the bottom's deadrise and the side's slope both change, so forward some planking leans
    aft while other leans forward.  Every face lies in its cut line, and one line alone would not do."""
    shape = RunningChine()
    hull = inside(shape.mesh(Make(triangles=9000)), SIDE, BOTTOM)
    frame = saw(hull, 5000.0, joint="gusset")
    signs = {np.sign(b.angle) for p in frame.pieces for b in p.bevels if not b.square}
    assert signs == {-1.0, 1.0}
    for p in frame.pieces:
        cut = shapely.Polygon(p.outline).buffer(0.06)
        assert cut.contains(shapely.Polygon(p.control))
        assert cut.contains(shapely.Polygon(p.other))
    standing = [p for p in frame.pieces if p.bevels and min(b.angle for b in p.bevels) < -np.radians(1.0)]
    assert any(not shapely.Polygon(p.control).buffer(0.06).contains(shapely.Polygon(p.other)) for p in standing)


def test_face_is_chosen_by_the_larger_removal() -> None:
    """The same hull turned end for end changes the face."""
    mesh = raked_wedge(29.0, 0.0, SMALL)
    ahead = saw(inside(mesh, SIDE), 2500.0)
    shape = RunningChine()
    hull = inside(shape.mesh(Make(triangles=9000)), SIDE, BOTTOM)
    for station in (900.0, 2600.0, 4700.0):
        frame = saw(hull, station, joint="gusset")
        way = 1.0 if frame.control_faces == "aft" else -1.0
        total = 0.0
        for p in frame.pieces:
            if p.side == "port" and p.bevels:
                at, angle = np.array([b.at for b in p.bevels]), np.array([b.angle for b in p.bevels])
                steps = np.linalg.norm(np.diff(at, axis=0), axis=1)
                total += float((np.tan((angle[1:] + angle[:-1]) / 2) * steps).sum())
        assert total > 0, (station, way)
    assert ahead.control_faces == "aft"


def test_lapped_pieces_stand_on_either_side_of_the_station_line(prism: Inside) -> None:
    frame = saw(prism, joint="lap")
    side, bottom, floor = (piece(frame, n) for n in ("side-P", "bottom-P", "floor"))
    assert side.x_control == bottom.x_control == floor.x_control == 1300.0
    assert (side.x_other - 1300.0) * (bottom.x_other - 1300.0) < 0
    assert (floor.x_other - 1300.0) * (bottom.x_other - 1300.0) < 0
    lap = shapely.Polygon(side.control).intersection(shapely.Polygon(bottom.control)).area
    assert lap == pytest.approx(70.0 * 70.0 / np.sin(np.radians(60.0)), rel=0.02)  # a rhomb: theta is 120 degrees
    assert shapely.Polygon(side.control).intersection(shapely.Polygon(floor.control)).area < 1e-6


def test_gusset_on_the_far_face_stands_back_from_the_planking(prism: Inside) -> None:
    frame = saw(prism, joint="gusset")
    gusset, side = piece(frame, "gusset-P"), piece(frame, "side-P")
    assert gusset.x_control == side.x_other
    d, f = np.radians(20.0), np.radians(10.0)
    _, chine, _ = PRISM.section()
    n_bottom, n_side = np.array([np.sin(d), -np.cos(d)]), np.array([np.cos(f), -np.sin(f)])
    assert (-19.0 - gusset.control @ n_bottom).min() == pytest.approx(10.0, abs=0.05)
    assert (n_side @ chine - 19.0 - gusset.control @ n_side).min() == pytest.approx(10.0, abs=0.05)


def test_half_lap_halves_both_pieces(prism: Inside) -> None:
    """Volume of two pieces halved = volume of their common outline less what the bevel of nothing takes."""
    frame = saw(prism, joint="half lap", limber=0.0)
    side, bottom = piece(frame, "side-P"), piece(frame, "bottom-P")
    assert side.x_control == bottom.x_control
    assert {h.face for h in side.halves} | {h.face for h in bottom.halves} == {"control", "other"}
    both = shapely.Polygon(side.control).union(shapely.Polygon(bottom.control)).area * 32.0
    volume = sum(solid(p).volume for p in (side, bottom))
    assert volume == pytest.approx(both, rel=2e-3)


def test_notch_is_the_exact_oblique_section() -> None:
    """A stick 32 square crossing at 25 degrees: 33 / cos 25 wide with half a millimetre on each side; across 32 mm of
    frame it shifts 32 tan 25 = 14.9 mm, and that much less is sawn square."""
    a = np.radians(25.0)
    log = stick("log", np.array([0.0, 300.0, 0.0]), np.array([np.cos(a), np.sin(a), 0.0]), UP, (32.0, 32.0), "port")
    near, far = (notch_ring(log, x, 0.5) for x in (1000.0, 1032.0))
    assert np.ptp(near[:, 0]) == pytest.approx(33.0 / np.cos(a), abs=1e-6)
    assert near[:, 1].max() == pytest.approx(32.0, abs=1e-6)  # no clearance on the bearing
    assert near[:, 1].min() < -200.0  # open to the planking
    assert far[:, 0].max() - near[:, 0].max() == pytest.approx(14.92, abs=0.01)
    middle = 300.0 + 1000.0 * np.tan(a)
    assert (near[:, 0].max() + near[:, 0].min()) / 2 == pytest.approx(middle, abs=1e-6)


def test_notches_on_both_faces_cut_to_what_they_share(prism: Inside) -> None:
    frame = saw(prism, members=(batten(), keelson()), joint="gusset")
    notch = next(n for n in piece(frame, "bottom-P").notches if n.member == "batten")
    both = shapely.Polygon(notch.control).intersection(shapely.Polygon(notch.other))
    assert shapely.Polygon(notch.cut).symmetric_difference(both).area < 1e-6
    assert shapely.Polygon(notch.control).area > both.area + 100.0
    assert notch.left == pytest.approx(70.0 - 20.0, abs=0.1)
    assert not shapely.Polygon(piece(frame, "bottom-P").outline).contains(shapely.Polygon(notch.cut).centroid)


def solid(p: FramePiece) -> trimesh.Trimesh:
    body = piece_body(p)
    mesh = trimesh.Trimesh(body.vertices, body.triangles, process=False)
    assert mesh.is_watertight
    return mesh


def member_solid(m: Member) -> trimesh.Trimesh:
    corners = m.swept.corners[[0, -1]].reshape(-1, 3)
    hull: trimesh.Trimesh = trimesh.Trimesh(corners).convex_hull
    return hull


def common(a: trimesh.Trimesh, b: trimesh.Trimesh) -> float:
    """mm3 that two solids share."""
    both = trimesh.boolean.intersection([a, b])
    return 0.0 if both.is_empty else float(both.volume)


@pytest.mark.parametrize("joint", ["gusset", "lap", "half lap"])
def test_pared_notches_clear_the_members(prism: Inside, joint: str) -> None:
    """Solid of every piece against the solid of every stick: nothing in common.  Unpared, there is plenty."""
    members = (batten(), keelson())
    frame = saw(prism, members=members, joint=joint)
    bare = saw(prism, joint=joint)
    for m in members:
        wood = member_solid(m)
        hits = [p for p in frame.pieces if p.side != "starboard"]
        assert sum(common(solid(p), wood) for p in hits) < 20.0  # of 25 000 mm3
        before = [p for p in bare.pieces if p.side != "starboard"]
        assert sum(common(solid(p), wood) for p in before) > 1e4


def test_limber_is_25_by_15_at_the_planking_beside_the_keelson(prism: Inside) -> None:
    """20 mm asked for; its middle stands 12 mm off the keelson's side."""
    ring = limber_ring(np.array([[0.0, 0.0], [500.0, 0.0]]), 100.0, 20.0, 0.0)
    arch = ring[ring[:, 1] >= -1e-9]
    assert np.ptp(arch[:, 0]) == pytest.approx(25.0)
    assert arch[:, 1].max() == pytest.approx(15.0)
    frame = saw(prism, members=(keelson(),))
    bottom, floor = piece(frame, "bottom-P"), piece(frame, "floor")
    middles = sorted(float(r[[0, 16], 0].mean()) for r in bottom.limbers)
    assert any(abs(m - (20.0 + 12.0)) < 0.1 for m in middles)
    assert len(floor.limbers) >= 2
    for p in (bottom, floor):
        for r in p.limbers:
            assert shapely.Polygon(p.control).intersection(shapely.Polygon(r)).area < 1e-6
    side = piece(frame, "side-P")
    for r in bottom.limbers:  # clear of the joint
        assert shapely.Polygon(r).intersection(shapely.Polygon(side.control)).area < 1e-6


def test_deep_notches_and_curved_grain_are_told(prism: Inside) -> None:
    deep = replace(batten(), swept=stick("b", *_deep(), (25.0, 50.0), "port").swept)
    _, told = saw_frame("F1", 1300.0, SPEC, prism, (deep,))
    assert "notch-deep" in {f.code for f in told}


def _deep() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    b = batten().swept.blank
    return b.outer[0], b.outer[-1] - b.outer[0], b.deep[0]


def test_curved_grain_is_told() -> None:
    """A section that is an arc of R 0.6 m: the piece's line turns far more than 1 in 12 out of its chord."""

    def arc() -> Mesh:
        from tests.exact_meshes import hull_of

        def face(u: np.ndarray, v: np.ndarray) -> np.ndarray:
            a = np.radians(5.0 + 80.0 * v)
            return np.stack([u * 2000.0, 600.0 * np.sin(a), 600.0 * (1 - np.cos(a))], axis=-1)

        return hull_of([face], SMALL)

    _, told = saw_frame("F1", 900.0, SPEC, inside(arc(), replace(SIDE, thickness=8.0)), ())
    assert "frame-grain" in {f.code for f in told}


def test_no_room_for_a_frame_is_told(wedge: Inside) -> None:
    frame, told = saw_frame("F9", 3990.0, SPEC, wedge, ())
    assert frame is None
    assert [f.code for f in told] == ["frame-no-room"]


def test_part_shows_the_control_face_with_its_grain_along_x(prism: Inside) -> None:
    """Looking forward (face aft) port is on the left; looking aft it is on the right."""
    assert seen(np.array([[3.0, 1.0]]), "aft").tolist() == [[-3.0, 1.0]]
    assert seen(np.array([[3.0, 1.0]]), "forward").tolist() == [[3.0, 1.0]]
    frame = saw(prism, joint="gusset")
    port, starboard = part_of(piece(frame, "side-P"), 400.0), part_of(piece(frame, "side-S"), 400.0)
    area = shapely.Polygon(piece(frame, "side-P").outline).area
    for part in (port, starboard):
        assert shapely.Polygon(part.outline).area == pytest.approx(area, rel=1e-3)
        long, wide = np.ptp(part.outline, axis=0)
        assert long > 3 * wide
        assert {m.name for m in part.marks} >= {"sheer", "spall"}
    assert port.mate == starboard.id
    assert not port.may_flip


def test_pattern_says_which_face_is_big(wedge: Inside) -> None:
    drawn = pattern_of(saw(wedge, 2500.0))
    assert "AFT face" in drawn.title
    assert any("BIG FACE = AFT" in note for note in drawn.notes)
    kinds = {line.kind for line in drawn.lines}
    assert {"cut", "other face", "centreline"} <= kinds
    assert any(line.words == "+29.0°" for line in drawn.lines)


# -- proof: each check breaks ------------------------------------------------------------------------


def proved(frame: SawnFrame, members: tuple[Member, ...] = ()) -> dict[str, bool]:
    sheet, frames, _ = set_up([frame], [], None, 3000.0)
    return {c.name: c.holds for c in judge_frames(Framing(frames, (), sheet), members)}


def test_sound_frames_pass_every_check(prism: Inside) -> None:
    members = (batten(), keelson())
    assert all(proved(saw(prism, members=members), members).values())


def test_every_check_of_frames_can_fail(prism: Inside) -> None:
    members = (batten(), keelson())
    frame = saw(prism, members=members)
    first = frame.pieces[0]
    thin = replace(first, outline=first.outline * np.array([0.99, 1.0]))
    assert not proved(replace(frame, pieces=(thin, *frame.pieces[1:])))["frame faces outside their cut line"]
    askew = replace(first, outline=first.outline + 0.01)
    assert not proved(replace(frame, pieces=(askew, *frame.pieces[1:])))["frame halves not mirrored"]
    assert not proved(saw(prism), members)["frame wood where members pass"]
    sheet, frames, _ = set_up([frame], [], None, 3000.0)
    row = sheet.rows[0]
    wrong = replace(row, diagonals={k: (a + 0.2, b) for k, (a, b) in row.diagonals.items()})
    broken = judge_frames(Framing(frames, (), replace(sheet, rows=(wrong,))))
    assert not {c.name: c.holds for c in broken}["set-up diagonals off"]
