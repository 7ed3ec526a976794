"""From a finished build to its papers: patterns, girth staffs and the shop book."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from strakewright.errors import Check, Finding
from strakewright.job.building import Build
from strakewright.job.planked import Layer
from strakewright.parts import Part, Plank
from strakewright.plan import Placement
from strakewright.proof.paperback import Tape, compare_patterns
from strakewright.settings import WoodSettings
from strakewright.shop.fit import limits_of
from strakewright.tables import species
from strakewright.write.book import Facts, LayerFacts
from strakewright.write.bookhtml import write_book_html
from strakewright.write.bookpdf import A4 as BOOK_A4
from strakewright.write.bookpdf import LETTER as BOOK_LETTER
from strakewright.write.bookpdf import write_book_pdf
from strakewright.write.girths import Staff, crossings, staff_of
from strakewright.write.labels import labels_of
from strakewright.write.patterns import Block, Pattern, corners, pattern_block, staff_block, staff_title, tape_of
from strakewright.write.pen import placed
from strakewright.write.roll import RollPage, pages_of, roll_for, write_plots, write_roll
from strakewright.write.sheets import Sheet
from strakewright.write.shopbook import book_of
from strakewright.write.tiles import A4, LETTER, write_tiles
from strakewright.write.windows import StrokePen

_NOTES = (
    "PLOT AT 100 %. On every page measure the bars: 100 mm across the roll, 100 mm and 1000 mm along it.",
    "Paper moves with damp: where a bar is off by more than 0.5 mm in 1000, lay off from the ordinates instead.",
    "Every pattern shows the PORT plank, INSIDE FACE UP. For STARBOARD turn the paper over and prick through.",
    "The heavy line is the line to cut: square, round the wider face, with tails and trims. Bevels are planed after.",
    "Ordinates: heights of the lower and the upper edge as drawn above the base line; A to D are corners.",
    "Bevels: degrees from square; + : plane the inside arris, - : the outside arris. The same for both sides.",
    "Frame lines are dashed and named. Scarf slopes are hatched, their face is named.",
)
_STAFFS = (
    "Girth staffs: bend each strip round its frame, ends on the border lines named on it; every tick is a seam.",
    "Ticks are true at mid-thickness of the planking: round a hollow or full frame share the little rest out evenly.",
)
_STRIP = 42.0  # mm: height of a girth staff


def patterns_proved(done: Build, folder: Path, revision: str) -> tuple[tuple[Check, ...], tuple[Finding, ...]]:
    """patterns/; returns what reading the roll back has shown."""
    pages = write_patterns(done, folder / "patterns", revision)
    return _read_back(done, folder / "patterns" / "roll.pdf", pages)


def write_book(done: Build, folder: Path, sheets: Sequence[Sheet], revision: str, proved: Sequence[Check]) -> None:
    """book.pdf and book.html.  proved : every check, for the book's check sheet."""
    book = book_of(facts_of(done, sheets, revision, proved))
    write_book_pdf(folder / "book.pdf", book, BOOK_LETTER if _in_inches(done) else BOOK_A4)
    write_book_html(folder / "book.html", book)


def _read_back(done: Build, roll: Path, pages: Sequence[RollPage]) -> tuple[tuple[Check, ...], tuple[Finding, ...]]:
    """The roll measured again from its file; a pattern longer than a page is not on it whole."""
    whole = {block.name for page in pages for block, _ in page.laid}
    drawn = [p for p in done.parts if p.id in whole]
    return compare_patterns(roll, drawn, {p.id: _tapes(p) for p in drawn})


def _tapes(part: Part) -> list[Tape]:
    spots = corners(part)
    return [(f"{a}-{b}", spots[a], spots[b], far) for a, b, far in tape_of(part)]


def _in_inches(done: Build) -> bool:
    return done.inputs.boat.units in ("in", "ft")


def facts_of(done: Build, sheets: Sequence[Sheet], revision: str, checks: Sequence[Check]) -> Facts:
    """What the book tells of, gathered from the build."""
    layers = tuple(
        LayerFacts(la.settings, la.truth.layer, la.planks, la.truth.girths, la.truth.area)
        for la in done.layers
        if la.planks
    )
    return Facts(
        boat=done.inputs.boat.name,
        revision=revision,
        hull=dict(done.hull.figures) | {"surface": done.hull.surface},
        frames=done.frames,
        layers=layers,
        parts=done.parts,
        rules=done.rules,
        boards=done.inputs.boards,
        plan=done.plan,
        sheets=tuple(sheets),
        checks=tuple(checks),
        findings=done.findings,
        limits=tuple(
            row
            for name in dict.fromkeys(la.settings.species for la in done.layers)
            for row in _limits(name, done.inputs.boat.own_wood(name))
        ),
        framing=done.framing,
    )


def _limits(name: str, own: WoodSettings) -> list[tuple[str, str, str, str]]:
    """Limits of bending of one wood in words."""
    limit = limits_of(species(name), own)
    practice = "common practice, no source"
    source = "glulam rule of the National Design Specification, from memory"
    given = any(v is not None for v in (own.firm_radius, own.firm_strain, own.most_shear, own.firm_hollow))
    mine = ("; own figures of the boat file" if given else "") + (
        "; moved by planks already bent" if limit.bent else ""
    )
    easy, firm = 1 / limit.easy_bend, 1 / limit.firm_bend
    return [
        (f"{name}: radius / thickness", f"{easy:.0f}", f"{firm:.0f}", f"easy: {practice}; firm: {source}{mine}"),
        (
            f"{name}: share of breaking strain {100 * limit.breaking_strain:.2f} %",
            f"{100 * limit.easy_share:.0f} %",
            f"{100 * limit.firm_share:.0f} %",
            practice + mine,
        ),
        (
            f"{name}: shear of twist",
            f"{100 * limit.easy_shear:.1f} %",
            f"{100 * limit.firm_shear:.1f} %, with help to {100 * limit.most_shear:.1f} %",
            practice + mine,
        ),
        (f"{name}: hollow", f"{limit.easy_hollow:g} mm", f"{limit.firm_hollow:g} mm and t / 15", practice + mine),
    ]


def port(layer: Layer) -> list[Plank]:
    """The planks drawn: one side, the other is its mirror image."""
    return [p for p in layer.planks if p.on_port]


def pattern_groups(done: Build, title: str) -> list[list[Block]]:
    """Patterns of every layer, in hanging order."""
    parts, labels = {p.id: p for p in done.parts}, labels_of(done.planks)
    return [[pattern_block(Pattern(p, parts[p.id], labels[p.id], title)) for p in port(layer)] for layer in done.layers]


def staffs(done: Build) -> list[Staff]:
    """A girth staff for every layer and frame, with every seam."""
    found: list[Staff] = []
    for layer in done.layers:
        planks, rows = port(layer), crossings(port(layer))
        strakes = layer.settings.pattern == "strakes"
        name = layer.settings.panel + (f" layer {layer.truth.layer}" if layer.settings.layers > 1 else "")
        for frame, _ in done.frames:
            if rows.get(frame):
                found.append(staff_of(f"{frame} {name}", rows[frame], _borders(planks), strakes))
    return found


def _borders(planks: Sequence[Plank]) -> tuple[str, str]:
    """Names of the lower and the upper long border of a panel."""
    every = {m.border for p in planks for m in (p.first, p.second, *p.ends) if m.border}
    order = ["keel", *sorted(b for b in every if b.startswith("chine")), "sheer"]
    long = [b for b in order if b in every]
    return (long[0], long[-1]) if len(long) > 1 else ("lower edge", "upper edge")


def write_patterns(done: Build, folder: Path, revision: str) -> tuple[RollPage, ...]:
    """patterns/: the roll as PDF and as plots, and girth staffs as tiles."""
    folder.mkdir()
    boat = done.inputs.boat
    title = f"{boat.name} rev {revision}"
    strips = staffs(done)
    groups = pattern_groups(done, title)
    groups.append([staff_block(s, staff_title(s, title), _STRIP) for s in strips])
    roll = roll_for([block for group in groups for block in group])
    pages = pages_of(groups, roll)
    write_roll(folder / "roll.pdf", pages, title, roll, _NOTES)
    write_plots(folder, pages, title)
    sheet = LETTER if _in_inches(done) else A4
    pen, high = StrokePen(), float(sheet.window[1])
    per = int(high // _STRIP)
    for n, staff in enumerate(strips):
        foot = (n // per) * high + (n % per) * high / per
        block = staff_block(staff, staff_title(staff, title), min(_STRIP, high / per))
        block.draw(placed(pen, Placement("", "", 0.0, foot)))
    if strips:
        write_tiles(folder / f"girth-staffs-{sheet.name}.pdf", pen.strokes, f"{title} girth staffs", sheet, _STAFFS)
    return pages
