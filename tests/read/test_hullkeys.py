"""Chines, panels and ignored groups in the boat file: what is taken, and what is said to the rest."""

from __future__ import annotations

from pathlib import Path

import pytest

from strakewright.errors import InputError
from strakewright.read.boatfile import read_boat

BOAT = """
[boat]
name = "Grebe"
units = "mm"
[hull]
mesh = "hull.ply"
{key}
[frames]
spacing = 500
[[planking]]
panel = "side"
pattern = "strakes"
courses = 6
thickness = 15
[stock]
boards = "boards.csv"
"""


def read(folder: Path, key: str) -> object:
    (folder / "hull.ply").write_text("ply")
    (folder / "boards.csv").write_text("id,length,width,thickness\n")
    path = folder / "boat.toml"
    path.write_text(BOAT.format(key=key))
    return read_boat(path).hull


def test_one_line_or_several(tmp_path: Path) -> None:
    one = read(tmp_path, "chine = [[0, 700, 300], [2500, 800, 250.5]]")
    two = read(tmp_path, "chine = [[[0, 700, 300], [2500, 800, 250.5]], [[0, 1, 2], [3, 4, 5]]]")
    assert one.chine == (((0.0, 700.0, 300.0), (2500.0, 800.0, 250.5)),)  # type: ignore[attr-defined]
    assert len(two.chine) == 2  # type: ignore[attr-defined]


def test_groups(tmp_path: Path) -> None:
    hull = read(tmp_path, 'groups = ["low", ["up_p", "up_s"]]\nignore = ["deck"]')
    assert hull.groups == (("low",), ("up_p", "up_s"))  # type: ignore[attr-defined]
    assert hull.ignore == ("deck",)  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("key", "said"),
    [
        ("chine = [[0, 700], [2500, 800]]", "no line of points"),
        ("chine = [[0, 700, 300]]", "no line of points"),
        ('chine = "sharp"', "no line of points"),
        ("groups = 3", "no list of groups"),
        ("groups = [[1]]", "no list of names"),
        ('ignore = "deck"', "no list of names"),
    ],
)
def test_refused(tmp_path: Path, key: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        read(tmp_path, key)
