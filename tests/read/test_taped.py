"""Boards as a tape finds them, and the kinds of piles a mill names."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from strakewright.errors import InputError
from strakewright.geometry.outlines import signed_area
from strakewright.lumber import Dressing
from strakewright.read.pilefile import read_piles
from strakewright.read.stock import read_boards
from strakewright.write.tallysheet import template_csv, template_page

HEAD = "id,length,width,width_end,thickness,crook,species,defects\n"


def boards_of(tmp_path: Path, rows: str):
    (tmp_path / "boards.csv").write_text(HEAD + rows)
    return read_boards(tmp_path / "boards.csv", Dressing(), "ash")[0]


def test_taper_crook_and_defects_become_an_outline(tmp_path: Path) -> None:
    board = boards_of(tmp_path, "A,3100,200,180,27,12,,knot 1050 60 30; check 50 100 200x6\n")[0]
    ring = board.outline
    assert np.ptp(ring[:, 0]) == pytest.approx(3000.0)  # 50 mm off each end
    assert signed_area(ring) == pytest.approx(3000 * 190, rel=1e-6)  # a crook shifts wood, it takes none
    at = ring[np.abs(ring[:, 0] - 1500) < 1]
    assert sorted(at[:, 1]) == pytest.approx([12.0, 12.0 + 190.0])
    knot, check = board.defects
    assert (knot.kind, check.kind) == ("knot", "check")
    low = 12.0 * (1 - (2 * 1000 / 3000 - 1) ** 2)
    assert knot.outline.mean(axis=0) == pytest.approx([1000.0, 60.0 + low])
    assert np.ptp(check.outline, axis=0) == pytest.approx([200.0, 6.0])


@pytest.mark.parametrize(
    ("row", "message"),
    [
        ("A,3100,200,180,27,12,,knot 1050 60\n", "'knot 1050 60' is no defect"),
        ("A,3100,200,180,27,12,,knot 1050 60 3x4x5\n", "'3x4x5' is no size"),
        ("A,3100,200,180,27,900,,\n", "crook: '900' is 900 mm"),
        ("A,3100,200,5,27,,,\n", "width_end: '5' is 5 mm"),
    ],
)
def test_a_bad_cell_is_named(tmp_path: Path, row: str, message: str) -> None:
    with pytest.raises(InputError) as caught:
        boards_of(tmp_path, row)
    assert message in str(caught.value)


def test_the_sheet_for_the_mill_can_be_read_back_when_filled_in(tmp_path: Path) -> None:
    lines = template_csv().splitlines()
    example = lines[-1].removeprefix("# ")
    (tmp_path / "tally.csv").write_text("\n".join([lines[0], *lines[1:], example]) + "\n")
    board = read_boards(tmp_path / "tally.csv", Dressing(), "ash")[0][0]
    assert (board.id, board.species, board.grade, len(board.defects)) == ("A1", "white ash", "1 Common", 1)
    assert template_page(12).count("<tr>") == 13


PILE = '[[pile]]\nspecies = "white ash"\nthickness = "5/4"\nwidth = ["6 in", "12 in"]\nlength = ["8 ft", "16 ft"]\n'


def test_a_pile_is_read_in_quarters_and_feet(tmp_path: Path) -> None:
    (tmp_path / "p.toml").write_text(PILE + "price = 8.5\n")
    pile = read_piles(tmp_path / "p.toml")[0]
    assert (pile.rough, pile.width, pile.price) == (31.75, (152.4, 304.8), 8.5)
    assert pile.thickness == pytest.approx((1 + 1 / 16) * 25.4)  # 5/4 dresses to 1 1/16 in by the grading table
    assert [round(v / 304.8) for v in pile.lengths()] == list(range(8, 17))
    assert pile.share(228.6, 14 * 304.8) == pytest.approx(0.5 * 3 / 9)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "not a list of piles"),
        ("x", "cannot be read as TOML"),
        (PILE + "colour = 1\n", "colour is not known"),
        (PILE.replace('["6 in", "12 in"]', '"6 in"'), "width is no pair"),
        (PILE.replace('"8 ft"', '"20 ft"'), "length falls"),
        (PILE.replace('"6 in"', '"6 yd"'), "width"),
        (PILE.replace("species", "#species"), "species is missing"),
        (PILE + "knots = -1\n", "knots is -1"),
        (PILE.replace('"5/4"', "0"), "0 mm"),
    ],
)
def test_a_bad_pile_is_named(tmp_path: Path, text: str, message: str) -> None:
    (tmp_path / "p.toml").write_text(text)
    with pytest.raises(InputError) as caught:
        read_piles(tmp_path / "p.toml")
    assert message in str(caught.value)
