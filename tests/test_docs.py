"""What README.md and DEVELOPERS.md say is so: files exist, commands and options exist, rooms exist."""

from __future__ import annotations

import re
from dataclasses import fields
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def commands() -> list[str]:
    """Every command line of ours in the README."""
    lines = [line for block in re.findall(r"```sh\n(.*?)```", README, re.DOTALL) for line in block.splitlines()]
    found = [part.strip() for line in lines for part in line.split("&&")]
    return [re.sub(r"\s+#.*", "", c).replace(".venv/bin/", "") for c in found if "strakewright " in c]


@pytest.mark.parametrize("command", commands())
def test_commands_and_options_of_the_readme_exist(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    from strakewright_cli.app import run

    words = command.split()[1:]
    assert run([words[0], "--help"]) == 0
    told = capsys.readouterr().out
    for option in (w for w in words if w.startswith("--")):
        assert option in told, option


def test_links_and_samples_exist() -> None:
    for text in (README, DEVELOPERS):
        for target in re.findall(r"\]\(([^)#:]+)\)", text):
            assert (ROOT / target).exists(), target
    for sample in re.findall(r"sample_hulls/\S+\.\w+", README):
        assert (ROOT / sample).exists(), sample


def first_cells(text: str, head: str) -> set[str]:
    """Names in the first column of the table whose head starts so."""
    table = text.split(f"| {head} |", 1)[1].split("\n\n", 1)[0].splitlines()[2:]
    return {name for row in table for name in re.findall(r"`([a-z_]+)`", row.split("|")[1])}


def test_the_pile_page_names_every_column_key_and_rule(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from strakewright.lumber import Rules
    from strakewright.read.stock import COLUMNS
    from strakewright_cli.app import run

    text = (ROOT / "docs" / "pile.md").read_text(encoding="utf-8")
    assert first_cells(text, "column") == set(COLUMNS)
    assert first_cells(text, "rule") == {f.name for f in fields(Rules)}
    job = re.search(r"<!-- a job that `nest` takes -->\n```json\n(.*?)```", text, re.DOTALL)
    assert job
    (tmp_path / "parts.json").write_text(job[1])
    (tmp_path / "boards.csv").write_text("id,length,width,thickness,price_bf\nA,2600,150,15,6\n")
    line = ["nest", str(tmp_path / "parts.json"), str(tmp_path / "boards.csv"), "--out", str(tmp_path / "plan")]
    assert run([*line, "--rounds", "0"]) == 0
    assert "2 of 2 parts lie on 1 of 1 board" in capsys.readouterr().err
    for command in first_cells(text, "command"):
        assert run([command, "--help"]) == 0


def test_two_commands_do_all_the_set_up() -> None:
    for name in ("the main job", "the tests"):
        block = re.search(rf"<!-- {name} -->\n```sh\n(.*?)```", README, re.DOTALL)
        assert block
        assert len(block[1].strip().splitlines()) == 1
        assert "python3 -m venv .venv" in block[1]


def test_rooms_named_in_the_layer_table_stand() -> None:
    table = "\n".join(line for line in DEVELOPERS.splitlines() if line.startswith("| "))
    for room in re.findall(r"`([a-z_]+)/`", table):
        assert (ROOT / "layout" / "strakewright" / room).is_dir() or (ROOT / room).is_dir(), room
    rooms = {p.stem for p in (ROOT / "layout" / "strakewright").iterdir() if p.stem[0] not in "_p."}
    for room in rooms - {"py"}:
        assert f"`{room}" in table, f"{room} is missing from the table of layers"
