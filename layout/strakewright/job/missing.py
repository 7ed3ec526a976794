"""What the pile lacks: parts that found no board, and the boards that would take them.

missing board   a rectangle of clear wood, dressed, that would take one or more parts left over

Method: the parts left over are nested again on as many copies as needed of the most used kinds of board, so the
list is a number of boards of a size that can be asked for at the mill.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from strakewright.errors import Finding
from strakewright.lumber import USUAL, Board, Rules
from strakewright.measure import FOOT, INCH, feet_of, quarters
from strakewright.nest.engine import Search, nest
from strakewright.parts import Part
from strakewright.plan import Plan
from strakewright.tables import dressed_quarters


def missing_wood(parts: Sequence[Part], boards: Sequence[Board], rules: Rules, plan: Plan) -> list[Finding]:
    """A blocking finding for every part left over, and one that lists the boards to buy."""
    if not plan.unplaced:
        return []
    by_id = {p.id: p for p in parts}
    left = [by_id[name] for name in plan.unplaced]
    none = {name: why for name, why in plan.explained.items() if "alone, but they are full" not in why}
    findings = [_left_over(p, none.get(p.id), rules) for p in left]
    wanted = [p for p in left if p.id not in none]
    return [*findings, *_to_buy(wanted, boards, rules)]


def _left_over(part: Part, why: str | None, rules: Rules) -> Finding:
    length, width = np.ptp(part.outline, axis=0) + 2 * rules.edge_margin
    size = f"{length:.0f} x {width:.0f} mm clear, {part.thickness:g} mm dressed"
    if why:
        return Finding("part-fits-no-board", "blocking", part.id, why, f"Bring a board with at least {size}")
    return Finding(
        "part-left-over", "blocking", part.id, "the boards are used up before it", f"Needs {size}; see boards-missing"
    )


def _to_buy(left: list[Part], boards: Sequence[Board], rules: Rules) -> list[Finding]:
    """Fewest copies of one board of the pile (its mean width, its longest common length) that take what is left."""
    found = []
    for species, thickness in sorted({(p.species, p.thickness) for p in left}):
        group = [p for p in left if (p.species, p.thickness) == (species, thickness)]
        size = _askable(group, boards, rules)
        count = _copies(group, size, rules)
        if count:
            length, width = size
            found.append(
                Finding(
                    "boards-missing",
                    "blocking",
                    f"{count} board{'s' if count > 1 else ''}",
                    f"{len(group)} parts are left over: {', '.join(p.id for p in group)}",
                    f"Bring {count} more of {species}, each at least {length:.0f} x {width:.0f} mm clear and "
                    f"{thickness:g} mm dressed; {_at_the_mill(count, length, width, thickness)}",
                )
            )
    return found


def _askable(group: list[Part], boards: Sequence[Board], rules: Rules) -> tuple[float, float]:
    """A board to ask for: long and wide enough for the largest part left, else as the pile's better half is."""
    fit = [b for b in boards if b.species == group[0].species and b.thickness >= group[0].thickness - 1e-6]
    sizes = np.array([np.ptp(b.outline, axis=0) for b in fit]).reshape(-1, 2)
    need = np.max([np.ptp(p.outline, axis=0) for p in group], axis=0) + 2 * rules.edge_margin + 2.0
    usual = np.quantile(sizes, 0.75, axis=0) if len(sizes) else need
    length, width = np.maximum(need, usual)
    return float(np.ceil(length / 50) * 50), float(np.ceil(width / 5) * 5)


def _at_the_mill(count: int, length: float, width: float, thickness: float) -> str:
    """What to ask for where boards are sold in quarters, whole feet and inches: ends to trim and planing counted in."""
    gives = dressed_quarters()
    rough = min((q for q, dressed in gives.items() if dressed >= thickness - 1e-6), default=thickness + 2 * USUAL.skip)
    feet = int(np.ceil((length + 2 * USUAL.end_trim) / FOOT - 1e-6))
    inches = int(np.ceil(width / INCH - 1e-6))
    measure = count * feet_of(feet * FOOT, inches * INCH, rough)
    return f"at the mill {quarters(rough)}, {feet} ft x {inches} in or more, {measure:.0f} board feet in all"


def _copies(group: list[Part], size: tuple[float, float], rules: Rules) -> int:
    length, width = size
    outline = np.array([[0.0, 0.0], [length, 0.0], [length, width], [0.0, width]])
    rack = [Board(f"NEW-{i + 1}", outline, group[0].thickness, group[0].species) for i in range(len(group))]
    counted = Rules(rules.spacing, rules.edge_margin, rules.defect_margin, rules.max_skew_deg, 0.0, "boards")
    return nest(group, rack, counted, Search(seconds=0.0)).boards_used
