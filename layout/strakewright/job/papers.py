"""From a finished build to its papers: patterns, girth staffs and the shop book."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from strakewright.job.building import Build, Layer
from strakewright.parts import Plank
from strakewright.plan import Placement
from strakewright.write.girths import Staff, crossings, staff_of
from strakewright.write.labels import labels_of
from strakewright.write.patterns import Block, Pattern, pattern_block, staff_block, staff_title
from strakewright.write.pen import placed
from strakewright.write.roll import Roll, RollPage, pages_of, write_plots, write_roll
from strakewright.write.tiles import A4, LETTER, write_tiles
from strakewright.write.windows import StrokePen

_NOTES = (
    "PLOT AT 100 %. On every page measure the bars: 100 mm across the roll, 100 mm and 1000 mm along it.",
    "Paper moves with damp: where a bar is off by more than 0.5 mm in 1000, lay off from the ordinates instead.",
    "Every pattern shows the PORT plank, INSIDE FACE UP. For its STARBOARD mate turn the paper over.",
    "The heavy line is the line to cut: square, round the wider face, with tails and trims. Bevels are planed after.",
    "Ordinates: heights of the lower and the upper edge as drawn above the base line; A to D are corners.",
    "Frame lines are dashed and named. Scarf slopes are hatched, their face is named.",
)
_STAFFS = (
    "Girth staffs: bend each strip round its frame, ends on the border lines named on it; every tick is a seam.",
)
_STRIP = 42.0  # mm: height of a girth staff


def port(layer: Layer) -> list[Plank]:
    """The planks drawn: one side, the other is its mirror image."""
    return [p for p in layer.planks if p.side == "port"]


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
    title, roll = f"{boat.name} rev {revision}", Roll()
    strips = staffs(done)
    groups = pattern_groups(done, title)
    groups.append([staff_block(s, staff_title(s, title), _STRIP) for s in strips])
    pages = pages_of(groups, roll)
    write_roll(folder / "roll.pdf", pages, title, roll, _NOTES)
    write_plots(folder, pages, title)
    sheet = LETTER if boat.units in ("in", "ft") else A4
    pen, high = StrokePen(), float(sheet.window[1])
    per = int(high // _STRIP)
    for n, staff in enumerate(strips):
        foot = (n // per) * high + (n % per) * high / per
        block = staff_block(staff, staff_title(staff, title), min(_STRIP, high / per))
        block.draw(placed(pen, Placement("", "", 0.0, foot)))
    if strips:
        write_tiles(folder / f"girth-staffs-{sheet.name}.pdf", pen.strokes, f"{title} girth staffs", sheet, _STAFFS)
    return pages
