"""How well a plan uses the wood, on true outlines.

gross      area of every board opened
offcut     end of a board, cut off square a saw's width (the spacing) beyond the last part, long enough to keep
net        gross less offcuts
yield      area of the parts over area of the wood
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from shapely.affinity import affine_transform
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry

from strakewright.lumber import Board, Rules
from strakewright.parts import Part
from strakewright.plan import Placement


@dataclass(frozen=True)
class Figures:
    """m2 and fractions;  price None when a board opened has none."""

    boards: int
    gross_m2: float
    net_m2: float
    gross_yield: float
    net_yield: float
    price: float | None


def placed(outline: Polygon, put: Placement) -> Polygon:
    """A part's outline where the placement puts it."""
    c, s = math.cos(math.radians(put.rotation_deg)), math.sin(math.radians(put.rotation_deg))
    f = -1.0 if put.flip else 1.0
    return affine_transform(outline, [c, -s * f, s, c * f, put.x, put.y])


def offcuts(board: Polygon, left: float, right: float, rules: Rules) -> list[BaseGeometry]:
    """Ends worth keeping when the parts lie between x = left and x = right."""
    x0, y0, x1, y1 = board.bounds
    if rules.min_offcut <= 0:
        return []
    low, high = left - rules.spacing, right + rules.spacing
    ends = [(x0 - 1, low)] * (low - x0 >= rules.min_offcut) + [(high, x1 + 1)] * (x1 - high >= rules.min_offcut)
    return [board.intersection(box(a, y0 - 1, b, y1 + 1)) for a, b in ends]


def figures(parts: Sequence[Part], boards: Sequence[Board], rules: Rules, puts: Sequence[Placement]) -> Figures:
    """All figures of a plan (zeros for an empty one)."""
    shapes = {p.id: Polygon(p.outline) for p in parts}
    stock = {b.id: b for b in boards}
    reach: dict[str, tuple[float, float]] = {}
    for put in puts:
        x0, _, x1, _ = placed(shapes[put.part], put).bounds
        a, b = reach.get(put.board, (x0, x1))
        reach[put.board] = (min(a, x0), max(b, x1))
    wood = {name: Polygon(stock[name].outline) for name in reach}
    gross = sum(w.area for w in wood.values()) / 1e6
    back = sum(o.area for name, ends in reach.items() for o in offcuts(wood[name], *ends, rules)) / 1e6
    used = sum(shapes[put.part].area for put in puts) / 1e6
    prices = [stock[name].price for name in reach]
    known = [p for p in prices if p is not None]
    price = sum(known) if len(known) == len(prices) else None
    net = gross - back
    return Figures(len(reach), gross, net, used / gross if gross else 0.0, used / net if net else 0.0, price)


def figure_for(objective: str, f: Figures) -> float | None:
    """The figure an objective counts: m2, boards or price."""
    return {"gross": f.gross_m2, "net": f.net_m2, "boards": float(f.boards), "price": f.price}[objective]
