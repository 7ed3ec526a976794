"""Transoms of box hulls whose ends are planes and cylinders.

Sources: plane and circle geometry; worked number of the rake rule: 38 mm at 12 degrees make the inside face 8.1 mm
deeper below (t tan r).  Bow transoms likewise.  Bodies are measured by an independent library (trimesh).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
import trimesh
from tests.acceptance.yard import settings_of
from tests.exact_meshes import Make, Mesh, hull_of

from strakewright.arrays import Floats
from strakewright.errors import Finding
from strakewright.frames import Transom
from strakewright.hull import Hull
from strakewright.loft.hulls import loft_hull
from strakewright.settings import PlankingSettings
from strakewright.shop.inside import inside_of
from strakewright.shop.transomparts import transom_body, transom_parts, transom_pattern
from strakewright.shop.transoms import Plate, TransomSpec, make_transom, transom_plates
from strakewright.triangles import TriangleMesh

LENGTH, HALF, HIGH = 3000.0, 500.0, 600.0
SIDE = PlankingSettings(panel="side", pattern="strakes", thickness=20.0, courses=4, start="sheer")
BOTTOM = replace(SIDE, panel="bottom", start="keel")
SPEC = TransomSpec(sided=38.0)


def box(rake_deg: float, radius: float | None = None, bow_deg: float = 0.0) -> Mesh:
    """Flat bottom, upright parallel sides; the after end leans back by `rake`, its middle bulging aft to `radius`;
    the forward end leans forward by `bow`."""
    lean, ahead = np.tan(np.radians(rake_deg)), np.tan(np.radians(bow_deg))

    def after_end(y: Floats, z: Floats) -> Floats:
        if radius is None:
            return (HIGH - z) * lean
        # a circle in the plane square to the raked line: distance along the normal is sag, so x moves by sag / cos
        sag = radius - np.sqrt(radius**2 - y**2)
        return (HIGH - z) * lean + sag / np.cos(np.radians(rake_deg))

    def face(u: Floats, y: Floats, z: Floats) -> Floats:
        start, end = after_end(y, z), LENGTH + z * ahead
        return np.stack([start + u * (end - start), y, z], axis=-1)

    def bottom(u: Floats, v: Floats) -> Floats:
        return face(u, v * HALF, np.zeros_like(u))

    def side(u: Floats, v: Floats) -> Floats:
        return face(u, np.full_like(u, HALF), v * HIGH)

    return hull_of([bottom, side], Make(triangles=6000))


def made(mesh: Mesh, spec: TransomSpec = SPEC, name: str = "transom") -> tuple[Transom, Plate, list[Finding]]:
    hull: Hull = loft_hull(TriangleMesh(*mesh), settings_of((SIDE, BOTTOM)).hull, "x")
    if name == "bow transom":  # an open mesh does not say so; a closed one with a lid at the bow does
        panels = [replace(p, forward=p.forward and replace(p.forward, name=name)) for p in hull.panels]
        hull = replace(hull, panels=tuple(panels))
    plate, off = transom_plates(hull)[name]
    transom, told = make_transom(name, plate, off, spec, inside_of(hull, (SIDE, BOTTOM)))
    assert transom is not None
    return transom, plate, told


def test_raked_transom_is_deeper_inside_by_t_tan_r() -> None:
    """12 degrees, 38 mm: 8.08 mm.  Sides square, bottom edge bevelled by the rake."""
    transom, _, told = made(box(12.0))
    r = np.radians(12.0)
    assert transom.rake == pytest.approx(r, abs=1e-4)
    assert transom.radius is None
    assert told == []
    keel_in, keel_out = transom.inside.corners["keel"], transom.outside.corners["keel"]
    assert keel_out[1] - keel_in[1] == pytest.approx(38.0 * np.tan(r), abs=0.05)
    assert transom.inside.corners["chine"][0] == pytest.approx(HALF - 20.0, abs=0.05)
    # height along the rake: from the keel's outside to the sheer, the inside face 38 tan r lower at both ends
    assert transom.inside.corners["sheer"][1] == pytest.approx(HIGH / np.cos(r) - 38.0 * np.tan(r), abs=0.05)
    assert keel_in[1] == pytest.approx(20.0 / np.cos(r) - 38.0 * np.tan(r), abs=0.05)
    angles = {b.name: b.angle for b in transom.bevels}
    assert angles["bottom: centreline"] == pytest.approx(r, abs=np.radians(0.02))
    assert angles["side: sheer"] == pytest.approx(0.0, abs=np.radians(0.02))


def test_pattern_holds_both_faces() -> None:
    transom, _, _ = made(box(12.0))
    ring = shapely.Polygon(transom.ring).buffer(0.02)
    for face in (transom.inside, transom.outside):
        half = np.concatenate([face.outline, [[0.0, face.outline[-1, 1]]]])
        assert ring.contains(shapely.Polygon(half))


def test_curved_transom_laid_flat_keeps_its_lengths() -> None:
    """R 1500 at the outside, 38 mm in: half breadth along the bend = R' asin(480 / R'); side bevel asin(480 / R')."""
    transom, _, told = made(box(10.0, 1500.0))
    assert transom.radius == pytest.approx(1500.0, rel=1e-4)
    assert transom.rake == pytest.approx(np.radians(10.0), abs=5e-5)
    assert transom.off < 0.02
    assert "transom-off" not in {f.code for f in told}
    inner = 1500.0 - 38.0
    assert transom.inside.corners["chine"][0] == pytest.approx(inner * np.arcsin(480.0 / inner), abs=0.3)
    angle = next(b.angle for b in transom.bevels if b.name == "side: chine")
    assert angle == pytest.approx(np.arcsin(480.0 / inner), abs=np.radians(0.1))


def test_true_shape_of_a_curved_transom_all_along_its_bottom() -> None:
    """The inside face is the cylinder R' = 1500 - 38 about the raked line; the planking's inside is the plane z = 20.
    Rolled out: at u along the bend the bottom edge lies at v = (20 - foot - (38 + R' (1 - cos(u / R'))) sin r) / cos r
    with r = 10 degrees, for the face stands that far into the boat and so lower on the rake (derived)."""
    transom, plate, _ = made(box(10.0, 1500.0))
    r, inner = np.radians(10.0), 1500.0 - 38.0
    bottom = transom.inside.outline[transom.inside.outline[:, 0] < 0.99 * inner * np.arcsin(480.0 / inner)]
    bottom = bottom[bottom[:, 1] < 100.0]
    assert len(bottom) > 50
    away = plate.in_space(bottom) if plate.inset == 38.0 else plate.at(38.0).in_space(bottom)
    assert away[:, 2] == pytest.approx(np.full(len(bottom), 20.0), abs=0.1)
    u, v = bottom.T
    into = 38.0 + inner * (1 - np.cos(u / inner))
    sign = 1.0 if plate.out[2] < 0 else -1.0
    want = (20.0 - plate.foot[2] - sign * into * np.sin(r)) / np.cos(r)
    assert v == pytest.approx(want, abs=0.3)


def test_bow_transom() -> None:
    transom, _, _ = made(box(12.0, None, 30.0), name="bow transom")
    assert transom.rake == pytest.approx(np.radians(30.0), abs=1e-4)
    deeper = transom.outside.corners["keel"][1] - transom.inside.corners["keel"][1]
    assert deeper == pytest.approx(38.0 * np.tan(np.radians(30.0)), abs=0.05)
    assert transom_pattern(transom).lines[0].points[:, 0].max() < 1.0  # looking forward, port is on the left


def test_motor_cut_out_and_doubling() -> None:
    """20 in (508 mm) along the transom, 400 wide; the doubling ends at the cut-out and clears the planking."""
    transom, _, told = made(box(12.0), replace(SPEC, motor_height=508.0))
    assert told == []
    assert transom.cut_out is not None
    assert transom.doubling is not None
    low, high = transom.cut_out.min(axis=0), transom.cut_out.max(axis=0)
    assert (low[1], high[0] - low[0]) == pytest.approx((508.0, 400.0))
    assert transom.doubling[:, 1].max() == pytest.approx(508.0)
    assert transom.doubling[:, 1].min() == pytest.approx(transom.ring[:, 1].min() + 15.0, abs=0.5)
    assert {b.kind for b in transom.boards} == {"board", "doubling"}


def test_a_motor_too_high_is_told() -> None:
    _, _, told = made(box(12.0), replace(SPEC, motor_height=640.0))
    assert [f.code for f in told] == ["motor-high"]


def test_a_well_opening_is_closed_above_by_its_bridge() -> None:
    """A box 600 mm deep raked 12 degrees is 613.4 mm along the rake: from 300 to 80 under its top the opening is
    233.4 high and 400 wide with corners of R 40, so its area is 400 x 233.4 - (4 - pi) 40^2 by plane geometry."""
    transom, plate, told = made(box(12.0), replace(SPEC, motor_height=300.0, well_bridge=80.0))
    assert told == []
    assert transom.cut_out is not None
    assert transom.doubling is not None
    top = float(transom.ring[:, 1].max())
    assert top == pytest.approx(HIGH / np.cos(np.radians(12.0)), abs=0.05)
    high = top - 80.0 - 300.0
    window = shapely.Polygon(transom.cut_out)
    assert window.area == pytest.approx(400.0 * high - (4 - np.pi) * 40.0**2, rel=1e-3)
    assert window.bounds == pytest.approx((-200.0, 300.0, 200.0, top - 80.0), abs=1e-6)
    assert shapely.Polygon(transom.ring).contains(window)
    assert transom.doubling[:, 1].max() == pytest.approx(300.0)
    assert any("well opening" in line.words for line in transom_pattern(transom).lines)
    assert any(m.name == "well opening" for p in transom_parts(transom) for m in p.marks)
    body = transom_body(transom, plate)
    mesh = trimesh.Trimesh(body.vertices, body.triangles, process=False)
    whole = transom_body(replace(transom, cut_out=None), plate)
    solid = trimesh.Trimesh(whole.vertices, whole.triangles, process=False)
    assert mesh.is_watertight
    assert solid.volume - mesh.volume == pytest.approx(38.0 * window.area, rel=5e-3)
    assert [f.code for f in made(box(12.0), replace(SPEC, motor_height=508.0, well_bridge=80.0))[2]] == ["well-low"]


def test_an_end_that_is_no_transom_shape_is_told() -> None:
    """An end with a knuckle at the chine: neither flat nor one bend."""

    def knuckled() -> Mesh:
        def face(u: Floats, y: Floats, z: Floats) -> Floats:
            start = np.where(z > 0, 60.0 * (z / HIGH) ** 4, 0.0) + 30.0 * (y / HALF)
            return np.stack([start + u * (LENGTH - start), y, z], axis=-1)

        return hull_of(
            [
                lambda u, v: face(u, v * HALF, np.zeros_like(u)),
                lambda u, v: face(u, np.full_like(u, HALF), v * HIGH),
            ],
            Make(triangles=6000),
        )

    _, _, told = made(knuckled())
    assert "transom-off" in {f.code for f in told}


def test_boards_make_up_the_whole_pattern() -> None:
    """Areas add up; every board is within 190 mm; parts show the inside face with the grain athwart the boat."""
    transom, _, _ = made(box(12.0), replace(SPEC, motor_height=508.0))
    boards = [b for b in transom.boards if b.kind == "board"]
    total = sum(shapely.Polygon(b.ring).area for b in boards)
    assert total == pytest.approx(shapely.Polygon(transom.ring).area, rel=1e-6)
    parts = {p.id: p for p in transom_parts(transom)}
    for b in boards:
        long, wide = np.ptp(parts[b.id].outline, axis=0)
        assert wide <= 190.0 + 1e-6 < long
    for b in transom.boards:
        if b.kind == "doubling":  # grain up and down
            assert np.ptp(parts[b.id].outline[:, 0]) == pytest.approx(np.ptp(b.ring[:, 1]), abs=0.01)
    assert any(m.name == "cut-out" for m in parts[boards[-1].id].marks)


@pytest.mark.parametrize("radius", [None, 1500.0])
def test_body_stands_in_its_place(radius: float | None) -> None:
    """Watertight, turned outwards, volume = mean of both faces x thickness, inside the hull's length."""
    transom, plate, _ = made(box(12.0, radius))
    body = transom_body(transom, plate)
    mesh = trimesh.Trimesh(body.vertices, body.triangles, process=False)
    assert mesh.is_watertight
    faces = [
        2 * shapely.Polygon(np.concatenate([f.outline, [[0.0, f.outline[-1, 1]]]])).area
        for f in (transom.inside, transom.outside)
    ]
    assert mesh.volume == pytest.approx(38.0 * sum(faces) / 2, rel=0.01)
    bulge = (
        0.0 if radius is None else 1500.0 - np.sqrt(1500.0**2 - 500.0**2)
    )  # the middle of its head stands further aft
    assert body.vertices[:, 0].min() > -1.0 - bulge
    assert body.vertices[:, 2].min() > 19.0
