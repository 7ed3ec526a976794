"""Panels and chines as the boat file names them.  Expected lines are those of the exact hulls, known on paper."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from strakewright.arrays import Floats, Ints
from strakewright.errors import InputError
from strakewright.loft.hulls import loft_hull
from strakewright.read.mesh import read_mesh
from strakewright.triangles import TriangleMesh
from tests import exact_hulls as exact
from tests.exact_meshes import Make
from tests.loft.hulls import codes, lofted, settings, space

FLAT_CHINE = exact.RunningChine(least=1.0)  # no crease_deg finds all of it


def as_groups(folder: Path, mesh: tuple[Floats, Ints], label: Ints, names: list[str], word: str = "g") -> Path:
    """An OBJ file with one group (or object, word "o") for every label."""
    vertices, triangles = mesh
    rows = ["v {!r} {!r} {!r}".format(*map(float, v)) for v in vertices]
    for number, name in enumerate(names):
        rows.append(f"{word} {name}")
        rows += ["f {} {} {}".format(*(t + 1)) for t in triangles[label == number]]
    path = folder / "hull.obj"
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    return path


def split(mesh: tuple[Floats, Ints]) -> Ints:
    """0 for the bottom, 1 for the side: the chine lies at half breadth 700, height 800."""
    middle = mesh[0][mesh[1]].mean(axis=1)
    slope = np.radians(FLAT_CHINE.deadrise(middle[:, 0]) + FLAT_CHINE.fold(middle[:, 0]) / 2)
    out = (np.abs(middle[:, 1]) - 700.0) * np.cos(slope) + (middle[:, 2] - 800.0) * np.sin(slope)
    return (out > 0).astype(np.int64)


@pytest.mark.parametrize("word", ["g", "o"], ids=["groups", "objects"])
def test_groups_as_panels(word: str, tmp_path: Path) -> None:
    mesh = FLAT_CHINE.mesh(Make(triangles=5000))
    crate = np.array([[2000.0, 0, 900], [2400, 0, 900], [2200, 200, 900], [2200, 0, 1300]])
    faces = np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [2, 0, 3]]) + len(mesh[0])
    whole = np.concatenate([mesh[0], crate]), np.concatenate([mesh[1], faces])
    label = np.concatenate([split(mesh), np.full(4, 2)])
    path = as_groups(tmp_path, whole, label, ["lower", "upper", "crate"], word)
    keys = settings(groups=(("lower",), ("upper",)), ignore=("crate",))
    hull = loft_hull(read_mesh(path), keys, "groups")
    assert [p.name for p in hull.panels] == ["bottom", "side"]
    assert {"panels-by-name", "groups-left-out"} <= codes(hull)
    assert np.abs(space(hull.panels[0], "chine")[:, 1:] - [700.0, 800.0]).max() < 0.03


def test_a_name_that_is_not_there(tmp_path: Path) -> None:
    mesh = FLAT_CHINE.mesh(Make(triangles=2000))
    path = as_groups(tmp_path, mesh, split(mesh), ["lower", "upper"])
    with pytest.raises(InputError, match='no group or object "middle"') as caught:
        loft_hull(read_mesh(path), settings(groups=(("lower",), ("middle",))), "groups")
    assert '"lower", "upper"' in caught.value.fix


def test_a_group_of_the_other_side_only(tmp_path: Path) -> None:
    mesh = FLAT_CHINE.mesh(Make(triangles=2000))
    label = split(mesh)
    label[(mesh[0][mesh[1]].mean(axis=1)[:, 1] < 0) & (label == 1)] = 2
    path = as_groups(tmp_path, mesh, label, ["lower", "upper", "lee"])
    with pytest.raises(InputError, match="port side"):
        loft_hull(read_mesh(path), settings(groups=(("lower",), ("lee",))), "groups")


def test_chine_given_as_points() -> None:
    """Fold of one degree and less over half a metre: followed because it is given, in the file's place."""
    vertices, triangles = FLAT_CHINE.mesh(Make(triangles=9000))
    moved = vertices + np.array([250.0, 40.0, 0.0])
    line = tuple((float(x), 740.0, 800.0) for x in np.linspace(250.0, 5850.0, 15))
    hull = lofted((moved, triangles), crease_deg=100.0, chine=(line,))
    assert [p.name for p in hull.panels] == ["bottom", "side"]
    assert np.abs(space(hull.panels[0], "chine")[:, 1:] - [700.0, 800.0]).max() < 0.03


def test_chine_far_from_any_edge() -> None:
    vertices, triangles = FLAT_CHINE.mesh(Make(triangles=2000))
    line = ((0.0, 700.0, 800.0), (2800.0, 700.0, 1000.0), (5600.0, 700.0, 800.0))
    with pytest.raises(InputError, match="no edges near the chine"):
        loft_hull(TriangleMesh(vertices, triangles), settings(chine=(line,)), "astray")
