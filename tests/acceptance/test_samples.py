"""The sample hulls, each through `build` with five seconds of search: status, faces on the boards, time.

All four take minutes on one core: they run with STRAKEWRIGHT_SAMPLES=all (the shortest runs always).
Expected statuses: the scenario at the head of each boat file.
"""

from __future__ import annotations

import json
import os
import re
from pathlib import Path
from typing import Any

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
    answers(tmp_path / "out")


def answers(out: Path) -> None:
    """Every question of docs/planking.md that concerns this boat is answered by the figure named there."""
    text = (SAMPLES.parent / "docs" / "planking.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| ([^|]+\?) \| (\w+) \| `(\w+) ([^`]+)` \|$", text, flags=re.M)
    assert len(rows) >= 25
    planked = json.loads((out / "summary.json").read_text())["planking"]
    listed = out / "members.json"  # a boat may ask for none
    members = json.loads(listed.read_text())["members"] if listed.exists() else []
    has = {"planking", "strakes", "chine"}
    has |= {"diagonals"} if any(x["pattern"] == "herringbone" for x in planked) else set()
    has |= {"layers"} if any(x["layer"] > 1 for x in planked) else set()
    has |= (
        {"sheer"} if any(m["sheer_change"] is not None for x in planked for m in x.get("lining_modes", ())) else set()
    )
    has |= {"keel"} if any("centre_joint" in x for x in planked) else set()
    has |= {"stem"} if any(m["along"] == "stem" for m in members) else set()
    has |= {"formers"} if any(m["former"] for m in members) else set()
    has |= {"rabbets"} if json.loads((out / "summary.json").read_text())["rabbets"] else set()
    for question, boats, file, names in rows:
        if boats in has:
            found = json.loads((out / f"{file}.json").read_text())
            assert named(found, re.findall(r'"[^"]+"|\w+', names)), question


def named(found: Any, names: list[str]) -> bool:
    """Whether the names lead to a figure, in one item at least of every list on the way."""
    if not names:
        return True
    if isinstance(found, list):
        return any(named(x, names) for x in found)
    if names[0] == "checks":
        return any(c["name"].startswith(names[1].strip('"')) for c in found["checks"])
    return isinstance(found, dict) and names[0] in found and named(found[names[0]], names[1:])


def test_a_name_that_is_not_there_answers_nothing() -> None:
    found = {"planking": [{"a": 1}, {"widths": {"F1": 2.0}}], "checks": [{"name": "mirror pairs"}]}
    assert named(found, ["planking", "widths"])
    assert not named(found, ["planking", "girths"])
    assert not named(found, ["planking", "widths", "F1", "x"])
    assert not named(found, ["checks", '"seams"'])


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
