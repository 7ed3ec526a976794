"""From a finished build to its full-size patterns: roll, plots and tiles, each read back and measured."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from strakewright.errors import Check, Finding
from strakewright.job.building import Build
from strakewright.job.planked import Layer
from strakewright.parts import Part, Plank
from strakewright.plan import Placement
from strakewright.proof.paperback import OnPage, Tape, compare_drawn, compare_patterns, read_pages
from strakewright.proof.tileback import TilePage, pieces_joined, tiles_joined
from strakewright.write.bevelboard import bevel_boards
from strakewright.write.drawnpatterns import Laid, laid_out
from strakewright.write.girths import Staff, crossings, staff_of
from strakewright.write.labels import labels_of
from strakewright.write.offsetrecords import table_note
from strakewright.write.patterns import (
    INNER,
    Block,
    Pattern,
    base_of,
    corners,
    pattern_block,
    staff_block,
    staff_title,
    tape_of,
)
from strakewright.write.pen import placed
from strakewright.write.roll import Roll, RollPage, pages_of, places, roll_for, usable_height, write_plots, write_roll
from strakewright.write.tiles import A3, A4, LETTER, Tiled, write_all_tiles, write_tiles
from strakewright.write.windows import StrokePen

_NOTES = (
    "PLOT AT 100 %. On every page measure the bars: 100 mm across the roll, 100 mm and 1000 mm along it.",
    "Paper moves with damp: where a bar is off by more than 0.5 mm in 1000, lay off from the ordinates instead.",
    "Every pattern shows the PORT plank, INSIDE FACE UP. For STARBOARD turn the paper over and prick through.",
    "The heavy line is the line to cut: square, round the wider face, with tails and trims. Bevels are planed after.",
    "Ordinates: heights of the lower and the upper edge as drawn above the base line; A to D are corners.",
    "Bevels: degrees from square; + : plane the inside arris, - : the outside arris. The same for both sides.",
    "Frame lines are dashed and named. Scarf slopes are hatched, their face is named.",
    "Frames and members: solid = the face named on the pattern, dashed = where the far face ends.",
)
_STAFFS = (
    "Girth staffs: bend each strip round its frame, ends on the border lines named on it; every tick is a seam.",
    "Ticks are true at mid-thickness of the planking: round a hollow or full frame share the little rest out evenly.",
)
_TILES = ("Every pattern begins at its own A1; its chalk number stands in every sheet's head.", _NOTES[2], _NOTES[3])
_STRIP = 42.0  # mm: height of a girth staff
_LONG = 2000.0  # mm: tiles of longer planks carry the ordinates too; the others' stand on the roll
MANY = 120  # sheets: more than a day's taping (common practice, no source)
_SHEETS = {"A4": A4, "Letter": LETTER, "A3": A3}
Proved = tuple[tuple[Check, ...], tuple[Finding, ...]]


@dataclass(frozen=True, eq=False)
class Patterned:
    """What was written.  pages : of the roll;  laid : patterns of frames and members;  tiled : drawing -> sheets"""

    roll: Roll
    pages: tuple[RollPage, ...]
    laid: tuple[Laid, ...]
    tiles: Path | None = None
    tiled: tuple[Tiled, ...] = ()
    blocks: tuple[tuple[Block, tuple[np.ndarray, ...]], ...] = ()


def patterns_proved(done: Build, folder: Path, revision: str) -> Proved:
    """patterns/; returns what reading roll and tiles back has shown."""
    made = write_patterns(done, folder / "patterns", revision)
    checks, findings = _read_back(done, folder / "patterns" / "roll.pdf", made)
    if made.tiles is None:
        return checks, findings
    scale = done.inputs.boat.paper.tile_correction
    pages = [TilePage(t.page, t.name, t.low, t.high, t.corner) for t in made.tiled]
    more, said = tiles_joined(made.tiles, pages, {block.name: rings for block, rings in made.blocks}, scale)
    return (*checks, *more), (*findings, *said, *many_tiles(len(made.tiled), made.pages))


def many_tiles(count: int, pages: Sequence[RollPage]) -> tuple[Finding, ...]:
    """A word on sheets that take longer to tape than planks to hang, and what the roll would be."""
    if count <= MANY:
        return ()
    long = sum(page.length for page in pages) / 1000
    what = f"{count} sheets to cut and tape; roll.pdf holds the same on {len(pages)} pages, {long:.0f} m of paper"
    fix = "Have roll.pdf plotted, or print only the patterns you want: every sheet's head names its pattern"
    return (Finding("many-tiles", "note", "patterns on sheets", what, fix),)


def _read_back(done: Build, path: Path, made: Patterned) -> Proved:
    """The roll measured again from its file; a pattern longer than a page is not on it whole."""
    whole = {block.name for page in made.pages for block, _ in page.laid}
    drawn = [p for p in done.parts if p.id in whole and p.id in _planks(done)]
    pages = read_pages(path, made.roll.correction)
    checks, findings = compare_patterns(pages, drawn, {p.id: _tapes(p) for p in drawn})
    where = places(made.pages)
    rows = [_on_page(laid, where[laid.block.name]) for laid in made.laid if laid.block.name in where]
    more, said = compare_drawn(pages, rows)
    joined, apart = pieces_joined(pages, *_in_pieces(done, made))
    return (*checks, *more, *joined), (*findings, *said, *apart)


def _in_pieces(done: Build, made: Patterned) -> tuple[list[TilePage], dict[str, tuple[np.ndarray, ...]]]:
    """Patterns longer than a page: where each piece lies, and the lines to cut in the pattern's own place."""
    whole = {block.name for page in made.pages for block, _ in page.laid}
    parts = {p.id: p for p in done.parts}
    rings = {laid.block.name: (laid.block.inner, laid.rings) for laid in made.laid}
    for layer in done.layers:
        for plank in on_paper(layer):
            part = parts[plank.id]
            rings[plank.id] = (INNER, (part.outline - base_of(part) + np.array(INNER),))
    pieces: list[TilePage] = []
    for number, page in enumerate(made.pages, start=1):
        for block, corner in page.laid:
            name, _, sheet = block.name.rpartition(" sheet ")
            if sheet and name in rings:
                low = np.array([rings[name][0][0] - block.inner[0], 0.0])
                pieces.append(TilePage(number, name, low, low + np.array([block.width, block.height]), corner))
    return pieces, {name: lines for name, (_, lines) in rings.items() if name not in whole}


def _planks(done: Build) -> set[str]:
    return {p.id for p in done.planks}


def _on_page(laid: Laid, place: tuple[int, np.ndarray]) -> OnPage:
    number, base = place
    shift = base - np.array(laid.block.inner)
    tapes = tuple((name, a + shift, b + shift, far) for name, a, b, far in laid.tapes)
    return OnPage(laid.block.name, number, tuple(ring + shift for ring in laid.rings), tapes)


def _tapes(part: Part) -> list[Tape]:
    spots = corners(part)
    return [(f"{a}-{b}", spots[a], spots[b], far) for a, b, far in tape_of(part)]


def port(layer: Layer) -> list[Plank]:
    """The planks of one side: they go once round the frames."""
    return [p for p in layer.planks if p.on_port]


def on_paper(layer: Layer) -> list[Plank]:
    """The planks drawn, in hanging order: one of every pair, and all that have no mate."""
    return sorted((p for p in layer.planks if p.stands_for), key=lambda p: p.course)


def pattern_groups(done: Build, title: str) -> list[list[Block]]:
    """Patterns of every layer, in hanging order."""
    parts, labels = {p.id: p for p in done.parts}, labels_of(done.planks)
    return [
        [pattern_block(Pattern(p, parts[p.id], labels[p.id], title)) for p in on_paper(layer)] for layer in done.layers
    ]


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


def write_patterns(done: Build, folder: Path, revision: str) -> Patterned:
    """patterns/: the roll as PDF and as plots, girth staffs as tiles, and planks as tiles where asked for."""
    folder.mkdir()
    boat = done.inputs.boat
    title, paper = f"{boat.name} rev {revision}", boat.paper
    strips = staffs(done)
    groups = pattern_groups(done, title)
    wanted = Roll(width=paper.roll, correction=paper.roll_correction)
    boards = bevel_boards(done.framing, done.planks, done.backbone.members)
    laid = tuple(laid_out(d, title, usable_height(wanted)) for d in (*done.patterns, *boards))
    groups.append([each.block for each in laid])
    groups.append([staff_block(s, staff_title(s, title), _STRIP) for s in strips])
    roll = roll_for([block for group in groups for block in group], wanted)
    pages = pages_of([group for group in groups if group], roll)
    write_roll(folder / "roll.pdf", pages, title, roll, (*_NOTES, *_table_note(done)))
    write_plots(folder, pages, title)
    _write_staffs(done, folder, strips, title)
    made = Patterned(roll, pages, laid)
    return made if paper.tiles is None else _with_tiles(done, folder, made, title)


def _table_note(done: Build) -> tuple[str, ...]:
    """What stands on every paper of a boat from a table of offsets."""
    said = table_note(done.hull.lines)
    return (said,) if said else ()


def _write_staffs(done: Build, folder: Path, strips: Sequence[Staff], title: str) -> None:
    """All girth staffs one above the other, on the printer there is."""
    boat = done.inputs.boat
    usual = "Letter" if boat.units in ("in", "ft") else "A4"
    sheet = replace(_SHEETS[boat.paper.tiles or usual], correction=boat.paper.tile_correction)
    pen, high = StrokePen(), float(sheet.window[1])
    per = int(high // _STRIP)
    for n, staff in enumerate(strips):
        foot = (n // per) * high + (n % per) * high / per
        block = staff_block(staff, staff_title(staff, title), min(_STRIP, high / per))
        block.draw(placed(pen, Placement("", "", 0.0, foot)))
    if strips:
        words = (*_STAFFS, *_table_note(done))
        write_tiles(folder / f"girth-staffs-{sheet.name}.pdf", pen.strokes, f"{title} girth staffs", sheet, words)


def _with_tiles(done: Build, folder: Path, made: Patterned, title: str) -> Patterned:
    """Planks, frames and members on sheets of a desk printer."""
    paper = done.inputs.boat.paper
    sheet = replace(_SHEETS[paper.tiles or "A4"], correction=paper.tile_correction)
    parts, labels = {p.id: p for p in done.parts}, labels_of(done.planks)
    blocks: list[tuple[Block, tuple[np.ndarray, ...]]] = []
    for layer in done.layers:
        for plank in on_paper(layer):
            pattern = Pattern(plank, parts[plank.id], labels[plank.id], title)
            block = pattern_block(pattern, table=float(pattern.size[0]) > _LONG)
            blocks.append((block, (pattern.part.outline - pattern.base + np.array(block.inner),)))
    blocks += [(each.block, each.rings) for each in made.laid]
    drawings = []
    for block, _ in blocks:
        pen = StrokePen()
        block.draw(pen)
        drawings.append((block.name, pen.strokes))
    path = folder / f"patterns-{sheet.name}.pdf"
    tiled = write_all_tiles(path, drawings, title, sheet, (*_TILES, *_table_note(done)))
    return replace(made, tiles=path, tiled=tiled, blocks=tuple(blocks))
