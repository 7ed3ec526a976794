"""What flat.json and flat.dxf say of panels whose shape is known."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from ezdxf.filemanagement import readfile

from strakewright.geometry.outlines import signed_area
from strakewright.shop.unrolling import unroll_surface
from strakewright.write.dxf import DxfPen
from strakewright.write.flatdraw import draw_flats, flat_document, tape
from strakewright.write.pen import RecordingPen, Role
from strakewright.write.records import json_text
from tests.bench.flatten_shapes import cylinder, sphere_strip
from tests.exact_hulls import box_prism
from tests.exact_meshes import Make

BOX = unroll_surface(*box_prism(Make(triangles=1500))).panels


def test_the_record_holds_the_keys_of_the_contract() -> None:
    told = json.loads(json_text(flat_document(BOX)))
    assert told["format"] == "strakewright/flat@1"
    assert told["units"] == "mm"
    for record in told["panels"]:
        assert {"name", "outline", "strain_max", "strain_rms", "flat", "vertices", "triangles"} <= record.keys()
        assert np.shape(record["flat"])[1] == 2
        assert np.shape(record["vertices"]) == (len(record["flat"]), 3)
        assert np.max(record["triangles"]) == len(record["flat"]) - 1


def test_every_side_in_the_flat_is_as_long_as_in_space() -> None:
    """Planes: closed form."""
    record = flat_document(BOX)["panels"][0]
    flat, space, faces = (np.array(record[key]) for key in ("flat", "vertices", "triangles"))
    for i in range(3):
        a, b = faces[:, i], faces[:, i - 1]
        far = np.linalg.norm(flat[a] - flat[b], axis=1)
        assert far == pytest.approx(np.linalg.norm(space[a] - space[b], axis=1), abs=1e-5)


def test_tape_distances_of_a_rectangle() -> None:
    bottom = {(a, b): far for a, b, far in tape(BOX[0].outline)}
    assert bottom["A", "B"] == pytest.approx(5000.0)
    assert bottom["B", "C"] == pytest.approx(1800.0)
    across = np.hypot(5000.0, 1800.0)  # closed form
    assert [bottom["A", "C"], bottom["B", "D"]] == pytest.approx([across, across])


def test_drawing_read_back_by_another_reader_holds_the_outlines(tmp_path: Path) -> None:
    pen = DxfPen()
    draw_flats(pen, BOX)
    pen.write(tmp_path / "flat.dxf")
    document = readfile(tmp_path / "flat.dxf")
    assert document.audit().errors == []
    rings = [
        np.array([point[:2] for point in line.get_points()])
        for line in document.modelspace().query('LWPOLYLINE[layer=="CUT_OUTSIDE"]')
    ]
    assert [signed_area(ring) for ring in rings] == pytest.approx([signed_area(p.outline) for p in BOX], rel=1e-6)
    heights = [(ring[:, 1].min(), ring[:, 1].max()) for ring in rings]
    assert all(low > high for (low, _), (_, high) in zip(heights[1:], heights, strict=False))  # none over another


def test_holes_are_cut_inside_and_clockwise() -> None:
    shape = cylinder(2000)
    middle = shape.flat[shape.triangles].mean(axis=1)
    panels = unroll_surface(shape.vertices, shape.triangles[np.hypot(*(middle - [2500, 500]).T) > 250]).panels
    pen = RecordingPen()
    draw_flats(pen, panels)
    (hole,) = [stroke for stroke in pen.strokes if stroke.role is Role.CUT_INSIDE]
    assert signed_area(hole.points) < 0


def test_strain_lines_only_where_a_panel_cannot_lie_flat() -> None:
    pen = RecordingPen()
    draw_flats(pen, BOX)
    assert not [stroke for stroke in pen.strokes if stroke.role is Role.SCRIBE]
    shape = sphere_strip(600.0, 2000)
    draw_flats(pen, unroll_surface(shape.vertices, shape.triangles).panels)
    assert [stroke for stroke in pen.strokes if stroke.role is Role.SCRIBE]
    words = {stroke.words for stroke in pen.strokes}
    assert {"+1 %", "-0.5 %"} <= words  # derived: +1.33 % at the edges, -0.67 % in the middle
    assert "+2 %" not in words


def test_the_name_stands_on_the_panel() -> None:
    pen = RecordingPen()
    draw_flats(pen, BOX[:1])
    (name,) = [stroke for stroke in pen.strokes if stroke.words == "panel1"]
    assert ((name.points[0] > 0) & (name.points[0] < [5000, 1800])).all()
    assert "100 mm" in {stroke.words for stroke in pen.strokes}


def test_both_ways_are_told_in_words_and_numbers() -> None:
    """A cylinder lies flat either way: the border of the other flat is next to the one drawn."""
    shape = cylinder(2000)
    (panel,) = unroll_surface(shape.vertices, shape.triangles).panels
    told = flat_document([panel])["panels"][0]["two_ways"]
    assert told["used"] in ("triangles", "surface")
    assert told["borders_apart"] < 0.05
    assert told["corners"] == len(panel.vertices)
    assert max(told[way]["strain_max"] for way in ("by_triangles", "by_surface")) < 1e-4
    pen = RecordingPen()
    draw_flats(pen, [panel])
    words = [stroke.words for stroke in pen.strokes]
    assert any(line.startswith("drawn by its ") and line.endswith(told["why"]) for line in words)
    assert any("the border would lie" in line for line in words)
    assert flat_document(BOX)["panels"][0]["two_ways"]["borders_apart"] < 1e-3
