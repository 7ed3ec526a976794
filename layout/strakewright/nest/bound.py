"""What no plan can go below.

bound      least cost of boards that together have the wood the parts must have
class      parts at least so long and so wide: they must come out of boards at least so long and so wide

Every part, grown by half the spacing, needs its own wood; wood within the edge margin or a defect gives none.  For
every class the boards chosen must offer what the class needs.  Whole boards, solved exactly (mixed integer, HiGHS);
when time runs out the solver's own proven bound is taken.  All measures are taken 0.05 mm in favour of the plan, as a
referee forgives that much.  Method: derived.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from scipy.optimize import LinearConstraint
from shapely.geometry import Polygon

from strakewright.arrays import Bools, Floats
from strakewright.lumber import TAKES, Board, Defect, Rules
from strakewright.nest.fitting import hull_of, may_lie, side_angles, worths
from strakewright.nest.job import Pick, Shed
from strakewright.nest.solving import chosen
from strakewright.parts import Part

FORGIVEN = 0.05
"""mm a referee forgives on every clearance."""
CLASSES = 40
"""Lengths and widths told apart, at most, each way."""


@dataclass(frozen=True, eq=False)
class Needs:
    """Per part: (n,) m2 needed, least length and least width in mm."""

    area: Floats
    length: Floats
    width: Floats


@dataclass(frozen=True, eq=False)
class Offers:
    """Per board: (n,) m2 it can give at most, length and width in mm."""

    area: Floats
    length: Floats
    width: Floats


def least_extents(outline: Floats, limit_deg: float) -> tuple[float, float]:
    """Least length along and least width across the grain of a part turned by up to `limit_deg` either way.

    The extent of a convex shape against the angle is a row of arches, so its least lies at the limits or where a
    side of the hull lies along an axis (textbook: rotating calipers).
    """
    hull = hull_of(outline)
    flush = (-side_angles(hull) + 45.0) % 90.0 - 45.0
    angles = np.radians([0.0, -limit_deg, limit_deg, *flush[np.abs(flush) <= limit_deg]])
    x = np.outer(np.cos(angles), hull[:, 0]) - np.outer(np.sin(angles), hull[:, 1])
    y = np.outer(np.sin(angles), hull[:, 0]) + np.outer(np.cos(angles), hull[:, 1])
    return float(np.ptp(x, axis=1).min()), float(np.ptp(y, axis=1).min())


def needs(parts: Sequence[Part], rules: Rules) -> Needs:
    """What each part takes out of a board."""
    by = max((rules.spacing - FORGIVEN) / 2, 0.0)
    area = [Polygon(p.outline).buffer(by, quad_segs=8).area / 1e6 for p in parts]
    limits = [rules.max_skew_deg if p.max_skew_deg is None else p.max_skew_deg for p in parts]
    size = np.array([least_extents(p.outline, s) for p, s in zip(parts, limits, strict=True)]).reshape(-1, 2)
    return Needs(np.array(area), size[:, 0], size[:, 1])


def offers(boards: Sequence[Board], rules: Rules, kinds: Collection[str]) -> Offers:
    """What each board can give at most to parts grown by half the spacing.  kinds : of quality among the parts"""
    edge = max(rules.edge_margin - FORGIVEN, 0.0)
    half = max((rules.spacing - FORGIVEN) / 2, 0.0)
    area, size = [], []
    for b in boards:
        inner = Polygon(b.outline).buffer(-edge, join_style="mitre")
        grown = inner.buffer(half, join_style="mitre")
        barred = [d for d in b.defects if not any(may_hold(kind, d) for kind in kinds)]
        clear = [max(rules.keep_off(d.kind) - FORGIVEN, 0.0) - half for d in barred]
        holes = [Polygon(d.outline).buffer(c, quad_segs=8) for d, c in zip(barred, clear, strict=True) if c >= 0]
        area.append(shapely.difference(grown, shapely.union_all(holes)).area / 1e6 if holes else grown.area / 1e6)
        x0, y0, x1, y1 = inner.bounds if not inner.is_empty else (0.0, 0.0, 0.0, 0.0)
        size.append((x1 - x0 + 2 * FORGIVEN, y1 - y0 + 2 * FORGIVEN))
    both = np.array(size).reshape(-1, 2)
    return Offers(np.array(area), both[:, 0], both[:, 1])


def may_hold(quality: str, defect: Defect) -> bool:
    """Whether a part of this quality may lie over a defect."""
    return float(np.ptp(defect.outline, axis=0).max()) <= TAKES.get(quality, {}).get(defect.kind, 0.0)


def _steps(values: Floats) -> Floats:
    """Up to CLASSES of the values, smallest first, 0 among them."""
    distinct = np.unique(np.concatenate([[0.0], values]))
    return np.asarray(distinct[np.unique(np.linspace(0, len(distinct) - 1, CLASSES).round().astype(int))])


def least_total(area: Floats, members: Bools, choices: Sequence[Pick]) -> float:
    """Area the members need, of every choice the option that needs least."""
    inside = np.where(members, area, 0.0)
    open_to = sorted({p for c in choices for o in c.options for p in o})
    return float(inside.sum() - inside[open_to].sum()) + sum(
        min(float(inside[list(o)].sum()) for o in c.options) for c in choices
    )


def class_rows(need: Needs, offer: Offers, may: Bools, choices: Sequence[Pick]) -> tuple[Floats, Floats]:
    """One row per class that says something new: what each board offers it (rows, boards), what it needs (rows,)."""
    rows: dict[bytes, tuple[Floats, float]] = {}
    groups = np.unique(may, axis=0)
    for group in groups:
        inside = ~(may & ~group).any(axis=1)
        for long in _steps(need.length):
            for wide in _steps(need.width):
                members = inside & (need.length >= long) & (need.width >= wide)
                hosts = group & (offer.length >= long) & (offer.width >= wide)
                total = least_total(need.area, members, choices)
                if total > rows.get(hosts.tobytes(), (offer.area, 0.0))[1]:
                    rows[hosts.tobytes()] = (np.where(hosts, offer.area, 0.0), total)
    if not rows:
        return np.zeros((0, len(offer.area))), np.zeros(0)
    return np.array([r[0] for r in rows.values()]), np.array([r[1] for r in rows.values()])


def bound(shed: Shed, seconds: float, nodes: int) -> float | None:
    """Least cost for `rules.objective` (m2, boards, price); None when unknown.  nodes : limit on the solver's work."""
    parts, boards, rules = shed.parts, shed.boards, shed.rules
    if not parts or not boards:
        return 0.0 if not parts else None
    everyone = np.ones(len(parts), dtype=bool)
    if rules.objective == "net":
        by = max(min(rules.spacing / 2, rules.edge_margin) - FORGIVEN, 0.0)
        area = np.array([Polygon(p.outline).buffer(by, quad_segs=8).area for p in parts]) / 1e6
        resawn = shed.leaves.max(where=shed.may.any(axis=0), initial=1)
        return least_total(area, everyone, shed.choices) / float(resawn)
    if rules.objective == "price" and any(b.price is None for b in boards):
        return None
    offer = offers(boards, rules, {p.quality for p in parts if p.quality})
    offer = Offers(offer.area * shed.leaves, offer.length, offer.width)
    row, need = class_rows(needs(parts, rules), offer, may_lie(parts, boards), shed.choices)
    worth = np.ones(len(boards)) if rules.objective == "boards" else worths(boards, rules.objective)
    whole = np.array([shed.source == s for s in np.unique(shed.source)], dtype=np.float64)
    rows = [LinearConstraint(row, need - 1e-9, np.inf), LinearConstraint(whole, 0.0, 1.0)]
    found = chosen(worth, rows, seconds, nodes, 1e-3)
    proven = getattr(found, "mip_dual_bound", None)
    return None if proven is None or not np.isfinite(proven) or found.status == 2 else float(proven)
