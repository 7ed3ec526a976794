"""A small boat through the command's own path to a folder: faces on the boards, sheets read by GDAL, equal runs.

The boat: twisted V bottom (hyperbolic paraboloid) in one herringbone layer, plane sides in strakes; every kind of
plank that the faces rule A1 names: port and starboard, strakes and diagonals.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely

from strakewright.arrays import Floats
from strakewright.job import BuildOptions, build_files
from tests.exact_hulls import Make, TwistedBottom, write_mesh

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
Record = dict[str, Any]


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


def read(folder: Path, name: str, key: str) -> list[Record]:
    found: list[Record] = json.loads((folder / f"{name}.json").read_text())[key]
    return found


@pytest.fixture(scope="module")
def parts(out: Path) -> dict[str, Record]:
    return {p["id"]: p for p in read(out, "parts", "parts")}


@pytest.fixture(scope="module")
def planks(out: Path) -> dict[str, Record]:
    return {p["id"]: p for p in read(out, "planks", "planks")}


def area(ring: Floats) -> float:
    x, y = ring.T
    return float(0.5 * (x @ np.roll(y, -1) - y @ np.roll(x, -1)))


def ring_length(ring: Floats) -> float:
    return float(np.linalg.norm(ring - np.roll(ring, 1, axis=0), axis=1).sum())


def placed(points: Floats, placement: Record) -> Floats:
    """Contract: flip (y to -y) if set, turn about the part's own (0, 0), shift."""
    flipped = points * [1.0, -1.0] if placement["flip"] else points
    a = np.radians(placement["rotation_deg"])
    return np.asarray(flipped @ [[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]] + [placement["x"], placement["y"]])


# -- A1: which face looks up ---------------------------------------------------------------------------


def stations(out: Path) -> dict[str, float]:
    frames: dict[str, float] = json.loads((out / "summary.json").read_text())["hull"]["frames"]
    return frames


def known_points(plank: Record, part: Record, frames: dict[str, float]) -> tuple[Floats, Floats]:
    """Points of a part's marks, with where they are on the boat.

    A frame mark's ends lie on the plank's ring in the plane x = station: both crossings of the ring in space are known
    from `seam`; which end is which is told by the length along the flat ring, the same on any face."""
    flat, space = [], []
    margins = [*plank["edges"].values(), *plank["ends"]]
    for mark in (m for m in part["marks"] if m["kind"] == "frame"):
        for end in (mark["points"][0], mark["points"][-1]):
            flat.append(end)
            space.append(_on_boat(margins, frames[mark["name"]], np.array(end), plank, part))
    for mark in (m for m in part["marks"] if m["kind"] == "trim"):
        for end in (mark["points"][0], mark["points"][-1]):
            flat.append(end)
            space.append(_trimmed_at(margins, np.array(end)))
    return np.array(flat), np.array(space)


def _on_boat(margins: list[Record], x: float, at: Floats, plank: Record, part: Record) -> Floats:
    """The point of the ring at that station whose flat place is nearest; y of a turned-over part is undone by
    comparing distances from both ends of the longest mark, never by what the part claims."""
    best, least = np.zeros(3), np.inf
    for m in margins:
        seam, flat = np.array(m["seam"]), np.array(m["flat"])
        over = seam[:, 0] - x
        for i in np.nonzero(over[:-1] * over[1:] <= 0)[0]:
            share = over[i] / (over[i] - over[i + 1]) if over[i] != over[i + 1] else 0.0
            here = flat[i] + share * (flat[i + 1] - flat[i])
            gap = np.abs(np.abs(here) - np.abs(at)).max()
            if gap < least:
                best, least = seam[i] + share * (seam[i + 1] - seam[i]), gap
    assert least < 0.1, (plank["id"], part["id"], least)
    return best


def _trimmed_at(margins: list[Record], at: Floats) -> Floats:
    """The listed point whose finished place is that end of a trim line (on the boat within a bevel's lean)."""
    rows = [(m["seam"][i], m.get("fitted", m["flat"])[i]) for m in margins for i in range(len(m["seam"]))]
    space, finished = (np.array(column) for column in zip(*rows, strict=True))
    gaps = np.abs(np.abs(finished) - np.abs(at)).max(axis=1)
    assert gaps.min() < 25.0  # a trim line may run on past the corner to the other face
    return np.asarray(space[np.argmin(gaps)])


def up_on_boat(flat: Floats, space: Floats) -> Floats:
    """Direction on the boat of the side that looks at the reader: from the three known points that span most."""
    best, size = np.zeros(3), 0.0
    for i in range(len(flat)):
        for j in range(i + 1, len(flat)):
            for k in range(j + 1, len(flat)):
                a, b = flat[j] - flat[i], flat[k] - flat[i]
                turn = a[0] * b[1] - a[1] * b[0]
                if abs(turn) > size:
                    size = abs(turn)
                    best = np.sign(turn) * np.cross(space[j] - space[i], space[k] - space[i])
    assert size > 100.0
    return best / np.linalg.norm(best)


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
        assert up_on_boat(placed(flat, placement), space) @ inboard(plank) > 0.8, part["id"]
        kinds.add((plank["side"], plank["panel"]))
    assert len(kinds) == 4


def test_face_up_of_a_plank_is_the_face_its_axes_show(planks: dict[str, Record]) -> None:
    """A1 (closed form of the axes): from `seam` and `flat` alone, the side of +x cross +y is inboard or not."""
    for plank in planks.values():
        rows = [*plank["edges"].values(), *plank["ends"]]
        flat = np.concatenate([np.array(m["flat"])[[0, -1]] for m in rows])
        space = np.concatenate([np.array(m["seam"])[[0, -1]] for m in rows])
        shown = up_on_boat(flat, space) @ inboard(plank)
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
