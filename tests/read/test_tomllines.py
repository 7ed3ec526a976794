"""Places in a TOML file, against lines counted by hand and by construction."""

from __future__ import annotations

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from strakewright.read.tomllines import lines_of

TRICKY = '''# a comment with [brackets] and "quotes
title = "one # two"    # line 2
[hull]
mesh = 'c:\\temp\\'
"odd key" = """
[not.a.header]
x = 1 """
limits = { low = 1, high = [
  2,
  3 ] }
[[planking]]
panel = "side"
[planking.deep]
a.b.c = 1
[[planking]]
panel = """two""\\""""
at = [ # none yet
  [1, 2],
  { x = "]" }, # comma ]
]
[ "quoted.table" . inner ]
when = 1979-05-27 07:32:00
'''


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("title",), 2),
        (("hull",), 3),
        (("hull", "mesh"), 4),
        (("hull", "odd key"), 5),
        (("hull", "limits"), 8),
        (("hull", "limits", "low"), 8),
        (("hull", "limits", "high", 1), 10),
        (("planking",), 11),
        (("planking", 0), 11),
        (("planking", 0, "panel"), 12),
        (("planking", 0, "deep"), 13),
        (("planking", 0, "deep", "a", "b", "c"), 14),
        (("planking", 1), 15),
        (("planking", 1, "panel"), 16),
        (("planking", 1, "at"), 17),
        (("planking", 1, "at", 0), 18),
        (("planking", 1, "at", 0, 1), 18),
        (("planking", 1, "at", 1, "x"), 19),
        (("quoted.table", "inner"), 21),
        (("quoted.table", "inner", "when"), 22),
    ],
)
def test_lines_counted_by_hand(path: tuple[str | int, ...], line: int) -> None:
    tomllib.loads(TRICKY)
    assert lines_of(TRICKY)[path] == line


SCALARS = st.sampled_from(['"a # ] } b"', "'x'", "1.5", "true", "[1, [2, 3], ]", "{ a = 1, b = [2] }", '"""m"""'])


@given(st.lists(st.tuples(st.integers(0, 3), SCALARS), max_size=12))
def test_every_path_of_the_value_has_a_line(rows: list[tuple[int, str]]) -> None:
    """Built with a known number of blank lines before each key."""
    text, expected = "", {}
    for number, (blanks, value) in enumerate(rows):
        text += "# note\n" * blanks + f"k{number} = {value}\n"
        expected[f"k{number}"] = text.count("\n")
    found = lines_of(text)
    assert {path[0]: line for path, line in found.items() if len(path) == 1} == expected
    assert all(path in found for path in _paths(tomllib.loads(text), ()))


def _paths(value: object, path: tuple[str | int, ...]) -> list[tuple[str | int, ...]]:
    pairs: list[tuple[str | int, object]] = []
    if isinstance(value, dict):
        pairs = list(value.items())
    elif isinstance(value, list):
        pairs = list(enumerate(value))
    return [p for key, inner in pairs for p in [(*path, key), *_paths(inner, (*path, key))]]
