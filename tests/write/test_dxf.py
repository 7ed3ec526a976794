"""Sheets read by GDAL, a reader that shares nothing with the writer."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pyogrio.raw
import pytest
import shapely
from ezdxf.filemanagement import readfile

from strakewright.arrays import Floats
from strakewright.geometry.outlines import perimeter, signed_area
from strakewright.lumber import Rules
from strakewright.plan import Placement
from strakewright.write.dxf import DxfPen, ascii_words
from strakewright.write.pen import Role, lay
from strakewright.write.sheets import Title, sheets_of, write_sheets
from tests.write.rack import BOARD, LABELS, PARTS, PLACEMENTS, PLAN

RULES = Rules()


@pytest.fixture(scope="module")
def sheet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("sheets")
    sheets = sheets_of(PLAN, PARTS, [BOARD])
    return write_sheets(folder, sheets, Title("Håkon’s punt", "a1b2"), RULES, LABELS)["B07"]


def by_gdal(path: Path) -> list[tuple[str, str, Floats]]:
    """(layer, kind, points) of every entity as GDAL reads it."""
    _, _, shapes, (layers, kinds) = pyogrio.raw.read(path, columns=["Layer", "SubClasses"])
    points = [shapely.get_coordinates(shape) for shape in shapely.from_wkb(shapes)]
    return list(zip(layers, kinds, points, strict=True))


def test_gdal_finds_the_areas_and_lengths_of_the_plan(sheet: Path) -> None:
    found = [points for layer, _, points in by_gdal(sheet) if layer == "CUT_OUTSIDE"]
    assert len(found) == len(PARTS)
    for part, placement, points in zip(PARTS, PLACEMENTS, found, strict=True):
        assert points[0].tolist() == points[-1].tolist()
        ring = points[:-1]
        assert signed_area(ring) > 0
        # 1 ppm, or what rounding to 0.001 mm may cost where that is more
        allowed = max(1e-6 * signed_area(part.outline), 0.001 * perimeter(part.outline))
        assert signed_area(ring) == pytest.approx(signed_area(part.outline), abs=allowed)
        assert perimeter(ring) == pytest.approx(perimeter(part.outline), rel=1e-6, abs=0.001 * len(ring))
        laid = lay(part.outline, placement)
        assert np.abs(np.sort(laid[:, 0]) - np.sort(ring[:, 0])).max() <= 0.0006


def test_layers_are_the_fixed_ones(sheet: Path) -> None:
    layers = {layer for layer, _, _ in by_gdal(sheet)}
    assert layers <= {role.value for role in Role}
    assert {"CUT_OUTSIDE", "SCRIBE", "DRILL", "LABEL", "BOARD", "DEFECT", "CHECK"} <= layers


def test_profile(sheet: Path) -> None:
    document = readfile(sheet)
    assert document.dxfversion == "AC1015"
    assert document.header["$INSUNITS"] == 4
    assert not document.audit().errors
    assert not document.audit().fixes
    assert sheet.read_bytes().isascii()
    kinds = {entity.dxftype() for entity in document.modelspace()}
    assert kinds == {"LWPOLYLINE", "TEXT", "CIRCLE"}
    low, high = document.header["$EXTMIN"], document.header["$EXTMAX"]
    assert low[0] <= 0
    assert high[0] >= 4400
    assert low[1] < -100
    assert high[1] >= 200


def test_coordinates_are_thousandths_and_neighbours_differ(sheet: Path) -> None:
    for _, kind, points in by_gdal(sheet):
        if "Polyline" in kind:
            assert np.abs(points - np.round(points, 3)).max() < 1e-9
            assert np.linalg.norm(np.diff(points, axis=0), axis=1).min() >= 0.001


def test_check_square_is_a_hundred(sheet: Path) -> None:
    squares = [p for layer, _, p in by_gdal(sheet) if layer == "CHECK" and len(p) == 5]
    assert len(squares) == 1
    assert np.linalg.norm(np.diff(squares[0], axis=0), axis=1).tolist() == [100.0] * 4


WRITE = """
import sys
from pathlib import Path
from strakewright.lumber import Rules
from strakewright.write.sheets import Title, sheets_of, write_sheets
from tests.write.rack import BOARD, LABELS, PARTS, PLAN
write_sheets(Path(sys.argv[1]), sheets_of(PLAN, PARTS, [BOARD]), Title("Teasel"), Rules(), LABELS)
"""


def test_two_runs_are_byte_identical(tmp_path: Path) -> None:
    written = []
    for seed in ("1", "2"):  # another process, another order of sets
        folder = tmp_path / seed
        folder.mkdir()
        env = os.environ | {"PYTHONHASHSEED": seed, "PYTHONPATH": os.pathsep.join(p for p in sys.path if p)}
        subprocess.run([sys.executable, "-c", WRITE, str(folder)], check=True, env=env, timeout=60)
        written.append((folder / "B07.dxf").read_bytes())
    assert written[0] == written[1]


def test_holes_run_the_other_way_and_nothing_is_drawn_twice(tmp_path: Path) -> None:
    pen = DxfPen()
    ring = np.array([[0.0, 0], [10, 0], [10.0001, 0.0001], [10, 5], [0, 5]])
    pen.polyline(ring, closed=True, role=Role.CUT_INSIDE)
    pen.polyline(ring[::-1], closed=True, role=Role.CUT_OUTSIDE)
    pen.polyline(np.array([[1.0, 1.0], [1.0001, 1.0]]), closed=False, role=Role.SCRIBE)
    pen.write(tmp_path / "a.dxf")
    inside, outside = (points[:-1] for _, _, points in by_gdal(tmp_path / "a.dxf"))
    assert (len(inside), signed_area(inside)) == (4, -50.0)
    assert (len(outside), signed_area(outside)) == (4, 50.0)


def test_empty_drawing_is_a_sound_file(tmp_path: Path) -> None:
    DxfPen().write(tmp_path / "empty.dxf")
    assert not readfile(tmp_path / "empty.dxf").audit().errors


def test_words_stand_where_asked_for_readers_with_and_without_alignment(tmp_path: Path) -> None:
    pen = DxfPen()
    pen.text(np.array([100.0, 50.0]), "AB", height=10, turn=0, anchor="middle", role=Role.LABEL)
    pen.write(tmp_path / "t.dxf")
    text = readfile(tmp_path / "t.dxf").modelspace()[0]
    assert tuple(text.dxf.align_point)[:2] == (100.0, 50.0)
    assert tuple(text.dxf.insert)[:2] == (91.0, 45.0)  # half of 2 letters of 0.9 x 10 back, half a height down


@pytest.mark.parametrize(
    ("words", "shown"),
    [("Žofie", "Zofie"), ("船", "?"), ("3 × 8°", "3 x 8 deg"), ("a\tb", "a?b"), ("plain %%d", "plain %%d")],
)
def test_words_become_ascii(words: str, shown: str) -> None:
    assert ascii_words(words) == shown


def test_flipped_parts_stay_counter_clockwise(tmp_path: Path) -> None:
    ring = lay(PARTS[2].outline, Placement("a", "b", 0, 0, 0, flip=True))
    assert signed_area(ring) < 0
    pen = DxfPen()
    pen.polyline(ring, closed=True, role=Role.CUT_OUTSIDE)
    pen.write(tmp_path / "f.dxf")
    assert signed_area(by_gdal(tmp_path / "f.dxf")[0][2][:-1]) == pytest.approx(4500.0)  # 150 x 60 / 2
