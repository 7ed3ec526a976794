"""The starter boat: its hull lies on the surfaces it claims, its files are read without a complaint."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from strakewright.read.boatfile import read_boat
from strakewright.read.mesh import read_mesh
from strakewright.read.stock import read_boards
from strakewright_cli.app import run
from strakewright_cli.starter.hull import Skiff, skiff_mesh


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("new") / "Bläßhuhn"
    assert run(["new", str(folder)]) == 0
    return folder


def test_its_files_are_read_without_a_complaint(folder: Path) -> None:
    boat = read_boat(folder / "boat.toml")
    mesh = read_mesh(boat.hull.mesh)
    boards, findings = read_boards(boat.stock.boards, boat.stock, boat.species, boat.units)
    assert len(mesh.triangles) >= 3000
    assert [finding.level for finding in findings] == ["note"]
    assert {board.species for board in boards} == {"Douglas-fir"}
    assert [table.panel for table in boat.planking] == ["side", "bottom"]


def test_every_vertex_lies_on_a_developable_surface() -> None:
    """Closed forms: the bottom is z = rise (x/L)^4 + y tan d; on the side, every normal leans by the flare.

    The normal of a wall of constant slope makes the same angle with the horizontal everywhere (flare 16 degrees);
    triangles inscribed in it are off by less than half a degree at this size."""
    skiff = Skiff()
    vertices, triangles = skiff_mesh(skiff)
    x, y, z = vertices.T
    bottom = np.abs(z - skiff.rise * (x / skiff.length) ** 4 - y * np.tan(skiff.deadrise)) < 1e-9
    is_bottom = bottom[triangles].all(axis=1)
    a, b, c = (vertices[triangles[:, n]] for n in range(3))
    normals = np.cross(b - a, c - a)
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    lean = np.rad2deg(np.arcsin(-normals[~is_bottom, 2]))
    assert is_bottom.sum() > 1500
    assert np.abs(lean - np.rad2deg(skiff.flare)).max() < 0.5
    assert (normals[~is_bottom, 1] > 0).all()
    assert (normals[is_bottom, 2] < 0).all()


def test_the_mesh_is_one_sheet_with_one_border() -> None:
    """An edge belongs to two triangles, or to one on the border; Euler's number of a disc is 1."""
    vertices, triangles = skiff_mesh(Skiff())
    edges = np.sort(triangles[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1)
    _, counts = np.unique(edges, axis=0, return_counts=True)
    assert set(counts.tolist()) == {1, 2}
    assert len(vertices) - len(counts) + len(triangles) == 1
