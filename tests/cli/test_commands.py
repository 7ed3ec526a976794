"""The commands from end to end on the starter boat: status, files, and JSON alone on stdout."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tests.cli.test_bad_inputs import BOARDS_JSON, PARTS_JSON

from strakewright import job
from strakewright_cli.app import run

FILES = ("summary.json", "planks.json", "parts.json", "boards.json", "nest.json", "times.json")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The starter boat, and a small nest job beside it."""
    folder = tmp_path_factory.mktemp("commands") / "boat"
    assert run(["new", str(folder)]) == 0
    folder.joinpath("parts.json").write_text(json.dumps(PARTS_JSON))
    folder.joinpath("boards.json").write_text(json.dumps(BOARDS_JSON))
    return folder


def test_the_starter_builds_unchanged(folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
    out = folder / "result"
    status = run(["build", str(folder / "boat.toml"), "--out", str(out), "--seconds", "0", "--json"])
    said, err = capfd.readouterr()
    assert (status, err) == (0, "")
    record = json.loads(said)
    assert record == json.loads((out / "summary.json").read_text())
    assert all(check["holds"] for check in record["checks"])
    assert all((out / name).is_file() for name in FILES)
    assert list((out / "sheets").glob("*.dxf"))


def test_check_says_what_it_understood(
    folder: Path, capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    report = job.check(folder / "boat.toml")  # once for both ways of telling it
    monkeypatch.setattr(job, "check", lambda boat: report)
    before = sorted(folder.iterdir())
    assert run(["check", str(folder / "boat.toml")]) == 0
    out, err = capfd.readouterr()
    assert out == ""
    for fact in ("Knot", "bottom, side", "F1 at x 500 mm", "4 courses of 12 mm", "herringbone at 45", "37 boards"):
        assert fact in err
    assert run(["check", str(folder / "boat.toml"), "--json"]) == 0
    out, err = capfd.readouterr()
    assert (err, json.loads(out)["panels"]) == ("", ["bottom", "side"])
    assert sorted(folder.iterdir()) == before


@pytest.mark.parametrize("boards", ["boards.json", "pile.csv"])
def test_nest_places_anybodys_parts(folder: Path, boards: str, capfd: pytest.CaptureFixture[str]) -> None:
    folder.joinpath("pile.csv").write_text("id,length,width,thickness\nP1,2400,150,27\n")
    out = folder / "nested"
    arguments = [str(folder / "parts.json"), str(folder / boards), "--out", str(out), "--seconds", "0"]
    assert run(["nest", *arguments]) == 0
    said, err = capfd.readouterr()
    assert said == ""
    assert f"Wrote {out}" in err
    (placed,) = json.loads((out / "nest.json").read_text())["placements"]
    assert (placed["part"], placed["flip"]) == ("S1", False)


def test_unroll_lays_the_starter_flat(folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
    """The starter's hull has two panels, both exactly developable: no strain beyond the mesh's own coarseness."""
    out = folder / "flat"
    assert run(["unroll", str(folder / "hull.ply"), "--out", str(out), "--json"]) == 0
    said, err = capfd.readouterr()
    assert err == ""
    assert all(check["holds"] for check in json.loads(said)["checks"])
    panels = json.loads((out / "flat.json").read_text())["panels"]
    assert len(panels) == 2
    assert max(panel["strain_max"] for panel in panels) < 1e-3
    assert (out / "flat.dxf").is_file()


def test_a_result_that_is_not_as_asked_has_status_1(folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
    """Two parts, wood for one: all files are written, the finding says what is missing."""
    parts = json.loads(json.dumps(PARTS_JSON))
    parts["parts"] = [
        parts["parts"][0] | {"id": f"S{n}", "outline": [[0, 0], [2000, 0], [2000, 90], [0, 90]]} for n in (1, 2)
    ]
    folder.joinpath("two.json").write_text(json.dumps(parts))
    out = folder / "short"
    arguments = [str(folder / "two.json"), str(folder / "boards.json"), "--out", str(out), "--seconds", "0"]
    assert run(["nest", *arguments]) == 1
    err = capfd.readouterr().err
    assert "Cannot be done as asked" in err
    assert (out / "summary.json").is_file()
    assert len(json.loads((out / "nest.json").read_text())["unplaced"]) == 1
