"""A mesh file with a raked, curved transom, from the mesh to what is cut: the transom rolled out, planks to meet it.

The after end is a cylinder of 1 500 mm about a line in the centreline plane that leans 10 degrees; the sides are planes
at y = 500, the bottom the plane z = 0, 20 mm of planking, 38 mm of transom.  Closed forms (derived): rolled out, the
inside face R' = 1462 reaches u = R' asin(480 / R'), its lower edge lies at
(20 - (38 + R' (1 - cos(u / R'))) sin r) / cos r.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
import trimesh
from scipy.integrate import quad
from tests.shop.test_transoms import box

from strakewright.job import BuildOptions, Written, build_files

RADIUS, RAKE, SIDED, HALF, HIGH, THICK = 1500.0, np.radians(10.0), 38.0, 500.0, 600.0, 20.0
BOAT = """
[boat]
name = "Barge"
units = "mm"
[hull]
mesh = "hull.stl"
mesh_units = "mm"
half = false
[frames]
at = [1000, 2000]
[transom]
sided = 38
[[planking]]
panel = "side"
pattern = "strakes"
courses = 2
lining = "even"
start = "sheer"
thickness = 20
joint = "none"
[[planking]]
panel = "bottom"
pattern = "strakes"
courses = 2
lining = "even"
start = "keel"
thickness = 20
joint = "none"
[stock]
boards = "boards.csv"
[shop]
species = "white ash"
"""


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> tuple[Written, Path]:
    folder = tmp_path_factory.mktemp("barge")
    vertices, triangles = box(10.0, RADIUS)
    trimesh.Trimesh(vertices, triangles, process=False).export(folder / "hull.stl")
    folder.joinpath("boards.csv").write_text("id,length,width,thickness,count\nA,3600,420,27,30\nB,3600,240,52,8\n")
    folder.joinpath("boat.toml").write_text(BOAT)
    return build_files(folder / "boat.toml", folder / "out", BuildOptions(0.0), lambda *_: None), folder / "out"


@pytest.fixture(scope="module")
def transom(built: tuple[Written, Path]) -> dict[str, Any]:
    return json.loads((built[1] / "frames.json").read_text())["transoms"][0]


def low(radius: float, inset: float) -> Callable[[float], float]:
    """v of the lower edge at u, on the face `inset` mm into the boat."""
    return lambda u: (THICK - (inset + radius * (1 - np.cos(u / radius))) * np.sin(RAKE)) / np.cos(RAKE)


def wide(radius: float) -> float:
    return float(radius * np.arcsin((HALF - THICK) / radius))


def high(radius: float, inset: float) -> float:
    """v of the sheer's corner."""
    into = inset + radius - np.sqrt(radius**2 - (HALF - THICK) ** 2)
    return float((HIGH - into * np.sin(RAKE)) / np.cos(RAKE))


def test_everything_holds(built: tuple[Written, Path]) -> None:
    done, _ = built
    assert all(check.holds for check in done.checks)
    assert not [f for f in done.findings if f.level == "blocking" or f.code == "transom-off"]


def test_bend_and_rake_are_found_in_the_mesh(transom: dict[str, Any]) -> None:
    assert transom["radius"] == pytest.approx(RADIUS, rel=1e-4)
    assert transom["rake_deg"] == pytest.approx(10.0, abs=0.002)
    assert transom["off"] < 0.02


def test_inside_face_is_the_rolled_out_cylinder(transom: dict[str, Any]) -> None:
    inner = RADIUS - SIDED
    corners = transom["inside"]["corners"]
    assert corners["keel"]["flat"] == pytest.approx([0.0, low(inner, SIDED)(0.0)], abs=0.02)
    assert corners["chine"]["flat"] == pytest.approx([wide(inner), low(inner, SIDED)(wide(inner))], abs=0.02)
    assert corners["sheer"]["flat"] == pytest.approx([wide(inner), high(inner, SIDED)], abs=0.02)
    u, v = np.array(transom["inside"]["outline"]).T
    along = (u < wide(inner) - 1.0) & (v < 50.0)
    assert along.sum() > 20
    assert v[along] == pytest.approx([low(inner, SIDED)(x) for x in u[along]], abs=0.02)


def test_boards_make_up_both_faces(transom: dict[str, Any], built: tuple[Written, Path]) -> None:
    """The outside lies higher and a little narrower: union of both in closed form, and the boards its slices."""
    inner, outer = (RADIUS - SIDED, SIDED), (RADIUS, 0.0)
    under = 2 * quad(low(*inner), 0.0, wide(inner[0]))[0]
    over = 2 * wide(outer[0]) * high(*outer) + 2 * (wide(inner[0]) - wide(outer[0])) * high(*inner)
    assert shapely.Polygon(transom["outline"]).area == pytest.approx(over - under, rel=1e-4)
    parts = json.loads((built[1] / "parts.json").read_text())["parts"]
    sizes = [shapely.Polygon(part["outline"]).area for part in parts if re.fullmatch(r"T-\d", part["id"])]
    assert len(sizes) == len(transom["boards"]) == 4
    assert sum(sizes) == pytest.approx(over - under, rel=1e-3)
    placed = {p["part"] for p in json.loads((built[1] / "nest.json").read_text())["placements"]}
    assert {f"T-{i}" for i in range(1, 5)} <= placed


def after_end(y: np.ndarray, z: np.ndarray) -> np.ndarray:
    """x of the skin's after end; the sheer's corner, the aftmost point of the hull, is x = 0."""
    sag = RADIUS - np.sqrt(RADIUS**2 - np.array([y**2, np.full_like(y, HALF) ** 2]))
    return (HIGH - z) * np.tan(RAKE) + (sag[0] - sag[1]) / np.cos(RAKE)


def test_planks_end_on_the_curve(built: tuple[Written, Path]) -> None:
    """Ends are carried square from the skin's border to mid-thickness: 10 mm up the bottom, 10 mm in at the side."""
    planks = json.loads((built[1] / "planks.json").read_text())["planks"]
    ends = [(p["panel"], np.array(e["seam"])) for p in planks for e in p["ends"] if e["meets"] == "transom"]
    assert len(ends) == 8
    for panel, seam in ends:
        x, y, z = seam.T
        on = after_end(np.abs(y), np.zeros_like(z)) if panel == "bottom" else after_end(np.full_like(y, HALF), z)
        assert np.abs(x - on).max() < 0.03, panel
    bottom = max((seam for panel, seam in ends if panel == "bottom"), key=lambda seam: np.ptp(seam[:, 0]))
    assert np.ptp(bottom[:, 0]) > 30.0  # it is a curve, not a cut across


def test_the_book_says_it_is_bent(built: tuple[Written, Path]) -> None:
    book = re.sub(r"<[^>]*>", " ", (built[1] / "book.html").read_text(encoding="utf-8"))
    assert "bent to R 1.50 m, raked 10.0 degrees" in book
    rise = RADIUS - np.sqrt(RADIUS**2 - (HALF - THICK) ** 2)
    assert f"its outside stands {round(2 * rise) / 2:g} further out in the middle" in book
    assert "t/R is 1/39. Wood of one thickness is not bent beyond 1/100" in book  # 1500 / 38
    assert "along the bend" in book
