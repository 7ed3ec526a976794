"""Tables as they are set on paper: measures, breaks and columns, by the widths of their words."""

from __future__ import annotations

import pytest

from strakewright.write.book import Table, side_by_side, two_lines
from strakewright.write.bookpdf import A4, LETTER
from strakewright.write.paper import words_width
from strakewright.write.settables import grid_of, wrapped


def test_lengths_of_two_lines_stand_to_the_right() -> None:
    assert Table(("frame", "height"), (("F1", two_lines(1016.5)),)).is_figure(1)


def test_wide_tables_break_words_and_stay_within_the_measure() -> None:
    long = "a rather long remark that will not stand in one line of any paper whatever"
    table = Table(("pair", "what", "why"), (("S01a", long, long), ("S02", "short", "7.5")), tall=(0,))
    grid = grid_of(table, 5.0, 200.0)
    assert grid.edges[-1] <= 200.0 + 1e-6
    assert len(grid.rows[0][1]) > 1
    assert grid.height(grid.rows[0]) >= len(grid.rows[0][1]) * 8.0
    assert " ".join(grid.rows[0][1]) == long


def test_columns_of_figures_are_set_to_the_right() -> None:
    table = Table(("a", "b", "c"), (("x", '12.5\n1/2"', "easy"), ("y", "–", "7")))
    assert [table.is_figure(c) for c in range(3)] == [False, True, False]


def test_long_lists_are_read_down_then_across() -> None:
    table = side_by_side(("n", "v"), [(str(k), "x") for k in range(5)], 2)
    assert [r[0] + r[2] for r in table.rows] == ["03", "14", "2"]
    assert table.tall == (0, 2)


def test_a_word_wider_than_its_column_is_broken_and_nothing_is_lost() -> None:
    lines = wrapped("Supercalifragilistic word", 5.0, 20.0)
    assert len(lines) > 2
    assert "".join(lines) == "Supercalifragilisticword"
    assert max(words_width(line, 5.0) for line in lines) <= 20.01
    table = Table(("a", "b"), (("x" * 80, "y" * 80),))
    assert grid_of(table, 5.0, 200.0).edges[-1] <= 200.0 + 1e-6


@pytest.mark.parametrize("measure", [A4.measure, LETTER.measure])
def test_figures_of_the_set_up_sheet_stay_whole(measure: float) -> None:
    """The widest row a boat of 8 m asks for: no foot, inch or fraction is broken inside."""
    held = [f"{mm}\n{tape}".replace(" ", "\N{NO-BREAK SPACE}") for mm, tape in (("3920", "12' 10 11/32\""),) * 6]
    head = ("frame", "from A", "big face", "keel up", "chine up", "sheer up", "leg", "spall long")
    grid = grid_of(Table(head, (("F10", held[0], "FORWARD", *held[1:]),), tall=(0,)), 5.0, measure)
    told = [line for cell in grid.rows[0][1:] for line in cell]
    assert "FORWARD" in told
    assert set(" ".join(told).replace("\N{NO-BREAK SPACE}", " ").split()) == {"3920", "12'", "10", '11/32"', "FORWARD"}
    assert grid.edges[-1] <= measure + 1e-6
