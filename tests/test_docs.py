"""What README.md and DEVELOPERS.md say is so: files exist, commands and options exist, rooms exist."""

from __future__ import annotations

import re
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
