"""What the book says of bevels and of bending.

bevel         in the plane square to the edge, from square to the face; + = the inside is the narrower face: plane
              wood off the inside arris
per thickness how far the narrower face stands back from the wider one, mm: a line gauged along the face
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from strakewright.geometry.outlines import clip_lines
from strakewright.parts import Fit, Part, Plank
from strakewright.units import print_tape
from strakewright.write.book import Block, Facts, LayerFacts, Section, Table, Words, bare, tenths
from strakewright.write.bookplanks import edge_name, in_order
from strakewright.write.edges import SQUARE, Stretches, bevel_of, degrees, edge_runs
from strakewright.write.girths import pair_stem
from strakewright.write.patterns import STEP, base_of


def bevels(facts: Facts) -> Section:
    """Both long edges of every pair at frames and every 300 mm; pairs that are square all along in one line."""
    parts = {p.id: p for p in facts.parts}
    blocks: list[Block] = [
        Words("Degrees from square, measured square to the edge. + : plane the INSIDE arris; - : the OUTSIDE arris."
              " Second figure: mm the narrow face stands back. x runs along the base line of the pattern, from its"
              " left end. The same for PORT and STBD."),
        Words(f"'square', and wherever no row is given: the edge gapes less than {SQUARE:g} mm when left square."
              " Bevels of ends stand in the plank table."),
    ]  # fmt: skip
    for layer in facts.layers:
        blocks += _layer(layer, parts)
    return Section("Bevels of edges", tuple(blocks), bench=True)


def _layer(layer: LayerFacts, parts: dict[str, Part]) -> list[Block]:
    square, rows = [], []
    mates = {p.id: p for p in layer.planks}
    for plank in in_order(layer.told):
        body = bevel_rows(plank, parts[plank.id])
        if body:
            names = _edge_names(plank, mates.get(plank.mate or "", plank))
            rows.append((pair_stem(plank.id), "", "", "", names[0], "mm", names[1], "mm"))
            rows += [("", *row) for row in body]
        else:
            square.append(pair_stem(plank.id))
    told: list[Block] = []
    if rows:
        head = ("pair", "at", "x, mm", "x, in", "edge", "mm", "edge", "mm")
        told.append(Table(head, tuple(rows), layer.name, tall=(0,)))
    if square:
        told.append(Words(f"{layer.name}, square on both edges at every station: {', '.join(square)}."))
    return told


def _edge_names(plank: Plank, mate: Plank) -> list[str]:
    """What lies along both edges, and along the mate's where a neighbour is joined unlike."""
    names = [[edge_name(m) for m in (p.first, p.second)] for p in (plank, mate)]
    return [f"to {a}" if a == b else f"to {a}, STBD {b}" for a, b in zip(*names, strict=True)]


Row = tuple[str, str, str, str, str, str, str]


def bevel_rows(plank: Plank, part: Part) -> list[Row]:
    """Place, x from the base line's start, bevel and mm of both edges, wherever one of them is not square.

    Where an edge does not reach the place, its cells hold a dash.
    """
    start = float(base_of(part)[0])
    first, second = (edge_runs(plank, m) for m in (plank.first, plank.second))
    rows: list[Row] = []
    for name, at in stations(part):
        cells = (*_cells(first, at + start, plank.thickness), *_cells(second, at + start, plank.thickness))
        if any(c not in ("–", "square", "0") for c in cells):
            rows.append((name, bare(at), print_tape(at), *cells))
    return rows


def stations(part: Part) -> list[tuple[str, float]]:
    """Name and x of every frame line (at the plank's middle) and every 300 mm, in order."""
    start, long = float(base_of(part)[0]), float(np.ptp(part.outline[:, 0]))
    found = [("–", float(x)) for x in np.arange(STEP, long - 1.0, STEP)]
    for mark in part.marks:
        pieces = clip_lines(mark.points, part.outline) if mark.kind == "frame" and len(mark.points) > 1 else []
        if pieces:
            found.append((mark.name, float(np.concatenate(pieces)[:, 0].mean()) - start))
    return sorted(found, key=lambda row: row[1])


def _cells(runs: Stretches, x: float, thickness: float) -> tuple[str, str]:
    angle = bevel_of(runs, x)
    if angle is None:
        return "–", "–"
    back = thickness * float(np.tan(angle))
    return ("square", "0") if abs(back) <= SQUARE else (degrees(angle), tenths(back))


# -- bending -----------------------------------------------------------------------------------------


def bending(facts: Facts) -> Section:
    """What will not bend, what bends with help, and the limits with their sources."""
    planks = [p for layer in facts.layers for p in in_order(layer.told)]
    blocks: list[Block] = []
    for verdict, told in _VERDICTS.items():
        mine = [p for p in planks if p.fit.verdict == verdict]
        single = any(p.mate is None and p.side != "both" for p in mine)
        count = f"{len(mine)} pairs" + (" and single planks" if single else "")
        blocks.append(Words(f"{verdict.upper()}: {count}. {told}", strong=True))
        if mine and verdict != "easy":
            blocks.append(Table(_HEAD, tuple(_fit_row(p) for p in mine), tall=(0,)))
            blocks += _helps(mine)
    blocks.append(Words("The limits and where they come from stand in the next section."))
    return Section("What will not bend, and what needs help", tuple(blocks), bench=True)


def _helps(planks: Sequence[Plank]) -> list[Block]:
    """What helps which planks: those that the same helps share a row."""
    helped: dict[str, list[str]] = {}
    for plank in planks:
        helped.setdefault(_halves(plank.fit.reason)[1], []).append(pair_stem(plank.id))
    rows = tuple((", ".join(names), help_) for help_, names in helped.items() if help_)
    return [Table(("pairs", "what helps"), rows, "What helps")] if rows else []


def limits(facts: Facts) -> Section:
    """What the verdicts are held against."""
    table = Table(("what", "easy up to", "firm up to", "source of the limit"), facts.limits)
    told = (
        "Dry wood, bent cold. Past 'firm' a plank is refused; the worst figure decides. R / t is the radius over"
        " the net thickness; twist is told as the shear it makes at the face, thickness x twist; hollow is how far the"
        " middle of a flat plank stands off, width squared / 8 R. A plank you have bent yourself tells more than these."
    )
    return Section("Limits of bending", (Words(told), table))


_VERDICTS = {
    "refused": "Do not cut these as they are.",
    "firm": "Slow, warm, with clamps and a helper; try one first.",
    "easy": "Cold, by hand and clamps.",
}
_HEAD = ("pair", "bends to R", "R / t", "twist", "hollow", "strain", "decided by")


def _fit_row(plank: Plank) -> tuple[str, ...]:
    fit: Fit = plank.fit
    radius = fit.bend_radius_min
    bend = ("straight", "–") if radius is None else (f"{radius / 1000:.2f} m", f"{radius / plank.thickness:.0f}")
    twist = f"{np.rad2deg(fit.twist_max) * 1000:.1f}°/m"
    return (
        pair_stem(plank.id),
        *bend,
        twist,
        f"{fit.hollow:.1f} mm",
        f"{100 * fit.strain_total:.2f} %",
        _halves(fit.reason)[0],
    )


def _halves(reason: str) -> tuple[str, str]:
    """The figure that decided, and what helps."""
    figure, _, remedy = reason.partition(". ")
    return figure, remedy
