"""How a board is held on a router: windows, pins, screws and tabs, all in waste.

window    what the bed reaches at once; a longer board is moved along by whole windows, each with a share to cut
pin       hole of 8 mm drilled in one window and set on a peg in the next: two for every move, far apart
screw     holds the board down; round it a ring that the cutter must not enter
tab       bridge 3 mm high and 8 mm long that keeps a part from coming loose
waste     wood of the board outside the parts, the cutter's path round them, and defects

Neighbouring windows share the board as evenly as they can, so that the stretch both reach is long and its pins far
apart; never under 100 mm.  Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely

from strakewright.arrays import Floats, frozen_array
from strakewright.errors import Finding
from strakewright.machine import CLEAR, MachineSettings
from strakewright.write.pen import lay
from strakewright.write.sheets import Sheet

OVERLAP = 100.0
PIN, SCREW = 4.0, 8.0  # mm: radius of a pin hole; of a screw's washer
PIN_EDGE = 4.0  # mm of wood round a pin hole towards the board's edge
TAB_LONG, TAB_HIGH = 8.0, 3.0
_TAB_EVERY, _FROM_CORNER = 450.0, 30.0
_SCREW_EVERY = 400.0
_GRID = 8.0
_CORNER = np.deg2rad(12.0)


@dataclass(frozen=True)
class Window:
    """start, end : x of the board on the bed;  cut_from, cut_to : its share;  all mm on the board"""

    number: int
    count: int
    start: float
    end: float
    cut_from: float
    cut_to: float


@dataclass(frozen=True, eq=False)
class Setup:
    """How one sheet is held.  pins : (n, 2) two for every move, in order;  screws : (m, 2);  tabs : (k, 4) x, y of the
    middle and the direction along the cut line;  findings : what has no room"""

    windows: tuple[Window, ...]
    pins: Floats
    screws: Floats
    tabs: Floats
    findings: tuple[Finding, ...] = ()

    def __post_init__(self) -> None:
        for name, width in (("pins", 2), ("screws", 2), ("tabs", 4)):
            held = np.asarray(getattr(self, name), dtype=np.float64).reshape(-1, width)
            object.__setattr__(self, name, frozen_array(held, (None, width), name))

    @property
    def is_moved(self) -> bool:
        return len(self.windows) > 1


def windows_of(low: float, high: float, bed: float) -> tuple[Window, ...]:
    """The windows of a board that lies from `low` to `high`, on a bed `bed` mm long.

    >>> [(w.start, w.end, w.cut_from, w.cut_to) for w in windows_of(0.0, 3600.0, 2400.0)]
    [(0.0, 2400.0, 0.0, 1800.0), (1200.0, 3600.0, 1800.0, 3600.0)]
    """
    long = high - low
    if long <= bed:
        return (Window(1, 1, low, high, low, high),)
    count = int(np.ceil((long - OVERLAP) / (bed - OVERLAP) - 1e-9))
    step = (long - bed) / (count - 1)
    starts = low + step * np.arange(count)
    cuts = [low, *((starts[1:] + starts[:-1] + bed) / 2), high]
    return tuple(
        Window(n + 1, count, *(float(v) for v in (at, at + bed, cuts[n], cuts[n + 1]))) for n, at in enumerate(starts)
    )


def setup_of(sheet: Sheet, machine: MachineSettings) -> Setup:
    """Windows, pins, screws and tabs of one sheet on the router there is."""
    (x0, y0), (x1, y1) = sheet.board.outline.min(axis=0), sheet.board.outline.max(axis=0)
    bed = machine.bed or (float(x1 - x0), float(y1 - y0))
    windows = windows_of(float(x0), float(x1), bed[0])
    rings = [lay(part.outline, placement) for part, placement in sheet.laid]
    wood = _Wood(sheet, rings, machine.cutter)
    pins, missing = _pins(wood, windows)
    screws = _screws(wood, (float(x0), float(x1)), pins)
    tabs = [tab for ring in rings for tab in tabs_of(ring)] if machine.tabs == "tabs" else []
    said = [_short_of_pins(sheet, missing)] if missing else []
    said += [_no_hold(sheet)] if len(screws) < 2 * len(windows) else []
    said += [_too_wide(sheet, float(y1 - y0), bed[1])] if y1 - y0 > bed[1] else []
    return Setup(windows, np.array(pins), np.array(screws), np.array(tabs), tuple(said))


class _Wood:
    """Where on a board something may stand: grid points with their distance to the cutter's path and the edge."""

    def __init__(self, sheet: Sheet, rings: Sequence[Floats], cutter: float) -> None:
        low, high = sheet.board.outline.min(axis=0), sheet.board.outline.max(axis=0)
        x, y = (np.arange(a + _GRID / 2, b, _GRID) for a, b in zip(low, high, strict=True))
        points = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
        board = shapely.Polygon(sheet.board.outline)
        shapely.prepare(board)
        points = points[shapely.contains_xy(board, *points.T)]
        spots = shapely.points(points)
        self.points = points
        self.edge = shapely.distance(spots, board.exterior)
        cut = shapely.union_all([shapely.Polygon(ring) for ring in rings])
        self.cutter = np.asarray(shapely.distance(spots, cut)) - cutter
        bad = shapely.union_all([shapely.Polygon(d.outline) for d in sheet.board.defects])
        self.flaw = shapely.distance(spots, bad) if sheet.board.defects else np.full(len(points), np.inf)

    def free(self, radius: float, edge: float) -> Floats:
        """(n, 3) x, y and room of the points where a disc of `radius` clears everything."""
        room = np.minimum(self.cutter - radius - CLEAR, self.edge - radius - edge)
        room = np.minimum(room, self.flaw - radius)
        keep = room >= 0
        return np.column_stack([self.points[keep], room[keep]])


def _pins(wood: _Wood, windows: Sequence[Window]) -> tuple[list[Floats], list[int]]:
    """Two pins for every move, as far apart as the waste allows; the moves that find no two."""
    found: list[Floats] = []
    missing: list[int] = []
    free = wood.free(PIN, PIN_EDGE)
    for before, after in pairwise(windows):
        held = (free[:, 0] > after.start + 2 * PIN) & (free[:, 0] < before.end - 2 * PIN)
        here = free[held]
        if not len(here) or np.ptp(here[:, 0]) < OVERLAP / 2:
            missing.append(before.number)
            continue
        for side in (here[:, 0].min() + 40.0, here[:, 0].max() - 40.0):
            near = here[np.abs(here[:, 0] - side) <= 40.0 + 1e-9]
            found.append(near[int(np.argmax(near[:, 2])), :2])
    return found, missing


def _screws(wood: _Wood, reach: tuple[float, float], pins: Sequence[Floats]) -> list[Floats]:
    """Screws about every 400 mm, wherever there is waste for them, clear of the pins."""
    free = wood.free(SCREW, 2.0)
    for pin in pins:
        free = free[np.hypot(*(free[:, :2] - pin).T) > PIN + SCREW + CLEAR]
    found: list[Floats] = []
    count = max(2, int(np.ceil((reach[1] - reach[0]) / _SCREW_EVERY)))
    step = (reach[1] - reach[0]) / count
    for n in range(count):
        here = free[(free[:, 0] >= reach[0] + n * step) & (free[:, 0] < reach[0] + (n + 1) * step)]
        if len(here):
            middle = reach[0] + (n + 0.5) * step
            worth = here[:, 2] - 0.05 * np.abs(here[:, 0] - middle)
            found.append(here[int(np.argmax(worth)), :2])
    return found


def tabs_of(ring: Floats) -> list[Floats]:
    """Tabs of one part, evenly round it, off its corners: x, y of the middle and the direction there."""
    steps = np.roll(ring, -1, axis=0) - ring
    long = np.hypot(*steps.T)
    way = steps / np.maximum(long, 1e-12)[:, None]
    before = np.roll(way, 1, axis=0)
    turn = np.abs(np.arctan2(before[:, 0] * way[:, 1] - before[:, 1] * way[:, 0], (before * way).sum(axis=1)))
    start = np.concatenate([[0.0], np.cumsum(long)])
    around = float(start[-1])
    corners = start[:-1][turn > _CORNER]
    count = max(3, round(around / _TAB_EVERY))
    found = []
    for n in range(count):
        at = _off_corners((n + 0.5) * around / count, corners, around)
        k = int(np.clip(np.searchsorted(start, at, side="right") - 1, 0, len(ring) - 1))
        spot = ring[k] + (at - start[k]) * way[k]
        found.append(np.concatenate([spot, way[k]]))
    return found


def _off_corners(at: float, corners: Floats, around: float) -> float:
    """The place nearest to `at` that is 30 mm from every corner, or as far as the sides allow."""
    if not len(corners):
        return at
    tries = (at + np.arange(-200.0, 201.0, 5.0)) % around
    gap = np.abs(tries[:, None] - corners)
    clear = np.minimum(gap, around - gap).min(axis=1)
    off = np.abs((tries - at + around / 2) % around - around / 2)
    good = np.flatnonzero(clear >= min(_FROM_CORNER, clear.max()))
    return float(tries[good[int(np.argmin(off[good]))]])


def _short_of_pins(sheet: Sheet, moves: Sequence[int]) -> Finding:
    what = f"no waste for two pins where windows {', '.join(f'{n} and {n + 1}' for n in moves)} meet"
    fix = "Leave edge_margin wider, or find its place after the move from the tape checks and two drawn lines"
    return Finding("no-room-for-pins", "warning", sheet.name, what, fix)


def _no_hold(sheet: Sheet) -> Finding:
    what = "too little waste for two hold-down screws in every window"
    fix = "Hold it by the board's ends, by tape or by vacuum, or leave edge_margin wider"
    return Finding("no-room-to-hold", "warning", sheet.name, what, fix)


def _too_wide(sheet: Sheet, wide: float, bed: float) -> Finding:
    what = f"{wide:.0f} mm wide, the bed takes {bed:.0f}"
    fix = "Rip the board first, or cut these parts on the bandsaw to their patterns"
    return Finding("board-off-bed", "blocking", sheet.name, what, fix)
