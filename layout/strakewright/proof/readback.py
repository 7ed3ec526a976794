"""Are the sheets what was planned?  Every file is read again and compared, contour by contour.

contour   closed cut line found on a sheet
wanted    outline of a part laid on its board as the plan says

Reads with a reader of its own (`dxfback`) and lays parts by its own arithmetic: nothing of the writer is used.  Where
arcs were asked for, the reader's straights within 0.001 mm of them are compared.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from strakewright.arrays import Floats
from strakewright.errors import Check, Finding, at_most
from strakewright.parts import Part
from strakewright.plan import Placement, Plan
from strakewright.proof.dxfback import read_drawing

TAPE_LIMIT = 0.01
POINT_LIMIT = 0.002  # mm
ARC_LIMIT = 0.1  # mm: outlines are thinned to 0.05, arcs keep within 0.02 of what is left
AREA_SHARE, AREA_PER_MM = 1e-6, 0.001  # of the area; mm2 per mm of perimeter
SQUARE, SQUARE_LIMIT = 100.0, 0.001  # mm


@dataclass(frozen=True, eq=False)
class SheetLines:
    """What one file holds.  cuts : rings (n, 2) mm;  faults : what is wrong with the file;  arcs : may be in it"""

    cuts: tuple[Floats, ...]
    faults: tuple[str, ...]
    arcs: bool = False


@dataclass
class _Tally:
    """Worst figures over all sheets."""

    point: float = 0.0
    area: float = 0.0
    wrong: int = 0
    faults: int = 0
    findings: list[Finding] = field(default_factory=list)


def read_back(
    sheets: Mapping[tuple[str, int | None], Path], parts: Sequence[Part], plan: Plan
) -> tuple[tuple[Check, ...], tuple[Finding, ...]]:
    """Compare the files with the plan.

    sheets : (board, leaf) -> file
    returns checks (points, areas, parts once each, files sound) and a blocking finding for every difference
    """
    return compare({key: read_sheet(path) for key, path in sheets.items()}, parts, plan)


def compare(
    sheets: Mapping[tuple[str, int | None], SheetLines], parts: Sequence[Part], plan: Plan
) -> tuple[tuple[Check, ...], tuple[Finding, ...]]:
    """The same for sheets already read."""
    by_id = {part.id: part for part in parts}
    wanted: dict[tuple[str, int | None], list[Placement]] = {key: [] for key in sheets}
    for placement in plan.placements:
        wanted.setdefault((placement.board, placement.leaf), []).append(placement)
    tally = _Tally()
    for key, placements in wanted.items():
        _compare(key, sheets.get(key), [(by_id[p.part], p) for p in placements], tally)
    limit = ARC_LIMIT if any(lines.arcs for lines in sheets.values()) else POINT_LIMIT
    checks = (
        at_most("sheets: cut lines, points off the plan", tally.point, limit, "mm"),
        at_most("sheets: areas off the plan, in shares of what is allowed", tally.area, 1.0, "1"),
        at_most("sheets: parts missing or drawn besides the plan", tally.wrong, 0, "parts"),
        at_most("sheets: faults of the files", tally.faults, 0, "faults"),
    )
    return checks, tuple(tally.findings)


def read_sheet(path: Path, arcs: bool = False) -> SheetLines:
    """The cut lines of a file and its faults; a file that cannot be read has no lines and one fault.

    arcs : cut lines may have them
    """
    try:
        drawing = read_drawing(path)
    except (OSError, ValueError, IndexError) as error:
        return SheetLines((), (f"cannot be read ({type(error).__name__})",), arcs)
    faults = list(drawing.faults)
    if drawing.version > "AC1009" and drawing.units != 4:
        faults.append("is not in millimetres")
    strange = [row for row in drawing.others if row[1].startswith("CUT_")]
    faults += [f"a {kind} on {layer} is no closed line of straight segments" for kind, layer in strange]
    cuts, squares = [], 0
    for line in drawing.lines:
        if line.layer.startswith("CUT_") and not (line.closed and (arcs or not line.has_arc)):
            faults.append(f"a {line.kind} on {line.layer} is no closed line of straight segments")
        elif line.layer == "CUT_OUTSIDE":
            cuts.append(line.flat())
        elif line.layer == "CHECK" and _is_check_square(line.points):
            squares += 1
    if squares != 1:
        faults.append(f"has {squares} check squares of 100 mm")
    return SheetLines(tuple(cuts), tuple(faults), arcs)


def taped(sheet: str, lines: SheetLines, tapes: Iterable[tuple[str, Floats, Floats, float]]) -> tuple[Check, ...]:
    """The tape checks printed on a sheet, measured again between the corners of its file.

    tapes : name, start and end (2,) mm, distance printed;  a start with x = 0 is the butt
    """
    corners = np.concatenate([*lines.cuts, np.full((1, 2), np.inf)])
    found = []
    for name, start, end, printed in tapes:
        far = corners[np.argmin(np.linalg.norm(corners - end, axis=1))]
        near = corners[np.argmin(np.linalg.norm(corners - start, axis=1))]
        measured = float(far[0] if start[0] == 0.0 and start[1] == end[1] else np.hypot(*(far - near)))
        holds = abs(measured - printed) <= (ARC_LIMIT if lines.arcs else TAPE_LIMIT)
        found.append(Check(f"sheet {sheet}, tape {name}", measured, printed, "mm", holds))
    return tuple(found)


def _is_check_square(ring: Floats) -> bool:
    if len(ring) != 4:
        return False
    sides = np.linalg.norm(np.roll(ring, -1, axis=0) - ring, axis=1)
    diagonals = np.linalg.norm(ring[2:] - ring[:2], axis=1)
    off = max(np.abs(sides - SQUARE).max(), np.abs(diagonals - SQUARE * np.sqrt(2)).max())
    return bool(off <= 2 * SQUARE_LIMIT)


def _compare(
    key: tuple[str, int | None], read: SheetLines | None, laid: list[tuple[Part, Placement]], tally: _Tally
) -> None:
    sheet = f"{key[0]} leaf {key[1]}" if key[1] is not None else key[0]
    lines = SheetLines((), ("was not written",)) if read is None else read
    for fault in lines.faults:
        tally.faults += 1
        tally.findings.append(_finding("sheet-unsound", sheet, f"the sheet {fault}"))
    left = list(lines.cuts)
    for part, placement in laid:
        _match((part.id, sheet, lines.arcs), _lay(part.outline, placement), left, tally)
    for ring in left:
        tally.wrong += 1
        where = ", ".join(f"{v:.1f}" for v in ring.mean(axis=0))
        tally.findings.append(_finding("sheet-extra-cut", sheet, f"a cut line about ({where}) belongs to no part"))


def _match(about: tuple[str, str, bool], ring: Floats, left: list[Floats], tally: _Tally) -> None:
    """Take the contour nearest to a wanted ring out of `left` and note how far it is off.

    about : part, sheet, whether it has arcs
    """
    name, sheet, arcs = about
    limit = ARC_LIMIT if arcs else POINT_LIMIT
    if not left:
        tally.wrong += 1
        tally.findings.append(_finding("sheet-part-missing", name, f"is not on sheet {sheet}"))
        return
    near = min(range(len(left)), key=lambda i: float(np.abs(_middle(left[i]) - _middle(ring)).max()))
    found = left[near]
    if np.abs(_middle(found) - _middle(ring)).max() > 5.0:
        tally.wrong += 1
        tally.findings.append(_finding("sheet-part-missing", name, f"is not on sheet {sheet}"))
        return
    left.pop(near)
    off, share = ring_off(ring, found), area_off(ring, found, limit / 2)
    tally.point, tally.area = max(tally.point, off), max(tally.area, share)
    if not (off <= limit and share <= 1.0):
        what = f"its cut line on sheet {sheet} is {off:.4f} mm off the plan, its area {share:.2f} of the limit"
        tally.findings.append(_finding("sheet-differs", name, what))


def ring_off(wanted: Floats, found: Floats) -> float:
    """Largest distance in mm of the points of either ring from the line of the other.

    Point by point where both have as many points; a point lost or gained shows as its distance to the line.
    """
    return max(_points_off(wanted, found), _points_off(found, wanted))


def area_off(wanted: Floats, found: Floats, per_mm: float = AREA_PER_MM) -> float:
    """Difference of area as a share of what is allowed: 1 ppm or `per_mm` x perimeter, whichever is larger.

    A ring drawn the other way round differs by twice its area.
    """
    around = float(np.linalg.norm(np.roll(wanted, -1, axis=0) - wanted, axis=1).sum())
    allowed = max(AREA_SHARE * abs(_area(wanted)), per_mm * around)
    return abs(_area(wanted) - _area(found)) / allowed


def _points_off(points: Floats, ring: Floats) -> float:
    steps = np.roll(ring, -1, axis=0) - ring
    long = np.maximum(np.sum(steps**2, axis=1), 1e-30)
    worst = 0.0
    for block in np.array_split(points, max(1, len(points) * len(ring) // 200_000)):
        offset = block[:, None] - ring[None]
        share = np.clip(np.sum(offset * steps, axis=2) / long, 0, 1)
        gap = np.linalg.norm(offset - share[..., None] * steps, axis=2).min(axis=1)
        worst = max(worst, float(gap.max()) if len(gap) else 0.0)
    return worst


def _area(ring: Floats) -> float:
    x, y = (ring - ring[0]).T
    return float((x @ np.roll(y, -1) - np.roll(x, -1) @ y) / 2)


def _middle(ring: Floats) -> Floats:
    return np.asarray(ring.min(axis=0) + ring.max(axis=0)) / 2


def _lay(outline: Floats, placement: Placement) -> Floats:
    """The contract's placement, in complex numbers; a flipped ring is turned round to stay counter-clockwise."""
    z = outline[:, 0] + 1j * outline[:, 1]
    z = (z.conj()[::-1] if placement.flip else z) * np.exp(1j * np.deg2rad(placement.rotation_deg))
    z += placement.x + 1j * placement.y
    return np.column_stack([z.real, z.imag])


def _finding(code: str, subject: str, what: str) -> Finding:
    fix = "Do not cut from this sheet; build again, and report it if it comes back"
    return Finding(code, "blocking", subject, what, fix)
