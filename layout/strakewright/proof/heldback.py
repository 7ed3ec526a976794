"""Is what holds a board on the router out of the cutter's way, and do the windows cut everything once?

keep-out   disc round a pin or screw;  gap : from it to the path of the cutter round any part
window     a file of one share of a board, its x moved; together they must cut every line of the sheet

Works on what the files hold and on the plan, with shapely's distances: nothing of the writer is used.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import shapely

from strakewright.arrays import Floats
from strakewright.errors import Check, Finding, at_most
from strakewright.proof.dxfback import read_drawing

CLEAR = 2.0  # mm that must be left between a keep-out and the cutter's path
POINT, ARC = 0.003, 0.1  # mm: a window's lines off the sheet's; with arcs
_STEP = 20.0  # mm between points of a cut line that are looked for in the windows


@dataclass(frozen=True, eq=False)
class Held:
    """One board: rings of its parts, its outline; discs (n, 3) x, y, radius that must keep out of the cutter's way"""

    sheet: str
    rings: tuple[Floats, ...]
    board: Floats
    discs: Floats
    cutter: float


@dataclass(frozen=True, eq=False)
class Share:
    """A window's file;  shift : x on the board of its x = 0;  reach : mm of the bed"""

    sheet: str
    path: Path
    shift: float
    reach: float


def clearances(boards: Sequence[Held]) -> tuple[tuple[Check, ...], tuple[Finding, ...]]:
    """Least gap between any pin or screw and the cutter; a finding for every one in the way or off the wood."""
    least, found = np.inf, []
    for held in boards:
        for n, (x, y, radius) in enumerate(held.discs, start=1):
            gap = _gap(held, np.array([x, y]), float(radius))
            least = min(least, gap)
            if gap < CLEAR - 1e-6:
                what = f"pin or screw {n} at ({x:.0f}, {y:.0f}) leaves {gap:.1f} mm to the cutter or the edge"
                found.append(Finding("pin-in-the-way", "blocking", held.sheet, what, "Do not use this sheet"))
    if not np.isfinite(least):  # nothing holds any board
        return (), tuple(found)
    name = "sheets: pins and screws clear of the cutter"
    return (Check(name, float(least), CLEAR, "mm", bool(least >= CLEAR - 1e-6)),), tuple(found)


def _gap(held: Held, spot: Floats, radius: float) -> float:
    """mm from a disc to the nearest cutter path, or to the board's edge counted from 0 at the edge plus CLEAR."""
    point = shapely.Point(spot)
    to_cut = min((shapely.Polygon(ring).distance(point) for ring in held.rings), default=1e6)
    wood = shapely.Polygon(held.board)
    to_edge = wood.exterior.distance(point) * (1.0 if wood.contains(point) else -1.0)
    return float(min(to_cut - held.cutter - radius, to_edge - radius + CLEAR))


def windows_whole(boards: Sequence[Held], shares: Iterable[Share], arcs: bool) -> tuple[Check, ...]:
    """The windows of every board, laid together, against its cut lines; and nothing beyond the bed."""
    by_sheet: dict[str, list[Share]] = {}
    for share in shares:
        by_sheet.setdefault(share.sheet, []).append(share)
    if not by_sheet:
        return ()
    off = reach = 0.0
    for held in boards:
        mine = by_sheet.get(held.sheet, [])
        if mine:
            lines = [_cuts(share) for share in mine]
            off = max(off, _apart(held.rings, [line for row in lines for line in row]))
            reach = max(reach, *(_beyond(row, share) for row, share in zip(lines, mine, strict=True)))
    limit = ARC if arcs else POINT
    return (
        at_most("windows: cut lines laid together against the sheet", off, limit, "mm"),
        at_most("windows: cut lines beyond the bed", reach, limit, "mm"),
    )


def _cuts(share: Share) -> list[Floats]:
    """Cut lines of a window on the board; closed ones end where they began.  A file that cannot be read has none."""
    try:
        lines = [line for line in read_drawing(share.path).lines if line.layer == "CUT_OUTSIDE"]
    except (OSError, ValueError, IndexError):
        return []
    rows = [(np.concatenate([p, p[:1]]) if line.closed else p) for line in lines for p in (line.flat(),)]
    return [row + np.array([share.shift, 0.0]) for row in rows]


def _apart(rings: Sequence[Floats], lines: Sequence[Floats]) -> float:
    """Farthest that a ring's points lie from the lines, or the lines' points from the rings."""
    if not lines:
        return float("inf")
    drawn = shapely.multilinestrings(list(map(shapely.LineString, lines)))
    wanted = shapely.multilinestrings([shapely.LineString(np.concatenate([r, r[:1]])) for r in rings])
    shapely.prepare([drawn, wanted])
    on_rings = shapely.points(np.concatenate([_dense(ring) for ring in rings]))
    on_lines = shapely.points(np.concatenate(lines))
    return float(max(shapely.distance(on_rings, drawn).max(), shapely.distance(on_lines, wanted).max()))


def _dense(ring: Floats) -> Floats:
    line = shapely.LineString(np.concatenate([ring, ring[:1]]))
    return np.asarray(shapely.get_coordinates(shapely.segmentize(line, _STEP)))


def _beyond(lines: Sequence[Floats], share: Share) -> float:
    x = np.concatenate([*lines, [[share.shift, 0.0]]])[:, 0] - share.shift
    return float(max(-x.min(), x.max() - share.reach, 0.0))
