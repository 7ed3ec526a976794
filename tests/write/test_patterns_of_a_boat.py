"""All papers of a small boat through the build: staffs against the skin's own girths, files read by pdfium."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pypdfium2
import pytest

from strakewright.errors import Check, Finding
from strakewright.job.building import Build, BuildOptions, build
from strakewright.job.inputs import load
from strakewright.job.papers import begin_book, write_book
from strakewright.job.patterning import MANY, many_tiles, patterns_proved, staffs
from strakewright.write.roll import RollPage
from strakewright.write.sheets import sheets_of
from tests.acceptance.test_files import BOAT, HULL
from tests.exact_meshes import Make, write_mesh
from tests.write.pdfium import seen

LATE = Finding("board-off-bed", "blocking", "Z9", "found when the sheets were prepared", "rip it first")
Papers = tuple[Path, Build, tuple[Check, ...], tuple[Finding, ...]]


@pytest.fixture(scope="module")
def papers(tmp_path_factory: pytest.TempPathFactory) -> Papers:
    folder = tmp_path_factory.mktemp("papers")
    write_mesh(folder / "hull.ply", HULL.mesh(Make(triangles=4000)))
    text = re.sub(r"= (\d+)$", r'= "\1 mm"', BOAT, flags=re.MULTILINE).replace('courses = "3 mm"', "courses = 3")
    text += '[paper]\ntiles = "Letter"\nroll_measured = ["1003 mm", "99.8 mm"]\n'
    (folder / "boat.toml").write_text(text.replace('units = "mm"', 'units = "in"', 1))
    (folder / "boards.csv").write_text("id,length,width,thickness,count\nA,126,15.75,0.55,8\nB,126,11.8,0.55,12\n")
    done = build(load(folder / "boat.toml"), BuildOptions(seconds=0), lambda *_: None)
    out = folder / "out"
    out.mkdir()
    sheets = sheets_of(done.plan, done.parts, done.inputs.boards)
    checks, faults = patterns_proved(done, out, "ab12cd34")
    write_book(done, out, begin_book(done, sheets, "ab12cd34"), (*done.checks, *checks), [LATE])
    return out, done, checks, faults


def test_all_papers_are_there_and_hold(papers: Papers) -> None:
    out, _, checks, faults = papers
    names = {str(p.relative_to(out)) for p in out.rglob("*") if p.is_file()}
    assert {"book.pdf", "book.html", "patterns/roll.pdf", "patterns/girth-staffs-Letter.pdf"} <= names
    assert {"patterns/roll-1.plt", "patterns/patterns-Letter.pdf"} <= names
    assert "patterns-Letter: patterns of the tiles laid together" in {c.name for c in checks}
    assert all(c.holds for c in checks)
    assert {f.code for f in faults} <= {"many-tiles"}


def test_the_book_tells_what_was_found_while_the_papers_were_made(papers: Papers) -> None:
    """Findings and proofs of sheets and patterns are known last; the book's pages hold them all the same."""
    out, _, checks, _ = papers
    told = (out / "book.html").read_text(encoding="utf-8")
    assert LATE.what in told
    assert next(c.name for c in checks if "check bars" in c.name) in told


def test_many_sheets_are_told_with_what_the_roll_takes(papers: Papers) -> None:
    out, _, _, faults = papers
    sheets = len(pypdfium2.PdfDocument(out / "patterns" / "patterns-Letter.pdf")) - 1  # the scale page
    assert ("many-tiles" in {f.code for f in faults}) is (sheets > MANY)
    (told,) = many_tiles(1816, [RollPage(4000.0, ()), RollPage(3500.0, ())])
    assert told.level == "note"
    assert "1816 sheets" in told.what
    assert "2 pages, 8 m" in told.what
    assert many_tiles(MANY, []) == ()


def test_every_port_plank_has_a_pattern_and_its_tape_checks(papers: Papers) -> None:
    _, done, checks, _ = papers
    for plank in done.planks:
        taped = [c for c in checks if c.name.startswith(f"pattern {plank.id}, tape ")]
        assert 2 <= len(taped) <= 5 if plank.side == "port" else not taped


def test_staffs_are_as_long_as_the_skin_is_round(papers: Papers) -> None:
    _, done, _, _ = papers
    rolled = {s.name: s.ticks[-1][0] for s in staffs(done)}
    assert len(rolled) >= 12
    for layer in done.layers:
        for frame, girth in layer.truth.girths.items():
            name = f"{frame} {layer.settings.panel}"
            if name in rolled:
                assert rolled[name] == pytest.approx(girth, abs=0.3)


def test_staffs_begin_at_the_border_of_the_first_course(papers: Papers) -> None:
    _, done, _, _ = papers
    named = {s.name: s for s in staffs(done)}
    side, bottom = named["F3 side"], named["F3 bottom"]
    assert (side.ticks[0][1], side.ticks[-1][1]) == ("sheer", "chine")
    assert (bottom.ticks[0][1], bottom.ticks[-1][1]) == ("keel", "chine")
    assert np.all(np.diff([t for t, _ in bottom.ticks]) > 0)


def test_the_book_is_on_the_builders_paper(papers: Papers) -> None:
    out, _, _, _ = papers
    pages = seen(out / "book.pdf")
    assert pages[0].size == pytest.approx((279.4, 215.9), abs=0.01)
    assert any("patterns on paper against the lines to cut" in page.text for page in pages)
