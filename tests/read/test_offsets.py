"""Tables of offsets: every notation read exactly, bad cells named, the 1904 launch's damaged cells all found.

The launch (public domain, an amateur boatbuilding paper of 1904, as scanned) and the synthetic skiff stand in the test
itself: raw scan text beside the sure reading.
"""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from strakewright.errors import InputError
from strakewright.loft.misprints import suspects
from strakewright.offsets import Cell
from strakewright.read.offsets import length_of, read_offsets, read_what_can_be
from strakewright.units import parse_eighths, print_eighths
from strakewright.write.offsetrecords import echo_lines, in_eighths, in_mm

ROWS = """station, 0, 1, 2
position, 0, 600, 1200
height sheer, 600, 580, 590
height rabbet, 100, 50, 60
half-breadth sheer, 500, 480, 300
"""


def table(tmp_path: Path, text: str, unit: str = "mm", name: str = "o.csv"):  # type: ignore[no-untyped-def]
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return read_offsets(path, unit)


@given(st.integers(0, 16 * 12 * 60))
def test_eighths_print_and_read_back_exactly(sixteenths: int) -> None:
    mm = float(Fraction(sixteenths, 16) * Fraction(127, 5))
    assert parse_eighths(print_eighths(mm)) == mm
    assert length_of(print_eighths(mm), "mm") == mm


@given(st.integers(0, 60), st.integers(0, 11), st.integers(0, 15))
def test_every_notation_means_the_same(feet: int, inches: int, sixteenths: int) -> None:
    """1 in = 25.4 mm exactly (ISO 31-1)."""
    mm = float((12 * feet + inches + Fraction(sixteenths, 16)) * Fraction(127, 5))
    fraction = f"{Fraction(sixteenths, 16)}" if sixteenths else "0/16"
    assert length_of(f"{feet}' {inches} {fraction}\"", "mm") == mm
    assert length_of(f"{12 * feet + inches} {fraction}", "in") == mm
    eighths = f"{feet}-{inches}-{sixteenths // 2}" + ("+" if sixteenths % 2 else "")
    assert length_of(eighths, "mm") == mm
    if sixteenths % 2 and sixteenths < 15:
        assert length_of(f"{feet}-{inches}-{sixteenths // 2 + 1}-", "mm") == mm


@given(st.integers(-99999, 99999))
def test_millimetres_print_and_read_back_exactly(tenths: int) -> None:
    assert length_of(in_mm(tenths / 10), "mm") == tenths / 10
    assert length_of(in_eighths(-abs(tenths) / 10 - 0.1), "ft") == pytest.approx(-abs(tenths) / 10 - 0.1)


def test_decimal_feet(tmp_path: Path) -> None:
    read = table(tmp_path, ROWS.replace("600, 580, 590", "2.00, 1.95, 1.9"), "ft")
    row = read.row("height", "sheer")
    assert row is not None
    assert row.cells[1] is not None
    assert row.cells[1].mm == 1.95 * 304.8
    assert row.step == pytest.approx(3.048)  # hundredths of a foot


def test_rows_or_columns_is_one(tmp_path: Path) -> None:
    rows = [line.split(",") for line in ROWS.strip().splitlines()]
    turned = "\n".join(",".join(column) for column in zip(*rows, strict=True))
    across, down = table(tmp_path, ROWS), table(tmp_path, turned, name="p.csv")
    assert across.stations == down.stations
    assert [(r.name, [c.mm for c in r.cells if c]) for r in across.rows] == [
        (r.name, [c.mm for c in r.cells if c]) for r in down.rows
    ]


def test_blank_means_the_line_does_not_reach(tmp_path: Path) -> None:
    read = table(tmp_path, ROWS.replace("100, 50, 60", ", 50, -"))
    row = read.row("height", "rabbet")
    assert row is not None
    assert [c is None for c in row.cells] == [True, False, True]


@pytest.mark.parametrize(
    ("was", "now", "named"),
    [
        ("580", "58O", "o.csv:3, row 'height sheer', station 1"),
        ("580", "2-13-4", "more than 11 inches"),
        ("580", "2' 41", "12 or more inches"),
        ("580", "4' 01", "a fraction has run into them"),
        ("half-breadth sheer, 500", "half-breadth sheer, -500", "below zero"),
        ("height rabbet", "height rabet", "Did you mean 'height rabbet'"),
        ("height rabbet", "hb wl2", "does not say where it lies"),
        ("station, 0, 1, 2", "station, 0, 1, 1", "stands twice"),
    ],
)
def test_a_bad_cell_is_named(tmp_path: Path, was: str, now: str, named: str) -> None:
    with pytest.raises(InputError) as told:
        table(tmp_path, ROWS.replace(was, now))
    assert named in str(told.value)


def test_all_bad_cells_are_told_at_once(tmp_path: Path) -> None:
    with pytest.raises(InputError) as told:
        table(tmp_path, ROWS.replace("580", "?").replace("50,", "x2,"))
    assert len(told.value.also) == 1


def test_two_notations_must_agree(tmp_path: Path) -> None:
    both = ROWS + "height_sheer_FIE, 1-11-5, 1-10-7, 1-11-2\n"
    read = table(tmp_path, both)
    assert sum(r.name == "height sheer" for r in read.rows) == 1
    with pytest.raises(InputError, match="stand for the same cell"):
        table(tmp_path, both.replace("1-10-7", "1-9-7"))


def test_the_echo_shows_every_cell_in_both_notations(tmp_path: Path) -> None:
    told = "\n".join(echo_lines(table(tmp_path, ROWS)))
    assert "'580' = 1-10-6+ = 580.0 mm" in told  # 580 mm = 22.835 in; the nearest sixteenth is 22 13/16
    assert told.count("station") >= 12


LAUNCH = Path(__file__).parent / "data" / "launch_1904.csv"
LEVELS = {"wl 2a": 1030, "wl 1a": 880, "lwl": 730, "wl 1b": 580, "wl 2b": 430, "wl 3b": 280}
"""mm: the paper gives no heights of its waterlines; these are invented, evenly spaced between rabbet and deck"""


def launch() -> tuple[str, dict[tuple[str, str], str], dict[tuple[str, str], str]]:
    """The table as scanned; readings of all cells; readings of the damaged ones."""
    lines = [line for line in LAUNCH.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    cells = [line.split(",") for line in lines[1:]]
    stations = list(dict.fromkeys(c[1] for c in cells))
    spaced = ",".join(["position", *(str(24 * k) for k in range(len(stations)))])
    text, readings, damaged = [",".join(["station", *stations]), spaced], {}, {}
    for name in dict.fromkeys(c[0] for c in cells):
        level = LEVELS.get(name.removeprefix("hb "))
        shown = f"hb wl {level} mm" if level else name
        row = {c[1]: c for c in cells if c[0] == name}
        text.append(",".join([shown, *(row[s][2] if s in row else "" for s in stations)]))
        full = f"half-breadth waterline {level} mm" if level else name
        readings |= {(full, s): c[3] for s, c in row.items()}
        damaged |= {(full, s): c[3] for s, c in row.items() if c[4] == "no"}
    return "\n".join(text), readings, damaged


def test_every_damaged_cell_of_the_launch_is_named(tmp_path: Path) -> None:
    """All 74 cells go in as scanned: the whole ones come out as read, the damaged ones are named, each of them.

    One whole cell is doubted too: the keel's bottom at the stern, 26 in up the sternpost from station 7.  A line with
    such a corner is no fair line; the builder affirms the cell by locking it, or declares a knuckle.
    """
    text, readings, damaged = launch()
    path = tmp_path / "launch.csv"
    path.write_text(text, encoding="utf-8")
    read, faults = read_what_can_be(path, "in")
    unreadable = {(f.row, f.station) for f in faults}
    assert unreadable <= set(damaged)
    for row, station, cell in read.cells():
        if row.view != "position" and (row.name, station) not in damaged:
            assert cell.mm == parse_eighths(readings[row.name, station])
    for place in unreadable:
        read = read.with_cell(*place, Cell(damaged[place], parse_eighths(damaged[place])))
    unfit = {(s.row, s.station) for s in suspects(read)}
    assert unreadable | unfit == {*damaged, ("height keel", "stern")}
    assert (len(readings), len(damaged), len(unreadable)) == (74, 38, 36)
