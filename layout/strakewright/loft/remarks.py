"""What is worth telling about a table and its fairing.

left out      cells that no whole section takes in (see `rounds`)
tolerance     mm a cell may be moved without the builder's leave
inflection    where a line turns from full to hollow;  hook : two of them close together
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np

from strakewright.arrays import Floats
from strakewright.errors import Finding
from strakewright.geometry.curves import without_repeats
from strakewright.geometry.drawn import interpolant
from strakewright.geometry.surface import foot_points
from strakewright.hull import Panel
from strakewright.offsets import Correction, LinesPlan, Move, Suspect
from strakewright.settings import TableSettings
from strakewright.units import print_eighths, print_mm

_HOLLOW = 1.0 / 60_000.0  # 1/mm: bends smaller than this are straight to the eye
_HOOK = 0.15  # of the length: two turns nearer together than this make a hook
_MANY = 12
_PASSES = 3.0  # mm: nearer than a table's own rounding makes a plank, cells that are passed by are only noted


def table_findings(plan: LinesPlan, settings: TableSettings) -> list[Finding]:
    """Corrections, suspects, moves past the tolerance, hollows, and how good a rounded table can be."""
    affirmed = {*settings.locked, *settings.allowed}
    step = max((r.step for r in plan.table.rows if r.view != "position"), default=0.0)
    return [
        *(_corrected(c) for c in plan.corrections),
        *(_misprint(s) for s in plan.suspects if (s.row, s.station) not in affirmed),
        *(_moved(m, plan.tolerance) for m in plan.moves if abs(m.by) > plan.tolerance and not m.allowed),
        *_turns(plan),
        *([_rounding(step)] if step > 0.2 else []),
    ]


def _corrected(c: Correction) -> Finding:
    was = f"{c.was!r} in the table" if c.was else "blank or unreadable in the table"
    what = f"{was}, {c.text!r} by the boat file: {c.reason}"
    return Finding("offset-corrected", "note", f"{c.row}, station {c.station}", what)


def _misprint(s: Suspect) -> Finding:
    what = (
        f"{_both(s.written)} is {abs(s.off):.1f} mm {'above' if s.off > 0 else 'below'} what {s.found_by} suggest"
        f"{'s' if s.found_by == 'its own row' else ''}, {_both(s.suggested)}; {s.slip}"
    )
    fix = (
        f'Correct it with [[correct]], or lock it: locked = ["{s.row} at {s.station}"]. Do this first: what is told of'
        " this line, its panels and their planks may follow from it"
    )
    return Finding("misprint", "blocking", f"{s.row}, station {s.station}", what, fix)


def _moved(m: Move, tolerance: float) -> Finding:
    what = (
        f"fairing moves it by {m.by:+.1f} mm, from {_both(m.tabled)} to {_both(m.faired)}; {tolerance:g} mm is allowed"
    )
    fix = f'Look at the line, then correct the cell, or write allowed = ["{m.row} at {m.station}"]'
    return Finding("fairing-move", "blocking", f"{m.row}, station {m.station}", what, fix)


def _both(mm: float) -> str:
    return f"{mm:.1f} mm ({print_eighths(mm)})" if mm >= 0 else f"{mm:.1f} mm"


def _turns(plan: LinesPlan) -> Iterator[Finding]:
    """Inflections and hooks of the long lines, seen from above and from the side."""
    for name, points in plan.lines:
        for axis, view in ((1, "in plan"), (2, "in profile")):
            at = _inflections(points[:, 0], points[:, axis])
            if not at:
                continue
            length = float(np.ptp(points[:, 0]))
            hooked = any(b - a < _HOOK * length for a, b in pairwise(at))
            kind = "hook" if hooked else "inflection"
            where = ", ".join(f"{x:.0f}" for x in at[:_MANY])
            what = f"the {name} turns from full to hollow {view} at x {where}"
            yield Finding(kind, "warning" if hooked else "note", name, what, "Look at it along the curvature plot")


def _inflections(x: Floats, values: Floats) -> list[float]:
    """Where the bend changes sign and is clearly there on both sides."""
    curve = without_repeats(np.stack([x, values], axis=1)[::8], 1.0)
    rising = np.concatenate([[True], np.diff(curve[:, 0]) > 1e-6])
    curve = curve[rising]
    if len(curve) < 8:
        return []
    spline = interpolant(curve[:, 0], curve[:, 1])
    at = np.linspace(curve[0, 0], curve[-1, 0], 401)[4:-4]
    bend = spline(at, nu=2) / (1.0 + spline(at, nu=1) ** 2) ** 1.5
    clear = np.flatnonzero(np.abs(bend) > _HOLLOW)
    return [float((at[a] + at[b]) / 2) for a, b in pairwise(clear) if bend[a] * bend[b] < 0]


def _rounding(step: float) -> Finding:
    what = (
        f"the table is rounded to {print_mm(step)}: no flat outline made from it is better than about"
        f" {'1 to 3' if step > 1.5 else '0.5 to 1'} mm, whatever the figures say"
    )
    return Finding("table-rounding", "note", "table of offsets", what, "Leave wood where planks meet, and fit them")


def unused_cells(panel: Panel, cells: Sequence[tuple[str, Floats]]) -> list[Finding]:
    """What is told of cells that no whole section takes in.  cells : row and station in words, and the point (3,) mm"""
    if not cells:
        return []
    points = np.array([node for _, node in cells])
    ring = np.concatenate([p for _, p in panel.ring()])
    space = panel.patch.at(ring)
    start = ring[np.argmin(((points[:, None] - space[None]) ** 2).sum(axis=2), axis=1)]
    off = np.linalg.norm(panel.patch.at(foot_points(panel.patch, points, start)) - points, axis=1)
    worst = int(np.argmax(off))
    named = ", ".join(dict.fromkeys(name.rpartition(" at ")[2] for name, _ in cells))
    what = (
        f"{len(cells)} cells at stations {named} stand where no section crosses both its lines, and are not used; the"
        f" surface runs on to the end there, and passes them by up to {off[worst]:.1f} mm ({cells[worst][0]})"
    )
    level = "warning" if off[worst] > _PASSES else "note"
    fix = "Hold a batten to these cells before the ends of planks are cut there"
    return [Finding("cells-left-out", level, panel.name, what, fix)]  # type: ignore[arg-type]
