"""The sample hulls, each through `build` with five seconds of search: status, faces on the boards, time.

All four take minutes on one core: they run with STRAKEWRIGHT_SAMPLES=all (the shortest runs always).
Expected statuses: the scenario at the head of each boat file.
"""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest
from tests.acceptance.laying import known_points, placed, read, stations, up_on_boat

from strakewright.job import BuildOptions, Written, build_files

SAMPLES = Path(__file__).parents[2] / "sample_hulls"
LONG = pytest.mark.skipif(os.environ.get("STRAKEWRIGHT_SAMPLES") != "all", reason="set STRAKEWRIGHT_SAMPLES=all")
BOATS = [
    ("sallow/boat.toml", 0),
    pytest.param("teasel/boat.toml", 1, marks=LONG),
    pytest.param("teasel/boat-enough.toml", 0, marks=LONG),
    pytest.param("corncrake/boat.toml", 0, marks=LONG),
    pytest.param("teasel/boat-table-corrected.toml", 0, marks=LONG),
    pytest.param("dunlin/boat.toml", 0, marks=LONG),
]


def built(name: str, out: Path) -> Written:
    return build_files(SAMPLES / name, out, BuildOptions(5.0), lambda *_: None)


@pytest.mark.parametrize(("name", "status"), BOATS)
def test_a_sample_builds_as_its_file_says(name: str, status: int, tmp_path: Path) -> None:
    done = built(name, tmp_path / "out")
    assert done.status == status, [f for f in done.findings if f.level == "blocking"]
    failed = [c.name for c in done.checks if not c.holds]
    if status == 0:
        assert failed == []
    else:
        codes = {f.code for f in done.findings if f.level == "blocking"}
        assert codes == {"boards-missing", "part-left-over"}
        assert [n for n in failed if "placed" not in n] == []
    lay_back(tmp_path / "out")


def lay_back(out: Path) -> None:
    """A1: every placed part shows the inside: towards the middle of the boat at the height of the highest plank."""
    parts = {p["id"]: p for p in read(out, "parts", "parts")}
    planks = {p["id"]: p for p in read(out, "planks", "planks")}
    top = max(z for p in planks.values() for _, _, z in p["edges"]["first"]["seam"])
    frames = stations(out)
    placements = read(out, "nest", "placements")
    assert placements
    for placement in (p for p in placements if p["part"] in planks):
        if placement["part"] not in planks:  # frames, transom, members
            continue
        part, plank = parts[placement["part"]], planks[placement["part"]]
        flat, space = known_points(plank, part, frames)
        up, at = up_on_boat(placed(flat, placement), space)
        assert up @ [0.0, -at[1], top + 500.0 - at[2]] > 0, part["id"]


@LONG
def test_the_first_teasel_pile_is_two_boards_short(tmp_path: Path) -> None:
    done = built("teasel/boat.toml", tmp_path / "out")
    short = [f for f in done.findings if f.code == "boards-missing"]
    assert [f.subject for f in short] == ["2 boards"], short
    summary = json.loads((tmp_path / "out" / "summary.json").read_text())
    assert summary["stock"]["parts_placed"] < summary["stock"]["parts"]
