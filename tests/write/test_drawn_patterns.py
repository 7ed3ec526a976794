"""Patterns that are no planks: from closed forms to paper and back, on the roll, on its side, and on tiles."""

from __future__ import annotations

import re
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import numpy as np
import pypdfium2
import pytest

from strakewright.drawn import Drawn, DrawnLine
from strakewright.job.patterning import _TILES
from strakewright.proof.paperback import OnPage, compare_drawn, compare_patterns, read_pages
from strakewright.proof.tileback import TilePage, pieces_joined, tiles_joined
from strakewright.write.drawnpatterns import Laid, laid_out, ordinates, tapes_of
from strakewright.write.roll import Roll, pages_of, places, roll_for, usable_height, write_roll
from strakewright.write.tiles import A3, A4, LETTER, Sheet, write_all_tiles
from strakewright.write.windows import StrokePen

RADIUS = 1500.0


def bow(sweep: float = 0.6) -> Drawn:
    """A bent piece between two circles, 70 wide, with a far face inside it and two spots."""
    turn = np.linspace(-sweep, sweep, 80)
    arc = np.column_stack([np.sin(turn), np.cos(turn)])
    ring = np.concatenate([RADIUS * arc, (RADIUS - 70) * arc[::-1]])
    lines = (
        DrawnLine(ring, "cut", True, "F3 rib"),
        DrawnLine((RADIUS - 4) * arc, "other face", False, "+4.5°"),
        DrawnLine(np.array([[0.0, 1400.0], [0.0, 1520.0]]), "centreline", False, "centreline"),
    )
    spots = (("A", ring[0]), ("B", ring[79]), ("C", np.array([0.0, RADIUS])))
    return Drawn("F3-pattern", "Frame F3, looking at the AFT face", lines, ("BIG FACE = AFT",), spots)


def on_roll(folder: Path, laid: Laid, roll: Roll) -> tuple[Path, OnPage]:
    pages = pages_of([[laid.block]], roll)
    write_roll(folder / "roll.pdf", pages, "Proof rev ab", roll, ["note"])
    number, base = places(pages)[laid.block.name]
    shift = base - np.array(laid.block.inner)
    tapes = tuple((n, a + shift, b + shift, far) for n, a, b, far in laid.tapes)
    return folder / "roll.pdf", OnPage("F3", number, tuple(r + shift for r in laid.rings), tapes)


@pytest.mark.parametrize("roll", [Roll(), Roll(correction=(1 / 1.004, 1 / 0.997))])
def test_the_pattern_on_the_roll_is_the_piece(tmp_path: Path, roll: Roll) -> None:
    laid = laid_out(bow(), "Proof", usable_height(roll))
    path, row = on_roll(tmp_path, laid, roll)
    checks, findings = compare_drawn(read_pages(path, roll.correction), [row])
    assert findings == ()
    assert all(c.holds for c in checks)
    chord = 2 * RADIUS * np.sin(0.6)  # closed form: chord of the arc between A and B
    assert {c.name: c.value for c in checks}["pattern F3, tape A to B"] == pytest.approx(chord, abs=0.02)


def test_a_spoiled_pattern_and_a_wrong_distance_are_seen(tmp_path: Path) -> None:
    laid = laid_out(bow(), "Proof", 700.0)
    path, row = on_roll(tmp_path, laid, Roll())
    moved = replace(row, rings=(row.rings[0] + [0.05, 0.0],))
    checks, findings = compare_drawn(read_pages(path), [moved])
    assert not checks[0].holds
    assert [f.code for f in findings] == ["pattern-differs"]
    name, a, b, far = row.tapes[0]
    checks, _ = compare_drawn(read_pages(path), [replace(row, tapes=((name, a, b, far + 0.1),))])
    assert not checks[1].holds
    checks, _ = compare_drawn(read_pages(path, (1.001, 1.0)), [row])
    assert not checks[0].holds


def test_a_high_pattern_lies_on_its_side(tmp_path: Path) -> None:
    tall = replace(bow(), lines=tuple(replace(x, points=x.points[:, ::-1]) for x in bow().lines), spots=())
    laid = laid_out(tall, "Proof", 740.0)
    assert laid.block.height <= 740.0 < laid.block.width
    path, row = on_roll(tmp_path, laid, Roll())
    assert compare_drawn(read_pages(path), [row])[0][0].holds


def test_a_pattern_too_high_for_the_foot_has_the_bars_beside_it(tmp_path: Path) -> None:
    square = np.array([[0.0, 0], [830, 0], [830, 820], [0, 820]])
    big = Drawn(
        "T", "Transom", (DrawnLine(square, "cut", True),), ("note " * 40,), (("A", square[0]), ("C", square[2]))
    )
    roll = Roll()
    laid = laid_out(big, "Proof", usable_height(roll), usable_height(roll, aside=True))
    assert usable_height(roll) < laid.block.height <= usable_height(roll, aside=True)
    assert roll_for([laid.block], roll).width == roll.width  # 36 in still does
    path, row = on_roll(tmp_path, laid, roll)
    checks, _ = compare_drawn(read_pages(path), [row])
    assert all(c.holds for c in checks)
    assert compare_patterns(read_pages(path), (), {})[0][1].holds  # all three bars
    (page,) = pages_of([[laid.block]], roll)
    assert page.laid[0][1][0] > 1160.0


def test_ordinates_are_those_of_the_circles() -> None:
    rows = ordinates(bow())
    assert len(rows) == 17  # every 100 mm of 1 694
    x0, low = -RADIUS * np.sin(0.6), (RADIUS - 70) * np.cos(0.6)
    for x, _, high in rows[1:-1]:
        assert high == pytest.approx(np.sqrt(RADIUS**2 - (x0 + x) ** 2) - low + 10, abs=0.1)
    assert ordinates(replace(bow(), lines=bow().lines[1:])) == ()
    assert [t[:2] for t in tapes_of(bow())] == [("A", "B"), ("B", "C"), ("A", "C")] or len(tapes_of(bow())) == 3


def tiled(folder: Path, sheet: Sheet) -> tuple[Path, list[TilePage], dict[str, tuple[np.ndarray, ...]]]:  # type: ignore[type-arg]
    drawings, rings = [], {}
    for name, sweep in (("one", 0.6), ("two", 0.3)):
        laid = laid_out(replace(bow(sweep), id=name), "Proof", 5000.0)
        pen = StrokePen()
        laid.block.draw(pen)
        drawings.append((name, pen.strokes))
        rings[name] = laid.rings
    tiles = write_all_tiles(folder / "t.pdf", drawings, "Proof", sheet)
    return folder / "t.pdf", [TilePage(t.page, t.name, t.low, t.high, t.corner) for t in tiles], rings


@pytest.mark.parametrize("sheet", [A4, A3, replace(A4, correction=(1 / 1.006, 0.998))])
def test_tiles_taped_together_are_the_whole(tmp_path: Path, sheet: Sheet) -> None:
    path, pages, rings = tiled(tmp_path, sheet)
    assert len(pages) > 10
    checks, findings = tiles_joined(path, pages, rings, sheet.correction)
    assert [c.holds for c in checks] == [True] * 3
    assert findings == ()
    assert checks[0].value < 0.01


def test_a_tile_out_of_place_or_missing_is_seen(tmp_path: Path) -> None:
    path, pages, rings = tiled(tmp_path, A4)
    busy = max(range(len(pages)), key=lambda n: -abs(pages[n].low[0] - 600) if pages[n].name == "one" else -1e9)
    low = pages[busy].low + np.array([0.1, 0.1])
    off = [replace(p, low=low) if n == busy else p for n, p in enumerate(pages)]
    checks, findings = tiles_joined(path, off, rings)
    assert not checks[2].holds or not checks[0].holds
    checks, findings = tiles_joined(path, [p for p in pages if p.name == "two"], rings)
    assert not checks[0].holds
    assert [f.code for f in findings] == ["tiles-differ"]
    checks, _ = tiles_joined(path, pages, rings, (1.002, 1.0))
    assert not checks[1].holds


@pytest.mark.parametrize("sheet", [A4, A3, LETTER])
def test_words_of_the_scale_page_stay_clear_of_its_bars(tmp_path: Path, sheet: Sheet) -> None:
    laid = laid_out(bow(), "Proof", 5000.0)
    pen = StrokePen()
    laid.block.draw(pen)
    write_all_tiles(tmp_path / "t.pdf", [("one", pen.strokes)], "Proof", sheet, _TILES)
    page = pypdfium2.PdfDocument(tmp_path / "t.pdf")[0].get_textpage()
    boxes = [np.array(page.get_rect(n)) for n in range(page.count_rects())]
    notes = np.array([box for box in boxes if len(page.get_text_bounded(*box)) > 12]) * 25.4 / 72
    names = np.array([box for box in boxes if re.fullmatch(r"[A-Z]\d+", page.get_text_bounded(*box))]) * 25.4 / 72
    assert len(names) > 1
    above = notes[:, 1] > 12.0 + 4.0 + 100.0  # bars reach that high
    aside = (notes[:, 0] > 12.0 + 24.0 + 100.0) & (notes[:, 1] > names[:, 3].max() + 2.0)  # past them, over the plan
    assert np.all(above | aside)
    assert notes[:, 2].max() < sheet.width - 5.0


@pytest.mark.skipif(shutil.which("pdfinfo") is None, reason="poppler is not on this machine")
def test_poppler_and_pdfium_agree_on_the_size_of_every_page(tmp_path: Path) -> None:
    path, _ = on_roll(tmp_path, laid_out(bow(), "Proof", 740.0), Roll())
    tiled_path, _, _ = tiled(tmp_path, A4)
    for each in (path, tiled_path):
        told = subprocess.run(
            ["pdfinfo", "-f", "1", "-l", "999", str(each)], capture_output=True, text=True, check=True
        )
        poppler = [
            tuple(float(v) for v in line.split(":")[1].split("pts")[0].split(" x "))
            for line in told.stdout.splitlines()
            if line.startswith("Page") and "size" in line
        ]
        document = pypdfium2.PdfDocument(each)
        pdfium = [document[n].get_size() for n in range(len(document))]
        assert len(poppler) == len(pdfium) > 1
        assert np.allclose(poppler, pdfium, atol=0.01)


def test_a_pattern_longer_than_a_page_is_whole_when_its_pieces_are_laid_together(tmp_path: Path) -> None:
    """A plank of 3.9 m in closed form on pages of 1.5 m; a piece out of place or missing is seen."""
    x = np.linspace(0.0, 3900.0, 80)
    edge = 60.0 * np.sin(np.pi * x / 3900.0)
    ring = np.concatenate([np.column_stack([x, edge]), np.column_stack([x, edge + 95.0])[::-1]])
    laid = laid_out(Drawn("LONG", "a long piece", (DrawnLine(ring, "cut", closed=True),)), "x", 600.0)
    roll = Roll(longest=1500.0)
    pages = pages_of([[laid.block]], roll)
    write_roll(tmp_path / "roll.pdf", pages, "x", roll, ())
    pieces = [
        TilePage(number, "LONG", low, low + np.array([block.width, block.height]), corner)
        for number, page in enumerate(pages, start=1)
        for block, corner in page.laid
        for low in (np.array([laid.block.inner[0] - block.inner[0], 0.0]),)
    ]
    assert len(pieces) > 2
    read = read_pages(tmp_path / "roll.pdf")
    (check,), faults = pieces_joined(read, pieces, {"LONG": laid.rings})
    assert check.holds
    assert faults == ()
    moved = [replace(pieces[0], corner=pieces[0].corner + 0.2), *pieces[1:]]
    for spoiled in (moved, pieces[:-1]):
        (check,), faults = pieces_joined(read, spoiled, {"LONG": laid.rings})
        assert not check.holds
        assert [f.code for f in faults] == ["tiles-differ"]
