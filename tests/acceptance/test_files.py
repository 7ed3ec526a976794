"""A small boat through the command's own path to a folder: faces on the boards, sheets read by GDAL, equal runs.

The boat: twisted V bottom (hyperbolic paraboloid) in one herringbone layer, plane sides in strakes; every kind of
plank that the faces rule A1 names: port and starboard, strakes and diagonals.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
import shapely
from tests.acceptance.laying import Record, area, known_points, placed, read, ring_length, stations, up_on_boat
from tests.exact_hulls import TwistedBottom
from tests.exact_meshes import Make, write_mesh

from strakewright.arrays import Floats
from strakewright.job import BuildOptions, build_files

BOAT = """
[boat]
name = "Proof"
units = "mm"
[hull]
mesh = "hull.ply"
mesh_units = "mm"
[frames]
spacing = 300
[[planking]]
panel = "side"
pattern = "strakes"
courses = 3
start = "sheer"
thickness = 12
[[planking]]
panel = "bottom"
pattern = "herringbone"
thickness = 9
width = 220
[stock]
boards = "boards.csv"
spacing = 8
edge_margin = 3
measured = "dressed"
[shop]
species = "white ash"
"""
HULL = TwistedBottom(length=2400.0, half_breadth=500.0, t0=0.2, t1=0.6 / 2400.0, sheer=800.0)


@pytest.fixture(scope="module")
def yard(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("yard")
    write_mesh(folder / "hull.ply", HULL.mesh(Make(triangles=4000)))
    (folder / "boat.toml").write_text(BOAT)
    (folder / "boards.csv").write_text("id,length,width,thickness,count\nA,3200,400,14,8\nB,3200,300,14,12\n")
    return folder


def built(yard: Path, name: str) -> Path:
    build_files(yard / "boat.toml", yard / name, BuildOptions(None, 2, 1), lambda *_: None)
    return yard / name


@pytest.fixture(scope="module")
def out(yard: Path) -> Path:
    return built(yard, "first")


@pytest.fixture(scope="module")
def parts(out: Path) -> dict[str, Record]:
    return {p["id"]: p for p in read(out, "parts", "parts")}


@pytest.fixture(scope="module")
def planks(out: Path) -> dict[str, Record]:
    return {p["id"]: p for p in read(out, "planks", "planks")}


# -- A1: which face looks up ---------------------------------------------------------------------------


def inboard(plank: Record) -> Floats:
    """Square to the hull, inwards, at the plank's middle: closed forms of the paraboloid and of the upright side."""
    points = np.concatenate([np.array(m["seam"]) for m in [*plank["edges"].values(), *plank["ends"]]])
    x, y = points[:, 0].mean(), np.abs(points[:, 1]).mean()
    slope = HULL.t0 + HULL.t1 * x
    normal = np.array([-y * HULL.t1, -slope, 1.0]) if plank["panel"] == "bottom" else np.array([0.0, -1.0, 0.0])
    return np.asarray(normal * [1.0, 1.0 if plank["side"] == "port" else -1.0, 1.0] / np.linalg.norm(normal))


def test_every_part_on_its_board_shows_the_inside(
    out: Path, parts: dict[str, Record], planks: dict[str, Record]
) -> None:
    """A1: laid back on the hull by its marks, the reader's face of every placed part is inboard."""
    frames, kinds = stations(out), set()
    placements = read(out, "nest", "placements")
    assert len(placements) == len(parts)
    for placement in placements:
        part, plank = parts[placement["part"]], planks[placement["part"]]
        flat, space = known_points(plank, part, frames)
        assert up_on_boat(placed(flat, placement), space)[0] @ inboard(plank) > 0.8, part["id"]
        kinds.add((plank["side"], plank["panel"]))
    assert len(kinds) == 4


def test_face_up_of_a_plank_is_the_face_its_axes_show(planks: dict[str, Record]) -> None:
    """A1 (closed form of the axes): from `seam` and `flat` alone, the side of +x cross +y is inboard or not."""
    for plank in planks.values():
        rows = [*plank["edges"].values(), *plank["ends"]]
        flat = np.concatenate([np.array(m["flat"])[[0, -1]] for m in rows])
        space = np.concatenate([np.array(m["seam"])[[0, -1]] for m in rows])
        shown = up_on_boat(flat, space)[0] @ inboard(plank)
        assert (shown > 0.8) == (plank["face_up"] == "inside"), plank["id"]
        assert abs(shown) > 0.8
        strake = plank["panel"] == "side"
        assert (plank["face_up"] == "inside") == (strake == (plank["side"] == "port"))


def test_parts_are_mirrored_only_where_the_outside_is_up(parts: dict[str, Record], planks: dict[str, Record]) -> None:
    """Contract: outside-up outlines are mirrored on the way into parts and stay counter-clockwise; may_flip false."""
    for name, plank in planks.items():
        part = parts[name]
        ring, own = np.array(part["outline"]), np.array(plank["outline"])
        expected = own if plank["face_up"] == "inside" else own * [1.0, -1.0]
        assert part["may_flip"] is False
        assert area(ring) > 0
        apart = shapely.Polygon(ring).symmetric_difference(shapely.Polygon(expected)).area
        assert apart < 0.002 * ring_length(ring)
        marks = np.concatenate([m["points"] for m in part["marks"]])
        theirs = np.concatenate([m["points"] for m in plank["marks"]])
        assert np.abs(marks - (theirs if plank["face_up"] == "inside" else theirs * [1.0, -1.0])).max() < 0.002


def test_mates_are_mirror_images_on_the_board(parts: dict[str, Record]) -> None:
    """One of a pair is the other turned over: areas equal, shapes equal after y to -y."""
    for part in parts.values():
        mate = np.array(parts[part["mate"]]["outline"]) * [1.0, -1.0]
        apart = shapely.Polygon(part["outline"]).symmetric_difference(shapely.Polygon(mate)).area
        assert apart < 0.002 * ring_length(mate)


# -- sheets ------------------------------------------------------------------------------------------------


def cut_rings(sheet: Path) -> Iterator[Floats]:
    """Closed lines on layer CUT_OUTSIDE as GDAL reads them."""
    import pyogrio.raw

    meta, _, shapes, columns = pyogrio.raw.read(sheet)
    layer = columns[list(meta["fields"]).index("Layer")]
    for name, shape in zip(layer, shapes, strict=True):
        if name == "CUT_OUTSIDE":
            points = shapely.get_coordinates(shapely.from_wkb(shape))
            assert np.array_equal(points[0], points[-1])
            yield points[:-1]


def test_sheets_read_by_gdal_agree_with_the_parts(out: Path, parts: dict[str, Record]) -> None:
    """Areas and lengths to 1 ppm or 0.001 mm x perimeter; every point within 0.002 mm of its place."""
    placements = read(out, "nest", "placements")
    seen = 0
    for sheet in sorted((out / "sheets").glob("*.dxf")):
        mine = [p for p in placements if sheet.stem.startswith(p["board"])]
        for ring in cut_rings(sheet):
            wanted = [(p, placed(np.array(parts[p["part"]]["outline"]), p)) for p in mine]
            _, best = min(wanted, key=lambda w: float(np.linalg.norm(w[1].mean(axis=0) - ring.mean(axis=0))))
            allowed = max(1e-6 * area(best), 1e-3 * ring_length(best))
            assert abs(abs(area(ring)) - area(best)) < allowed
            assert abs(ring_length(ring) - ring_length(best)) < max(1e-6 * ring_length(best), 0.002 * 4)
            assert shapely.hausdorff_distance(shapely.LinearRing(ring), shapely.LinearRing(best)) < 0.002
            seen += 1
    assert seen == len(placements) == len(parts)


def test_two_runs_are_byte_identical_but_for_the_times(yard: Path, out: Path) -> None:
    again = built(yard, "second")
    names = {p.relative_to(out) for p in out.rglob("*") if p.is_file()}
    assert names == {p.relative_to(again) for p in again.rglob("*") if p.is_file()}
    differing = {str(n) for n in names if (out / n).read_bytes() != (again / n).read_bytes()}
    assert differing <= {"times.json"}


def test_every_check_holds_and_nothing_is_nan(out: Path) -> None:
    summary = json.loads((out / "summary.json").read_text())
    assert len(summary["checks"]) > 8
    assert [c["name"] for c in summary["checks"] if not c["holds"]] == []
    for file in out.glob("*.json"):
        text = file.read_text()
        assert text.startswith('{\n"format": "strakewright/')
        assert "NaN" not in text
        assert "Infinity" not in text


def test_the_page_to_turn_shows_every_plank_flat_beside_its_place(out: Path, parts: dict[str, Record]) -> None:
    """The flat shape is looked up by the plank's number: every part of the planking must be in the page's data."""
    text = (out / "view.html").read_text(encoding="utf-8")
    start = text.index(">", text.index('type="application/json"')) + 1
    flats = json.loads(text[start : text.index("</script>", start)])["flats"]
    assert flats.keys() == parts.keys()
