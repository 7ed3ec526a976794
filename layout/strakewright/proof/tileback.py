"""Tiles taped together again: every sheet read from its file, laid where it belongs, and measured as a whole.

tile      one page and the window of the drawing it shows
whole     all lines of all tiles of one drawing in the drawing's own place

Each point of a line to cut must lie on a line of the tiles, tiles must carry bars of 100 mm both ways, and their four
register crosses must stand at the window's corners.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import shapely

from strakewright.arrays import Floats
from strakewright.errors import Check, Finding, at_most
from strakewright.proof.paperback import BAR_LIMIT, DrawnPage, Scale, read_pages

JOINED = 0.05  # mm
_STEP = 5.0  # mm between points of a line that are looked for
_BAR = np.array([[100.0, 0.0], [0.0, 100.0]])


@dataclass(frozen=True, eq=False)
class TilePage:
    """page : of the file, from 0;  name : of the drawing;  low, high : (2,) mm its window;  corner : (2,) mm on the
    page where `low` lies"""

    page: int
    name: str
    low: Floats
    high: Floats
    corner: Floats


def tiles_joined(
    path: Path, tiles: Iterable[TilePage], rings: Mapping[str, Sequence[Floats]], scale: Scale = (1.0, 1.0)
) -> tuple[tuple[Check, ...], tuple[Finding, ...]]:
    """Lay all tiles together and compare.

    rings : drawing -> its lines to cut, closed, (n, 2) mm;  scale : what was drawn for 1 mm
    """
    pages = read_pages(path)
    by_name: dict[str, list[Floats]] = {}
    bars = crosses = 0.0
    for tile in tiles:
        lines = _in_place(pages[tile.page], tile, scale)
        by_name.setdefault(tile.name, []).extend(lines)
        bars = max(bars, _bars_off(lines))
        crosses = max(crosses, _crosses_off(lines, tile))
    worst, findings = _joined(by_name, rings)
    return (
        at_most(f"{path.stem}: patterns of the tiles laid together", worst, JOINED, "mm"),
        at_most(f"{path.stem}: check bars of the tiles", bars, BAR_LIMIT, "mm"),
        at_most(f"{path.stem}: register crosses of the tiles", crosses, JOINED, "mm"),
    ), findings


def pieces_joined(
    pages: Sequence[DrawnPage], pieces: Iterable[TilePage], rings: Mapping[str, Sequence[Floats]]
) -> tuple[tuple[Check, ...], tuple[Finding, ...]]:
    """The same for patterns longer than a page of the roll, that lie on it in pieces with butt marks."""
    by_name: dict[str, list[Floats]] = {}
    for piece in pieces:
        by_name.setdefault(piece.name, []).extend(_in_place(pages[piece.page], piece, (1.0, 1.0)))
    if not rings:
        return (), ()
    worst, findings = _joined(by_name, rings)
    return (at_most("patterns longer than a page, their pieces laid together", worst, JOINED, "mm"),), findings


def _joined(
    by_name: Mapping[str, Sequence[Floats]], rings: Mapping[str, Sequence[Floats]]
) -> tuple[float, tuple[Finding, ...]]:
    """Farthest that any line to cut lies from the lines drawn, and a finding for every pattern that is off."""
    worst, findings = 0.0, []
    for name, wanted in rings.items():
        off = max((_off(ring, by_name.get(name, [])) for ring in wanted), default=0.0)
        worst = max(worst, off)
        if not off <= JOINED:
            fix = "Do not use these sheets; build again, and report it if it comes back"
            what = f"taped together its pattern is {min(off, 1000.0):.3f} mm off"
            findings.append(Finding("tiles-differ", "blocking", name or "tiles", what, fix))
    return worst, tuple(findings)


def _in_place(page: DrawnPage, tile: TilePage, scale: Scale) -> list[Floats]:
    """Every line of a page in the drawing's place; closed ones end where they began."""
    closed = [np.concatenate([ring, ring[:1]]) for ring in page.rings]
    return [(line - tile.corner) / scale + tile.low for line in (*closed, *page.lines)]


def _off(ring: Floats, lines: Sequence[Floats]) -> float:
    """Farthest that a line to cut lies from what is drawn, mm; 1 000 where nothing is."""
    low, high = ring.min(axis=0) - 1.0, ring.max(axis=0) + 1.0
    near = [line for line in lines if np.all(line.max(axis=0) >= low) and np.all(line.min(axis=0) <= high)]
    if not near:
        return 1000.0
    drawn = shapely.STRtree([shapely.LineString(line) for line in near])
    closed = shapely.LineString(np.concatenate([ring, ring[:1]]))
    points = shapely.points(shapely.get_coordinates(shapely.segmentize(closed, _STEP)))
    _, far = drawn.query_nearest(points, return_distance=True, all_matches=False)
    return float(far.max())


def _bars_off(lines: Sequence[Floats]) -> float:
    runs = np.array([line[1] - line[0] for line in lines if len(line) == 2]).reshape(-1, 2)
    if not len(runs):
        return 1000.0
    return max(float(np.abs(np.abs(runs) - bar).max(axis=1).min()) for bar in _BAR)


def _crosses_off(lines: Sequence[Floats], tile: TilePage) -> float:
    """Farthest of the window's four corners from the middle of a level and of an upright arm."""
    short = [line for line in lines if len(line) == 2 and 8.0 < float(np.hypot(*(line[1] - line[0]))) < 16.0]
    worst = 0.0
    for corner in np.array([[a, b] for a in (tile.low[0], tile.high[0]) for b in (tile.low[1], tile.high[1])]):
        for axis in (0, 1):
            arms = [line.mean(axis=0) for line in short if abs(line[1, axis] - line[0, axis]) < 0.01]
            off = np.abs(np.array(arms).reshape(-1, 2) - corner).max(axis=1)
            worst = max(worst, float(off.min()) if len(off) else 1000.0)
    return worst
