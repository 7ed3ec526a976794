"""Judge of nesting plans, on true outlines, knowing nothing of how a plan was found.

fault      something in a plan that would spoil wood; every one is blocking
shortfall  how much a clearance falls short of what the rules ask, 0 when it does not
TOLERANCE  mm forgiven on every clearance

Written apart from the search on purpose: shapely measures distances between the outlines themselves.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence

import shapely
from shapely import STRtree
from shapely.affinity import affine_transform
from shapely.geometry import Polygon

from strakewright.errors import Check, Finding, at_most
from strakewright.lumber import Board, Rules
from strakewright.parts import Choice, Part
from strakewright.plan import Placement, Plan
from strakewright.proof.timber import against_grain, books, expected, leaves, matches, may_hold, planed, waves

TOLERANCE = 0.05
ANGLE_TOLERANCE = 1e-6
SPECK = 1e-6
"""mm2 of overlap taken for rounding."""
LIKE = 1e-6
"""mm a board may be thinner than a part and still count as equal (rounding of inches)."""

Shortfalls = dict[str, float]


def judge(
    parts: Sequence[Part], boards: Sequence[Board], rules: Rules, plan: Plan, choices: Sequence[Choice] = ()
) -> tuple[tuple[Check, ...], tuple[Finding, ...]]:
    """Checks and faults of a plan.  A sound plan has no fault; parts it lists as unplaced fail one check only."""
    stock = {b.id: b for b in boards}
    pieces = {p.id: p for p in parts}
    due, unmade = expected(pieces, plan, choices)
    faults = [*unmade, *_roll_call(pieces, due, plan), *_strangers(pieces, stock, plan.placements)]
    sound = [q for q in plan.placements if q.part in pieces and q.board in stock and _is_finite(q)]
    faults += [f for q in sound for f in _allowed(pieces[q.part], stock[q.board], rules, q)]
    worst: Shortfalls = {"edge": 0.0, "defect": 0.0, "spacing": 0.0}
    for name, leaf in sorted({(q.board, q.leaf) for q in sound}, key=str):
        here = [(pieces[q.part], lying(pieces[q.part], q)) for q in sound if (q.board, q.leaf) == (name, leaf)]
        faults += [*_edges(stock[name], here, rules, worst), *_between(name, here, rules, worst)]
        faults += [f for part, shape in here for f in against_grain(part, shape, rules)]
    faults += [*waves(pieces, rules, sound), *matches(pieces, sound), *leaves(pieces, stock, rules, sound)]
    laid = [(q, lying(pieces[q.part], q)) for q in sound]
    faults += [*planed(stock, rules, laid), *books(pieces, laid)]
    turn = max((_off_grain(q) - _limit(pieces[q.part], rules) for q in sound), default=0.0)
    checks = (
        at_most("parts placed wrongly", len(faults), 0, "faults"),
        at_most("parts not placed", len(due - {q.part for q in sound}), 0, "parts"),
        at_most("spacing: worst shortfall", worst["spacing"], TOLERANCE, "mm"),
        at_most("edge margin: worst shortfall", worst["edge"], TOLERANCE, "mm"),
        at_most("defect margin: worst shortfall", worst["defect"], TOLERANCE, "mm"),
        at_most("grain: worst turn beyond the limit", max(turn, 0.0), ANGLE_TOLERANCE, "deg"),
    )
    return checks, tuple(faults)


def lying(part: Part, put: Placement) -> Polygon:
    """The part's outline on its board: flip, turn about its own (0, 0), shift."""
    turn = math.radians(put.rotation_deg)
    mirror = -1.0 if put.flip else 1.0
    a, b = math.cos(turn), math.sin(turn)
    return affine_transform(Polygon(part.outline), [a, -b * mirror, b, a * mirror, put.x, put.y])


def _fault(code: str, subject: str, what: str) -> Finding:
    """A blocking finding with the one remedy there is."""
    return Finding(code, "blocking", subject, what, "Do not cut by this plan; nest again")


def _is_finite(put: Placement) -> bool:
    return all(map(math.isfinite, (put.x, put.y, put.rotation_deg)))


def _roll_call(pieces: dict[str, Part], due: set[str], plan: Plan) -> Iterator[Finding]:
    """Every part that is due is placed once, or listed as unplaced; no other is."""
    times = Counter(q.part for q in plan.placements)
    for name in pieces:
        if name not in due:
            if times[name] or name in plan.unplaced:
                yield _fault("part-not-chosen", name, "placed or listed, but it belongs to an option not taken")
            continue
        if times[name] > 1:
            yield _fault("part-placed-twice", name, f"placed {times[name]} times")
        if times[name] and name in plan.unplaced:
            yield _fault("part-placed-and-listed", name, "placed, and listed as unplaced")
        if not times[name] and name not in plan.unplaced:
            yield _fault("part-forgotten", name, "neither placed nor listed as unplaced")


def _strangers(pieces: dict[str, Part], stock: dict[str, Board], puts: Iterable[Placement]) -> Iterator[Finding]:
    """Placements that name nothing, or whose numbers are none."""
    for q in puts:
        if q.part not in pieces:
            yield _fault("part-unknown", q.part, "placed, but not among the parts")
        if q.board not in stock:
            yield _fault("board-unknown", q.board, "used, but not among the boards")
        if not _is_finite(q):
            yield _fault("placement-not-a-number", q.part, "a coordinate or the turn is not a finite number")


def _off_grain(put: Placement) -> float:
    """Degrees from the nearer of 0 and 180."""
    return abs((put.rotation_deg + 90.0) % 180.0 - 90.0)


def _limit(part: Part, rules: Rules) -> float:
    return rules.max_skew_deg if part.max_skew_deg is None else part.max_skew_deg


def _allowed(part: Part, board: Board, rules: Rules, put: Placement) -> Iterator[Finding]:
    """May this part lie on this board, this way up, at this angle?"""
    if put.flip and not part.may_flip and not (part.match and put.leaf):  # one of a book: `timber.books` judges it
        yield _fault("part-turned-over", part.id, "turned over, but its marks or bevels forbid it")
    if _off_grain(put) > _limit(part, rules) + ANGLE_TOLERANCE:
        yield _fault(
            "part-off-grain", part.id, f"{_off_grain(put):.2f} deg off the grain, limit {_limit(part, rules):g}"
        )
    if part.species != board.species:
        yield _fault("board-of-other-species", part.id, f"{part.species}, but {board.id} is {board.species}")
    if part.thickness > board.thickness + LIKE and put.leaf is None:
        yield _fault(
            "board-too-thin", part.id, f"{part.thickness:g} mm thick, but {board.id} finishes at {board.thickness:g}"
        )


def _edges(board: Board, here: Sequence[tuple[Part, Polygon]], rules: Rules, worst: Shortfalls) -> Iterator[Finding]:
    """Parts over the edge, too near it, or too near a defect.  `worst` is brought up to date."""
    wood = Polygon(board.outline)
    spots = [Polygon(d.outline) for d in board.defects]
    for part, shape in here:
        name = part.id
        gap = shape.distance(wood.exterior) if wood.covers(shape) else -_beyond(wood, shape)
        worst["edge"] = max(worst["edge"], rules.edge_margin - gap)
        if gap < -TOLERANCE:
            yield _fault("part-off-board", name, f"{-gap:.2f} mm over the edge of {board.id}")
        elif gap < rules.edge_margin - TOLERANCE:
            yield _fault(
                "part-near-edge", name, f"{gap:.2f} mm from the edge of {board.id}, needs {rules.edge_margin:g}"
            )
        for defect, spot in zip(board.defects, spots, strict=True):
            if may_hold(part, defect):
                continue
            clear, needs = shape.distance(spot), rules.keep_off(defect.kind)
            worst["defect"] = max(worst["defect"], needs - clear)
            if clear < needs - TOLERANCE or shape.intersection(spot).area > SPECK:
                yield _fault(
                    "part-near-defect",
                    name,
                    f"{clear:.2f} mm from a {defect.kind} of {board.id}, needs {needs:g}",
                )


def _beyond(wood: Polygon, shape: Polygon) -> float:
    """Greatest distance of a corner of the shape from the wood."""
    return float(shapely.distance(wood, shapely.points(shapely.get_coordinates(shape))).max())


def _between(board: str, here: Sequence[tuple[Part, Polygon]], rules: Rules, worst: Shortfalls) -> Iterator[Finding]:
    """Pairs of parts closer than the spacing.  `worst` is brought up to date."""
    shapes = [shape for _, shape in here]
    tree = STRtree(shapes)
    for i, shape in enumerate(shapes):
        for j in sorted(int(k) for k in tree.query(shape, predicate="dwithin", distance=rules.spacing)):
            if j <= i:
                continue
            gap = shape.distance(shapes[j])
            worst["spacing"] = max(worst["spacing"], rules.spacing - gap)
            if gap < rules.spacing - TOLERANCE or shape.intersection(shapes[j]).area > SPECK:
                pair = f"{here[i][0].id} and {here[j][0].id}"
                yield _fault("parts-too-close", pair, f"{gap:.2f} mm apart on {board}, need {rules.spacing:g}")
