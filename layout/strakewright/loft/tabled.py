"""The boat that a table of offsets describes: faired lines, panels between them, ends closed.

straight     sections across the boat are straight from line to line
developable  the panel bends from a flat sheet; its straight lines run where the sheet wants them
lofted       sections are round: through every waterline and buttock between the two lines
difference   how far straight and developable panels through the same lines lie apart: they are different boats

Steps: lines (`lines`), ends (`closing`), surfaces (here, `rounds`), panels (`gridded`).
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from strakewright.arrays import Floats
from strakewright.errors import Finding, UnworkableError
from strakewright.geometry.ruled import Edge, Rulings, developable, refuse_warp, straight_sections
from strakewright.geometry.surface import foot_points
from strakewright.hull import Hull, Panel, SurfaceFace
from strakewright.loft.closing import AFT, FORWARD, ClosedLine, ClosedLines, End, close_ends
from strakewright.loft.gridded import EndCut, LongEdge, PanelPlan, border_count, panel_from_grid
from strakewright.loft.knuckles import knuckle_findings
from strakewright.loft.lines import Line, lines_of, moved
from strakewright.loft.misprints import suspects
from strakewright.loft.remarks import table_findings, unused_cells
from strakewright.loft.rounds import left_out, lines_inside, round_grid
from strakewright.loft.twoways import figures_apart, told_apart
from strakewright.offsets import LinesPlan, TableSource
from strakewright.settings import TableSettings

COUNT, ACROSS = 241, 13  # rulings of a panel, points along each
MARGIN = 60.0  # mm of panel past an end that is cut
_MOSTLY = 0.25  # of a ruling inside the ends, for its warp to count
_POINTED = 0.5  # mm between two long edges that end in one point
TWISTED = 30.0  # degrees a metre: no plank of 19 mm follows it (common practice, no source)


@dataclass(frozen=True, eq=False)
class _Between:
    """A panel to be: its name, its two long lines, and both ends' cuts (None where pointed)."""

    name: str
    lower: ClosedLine
    upper: ClosedLine
    aft: EndCut | None
    forward: EndCut | None
    centreline: bool
    border_names: tuple[str, str]


def table_hull(source: TableSource, settings: TableSettings, surface: SurfaceFace, name: str) -> Hull:
    """The boat of a (corrected) table.

    Raises InputError naming row and station, or UnworkableError where a panel cannot be made as asked.
    """
    lines = lines_of(source.table, settings)
    dx = -min(float(e.points(2)[0, 0]) for e in close_ends(lines, settings).edges)
    lines = moved(lines, dx)
    closed = close_ends(lines, settings)
    findings = list(closed.findings)
    panels: list[Panel] = []
    figures: dict[str, float | str] = {}
    for plan in _plans(closed, lines.half_siding):
        panel, told = _panel(plan, settings, lines.between, findings)
        panels.append(panel)
        figures |= told
        findings += told_apart(panel.name, panel.flats_apart)
    length = max(float(e.points(2)[1, 0]) for e in closed.edges)
    drawn = tuple((e.line.name, e.points(border_count(length))) for e in closed.edges)
    kept = LinesPlan(
        source.table, source.corrections, lines.moves, suspects(source.table), drawn, lines.stations, settings.tolerance
    )
    findings += [*table_findings(kept, settings), *knuckle_findings(lines.edges, settings)]
    return Hull(name, tuple(panels), surface, length, tuple(findings), _figures(panels, length) | figures, kept)


def _plans(closed: ClosedLines, half: float) -> list[_Between]:
    """The panels from the keel up, named as the boat file names them."""
    edges = closed.edges
    count = len(edges) - 1
    names = ["bottom", *(f"bilge{k}" for k in range(1, count - 1)), "side"][-count:] if count > 1 else ["side"]
    plans = []
    for k, (lower, upper) in enumerate(pairwise(edges)):
        aft, forward = (
            _cut(end, lower, upper, way, half) for end, way in ((closed.aft, AFT), (closed.forward, FORWARD))
        )
        bottom = k == 0 and lower.line.name in ("rabbet", "keel")
        borders = _border_name(lower.line.name, edges), _border_name(upper.line.name, edges)
        plans.append(_Between(names[k], lower, upper, aft, forward, bottom and half == 0.0, borders))
    return plans


def _border_name(line: str, edges: tuple[ClosedLine, ...]) -> str:
    chines = [e.line.name for e in edges if e.line.name.startswith("chine")]
    if line in ("rabbet", "keel"):
        return "keel"
    return line if line == "sheer" else ("chine" if len(chines) == 1 else f"chine{chines.index(line) + 1}")


def _cut(end: End, lower: ClosedLine, upper: ClosedLine, way: int, half: float) -> EndCut | None:
    k = -1 if way == FORWARD else 0
    if np.linalg.norm(lower.points(2)[k] - upper.points(2)[k]) < _POINTED:
        return None
    if end.kind == "post":
        return EndCut("stem", end.face, half == 0.0)
    return EndCut("transom" if way == AFT else "bow transom", end.face, False)


def _panel(
    plan: _Between, settings: TableSettings, between: tuple[Line, ...], findings: list[Finding]
) -> tuple[Panel, dict[str, float | str]]:
    inside = lines_inside(plan.lower, plan.upper, between)
    kind = settings.kind_of(plan.name) or ("lofted" if inside else "straight")
    figures: dict[str, float | str] = {f"{plan.name} surface": kind}
    if kind == "lofted":
        panel = panel_from_grid(_with_grid(plan, round_grid(plan.name, plan.lower, plan.upper, inside)))
        findings += unused_cells(panel, left_out(plan.lower, plan.upper, between))
        return panel, figures
    lower, upper = _edges(plan)
    made: dict[str, Rulings] = {"straight": straight_sections(lower, upper, COUNT)}
    try:
        made["developable"] = developable(lower, upper, COUNT)
        refuse_warp(_inner(plan, made["developable"]), lower, upper, plan.name)
    except UnworkableError as refused:
        if kind == "developable":
            raise
        findings.append(Finding("not-developable", "note", plan.name, refused.what, "It stays straight, as asked"))
        made.pop("developable", None)
    rulings = _trimmed(plan, made[kind], MARGIN)
    panel = panel_from_grid(_with_grid(plan, _pointed(plan, rulings.grid(ACROSS))))
    figures[f"{plan.name} warp_deg"] = float(np.degrees(_inner(plan, rulings).warp.max()))
    if len(made) == 2:
        other = _inner(plan, made["developable" if kind == "straight" else "straight"])
        figures |= _difference(plan.name, panel, rulings, other, findings)
    _tell_twist(plan, made["straight"], findings)
    return panel, figures


def _edges(plan: _Between) -> tuple[Edge, Edge]:
    """Both long edges with as much run-on as the cut ends may need, none at points."""
    low, high = plan.lower.points(2), plan.upper.points(2)
    reach = [0.0, 0.0]
    for k, end in enumerate((plan.aft, plan.forward)):
        if end is not None:
            apart = high[-k] - low[-k] if k else high[0] - low[0]
            reach[k] = min(2 * MARGIN + abs(float(apart[0])) + 0.15 * float(np.linalg.norm(apart)), 900.0)
    return plan.lower.edge(*reach), plan.upper.edge(*reach)


def _trimmed(plan: _Between, rulings: Rulings, margin: float) -> Rulings:
    """Rulings that have some part inside the cut ends, and those up to `margin` mm past them."""
    keep = np.ones(len(rulings.low), dtype=np.bool_)
    middle = 0.5 * (rulings.feet + rulings.heads)
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(middle, axis=0), axis=1))])
    grid = rulings.grid(9)
    for end, first in ((plan.aft, True), (plan.forward, False)):
        if end is None:
            continue
        inside = np.flatnonzero((end.face(grid)[0] <= 0.0).any(axis=1))
        edge = along[inside[0] if first else inside[-1]]
        keep &= (along >= edge - margin - 1e-9) if first else (along <= edge + margin + 1e-9)
        if margin:  # never cut off the first ruling that lies wholly outside
            keep[max(inside[0] - 1, 0) if first else min(inside[-1] + 1, len(keep) - 1)] = True
    return rulings.some(np.flatnonzero(keep))


def _inner(plan: _Between, rulings: Rulings) -> Rulings:
    """Rulings that lie for a good part inside the cut ends: those that only nick a corner say nothing."""
    grid = rulings.grid(21)
    inside = np.ones(grid.shape[:2], dtype=np.bool_)
    for end in (plan.aft, plan.forward):
        if end is not None:
            inside &= end.face(grid)[0] <= 0.0
    return rulings.some(np.flatnonzero(inside.mean(axis=1) > _MOSTLY))


def _pointed(plan: _Between, grid: Floats) -> Floats:
    for end, k in ((plan.aft, 0), (plan.forward, -1)):
        if end is None:
            grid[k] = grid[k].mean(axis=0)
    return grid


def _with_grid(plan: _Between, grid: Floats) -> PanelPlan:
    edges = []
    for closed, column, name, centre in (
        (plan.lower, 0, plan.border_names[0], plan.centreline),
        (plan.upper, -1, plan.border_names[1], False),
    ):
        whole = closed.edge()
        points = closed.points(border_count(whole.last - whole.first))
        edges.append(LongEdge(name, points, _shares(points, grid[:, column]), centre))
    return PanelPlan(plan.name, grid, edges[0], edges[1], plan.aft, plan.forward)


def _shares(points: Floats, column: Floats) -> Floats:
    """(n,) where points lie along a column of the grid, as a share of its rows."""
    way = column[-1] - column[0]
    run, rows = points @ way, column @ way
    order = np.argsort(rows)
    return np.asarray(np.interp(run, rows[order], np.linspace(0.0, 1.0, len(rows))[order]))


def _difference(
    name: str, panel: Panel, mine: Rulings, other: Rulings, findings: list[Finding]
) -> dict[str, float | str]:
    """How far the other surface through the same lines lies off the one worked with."""
    points = other.grid(7)[:, 1:-1].reshape(-1, 3)
    ring = np.concatenate([p for _, p in panel.ring()])
    space = panel.patch.at(ring)
    near = np.argmin(((points[:, None, ::2] - space[None, :, ::2]) ** 2).sum(axis=2), axis=1)
    feet = foot_points(panel.patch, points, ring[near])
    off = np.linalg.norm(panel.patch.at(feet) - points, axis=1)
    k = int(np.argmax(off))
    findings.append(
        Finding(
            "straight-or-developable",
            "note",
            name,
            f"straight sections and a developable sheet through the same lines lie up to {off[k]:.1f} mm apart,"
            f" worst at x {points[k, 0]:.0f}, z {points[k, 2]:.0f}: they are different boats",
            "The boat file says which one is built: [hull] panels",
        )
    )
    return {f"{name} straight against developable": float(off[k])}


def _tell_twist(plan: _Between, straight: Rulings, findings: list[Finding]) -> None:
    inner = _inner(plan, straight)
    across = inner.heads - inner.feet
    wide = np.hypot(across[:, 1], across[:, 2])
    keep = wide > 0.1 * wide.max()
    x, angle = inner.feet[keep, 0], np.unwrap(np.arctan2(across[keep, 2], across[keep, 1]))
    rate = np.abs(np.degrees(np.gradient(angle, x))) * 1000.0
    k = int(np.argmax(rate))
    if rate[k] > TWISTED:
        findings.append(
            Finding(
                "panel-twist",
                "warning",
                plan.name,
                f"its sections turn by {rate[k]:.0f} degrees a metre at x {x[k]:.0f}"
                f" (over {TWISTED:.0f} from x {x[rate > TWISTED].min():.0f} to {x[rate > TWISTED].max():.0f})",
                "Planks will not follow that whole: narrow diagonals, staves, or a fuller forefoot",
            )
        )


def _figures(panels: list[Panel], length: float) -> dict[str, float | str]:
    points = np.concatenate([p.in_space(b) for p in panels for b, _ in p.ring()])
    return {
        "length": length,
        "half_breadth": float(points[:, 1].max()),
        "depth": float(np.ptp(points[:, 2])),
        "panels": ", ".join(p.name for p in panels),
        "residual": max(p.residual for p in panels),
        **figures_apart(panels),
    }
