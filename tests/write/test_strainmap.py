"""The strain picture of strips of a sphere and a cylinder in closed form; the PNG by the layout the W3C gives it."""

from __future__ import annotations

import struct
import zlib
from pathlib import Path

import numpy as np
import pytest
from scipy.spatial import Delaunay

from strakewright.arrays import Floats
from strakewright.shop.unrolling import unroll_surface
from strakewright.write.pen import Hatch, RecordingPen, Role, Stroke
from strakewright.write.png import PngPen
from strakewright.write.strainmap import draw_strain, strokes_over
from tests.bench.flatten_shapes import cylinder, sphere_strip

SPHERE = unroll_surface(*sphere_strip(600.0, 3000)[:2]).panels
ROLLED = unroll_surface(*cylinder(2000)[:2]).panels


def drawn(panels) -> list[Stroke]:
    pen = RecordingPen()
    draw_strain(pen, panels)
    return pen.strokes


def test_strokes_fill_just_the_part_above_nought() -> None:
    """Length of all strokes times their gap is the area of the disc, whatever their slope (Cavalieri)."""
    points = np.random.default_rng(2).uniform(-150, 150, (6000, 2))
    above = 100.0 - np.hypot(*points.T)
    for slope in (45.0, -45.0, 10.0):
        runs = strokes_over(points, Delaunay(points).simplices.astype(np.int64), above, slope, (2.0, 0.3))
        length = sum(float(np.hypot(*(run[1] - run[0]))) for run in runs)
        assert 2.0 * length == pytest.approx(np.pi * 100.0**2, rel=0.01)
        assert max(np.hypot(*end) for run in runs for end in run) < 101.0
        turns = {
            round(float(np.degrees(np.arctan2(*(run[1] - run[0])[::-1])))) for run in runs if np.ptp(run[:, 0]) > 5
        }
        assert turns == {round(slope)}


def slanted(strokes: list[Stroke], slope_deg: float, low: float, high: float) -> list[Floats]:
    """Lines at a slope whose middle lies between two heights."""
    found = []
    for stroke in strokes:
        if stroke.kind == "polyline" and len(stroke.points) == 2:
            way, y = stroke.points[1] - stroke.points[0], stroke.points[:, 1].mean()
            if np.hypot(*way) > 5 and abs(np.degrees(np.arctan2(way[1], way[0])) - slope_deg) < 0.5 and low < y < high:
                found.append(stroke.points)
    return found


def test_a_bowl_is_too_long_at_its_edges_and_too_short_in_the_middle() -> None:
    """Closed form: + K w2/12 at the edges, - K w2/24 in the middle; even lengths at w / sqrt(12) from the middle."""
    strokes = drawn(SPHERE)
    ring = max((s for s in strokes if s.role is Role.CUT_OUTSIDE), key=lambda s: len(s.points)).points
    foot, top = ring[:, 1].min(), ring[:, 1].max()
    middle = (foot + top) / 2
    assert len(slanted(strokes, 45.0, foot, foot + 60)) > 20
    assert len(slanted(strokes, -45.0, middle - 60, middle + 60)) > 20
    inner = [run for run in slanted(strokes, 45.0, middle - 60, middle + 60) if 600 < run[:, 0].mean() < 2400]
    outer = [run for run in slanted(strokes, -45.0, foot, foot + 60) if 600 < run[:, 0].mean() < 2400]
    assert (len(inner), len(outer)) == (0, 0)


def test_the_widest_plank_stands_beside_it_to_scale() -> None:
    """4 R sqrt(0.2 %) = 268 mm at R 1.5 m (closed form)."""
    strokes = drawn(SPHERE)
    (words,) = [s.words for s in strokes if s.words.startswith("plank ")]
    assert words == "plank 268 mm"
    ladder = [s.points for s in strokes if s.role is Role.CUT_OUTSIDE and len(s.points) == 6]
    assert np.ptp(ladder[0][:, 1]) == pytest.approx(4 * 1500 * np.sqrt(0.002), rel=0.01)
    told = " ".join(s.words for s in strokes)
    assert "K +0.44 per m2" in told or "K +0.45 per m2" in told
    assert "300 mm 0.250 %" in told  # K w2/16


def test_what_lies_flat_shows_no_strokes() -> None:
    strokes = drawn(ROLLED)
    ring = next(s.points for s in strokes if s.role is Role.CUT_OUTSIDE)
    inside = [s for s in strokes if s.kind == "polyline" and s.points[:, 1].min() > ring[:, 1].min() + 1]
    assert not [s for s in inside if len(s.points) == 2]
    assert any("paper and sheets cover it whole" in s.words for s in strokes)


def grey(path: Path) -> Floats:
    """Pixels of an 8-bit grey PNG, read by the W3C recommendation: chunks, zlib, the five filters."""
    data = path.read_bytes()
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    at, body, wide, high = 8, b"", 0, 0
    while at < len(data):
        size, kind = struct.unpack(">I4s", data[at : at + 8])
        chunk = data[at + 8 : at + 8 + size]
        assert struct.unpack(">I", data[at + 8 + size : at + 12 + size])[0] == zlib.crc32(kind + chunk)
        if kind == b"IHDR":
            wide, high, depth, colour = struct.unpack(">IIBB", chunk[:10])
            assert (depth, colour) == (8, 0)
        body += chunk if kind == b"IDAT" else b""
        at += 12 + size
    rows = np.frombuffer(zlib.decompress(body), dtype=np.uint8).reshape(high, wide + 1)
    picture = np.zeros((high + 1, wide + 1), dtype=np.int64)
    for y in range(high):
        unfiltered(picture, y, int(rows[y, 0]), rows[y, 1:].astype(np.int64))
    return picture[1:, 1:].astype(np.float64)


def unfiltered(picture: np.ndarray, y: int, kind: int, row: np.ndarray) -> None:
    if kind in (0, 2):
        picture[y + 1, 1:] = (row + (picture[y, 1:] if kind == 2 else 0)) % 256
        return
    for x, value in enumerate(row):
        a, b, c = int(picture[y + 1, x]), int(picture[y, x + 1]), int(picture[y, x])
        near = min((abs(a + b - c - each), i, each) for i, each in enumerate((a, b, c)))[2]
        picture[y + 1, x + 1] = (int(value) + (a if kind == 1 else (a + b) // 2 if kind == 3 else near)) % 256


def test_png_shows_what_was_drawn(tmp_path: Path) -> None:
    """A square of 100 mm at 240 pixels: black on its sides, white inside and out, grey where hatched and lettered."""
    pen = PngPen(width=240)
    pen.polyline(np.array([[0.0, 0], [100, 0], [100, 100], [0, 100]]), closed=True, role=Role.CUT_OUTSIDE)
    pen.area(np.array([[60.0, 60], [90, 60], [90, 90], [60, 90]]), Hatch(45.0, 4.0), Role.LABEL)
    pen.text(np.array([30.0, 25.0]), "HEAVY", height=12, turn=0, anchor="middle", role=Role.LABEL)
    pen.text(np.array([20.0, 75.0]), "UP", height=12, turn=90, anchor="middle", role=Role.LABEL)
    pen.circle(np.array([75.0, 20.0]), 10.0, Role.CHECK)
    pen.write(tmp_path / "a.png")
    seen = grey(tmp_path / "a.png")
    assert seen.shape == (240, 240)
    scale = (240 - 48) / 100

    def at(x: float, y: float, reach: float = 2.0) -> Floats:
        column, row, r = 24 + x * scale, 24 + (100 - y) * scale, reach * scale
        return seen[int(row - r) : int(row + r) + 1, int(column - r) : int(column + r) + 1]

    for x, y in ((0, 50), (100, 50), (50, 0), (50, 100)):
        assert at(x, y).min() < 60
    assert at(50, 50).min() > 250
    assert seen[:8].min() > 250
    assert 90 < at(75, 75, 10.0).mean() < 245
    assert at(30, 25, 6.0).min() < 60
    assert at(75, 30).min() < 180
    assert at(75, 20).min() > 250
    turned = at(20, 75, 14.0) < 128
    assert turned.any(axis=1).sum() > turned.any(axis=0).sum()  # taller than wide: the words run upwards


def test_the_strain_picture_as_png(tmp_path: Path) -> None:
    """Of the bowl's breadth the edges and the middle are darker than the lines of no strain between them
    (w / sqrt(12) from the middle, closed form)."""
    pen = PngPen(width=900)
    draw_strain(pen, SPHERE)
    pen.write(tmp_path / "strain.png")
    seen = grey(tmp_path / "strain.png")
    columns = seen[:, 300:420].mean(axis=1)
    sides = np.flatnonzero(columns < 60)  # the outline's two long sides run right across
    foot, high = float(sides.max()), float(sides.max() - sides.min())
    tone = {
        name: columns[int(foot - (y + 0.04) * high) : int(foot - (y - 0.04) * high)].mean()
        for name, y in (("edge", 0.07), ("none", 0.5 - 1 / np.sqrt(12)), ("middle", 0.5))
    }
    assert tone["edge"] < tone["none"] - 15
    assert tone["middle"] < tone["none"] - 15
