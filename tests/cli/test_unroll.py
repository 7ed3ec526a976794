"""`unroll` from file to files: groups of an OBJ as panels, several panels, refusals in plain words."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from strakewright.arrays import Floats, Ints
from strakewright_cli.app import run


def plate(fold_deg: float) -> tuple[Floats, Ints]:
    """A plate of 1200 by 600 mm, bent along its middle line."""
    x, y = np.meshgrid(np.linspace(0, 1200, 25), np.linspace(-300, 300, 13))
    up, f = np.maximum(y.ravel(), 0.0), np.radians(fold_deg)
    space = np.column_stack([x.ravel(), y.ravel() - up * (1 - np.cos(f)), up * np.sin(f)])
    corner = np.arange(len(space)).reshape(x.shape)
    a, b, c, d = (s.ravel() for s in (corner[:-1, :-1], corner[:-1, 1:], corner[1:, :-1], corner[1:, 1:]))
    return space, np.concatenate([np.stack([a, b, d], 1), np.stack([a, d, c], 1)])


def as_obj(path: Path, mesh: tuple[Floats, Ints], groups: dict[str, Ints], word: str = "g") -> Path:
    """OBJ text; groups : name -> its triangles (none: no groups)."""
    vertices, triangles = mesh
    rows = ["v {:.9g} {:.9g} {:.9g}".format(*v) for v in vertices]
    for name, mine in (groups or {"": np.arange(len(triangles))}).items():
        rows += [f"{word} {name}"] * bool(name) + ["f {} {} {}".format(*(t + 1)) for t in triangles[mine]]
    path.write_text("\n".join(rows) + "\n")
    return path


def halves(mesh: tuple[Floats, Ints]) -> tuple[Ints, Ints]:
    low = mesh[0][mesh[1]].mean(axis=1)[:, 1] < 0
    return np.flatnonzero(low), np.flatnonzero(~low)


def panels(out: Path) -> dict[str, dict[str, object]]:
    return {panel["name"]: panel for panel in json.loads((out / "flat.json").read_text())["panels"]}


@pytest.mark.parametrize("word", ["g", "o"], ids=["groups", "objects"])
def test_each_group_is_a_panel_when_asked(word: str, tmp_path: Path) -> None:
    """A fold of 5 degrees is no crease by itself; as two groups both rectangles come out exactly (closed form)."""
    mesh = plate(5.0)
    low, high = halves(mesh)
    path = as_obj(tmp_path / "plate.obj", mesh, {"garboard": low, "topside": high}, word)
    assert run(["unroll", str(path), "--out", str(tmp_path / "out"), "--by-groups"]) == 0
    written = {path.name for path in (tmp_path / "out").iterdir()}
    assert written >= {"flat.json", "flat.dxf", "flat.svg", "strain.png", "strain.svg", "summary.json", "times.json"}
    found = panels(tmp_path / "out")
    assert list(found) == ["garboard", "topside"]
    for panel in found.values():
        assert np.ptp(np.array(panel["flat"]), axis=0) == pytest.approx([1200.0, 300.0], abs=1e-4)
        assert panel["covered_by"] == "paper and sheets cover it whole"


def test_a_group_stays_whole_over_its_folds_and_counts_its_pieces(tmp_path: Path) -> None:
    """A fold of 40 degrees inside one group, and the other group in two places."""
    bent, far = plate(40.0), plate(0.0)
    space = np.concatenate([bent[0], far[0] + [0, 0, 900], far[0] + [0, 0, 1800]])
    faces = np.concatenate([bent[1] + k * len(bent[0]) for k in range(3)])
    count = len(bent[1])
    groups = {"hull": np.arange(count), "sole": np.arange(count, 3 * count)}
    path = as_obj(tmp_path / "three.obj", (space, faces), groups)
    assert run(["unroll", str(path), "--out", str(tmp_path / "out"), "--by-groups"]) == 0
    found = panels(tmp_path / "out")
    assert list(found) == ["hull", "sole 1", "sole 2"]
    assert np.ptp(np.array(found["hull"]["flat"]), axis=0) == pytest.approx([1200.0, 600.0], abs=1e-3)


def test_groups_not_asked_for_are_told(tmp_path: Path) -> None:
    mesh = plate(5.0)
    low, high = halves(mesh)
    path = as_obj(tmp_path / "plate.obj", mesh, {"garboard": low, "topside": high})
    run(["unroll", str(path), "--out", str(tmp_path / "out")])
    assert list(panels(tmp_path / "out")) == ["panel1"]
    findings = json.loads((tmp_path / "out" / "summary.json").read_text())["findings"]
    assert "groups-at-hand" in [finding["code"] for finding in findings]


def test_no_groups_to_part_by_is_bad_input(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    path = as_obj(tmp_path / "plate.obj", plate(5.0), {})
    assert run(["unroll", str(path), "--out", str(tmp_path / "out"), "--by-groups"]) == 3
    said = capfd.readouterr().err
    assert "to part by" in said
    assert "Leave --by-groups out" in said
    assert not (tmp_path / "out").exists()
