"""Files spoiled at random: readers may refuse them, but only with an InputError whose every fault says where."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Callable
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.read.test_boatfile import SOUND
from tests.read.test_nestfiles import PARTS

from strakewright.errors import InputError
from strakewright.lumber import Dressing
from strakewright.read.boatfile import read_boat
from strakewright.read.nestfiles import read_parts
from strakewright.read.stock import read_boards

BOARDS = '# pile\nid,length,width,thickness,count,species,price\nA,2400,150,4/4,3,ash,5\nB,8 ft,"5 1/2 in",27,,,\n'
BITS = st.sampled_from(
    ["", "[", "]", "{", "}", '"', "'", '"""', ",", "=", "\n", "\\", "#", "-", "nan", "1e999", "9" * 400, "é", "\x00",
     "true", "null", "[[planking]]\n", ":", "0", "-0", "1/0", "½", "\ufeff", "\r", "\u2028", "x.y", "[]", "{}", "..."]
)  # fmt: skip
SPOILS = st.lists(st.tuples(st.floats(0, 1), st.integers(0, 12), BITS), min_size=1, max_size=4)
Spoils = list[tuple[float, int, str]]


def spoiled(text: str, spoils: Spoils) -> str:
    """The text with some stretches replaced.  spoils : place as a fraction, length taken out, text put in"""
    for place, length, bit in spoils:
        start = int(place * len(text))
        text = text[:start] + bit + text[start + length :]
    return text


def refused_or_read(read: Callable[[Path], object], name: str, text: str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / name
        for other in ("hull.ply", "boards.csv"):
            path.with_name(other).write_text("")
        path.write_bytes(text.encode("utf-8", "surrogatepass"))
        try:
            read(path)
        except InputError as refused:
            for fault in (refused, *refused.also):
                assert name in fault.where
                assert fault.what
                assert len(str(fault)) < 600


MANY = settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@MANY
@given(SPOILS)
def test_spoiled_boat_files(spoils: Spoils) -> None:
    refused_or_read(read_boat, "boat.toml", spoiled(SOUND, spoils))


@MANY
@given(SPOILS)
def test_spoiled_tables_of_boards(spoils: Spoils) -> None:
    refused_or_read(lambda path: read_boards(path, Dressing(), "ash"), "pile.csv", spoiled(BOARDS, spoils))


@MANY
@given(SPOILS)
def test_spoiled_files_of_parts(spoils: Spoils) -> None:
    refused_or_read(read_parts, "parts.json", spoiled(json.dumps(PARTS), spoils))
