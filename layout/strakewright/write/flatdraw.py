"""Unrolled panels on paper and in numbers: flat.json and flat.dxf.

tape check   straight distances between lettered points, to measure on what was cut
strain line  line of equal strain; drawn only on a panel that cannot lie flat unstrained
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from strakewright.arrays import Floats
from strakewright.flats import Cover, FlatPanel, TwoWays
from strakewright.geometry.contours import at_corners, evened, level_lines
from strakewright.geometry.curves import arc_length
from strakewright.geometry.meshes import face_areas
from strakewright.geometry.outlines import thin_line, thin_ring
from strakewright.units import print_mm, print_tape
from strakewright.write.labels import SMALLEST, Room
from strakewright.write.pen import Pen, Role
from strakewright.write.records import Record, headed, plain

LEVELS = (5e-4, 2e-3, 5e-3, 1e-2, 2e-2, 5e-2, 1e-1)  # strains that lines are drawn for
_GAP = 60.0  # mm between a panel and the words of the one above it
_WORDS, _SMALL = 1 / 110, 12.0  # height of words in lengths of the longest panel; mm, never less
_SQUARE = 100.0
_FINE = 6  # decimals of a mm


def flat_document(panels: Sequence[FlatPanel]) -> Record:
    """flat.json"""
    return headed("flat", {"panels": [plain(_record(panel), _FINE) for panel in panels]})


def _record(panel: FlatPanel) -> Record:
    low, high = panel.gauss
    return {
        "name": panel.name,
        "outline": panel.outline,
        "holes": list(panel.holes),
        "strain_max": panel.strain_max,
        "strain_rms": panel.strain_rms,
        "stretch_max": max(0.0, float(panel.strain[:, 0].max())),
        "squeeze_max": max(0.0, -float(panel.strain[:, 1].min())),
        "stretch": _worst(panel, 0),
        "squeeze": _worst(panel, 1),
        "gauss_per_m2": {"p05": low * 1e6, "p95": high * 1e6},
        "most_curved": _most_curved(panel),
        **cover_record(panel.cover),
        "rulings": list(panel.rulings),
        "two_ways": None if panel.ways is None else _compared(panel.ways),
        "tape": [{"from": a, "to": b, "distance": far} for a, b, far in tape(panel.outline)],
        "flat": panel.flat,
        "vertices": panel.vertices,
        "triangles": panel.triangles,
    }


def cover_record(cover: Cover) -> Record:
    """What may cover a panel, in numbers and words."""
    return {
        "covered_by": cover.words,
        "least_strain_of_strips": [{"width": width, "strain": strain} for width, strain in cover.floors],
        "widest_strip": [{"as": kind, "strain": strain, "width": width} for kind, strain, width in cover.widest],
    }


def _most_curved(panel: FlatPanel) -> Record | None:
    """K and where, in the flat and in space."""
    if (corner := panel.cover.corner) is None:
        return None
    spot = {"flat": panel.flat[corner], "at": panel.vertices[corner]}
    return {"gauss_per_m2": panel.cover.gauss * 1e6, **spot}


def _compared(ways: TwoWays) -> Record:
    """Both flats: by the triangles, and by the smooth surface through the corners."""
    told = {"by_triangles": ways.by_triangles, "by_surface": ways.by_surface}
    return {
        "used": ways.used,
        "why": ways.why,
        "borders_apart": ways.apart,
        "corners_off_surface": ways.off,
        "corners": ways.corners,
        **{name: {"strain_max": most, "strain_rms": rms} for name, (most, rms) in told.items()},
    }


def _worst(panel: FlatPanel, column: int) -> Record:
    """Where the flat is longest (0) or shortest (1) for the surface: place in the flat and in space, and direction."""
    strain, at, (x, y) = worst_place(panel, column)
    face = int(np.argmax(panel.strain[:, 0]) if column == 0 else np.argmin(panel.strain[:, 1]))
    return {
        "strain": strain,
        "flat": at,
        "at": panel.vertices[panel.triangles[face]].mean(axis=0),
        "direction_deg": float(np.degrees(np.arctan2(y, x)) % 180.0),
    }


def worst_place(panel: FlatPanel, column: int) -> tuple[float, Floats, Floats]:
    """Strain, place (2,) and direction (2,) in the flat where it is longest (0) or shortest (1) for the surface."""
    along = panel.strain[:, column]
    face = int(np.argmax(along) if column == 0 else np.argmin(along))
    x, y = panel.direction[face]
    way = np.array([x, y] if column == 0 else [-y, x])
    return float(along[face]), panel.flat[panel.triangles[face]].mean(axis=0), way


def tape(outline: Floats) -> list[tuple[str, str, float]]:
    """Straight distances mm between the outline's points A to D nearest the four corners of its box."""
    spots = _lettered(outline)
    pairs = [*pairwise("ABCDA"), ("A", "C"), ("B", "D")]
    far = [(a, b, float(np.hypot(*(spots[b] - spots[a])))) for a, b in pairs]
    return [each for each in far if each[2] > 1.0]


def _lettered(outline: Floats) -> dict[str, Floats]:
    ways = {"A": (-1, -1), "B": (1, -1), "C": (1, 1), "D": (-1, 1)}
    return {letter: outline[int(np.argmax(outline @ np.array(way)))] for letter, way in ways.items()}


def draw_flats(pen: Pen, panels: Sequence[FlatPanel]) -> None:
    """All panels, one above the other in the order given, and a check square at the lower left."""
    corner = np.array([-_SQUARE - 60.0, 0.0])
    pen.polyline(corner + _SQUARE * np.array([[0.0, 0.0], [1, 0], [1, 1], [0, 1]]), closed=True, role=Role.CHECK)
    pen.text(corner + _SQUARE / 2, "100 mm", height=14, turn=0, anchor="middle", role=Role.CHECK)
    high = max(_SMALL, _WORDS * max(float(panel.flat[:, 0].max()) for panel in panels))
    foot = 0.0
    for i, panel in enumerate(panels):
        foot += (2.0 * len(_words(panel)) * high + _GAP) * bool(i)
        draw_flat(pen, panel, np.array([0.0, foot]), high)
        foot += float(panel.flat[:, 1].max())


def draw_flat(pen: Pen, panel: FlatPanel, shift: Floats, high: float = _SMALL) -> None:
    """One panel: cut lines, strain lines, its name on it, and under it its size, strain, cover and tape checks.

    high : mm of capitals
    """
    outline = thin_ring(panel.outline)
    pen.polyline(outline + shift, closed=True, role=Role.CUT_OUTSIDE)
    for hole in panel.holes:
        pen.polyline(thin_ring(hole)[::-1] + shift, closed=True, role=Role.CUT_INSIDE)
    for ruling in panel.rulings:
        pen.polyline(ruling + shift, closed=False, role=Role.SCRIBE)
    _draw_strain(pen, panel, shift, 0.8 * high)
    _draw_name(pen, panel.name, outline, shift)
    for letter, spot in _lettered(panel.outline).items():
        pen.circle(spot + shift, 4.0, Role.CHECK)
        at = spot + shift + np.array([0.6, 0.9]) * high
        pen.text(at, letter, height=high, turn=0, anchor="left", role=Role.CHECK)
    for line, words in enumerate(_words(panel)):
        at = shift - np.array([0.0, (2.0 + 1.9 * line) * high])
        pen.text(at, words, height=high, turn=0, anchor="left", role=Role.LABEL)


def _draw_name(pen: Pen, name: str, outline: Floats, shift: Floats) -> None:
    """The name where it has room, near the middle."""
    room = Room(outline)
    spot = room.spot(name, (60.0, 40.0, 30.0, 20.0, 12.0, 8.0, SMALLEST), float(outline[:, 0].mean()))
    if spot:
        pen.text(spot.at + shift, name, height=spot.height, turn=spot.turn, anchor="middle", role=Role.LABEL)
    else:
        pen.text(room.widest() + shift, name, height=SMALLEST, turn=0, anchor="middle", role=Role.LABEL)


def _draw_strain(pen: Pen, panel: FlatPanel, shift: Floats, high: float) -> None:
    """Lines of equal strain, stretch and squeeze apart, each with its figure in per cent."""
    if panel.strain_max < LEVELS[0]:
        return
    area = face_areas(panel.vertices, panel.triangles)
    for column, sign in ((0, 1.0), (1, -1.0)):
        height = evened(panel.triangles, at_corners(panel.triangles, area, sign * panel.strain[:, column]))
        for level in LEVELS:
            for line in level_lines(panel.flat, panel.triangles, height, level):
                _draw_level(pen, line + shift, f"{100 * sign * level:+g} %", high, 0.5 - 0.15 * column)


def _draw_level(pen: Pen, line: Floats, words: str, high: float, share: float) -> None:
    """One strain line, broken for its figure at a share of its run; scraps are left out."""
    run = arc_length(line)
    room = 0.5 * high * len(words)
    if run[-1] < max(100.0, 4 * room):
        return
    middle = share * float(run[-1])
    at = np.stack([np.interp(middle, run, column) for column in line.T])
    for piece in (line[run < middle - room], line[run > middle + room]):
        if len(piece) > 1:
            pen.polyline(thin_line(piece, 0.5, 500.0), closed=False, role=Role.SCRIBE)
    pen.text(at, words, height=high, turn=0, anchor="middle", role=Role.LABEL)


def _words(panel: FlatPanel) -> list[str]:
    """Lines under the panel."""
    size = "  x  ".join(f"{print_mm(float(v))} ({print_tape(float(v))})" for v in np.ptp(panel.flat, axis=0))
    strain = f"strain at most {100 * panel.strain_max:.3f} %, rms {100 * panel.strain_rms:.3f} %"
    checks = "   ".join(f"{a} to {b}: {print_mm(far)}" for a, b, far in tape(panel.outline))
    told = [f"{panel.name}   {size}   {strain}", f"{checks}   (seen from the side its triangles face)"]
    return [*told, *_covered(panel), *_second(panel.ways)]


def _covered(panel: FlatPanel) -> list[str]:
    """What may cover it and, of a panel that cannot lie flat unstrained, the least that strips keep."""
    if panel.strain_max < LEVELS[0]:
        return [panel.cover.words]
    floors = ", ".join(f"{width:.0f} mm {100 * floor:.3f} %" for width, floor in panel.cover.floors)
    curved = f"K {1e6 * panel.cover.gauss:+.3g} per m2, so strips keep at the least K w2/16: {floors}"
    return [panel.cover.words, curved]


def _second(ways: TwoWays | None) -> list[str]:
    """What the second way of laying flat says, and why it is not the one drawn."""
    if ways is None:
        return []
    drawn, other = ("triangles", "smooth surface") if ways.used == "triangles" else ("smooth surface", "triangles")
    far = "under 0.01 mm" if ways.apart < 0.01 else f"{ways.apart:.2f} mm"
    return [f"drawn by its {drawn}: {ways.why}", f"by its {other} the border would lie {far} off at most"]
