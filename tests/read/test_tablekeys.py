"""Keys of the boat file for a table of offsets: right ones taken, wrong ones named; corrections and frames."""

from __future__ import annotations

from pathlib import Path

import pytest

from strakewright.errors import InputError
from strakewright.job import check, load
from strakewright.offsets import TableSource
from strakewright.read.boatfile import read_boat

BOAT = """[boat]
name = "Barge"
units = "mm"
[hull]
offsets = "offsets.csv"
bow = "transom"
stations_from = "stern"
measure_from = "aft"
base_line = "-6 in"
transom_rake_deg = 5
panels = { side = "straight" }
fair_tolerance = "1/8 in"
locked = ["height chine at 3"]
allowed = ["hb sheer at 4"]
[frames]
at = ["sta 3", 2500]
[[planking]]
panel = "side"
pattern = "strakes"
courses = 2
thickness = 12
[stock]
boards = "boards.csv"
"""
CORRECT = '[[correct]]\nrow = "{row}"\nstation = "{station}"\nvalue = "{value}"\nreason = "a slip of the pen"\n'


def rows() -> list[list[str]]:
    x = [400 * k for k in range(11)]
    half = [600 - 100 * (v / 2000) ** 2 for v in x]
    return [
        ["station", *(str(k) for k in range(11))],
        ["position", *(str(v) for v in x)],
        ["height sheer", *(["500"] * 11)],
        ["height chine", *(["150"] * 11)],
        ["height rabbet", *(["0"] * 11)],
        ["half-breadth sheer", *(f"{v + 100:.0f}" for v in half)],
        ["half-breadth chine", *(f"{v:.0f}" for v in half)],
    ]


def barge(
    folder: Path, change: tuple[str, str] = ("", ""), extra: str = "", cells: dict[tuple[int, int], str] | None = None
) -> Path:
    table = rows()
    for (r, c), text in (cells or {}).items():
        table[r][c] = text
    (folder / "offsets.csv").write_text("\n".join(",".join(row) for row in table) + "\n", encoding="utf-8")
    (folder / "boards.csv").write_text("id,length,width,thickness\nA,4000,300,25\n", encoding="utf-8")
    path = folder / "boat.toml"
    path.write_text(BOAT.replace(*change) + extra, encoding="utf-8")
    return path


def test_every_key_is_taken(tmp_path: Path) -> None:
    table = read_boat(barge(tmp_path, extra='[backbone]\nhalf_siding = "7/8 in"\n')).hull.table
    assert table is not None
    assert (table.bow, table.stations_from, table.measure_from) == ("transom", "stern", "aft")
    assert (table.base_line, table.transom_rake_deg, table.half_siding) == (-152.4, 5.0, 22.225)
    assert table.panels == (("side", "straight"),)
    assert table.tolerance == pytest.approx(3.175)
    assert table.locked == (("height chine", "3"),)
    assert table.allowed == (("half-breadth sheer", "4"),)


@pytest.mark.parametrize(
    ("was", "now", "named"),
    [
        ('bow = "transom"', 'bow = "ram"', "[hull] bow: 'ram' is not allowed"),
        ('stations_from = "stern"', 'stations_from = "left"', "[hull] stations_from"),
        ('measure_from = "aft"', 'measure_from = "bow"', "[hull] measure_from"),
        ("transom_rake_deg = 5", "transom_rake_deg = 80", "not a number from -60 to 60"),
        ("transom_rake_deg = 5", "bow_rake_deg = -70", "not a number from -60 to 80"),
        ("transom_rake_deg = 5", "transom_radius = 3", "outside 500 to 100000 mm"),
        ('panels = { side = "straight" }', 'panels = { side = "bent" }', "'bent' is no kind of surface"),
        ('panels = { side = "straight" }', 'panels = { deck = "straight" }', "'deck' is no name of a panel"),
        ('panels = { side = "straight" }', "panels = 3", "says no panel's surface"),
        ('["height chine at 3"]', '["height chine"]', "is no list of places in the table"),
        ('fair_tolerance = "1/8 in"', "fair = 1", "neither true nor false"),
        ('fair_tolerance = "1/8 in"', "knuckles = 4", "is no list of places"),
        ('fair_tolerance = "1/8 in"', 'offsets_units = "yd"', "offsets_units: 'yd' is not allowed"),
        ('fair_tolerance = "1/8 in"', "fair_tolerance = 500", "outside 0 to 100 mm"),
        ('base_line = "-6 in"', "base_line = true", "[hull] base_line"),
        ('base_line = "-6 in"', "half = true", "[hull] half: belongs to a mesh"),
        ('offsets = "offsets.csv"', "", "[hull] mesh: is missing"),
    ],
)
def test_a_wrong_value_is_named(tmp_path: Path, was: str, now: str, named: str) -> None:
    with pytest.raises(InputError) as told:
        read_boat(barge(tmp_path, (was, now)))
    assert named in "\n".join(str(e) for e in (told.value, *told.value.also))


def test_a_correction_changes_the_cell_and_is_kept(tmp_path: Path) -> None:
    extra = CORRECT.format(row="height chine", station="5", value="150")
    shape = load(barge(tmp_path, extra=extra, cells={(3, 6): "510"})).shape
    assert isinstance(shape, TableSource)
    (change,) = shape.corrections
    assert (change.was, change.mm, change.reason) == ("510", 150.0, "a slip of the pen")
    row = shape.table.row("height", "chine")
    assert row is not None
    assert row.cells[5] is not None
    assert row.cells[5].mm == 150.0


def test_a_correction_heals_a_cell_that_cannot_be_read(tmp_path: Path) -> None:
    wrong = {(3, 6): "15O"}
    with pytest.raises(InputError, match="row 'height chine', station 5"):
        load(barge(tmp_path, cells=wrong))
    extra = CORRECT.format(row="height chine", station="5", value="0-5-7+")
    shape = load(barge(tmp_path, extra=extra, cells=wrong)).shape
    assert isinstance(shape, TableSource)
    assert shape.corrections[0].was == "15O"


def test_unfit_cells_are_told_along_with_unreadable_ones(tmp_path: Path) -> None:
    with pytest.raises(InputError) as told:
        load(barge(tmp_path, cells={(3, 6): "15O", (2, 4): "800"}))
    everything = "\n".join(str(e) for e in (told.value, *told.value.also))
    assert "row 'height chine', station 5" in everything
    assert "row 'height sheer', station 3: 800.0 mm does not fit its neighbours" in everything


@pytest.mark.parametrize(
    ("extra", "named"),
    [
        (CORRECT.format(row="height chin", station="5", value="150"), "Did you mean 'height chine'"),
        (CORRECT.format(row="height chine", station="55", value="150"), "Its stations are 0, 1"),
        (CORRECT.format(row="height chine", station="5", value="2-13-9"), "more than 11 inches"),
        ('[[correct]]\nrow = "height chine"\n', "station: is missing"),
    ],
)
def test_a_wrong_correction_is_named(tmp_path: Path, extra: str, named: str) -> None:
    with pytest.raises(InputError) as told:
        load(barge(tmp_path, extra=extra))
    assert named in "\n".join(str(e) for e in (told.value, *told.value.also))


@pytest.mark.parametrize(
    ("now", "named"),
    [
        ('locked = ["height chin at 3"]', "[hull] locked: the table has no row 'height chin'"),
        ('locked = ["height chine at 33"]', "[hull] locked: the table has no station '33'"),
        ('knuckles = ["keelson at 3"]', "[hull] knuckles: the table has no row 'keelson'"),
    ],
)
def test_places_that_are_not_in_the_table_are_named(tmp_path: Path, now: str, named: str) -> None:
    with pytest.raises(InputError, match="table has no") as told:
        load(barge(tmp_path, ('locked = ["height chine at 3"]', now)))
    assert named in str(told.value)


def test_frames_stand_at_stations(tmp_path: Path) -> None:
    report = check(barge(tmp_path, ("transom_rake_deg = 5", "")))
    assert [name for name, _ in report.frames] == ["sta3", "F2"]
    assert [x for _, x in report.frames] == pytest.approx([1200.0, 2500.0], abs=1e-6)
    with pytest.raises(InputError, match="there is no station '33'"):
        check(barge(tmp_path, ('"sta 3"', '"sta 33"')))


def test_frames_measured_from_station_0(tmp_path: Path) -> None:
    """The table from the bow: station 0 is at the stem, and x of frames counts aft from it."""
    turned = [[row[0], *row[:0:-1]] for row in rows()]
    turned[0][1:] = turned[0][:0:-1]
    turned[1] = rows()[1]
    path = barge(tmp_path, ("transom_rake_deg = 5", ""))
    (tmp_path / "offsets.csv").write_text("\n".join(",".join(r) for r in turned) + "\n", encoding="utf-8")
    text = path.read_text(encoding="utf-8").replace('stations_from = "stern"', 'stations_from = "bow"')
    path.write_text(text.replace('measure_from = "aft"', 'measure_from = "station 0"'), encoding="utf-8")
    assert dict(check(path).frames)["F1"] == pytest.approx(4000.0 - 2500.0, abs=1e-6)


def test_the_table_is_echoed(tmp_path: Path) -> None:
    report = check(barge(tmp_path))
    told = "\n".join(report.table())
    assert "station 0: '500' = 1-7-11"[:20] in told
    assert "Fairing moves" in told
