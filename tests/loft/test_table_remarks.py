"""What is told about a table: the synthetic skiff's forefoot, ends that miss, corrections, hollows."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from strakewright.errors import Finding
from strakewright.hull import Hull
from strakewright.loft.tabled import table_hull
from strakewright.offsets import Correction, OffsetTable, TableSource
from strakewright.read.offsets import read_offsets
from strakewright.settings import TableSettings
from tests.loft.exact_tables import row
from tests.loft.test_tabled import BARGE, fair_chine, lofted

SKIFF = Path(__file__).parent / "data" / "skiff.csv"


def found(hull: Hull, code: str) -> list[Finding]:
    return [f for f in hull.findings if f.code == code]


@pytest.fixture(scope="module")
def skiff() -> Hull:
    table = read_offsets(SKIFF, "mm")
    return table_hull(TableSource(table), TableSettings(SKIFF, stations_from="bow"), "outside", "skiff")


def test_the_skiffs_forefoot_is_warned_of(skiff: Hull) -> None:
    """Deadrise 79.6 degrees at station 1 and 45.9 at station 2 (by hand from the table): 55 degrees a metre between
    them on the whole, about 100 at its steepest."""
    told = next(f for f in found(skiff, "panel-twist") if f.subject == "bottom")
    rate = re.search(r"turn by (\d+) degrees a metre at x (\d+)", told.what)
    assert rate is not None
    assert 80 <= int(rate[1]) <= 120
    assert 6096 - 2 * 609.6 <= int(rate[2]) <= 6096 - 480  # stations 1 and 2, and the chine's run-on before 1


def test_straight_and_developable_skiffs_differ(skiff: Hull) -> None:
    """Some 30 to 40 mm on the bottom (31 by an independent trial with another end of the chine)."""
    assert 20.0 <= float(skiff.figures["bottom straight against developable"]) <= 50.0
    assert found(skiff, "straight-or-developable")


def test_the_skiffs_chine_is_run_on_to_the_stem(skiff: Hull) -> None:
    assert "run on by" in found(skiff, "line-run-on")[0].what
    assert found(skiff, "forefoot-disagrees")
    bottom, side = skiff.panel("bottom"), skiff.panel("side")
    assert np.allclose(bottom.in_space(bottom.lower)[-1], bottom.in_space(bottom.upper)[-1], atol=1e-3)
    assert bottom.forward is None
    assert side.forward is not None
    stem = side.in_space(side.forward)
    assert np.abs(stem[:, 1] - 22.225).max() < 1e-6  # half-siding 7/8 in, read off the sheer's end


def test_the_skiffs_cells_are_not_doubted_and_hardly_moved(skiff: Hull) -> None:
    assert skiff.lines is not None
    assert skiff.lines.suspects == ()
    assert max(abs(m.by) for m in skiff.lines.moves) <= 1.6  # half an eighth: the fair boat is within the rounding
    assert [name for name, _ in skiff.lines.stations] == [str(k) for k in range(10, -1, -1)]
    assert found(skiff, "table-rounding")


def test_ends_that_are_on_no_flat_transom_are_told() -> None:
    table = fair_chine(1.0, 1.0)
    own = row("position", "chine", np.array([40.0, *np.linspace(400.0, 4000.0, 10)]), 1e-6)
    hull = lofted(replace(table, rows=(*table.rows, own)), BARGE)
    assert "off a flat transom" in found(hull, "transom-not-flat")[0].what


def test_a_correction_is_told_everywhere() -> None:
    change = Correction("height chine", "5", 150.0, "150", "a slip", was="175")
    hull = table_hull(TableSource(fair_chine(), (change,)), BARGE, "outside", "test")
    assert "a slip" in found(hull, "offset-corrected")[0].what
    assert hull.lines is not None
    assert hull.lines.corrections == (change,)


def waved(length: float) -> Hull:
    """The fair boat with a chine that waves in plan, once or often."""
    x = np.linspace(0.0, 4000.0, 11)
    table = fair_chine()
    bent = row("half-breadth", "chine", 500.0 + 40.0 * np.sin(2 * np.pi * x / length), 1e-6)
    return lofted(replace(table, rows=tuple(bent if r.name == bent.name else r for r in table.rows)), BARGE)


def test_one_turn_is_an_inflection_and_two_close_together_a_hook() -> None:
    one = found(waved(4000.0), "inflection")
    assert any(f.subject == "chine" for f in one)
    x = float(re.findall(r"at x (\d+)", next(f for f in one if f.subject == "chine").what)[0])
    assert x == pytest.approx(2000.0, abs=60.0)
    assert any(f.subject == "chine" for f in found(waved(1000.0), "hook"))


def test_a_declared_knuckle_breaks_the_fairing() -> None:
    """A sheer of two straight lines with a corner at station 5: faired over, the corner moves; declared, it stays."""
    x = np.linspace(0.0, 4000.0, 11)
    corner = row("height", "sheer", 500.0 + 0.12 * np.abs(x - 2000.0), 3.0)
    table = fair_chine(1.0, 3.0)
    table = replace(table, rows=tuple(corner if r.name == corner.name else r for r in table.rows))
    knuckled = lofted(table, replace(BARGE, knuckles=(("sheer", "5"),)))
    assert knuckled.lines is not None
    moves = {m.station: m.by for m in knuckled.lines.moves if m.row == "height sheer"}
    assert moves["5"] == 0.0
    assert max(abs(v) for v in moves.values()) <= 1.5


def test_what_a_knuckle_does_to_panels_is_told() -> None:
    """Two straight runs of slope 0.12 down and up meet at 13.7 degrees, 2 atan 0.12; the smooth border rounds it."""
    x = np.linspace(0.0, 4000.0, 11)
    corner = row("height", "sheer", 500.0 + 0.12 * np.abs(x - 2000.0), 1e-6)
    plumb = row("half-breadth", "sheer", 0 * x + 700.0, 1e-6)
    table = fair_chine()
    kept = {r.name: r for r in (corner, plumb)}
    table = replace(table, rows=tuple(kept.get(r.name, r) for r in table.rows))
    hull = lofted(table, replace(BARGE, knuckles=(("sheer", "5"),)))
    (told,) = found(hull, "knuckle-rounded")
    assert told.subject == "sheer, station 5"
    assert f"corner of {2 * np.degrees(np.arctan(0.12)):.1f} degrees" in told.what
    by = re.search(r"up to ([\d.]+) mm off the two runs, near x (\d+)", told.what)
    assert by is not None
    side = hull.panel("side").in_space(hull.panel("side").upper)
    off = np.abs(side[:, 2] - 500.0 - 0.12 * np.abs(side[:, 0] - 2000.0))
    assert float(by[1]) == pytest.approx(off.max(), abs=0.3)
    assert not found(lofted(table, BARGE), "knuckle-rounded")


def raked(rake: float) -> Hull:
    """Wigley's sections, 21 stations, but a stem raked forwards: cells ahead of the rabbet's end stand beside it."""
    x = np.linspace(0.0, 6000.0, 21)
    lean = rake / 500.0
    rows = [row("position", "", x, 1e-6)]
    keel = np.where(x <= 6000.0 - rake, 0.0, np.nan)
    rows += [row("height", "rabbet", keel, 1e-6), row("half-breadth", "rabbet", keel * 0.0, 1e-6)]
    levels = np.linspace(0.0, 500.0, 11)
    for z in levels[1:]:
        end = 6000.0 - rake + lean * z
        share = x / end
        y = 600.0 * 4 * share * (1 - share) * (1 - ((500.0 - z) / 500.0) ** 2)
        y = np.where(share <= 1.0 + 1e-9, np.maximum(y, 0.0), np.nan)
        if z < 500.0:
            rows.append(row("half-breadth", "waterline", y, 1e-6, float(z)))
        else:
            rows += [row("height", "sheer", 0 * x + 500.0, 1e-6), row("half-breadth", "sheer", y, 1e-6)]
    table = OffsetTable("raked", tuple(str(k) for k in range(21)), tuple(rows))
    return lofted(table, TableSettings(SKIFF, half_siding=0.0))


def test_cells_ahead_of_the_rabbets_end_are_told() -> None:
    """Stations stand 300 mm apart: with the rabbet's end 600 mm abaft the sheer's, station 19 has upper cells only."""
    (told,) = found(raked(600.0), "cells-left-out")
    assert told.subject == "side"
    assert "13 cells at stations 18, 19 " in told.what
    by = re.search(r"by up to ([\d.]+) mm \(half-breadth waterline", told.what)
    assert by is not None
    assert 1.0 < float(by[1]) < 20.0  # a quintic's run over 600 mm of a parabola's end
    assert not found(raked(0.0), "cells-left-out")


def test_the_sample_tables_misprint_is_found_and_named() -> None:
    """Teasel's half-breadth of the chine at station 5 was 2-2-4 before one figure was spoiled."""
    from strakewright.job import check

    here = Path(__file__).parents[2] / "sample_hulls" / "teasel"
    spoiled = check(here / "boat-table.toml")
    (slip,) = (f for f in spoiled.findings if f.code == "misprint")
    assert slip.subject == "half-breadth chine, station 5"
    assert "one figure wrong? 2-2-4" in slip.what
    assert "may follow from it" in slip.fix
    assert spoiled.status == 1
    sound = check(here / "boat-table-corrected.toml")
    assert not [f for f in sound.findings if f.code == "misprint"]
    assert sound.status == 0
