"""Judge of the wood itself: which defects a part holds, how its grain runs, what a board is sawn into.

Written apart from the search: chords and distances are taken on the true outlines with shapely.

run-out   slope of a part's middle line to the grain, as it lies
wave      stage of the build at which a board is sawn
leaf      board sawn out of the thickness of another
book      two leaves that lay on each other at a saw cut
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

import numpy as np
from shapely.geometry import LineString, Polygon

from strakewright.errors import Finding
from strakewright.lumber import TAKES, Board, Defect, Rules
from strakewright.parts import Choice, Part
from strakewright.plan import Placement, Plan

RUN_OUT_TOLERANCE = 0.1
"""Degrees forgiven between two ways of taking a middle line."""
THICKNESS_TOLERANCE = 0.01
SNIPE_TOLERANCE = 0.05
BOOK_TOLERANCE = 0.05
"""mm between the outlines of a book-matched pair."""
END_SLOPE = 0.58
"""mm of rise to the mm along, from which an edge is an end of the part."""


def _fault(code: str, subject: str, what: str) -> Finding:
    return Finding(code, "blocking", subject, what, "Do not cut by this plan; nest again")


def may_hold(part: Part, defect: Defect) -> bool:
    """Whether the quality asked of a part takes a defect of this kind and size."""
    x0, y0, x1, y1 = Polygon(defect.outline).bounds
    most = TAKES.get(part.quality or "", dict[str, float]()).get(defect.kind)
    return most is not None and max(x1 - x0, y1 - y0) <= most


def run_out(shape: Polygon) -> float:
    """Steepest slope in degrees of the middle line of a part where it lies, its ends left out."""
    x0, y0, x1, y1 = shape.bounds
    step = min(25.0, (x1 - x0) / 8)
    middles: list[tuple[float, float] | None] = []
    for x in np.arange(x0 + step / 2, x1, step):
        here, there = (_chord(shape, v, y0, y1) for v in (float(x) - 0.25, float(x) + 0.25))
        sound = here and there and max(abs(a - b) for a, b in zip(here, there, strict=True)) < 0.5 * END_SLOPE
        middles.append((float(x), (sum(here) + sum(there)) / 4) if sound and here and there else None)
    runs = [
        abs(math.degrees(math.atan2(c[1] - a[1], c[0] - a[0])))
        for a, b, c in zip(middles, middles[1:], middles[2:], strict=False)
        if a and b and c
    ]
    return max(runs, default=0.0)


def _chord(shape: Polygon, x: float, y0: float, y1: float) -> tuple[float, float] | None:
    """Lowest and highest point of a shape at x."""
    cut = shape.intersection(LineString([(x, y0 - 1), (x, y1 + 1)]))
    return None if cut.is_empty else (cut.bounds[1], cut.bounds[3])


def against_grain(part: Part, shape: Polygon, rules: Rules) -> Iterator[Finding]:
    """A part whose middle line runs out of the grain."""
    if rules.run_out is None:
        return
    limit, worst = math.degrees(math.atan(1 / rules.run_out)), run_out(shape)
    if worst > limit + RUN_OUT_TOLERANCE:
        yield _fault("part-runs-out", part.id, f"{worst:.2f} deg to the grain, 1 in {rules.run_out:g} is {limit:.2f}")


def waves(pieces: Mapping[str, Part], rules: Rules, sound: Sequence[Placement]) -> Iterator[Finding]:
    """Boards that hold parts of two stages, where that is not to be."""
    if not rules.by_stage:
        return
    for board in sorted({q.board for q in sound}):
        stages = sorted({pieces[q.part].stage or 0 for q in sound if q.board == board} - {0})
        if len(stages) > 1:
            yield _fault("board-of-two-stages", board, f"holds parts of stages {', '.join(map(str, stages))}")


def planed(stock: Mapping[str, Board], rules: Rules, here: Sequence[tuple[Placement, Polygon]]) -> Iterator[Finding]:
    """Parts in wood that the planer spoils at the ends of a board, boards too short for it.  here : where parts lie"""
    here = [(q, shape) for q, shape in here if stock[q.board].state not in {"opened", "offcut"}]  # planed before
    for q, shape in here:
        x0, _, x1, _ = Polygon(stock[q.board].outline).bounds
        end = min(shape.bounds[0] - x0, x1 - shape.bounds[2])
        if rules.snipe is not None and end < rules.snipe - SNIPE_TOLERANCE:
            yield _fault("part-in-snipe", q.part, f"{end:.1f} mm from an end of {q.board}, sniped over {rules.snipe:g}")
    for name in sorted({q.board for q, _ in here}):
        x0, _, x1, _ = Polygon(stock[name].outline).bounds
        if rules.planer_min is not None and x1 - x0 < rules.planer_min - SNIPE_TOLERANCE:
            yield _fault("board-too-short-to-plane", name, f"{x1 - x0:.0f} mm, the planer takes {rules.planer_min:g}")


def matches(pieces: Mapping[str, Part], sound: Sequence[Placement]) -> Iterator[Finding]:
    """Parts that do not share a board with their mate, though they must."""
    lies = {q.part: q.board for q in sound}
    for q in sound:
        mate = pieces[q.part].mate
        if pieces[q.part].match and mate is not None and mate in pieces and lies.get(mate) != q.board:
            yield _fault("pair-parted", q.part, f"on {q.board}, its match {mate} is not")


def books(pieces: Mapping[str, Part], here: Sequence[tuple[Placement, Polygon]]) -> Iterator[Finding]:
    """Parts turned over as one of a book-matched pair that are none: the mate must lie, not turned over, at the very
    same place on the leaf before, towards the face, so that what meets at the saw cut is the same grain.

    here : where parts lie"""
    lies = {q.part: (q, shape) for q, shape in here}
    for q, shape in here:
        part = pieces[q.part]
        if not (q.flip and part.match and q.leaf) or part.may_flip:
            continue
        put, other = lies.get(part.mate or "", (None, None))
        if put is None or other is None or (put.board, put.leaf) != (q.board, q.leaf - 1) or put.flip:
            what = f"turned over on leaf {q.leaf} of {q.board}, but the leaf before does not hold {part.mate} face up"
            yield _fault("pair-not-book-matched", q.part, what)
        elif (apart := float(shape.exterior.hausdorff_distance(other.exterior))) > BOOK_TOLERANCE:
            what = f"book-matched with {part.mate} on leaf {put.leaf} of {q.board}, but {apart:.2f} mm off its place"
            yield _fault("pair-not-book-matched", q.part, what)


def leaves(
    pieces: Mapping[str, Part], stock: Mapping[str, Board], rules: Rules, sound: Sequence[Placement]
) -> Iterator[Finding]:
    """Boards that do not give the leaves asked of them."""
    for board in sorted({q.board for q in sound}):
        here = [q for q in sound if q.board == board]
        sawn = {q.leaf for q in here}
        if sawn == {None}:
            continue
        if None in sawn or not all(leaf and leaf >= 1 for leaf in sawn):
            yield _fault("board-whole-and-resawn", board, "some parts lie on a leaf, others on the whole board")
            continue
        known = stock[board]
        if known.leaves > 1:
            most = max(leaf for leaf in sawn if leaf)
            if most > known.leaves:
                yield _fault("board-too-thin", board, f"leaf {most} asked, but it is sawn into {known.leaves}")
            continue
        thick = [max(pieces[q.part].thickness for q in here if q.leaf == leaf) for leaf in sorted(sawn, key=str)]
        thick += [max(thick)] * (max(leaf for leaf in sawn if leaf) - len(thick))
        yield from _sawable(known, thick, rules)


def _sawable(board: Board, thick: Sequence[float], rules: Rules) -> Iterator[Finding]:
    """Whether leaves of these thicknesses come out of a board: skip, then leaf and clean and kerf in turn."""
    if rules.resaw_kerf is None or board.rough_thickness is None:
        yield _fault("board-not-to-be-resawn", board.id, "parts lie on leaves, but nothing says it may be resawn")
        return
    skip = 1.5 if rules.resaw_skip is None else rules.resaw_skip
    clean = 1.0 if rules.resaw_clean is None else rules.resaw_clean
    needs = 2 * skip + sum(t + clean for t in thick) + rules.resaw_kerf * (len(thick) - 1)
    if needs > board.rough_thickness + THICKNESS_TOLERANCE:
        what = f"{len(thick)} leaves need {needs:.1f} mm of thickness, rough it has {board.rough_thickness:g}"
        yield _fault("board-too-thin", board.id, what)
    width = float(np.ptp(board.outline[:, 1]))
    if rules.resaw_max is not None and width > rules.resaw_max:
        yield _fault("board-too-wide-to-resaw", board.id, f"{width:.0f} mm, the saw takes {rules.resaw_max:g}")


def expected(pieces: Mapping[str, Part], plan: Plan, choices: Sequence[Choice]) -> tuple[set[str], list[Finding]]:
    """Parts that the plan must place: those in no choice and those of the options it took; faults of the taking."""
    found, due = [], set(pieces) - {p for c in choices for o in c.options for p in o.parts}
    for choice in choices:
        taken = plan.chosen.get(choice.id)
        if taken is None or not 0 <= taken < len(choice.options):
            found.append(_fault("choice-not-made", choice.id, "no option of it is taken"))
            continue
        due |= set(choice.options[taken].parts)
    return due, found
