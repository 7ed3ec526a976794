"""Arcs, R12 and stroked words, read by GDAL and by the proof's reader, against dense truth in closed form."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pyogrio.raw
import pytest
import shapely
from ezdxf.filemanagement import readfile

from strakewright.arrays import Floats
from strakewright.geometry.outlines import thin_ring
from strakewright.proof.readback import ARC_LIMIT, read_sheet
from strakewright.write.dxf import DxfPen, DxfStyle
from strakewright.write.pen import Role


def plank(fine: bool) -> Floats:
    """A spiled plank in closed form: both edges are sines, the ends straight."""
    x = np.linspace(0.0, 5600.0, 40001)
    low = np.column_stack([x, 80 * np.sin(np.pi * x / 5600)])
    high = np.column_stack([x, 95 + 10 * np.sin(np.pi * x / 5600) + 80 * np.sin(np.pi * x / 5600)])[::-1]
    ring = np.concatenate([low, high])
    return ring if fine else thin_ring(ring)


AREA = 95 * 5600 + 10 * 2 * 5600 / np.pi  # the integral of 95 + 10 sin(pi x / L) over L


def written(folder: Path, style: DxfStyle) -> Path:
    pen = DxfPen(style)
    pen.polyline(plank(fine=False), closed=True, role=Role.CUT_OUTSIDE)
    pen.polyline(np.array([[0.0, -200.0], [100, -200], [100, -100], [0, -100]]), closed=True, role=Role.CHECK)
    pen.text(np.array([2000.0, 110.0]), "S03aP", height=20, turn=0, anchor="middle", role=Role.LABEL)
    pen.write(folder / "a.dxf")
    return folder / "a.dxf"


def by_gdal(path: Path, monkeypatch: pytest.MonkeyPatch) -> dict[str, list[Any]]:
    """Shapes by layer; GDAL breaks arcs into steps of a hundredth of a degree."""
    monkeypatch.setenv("OGR_ARC_STEPSIZE", "0.01")
    _, _, shapes, (layers,) = pyogrio.raw.read(path, columns=["Layer"])
    found: dict[str, list[Any]] = {}
    for layer, shape in zip(layers, shapely.from_wkb(shapes), strict=True):
        found.setdefault(layer, []).append(shape)
    return found


@pytest.mark.parametrize("version", ["R2000", "R12"])
def test_arcs_lie_on_the_true_curve(tmp_path: Path, version: str, monkeypatch: pytest.MonkeyPatch) -> None:
    path = written(tmp_path, DxfStyle(version, arcs=True))  # type: ignore[arg-type]
    (read,) = by_gdal(path, monkeypatch)["CUT_OUTSIDE"]
    ring = shapely.LinearRing(shapely.get_coordinates(read)[:, :2])
    truth = shapely.LinearRing(plank(fine=True))
    assert shapely.hausdorff_distance(ring, truth) < 0.05
    assert shapely.Polygon(ring).area == pytest.approx(AREA, rel=2e-5)
    document = readfile(path)
    (entity,) = document.modelspace().query("LWPOLYLINE POLYLINE")[:1]
    assert entity.has_arc
    assert len(entity) < 60  # of some hundred and thirty straights
    assert not document.audit().errors


@pytest.mark.parametrize("version", ["R2000", "R12"])
def test_straights_come_back_to_a_part_in_a_million(
    tmp_path: Path, version: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = written(tmp_path, DxfStyle(version))  # type: ignore[arg-type]
    (read,) = by_gdal(path, monkeypatch)["CUT_OUTSIDE"]
    wanted = shapely.Polygon(plank(fine=False))
    polygon = shapely.Polygon(shapely.get_coordinates(read)[:, :2])
    assert polygon.area == pytest.approx(wanted.area, rel=1e-6)
    assert polygon.length == pytest.approx(wanted.length, rel=1e-6)


def test_r12_is_r12_and_two_runs_are_alike(tmp_path: Path) -> None:
    (tmp_path / "b").mkdir()
    style = DxfStyle("R12", arcs=True, strokes=True)
    path, again = written(tmp_path, style), written(tmp_path / "b", style)
    assert readfile(path).dxfversion == "AC1009"
    assert path.read_bytes() == again.read_bytes()
    assert {e.dxftype() for e in readfile(path).modelspace()} <= {"POLYLINE", "LINE"}


def test_words_are_lines_where_asked_for(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = written(tmp_path, DxfStyle(strokes=True))
    assert not readfile(path).modelspace().query("TEXT")
    lines = np.concatenate([shapely.get_coordinates(s)[:, :2] for s in by_gdal(path, monkeypatch)["LABEL"]])
    assert np.ptp(lines[:, 1]) == pytest.approx(20.0)
    assert (lines[:, 0].min() + lines[:, 0].max()) / 2 == pytest.approx(2000.0, abs=0.01)


@pytest.mark.parametrize("version", ["R2000", "R12"])
def test_the_proof_reads_arcs_only_where_they_were_asked_for(tmp_path: Path, version: str) -> None:
    path = written(tmp_path, DxfStyle(version, arcs=True))  # type: ignore[arg-type]
    assert read_sheet(path, arcs=True).faults == ()
    (ring,) = read_sheet(path, arcs=True).cuts
    assert shapely.hausdorff_distance(shapely.LinearRing(ring), shapely.LinearRing(plank(fine=True))) < ARC_LIMIT
    assert any("straight segments" in fault for fault in read_sheet(path).faults)
