"""What the book says of planks: the table, the order of hanging, widths, maps, what to measure first.

pair      a port plank and its mirror image;  its chalk number is the id without the side; where joints are shifted a
          piece has no mate, and a number of its own
step      what is hung together: one course, both sides, so that neither side runs ahead
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import cast

import numpy as np

from strakewright.parts import Margin, Plank
from strakewright.units import print_tape
from strakewright.write.book import (
    BOX,
    Block,
    Facts,
    LayerFacts,
    Section,
    Table,
    Words,
    bare,
    blank_size,
    in_line,
    side_by_side,
    thick,
    two_lines,
)
from strakewright.write.edges import degrees
from strakewright.write.girths import Crossing, crossings, pair_stem

_CHUNK = 7  # frames beside each other at most


PLANKS_A_SPARE = 20
"""Short planks for each of which one more is cut."""


def plank_table(facts: Facts) -> Section:
    """All pairs in hanging order."""
    blocks: list[Block] = [
        Words("Blank: straight stock that holds the line to cut. Ends: bevel (+ inside shorter), tail left past it.")
    ]
    parts, boards = {p.id: p for p in facts.parts}, facts.board_of
    for layer in facts.layers:
        rows = []
        for plank in in_order(layer.told):
            long, wide = blank_size(parts[plank.id])
            where = [boards.get(name, "NONE") if name else "–" for name in _by_side(plank)]
            blank = f"{bare(long)} x {bare(wide)}\n{print_tape(long)} x {print_tape(wide)}"
            along = {m.border for m in (plank.first, plank.second) if m.border}
            sides = [f"along {', '.join(sorted(along))}"] if along else []
            ends = "\n".join([*(_end(e, plank.thickness) for e in plank.ends if e.border not in along), *sides])
            rows.append((pair_stem(plank.id), blank, "\n".join(where), plank.fit.verdict, ends))
        caption = f"{layer.name}: {layer.settings.species}, dress to {thick(layer.port[0].cut_thickness)}"
        head = ("pair", "blank, mm / in", "board P\nboard S", "bend", "ends and borders")
        blocks += [Words(_allowances(layer)), *_joined_unlike(layer), Table(head, tuple(rows), caption, tall=(0,))]
    return Section("Planks in hanging order", tuple(blocks), bench=True)


def _joined_unlike(layer: LayerFacts) -> list[Block]:
    """Which strakes have joints in other bays to starboard, and what that means at the bench."""
    if not layer.unlike:
        return []
    courses = ", ".join(str(c) for c in sorted({p.course for p in layer.unlike}))
    return [
        Words(
            f"{layer.name}: joints shifted to starboard in courses {courses}. Their pieces are no pairs: each is cut"
            " once, by its own pattern and bevels, for the side that has a board named here."
        )
    ]


def _by_side(plank: Plank) -> tuple[str | None, str | None]:
    """Ids of a pair, port and starboard; None on the side where a piece without a mate does not hang."""
    if plank.mate is not None:
        return plank.id, plank.mate
    return (None, plank.id) if plank.side == "starboard" else (plank.id, None)


def _allowances(layer: LayerFacts) -> str:
    """Tails and trims of a layer on both tapes."""
    s = layer.settings
    long = {"forward": s.tail_forward, "aft": s.tail_aft}
    tails = long if s.pattern == "strakes" else long | {"keel": s.tail_keel}
    told = ", ".join(f"{name} {in_line(mm)}" for name, mm in tails.items())
    trims = f"sheer {in_line(s.trim_sheer)}, chine {in_line(s.trim_chine)}"
    return f"{layer.name}. Tails: {told}. Left on along the {trims}."


def in_order(planks: Iterable[Plank]) -> list[Plank]:
    """By course, port first, then from aft."""
    return sorted(planks, key=lambda p: (p.course, not p.on_port, p.piece))


def _end(end: Margin, thickness: float) -> str:
    if end.meets == "scarf":
        face = "outside" if end.bevel[0] < 0 else "inside"
        long = thickness * abs(float(np.tan(end.bevel[0])))
        return f"scarf {bare(long)} to {pair_stem(end.neighbour or '')}, taper {face}"
    tail = f" tail {bare(end.tail)}" if end.tail else ""
    low, high = degrees(float(end.bevel.min())), degrees(float(end.bevel.max()))
    return f"{end.meets} {low if low == high else f'{low[:-1]} .. {high}'}{tail}"


def edge_name(margin: Margin) -> str:
    """What lies along an edge: the neighbour's chalk number or the border."""
    return pair_stem(margin.neighbour) if margin.neighbour else (margin.border or margin.meets)


def hanging_order(facts: Facts) -> Section:
    """Both sides in step, with room to tick off."""
    tables: list[Block] = []
    for layer in facts.layers:
        rows: list[tuple[str, ...]] = []
        steps: dict[int, list[Plank]] = defaultdict(list)
        for plank in in_order(layer.planks):
            steps[plank.course].append(plank)
        for planks in steps.values():
            rows.append((_hung(planks), _needed(planks), BOX, BOX))
        lots = 2 if len(rows) > 20 and max(len(row[0]) + len(row[1]) for row in rows) < 14 else 1
        head = ("step", "after", "PORT", "STBD")
        tables.append(replace(side_by_side(head, rows, lots), caption=f"{layer.name}: tick when hung"))
    told = (
        Words("One step, both sides, before the next: never more than one course ahead (common practice, no source)."),
        Words(
            "Pieces of one course that meet in a scarf are glued on the bench or on the boat before the next course."
        ),
    )
    return Section("Order of hanging", (*told, *_spares(facts), *tables), bench=True)


def _spares(facts: Facts) -> list[Block]:
    """What to cut more of than is hung, while the saw is set."""
    leaning = sum(len(la.planks) for la in facts.layers if la.settings.pattern != "strakes")
    strakes = any(la.settings.pattern == "strakes" for la in facts.layers)
    wanted = [f"{-(-leaning // PLANKS_A_SPARE)} diagonals or cross planks, the longest"] * bool(leaning)
    wanted += ["one forward length of the strake that bends most"] * strakes
    if not wanted:
        return []
    told = (
        f"SPARES: {' and '.join(wanted)} (one in {PLANKS_A_SPARE}; common practice, no source). None is on the boards."
    )
    return [Words(told)]


def _hung(planks: Sequence[Plank]) -> str:
    """The pieces of one step, by side where their joints are shifted."""
    port, unlike = ([p for p in planks if p.stands_for and p.on_port is side] for side in (True, False))
    mine, others = (" + ".join(pair_stem(p.id) for p in some) for some in (port, unlike))
    return f"PORT {mine}, STBD {others}" if unlike else mine


def _needed(planks: Sequence[Plank]) -> str:
    """What must hang before a course, its own pieces left out."""
    own = {p.id for p in planks}
    needs = {name for p in planks for name in cast(list[str], p.extra.get("needs", [])) if name not in own}
    return ", ".join(sorted({pair_stem(name) for name in needs})) or "–"


def ways_to_line_off(facts: Facts) -> Section | None:
    """What each way of lining off would ask of the boards."""
    tables: list[Block] = [
        Words("SNY: how far a strake's middle stands off a straight line in the flat. BOARD: width of straight-edged"
              " board for the worst whole strake, before joints, tails, trims. END: narrowest end at stem or"
              " transom, before any strake is dropped. ALLOWED: widest plank whose own movement, shop to service, stays"
              " within a seam's 1 mm; it binds where seams are dry, a glued panel moves as one. SHEER: most that the"
              " sheer strake's width leaves an even taper within a metre; what the eye sees as a wave."),
    ]  # fmt: skip
    head = ("lining", "courses", "sny\nmean", "sny\nmost", "board", "widest", "allowed", "end", "sheer")
    tables += [Table(head, layer.linings, f"{layer.name}: mm") for layer in facts.layers if layer.linings]
    return Section("Ways to line off", tuple(tables)) if len(tables) > 1 else None


# -- widths ------------------------------------------------------------------------------------------


def widths(facts: Facts) -> Section:
    """Strake widths at every frame, both meanings; where diagonals meet keel and chine."""
    blocks: list[Block] = [
        Words("WIDTH ON FRAME: along the frame, what the girth staff shows. WIDTH SQUARE: square across the plank,"
              " what the rip fence is set to. They differ where a plank crosses the frame aslant. Mid-thickness."
              " Glue lines add up to a millimetre or two: tick the frames anew from the girth staffs after every"
              " third strake.")
    ]  # fmt: skip
    names = [name for name, _ in facts.frames]
    for layer in facts.layers:
        if layer.settings.pattern == "strakes":
            blocks += _width_tables(layer, names)
        else:
            blocks += _diagonal_places(layer)
    return Section("Widths", tuple(blocks), bench=True)


def _width_tables(layer: LayerFacts, names: Sequence[str]) -> list[Block]:
    rows = by_course(crossings(layer.port))
    crossed = [name for name in names if name in rows]
    courses = sorted({p.course for p in layer.port})
    tables: list[Block] = []
    share = -(-len(crossed) // max(-(-len(crossed) // _CHUNK), 1))
    for start in range(0, len(crossed), max(share, 1)):
        frames = crossed[start : start + share]
        for what, square in (("WIDTH ON FRAME", False), ("WIDTH SQUARE", True)):
            body = [(_stem(layer, c), *(_cell(rows[f].get(c), square) for f in frames)) for c in courses]
            if not square:
                body.append(("sum", *(two_lines(sum(v[0] for v in rows[f].values())) for f in frames)))
                body.append(("girth", *(two_lines(layer.girths[f]) for f in frames)))
            caption = f"{layer.name}: {what}, mm / in"
            tables.append(Table(("strake", *frames), tuple(body), caption, tall=(0,)))
    return tables


def _stem(layer: LayerFacts, course: int) -> str:
    stem = pair_stem(next(p.id for p in layer.port if p.course == course))
    return stem[:-1] if stem[-1:].isalpha() else stem


def by_course(rows: dict[str, list[Crossing]]) -> dict[str, dict[int, tuple[float, float]]]:
    """Frame -> course -> (width on the frame, width square); pieces of one course on one frame are one width."""
    found: dict[str, dict[int, tuple[float, float]]] = {}
    for frame, row in rows.items():
        held = found.setdefault(frame, {})
        for c in row:
            on_frame, square = held.get(c.course, (0.0, 0.0))
            held[c.course] = (on_frame + c.on_frame, max(square, c.square))
    return found


def _cell(pair: tuple[float, float] | None, square: bool) -> str:
    return "–" if pair is None else two_lines(pair[int(square)])


def _diagonal_places(layer: LayerFacts) -> list[Block]:
    """x of the after corner of every diagonal along the keel and along the chine."""
    rows = [
        (pair_stem(plank.id), *(_after_corner(plank, border) for border in ("keel", "chine")))
        for plank in in_order(layer.port)
    ]
    widest = [c.square for row in crossings(layer.port).values() for c in row]
    told = f"{layer.name}: laid {bare(layer.settings.width or max(widest, default=0.0))} mm wide, square across."
    caption = f"{layer.name}: after corner on the keel and on the chine, x forward of the aft end, mm / in"
    return [Words(told), replace(side_by_side(("pair", "keel", "chine"), rows, 2), caption=caption)]


def _after_corner(plank: Plank, border: str) -> str:
    runs = [m.seam[:, 0] for m in (plank.first, plank.second, *plank.ends) if (m.border or "").startswith(border)]
    return two_lines(float(np.concatenate(runs).min())) if runs else "–"


def measure_first(facts: Facts) -> Section | None:
    """The closing courses, with boxes for what the gap measures once all others hang."""
    blocks: list[Block] = [
        Words("DO NOT CUT THESE YET. Hang every other course, measure the gap on each frame on both sides, write it"
              " in, and cut to what you measured. The figures are what the gap should be."),
    ]  # fmt: skip
    for layer in facts.layers:
        last = max((p.course for p in layer.port), default=0)
        if layer.settings.pattern != "strakes" or last < 2:
            continue
        rows = by_course(crossings(layer.port))
        body = []
        for name, _ in facts.frames:
            if last in rows.get(name, {}):
                on_frame, square = rows[name][last]
                body.append((name, two_lines(on_frame), BOX, BOX, two_lines(square)))
        ids = ", ".join(pair_stem(p.id) for p in in_order(layer.told) if p.course == last)
        head = ("frame", "gap on frame\nmm / in", "PORT\nmeasured", "STBD\nmeasured", "square\nmm / in")
        blocks.append(Table(head, tuple(body), f"{layer.name}: {ids}", tall=(0,)))
    return Section("Measure first", tuple(blocks), bench=True) if len(blocks) > 1 else None
