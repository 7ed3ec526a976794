"""Maps in the book: where the joints of the strakes lie, where every diagonal lies.

joint map     courses as bands, true along the boat, widened across; joints, frames and numbers in their places
diagonal map  the bottom from above, true to scale, in lengths that leave room for numbers
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, cast

import numpy as np
import shapely

from strakewright.arrays import Floats
from strakewright.geometry.outlines import clip_lines
from strakewright.parts import Plank
from strakewright.write.book import FIGURE, NUMBER, PICTURE, Block, Facts, LayerFacts, Picture, Section, Words
from strakewright.write.girths import pair_stem
from strakewright.write.paper import words_width
from strakewright.write.pen import Hatch, Pen, Role
from strakewright.write.wordplaces import in_a_row, place

_BAND, _ROOM = 15.0, 104.0  # mm on the page for a course at most, and for all of them
_NAME = 6.5  # mm on the page, half of a frame's name
_REACH = 2000.0  # mm of boat on one diagonal map


def maps(facts: Facts) -> Section:
    """All maps."""
    unlike = any(layer.unlike for layer in facts.layers)
    but = ", but for the strakes joined in other bays: see its own maps, drawn bow to the right too" if unlike else ""
    blocks: list[Block] = [Words("PORT side, bow to the right. The starboard side is its mirror image" + but + ".")]
    for layer in facts.layers:
        if layer.settings.pattern != "strakes":
            blocks += _diagonal_maps(facts, layer)
            continue
        blocks.append(_joint_map(facts, layer, layer.port, "PORT, " if layer.unlike else ""))
        if layer.unlike:
            blocks.append(_joint_map(facts, layer, layer.starboard, "STBD, "))
    return Section("Joint maps", tuple(blocks), bench=True)


def _ring(plank: Plank) -> Floats:
    """(n, 3) the plank's rim in space."""
    runs = [plank.first.seam, *(e.seam for e in plank.ends), plank.second.seam]
    return np.concatenate(runs)


def _joint_map(facts: Facts, layer: LayerFacts, planks: Sequence[Plank], side: str) -> Picture:
    """planks : of one side;  side : its name, where the sides are joined unlike"""
    x = np.concatenate([_ring(p)[:, 0] for p in planks])
    along = _along(float(x.min()), float(x.max()))
    downward = layer.settings.start == "sheer"
    count = max(p.course for p in planks)
    band = min(_BAND, _ROOM / count)
    height = count * band + 24.0
    free = _between_frames(facts, along)

    def draw(pen: Pen) -> None:
        _draw_frames(pen, facts, along, [(12.0 + k * band, 1.5) for k in range(count + 1)])
        for plank in planks:
            level = count - plank.course if downward else plank.course - 1
            _draw_band(pen, plank, (along, free), (12.0 + level * band, band))

    top = "on top" if downward else "at the bottom"
    told = f"{layer.name}: {side}course 1 {top}; scarfs hatched, feather aft outside."
    return Picture(PICTURE, height, draw, told + nibs_told(planks))


def nibs_told(planks: Sequence[Plank]) -> str:
    """Dropped strakes, by number, frame and width of the nib."""
    rows = [
        f" {pair_stem(p.id)} stops in a nib {nib['width']:.0f} mm wide over {nib['frame']},"
        f" let into course {nib['course']}."
        for p in planks
        for nib in cast(list[dict[str, Any]], p.extra.get("nibs", []))
    ]
    return "".join(rows)


def _along(low: float, high: float) -> Callable[[float], float]:
    scale = (PICTURE - 4.0) / (high - low)
    return lambda x: 2.0 + (x - low) * scale


def _draw_frames(pen: Pen, facts: Facts, along: Callable[[float], float], ticks: list[tuple[float, float]]) -> None:
    """Names above, a short tick at the foot of every band: lines right across would cross the numbers."""
    for name, at in facts.frames:
        x = along(at)
        if 0.0 < x < PICTURE:
            for foot, long in ticks:
                pen.polyline(np.array([[x, foot], [x, foot + long]]), closed=False, role=Role.CHECK)
            pen.text(np.array([x, ticks[-1][0] + 7.0]), name, height=FIGURE, turn=0, anchor="middle", role=Role.CHECK)


def _between_frames(facts: Facts, along: Callable[[float], float]) -> Floats:
    """Places on the page midway between frames: room for numbers."""
    at = np.array([along(x) for _, x in facts.frames])
    return np.asarray((at[:-1] + at[1:]) / 2)


def _draw_band(
    pen: Pen, plank: Plank, place: tuple[Callable[[float], float], Floats], rise: tuple[float, float]
) -> None:
    """One plank as a band; a scarf hatched at the fore end of its after piece."""
    (along, free), (foot, band) = place, rise
    rim = _ring(plank)[:, 0]
    low, high = along(float(rim.min())), along(float(rim.max()))
    ring = np.array([[low, foot], [high, foot], [high, foot + band], [low, foot + band]])
    pen.polyline(ring, closed=True, role=Role.CUT_OUTSIDE)
    for end in plank.ends:
        if end.meets == "scarf" and end.bevel[0] < 0:
            at = along(float(end.seam[:, 0].mean()))
            half = np.array([[at - 3.0, foot], [at + 3.0, foot], [at + 3.0, foot + band], [at - 3.0, foot + band]])
            pen.area(half, Hatch(60.0, 1.5), Role.LABEL)
    middle = (low + high) / 2
    near = free[(free > low) & (free < high)]
    x = float(near[int(np.argmin(np.abs(near - middle)))]) if len(near) else middle
    spot = np.array([x, foot + band / 2])
    size = min(NUMBER, 0.75 * band, 1.1 * (high - low) / max(len(plank.id) - 1, 1))
    pen.text(spot, pair_stem(plank.id), height=size, turn=0, anchor="middle", role=Role.LABEL)


def _diagonal_maps(facts: Facts, layer: LayerFacts) -> list[Block]:
    rims = [(p, _ring(p)) for p in layer.port]
    x = np.concatenate([rim[:, 0] for _, rim in rims])
    wide = float(max(rim[:, 1].max() for _, rim in rims))
    count = max(1, int(np.ceil((x.max() - x.min()) / _REACH)))
    reach = (float(x.max()) - float(x.min())) / count
    scale = min((PICTURE - 4.0) / (reach + 60.0), 125.0 / wide)
    found: list[Block] = []
    for n in range(count):
        start = float(x.min()) + n * reach - 30.0
        found.append(_diagonal_map(facts, layer, (start, reach + 60.0, wide), scale))
    return found


def _diagonal_map(facts: Facts, layer: LayerFacts, window: tuple[float, float, float], scale: float) -> Picture:
    start, reach, wide = window
    shift = np.array([-start, 0.0])
    frame = np.array([[0.0, 0.0], [reach, 0.0], [reach, wide + 1.0], [0.0, wide + 1.0]]) * scale

    inside = [(name, at) for name, at in facts.frames if start < at < start + reach]
    stations = np.array([(at - start) * scale for _, at in inside])

    edges = [(p, [(m.seam[:, :2] + shift) * scale for m in (p.first, p.second, *p.ends)]) for p in layer.port]

    def draw(pen: Pen) -> None:
        for _, lines in edges:
            for piece in (piece for edge in lines for piece in clip_lines(edge, frame)):
                pen.polyline(piece, closed=False, role=Role.CHECK)
        _number_diagonals(pen, {str(p.course): _shape(lines, frame) for p, lines in edges}, stations, wide * scale)
        for (name, _), spot in zip(inside, stations, strict=True):
            pen.polyline(np.array([[spot, 0.0], [spot, wide * scale + 3.0]]), closed=False, role=Role.SCRIBE)
            pen.text(
                np.array([spot, wide * scale + 7.0]), name, height=FIGURE, turn=0, anchor="middle", role=Role.CHECK
            )

    words = f"{layer.name}, x {start:.0f} to {start + reach:.0f}: seen from above, keel below, chine above"
    return Picture(PICTURE, wide * scale + 12.0, draw, words)


def _shape(edges: list[Floats], frame: Floats) -> tuple[shapely.Polygon, float]:
    """What of a diagonal is on the map, mm on the page, and which share of the whole that is."""
    ring = np.concatenate([edges[0], edges[1][::-1]])
    whole = shapely.make_valid(shapely.Polygon(ring))
    seen = shapely.get_parts(whole.intersection(shapely.Polygon(frame)))
    piece = max(seen, key=lambda piece: float(piece.area), default=shapely.Polygon())
    return piece, float(piece.area) / max(float(whole.area), 1e-9)


def _number_diagonals(pen: Pen, shapes: dict[str, tuple[shapely.Polygon, float]], stations: Floats, top: float) -> None:
    """Numbers along their diagonals, clear of edges and frames; where no room is, above the chine with a leader."""
    uprights = [np.array([[x, -1.0], [x, 1000.0]]) for x in stations]
    beside: list[tuple[str, shapely.Polygon]] = []
    for name, (shape, share) in shapes.items():
        if shape.is_empty:
            continue
        ring = shapely.get_coordinates(shape.exterior)
        turn = _lean(shape)
        found = place(ring, name, (FIGURE,), turn, uprights)
        if found is None and share > 0.49:  # else the next map shows more of it
            beside.append((name, shape))
        elif found is not None:
            pen.text(found[0], name, height=FIGURE, turn=turn, anchor="middle", role=Role.LABEL)
    _number_beside(pen, beside, stations, top + 7.0)


def _number_beside(pen: Pen, beside: list[tuple[str, shapely.Polygon]], stations: Floats, top: float) -> None:
    """A row of numbers above the chine, between the frames' names, a leader down to the upper half of each piece."""
    if not beside:
        return
    ends = []
    for name, shape in beside:
        ring = shapely.get_coordinates(shape.exterior)
        highest = ring[int(np.argmax(ring[:, 1]))]
        ends.append((name, np.asarray(0.5 * (highest + shapely.get_coordinates(shape.representative_point())[0]))))
    ends.sort(key=lambda row: float(row[1][0]))
    row_at = min(top, max(float(shape.bounds[3]) for _, shape in beside) + 2.2 * FIGURE)
    widths = [words_width(name, FIGURE) + 3.0 for name, _ in ends]
    names = [float(x + d) for x in stations for d in (-_NAME, 0.0, _NAME)]
    row = in_a_row([float(end[0]) for _, end in ends], widths, PICTURE, names)
    for (name, end), x in zip(ends, row, strict=True):
        pen.text(np.array([x, row_at]), name, height=FIGURE, turn=0, anchor="middle", role=Role.LABEL)
        leader = np.array([[x, row_at - 0.7 * FIGURE], end])
        pen.polyline(leader, closed=False, role=Role.CHECK)


_UPRIGHT = 100.0  # degrees


def _lean(shape: shapely.Polygon) -> float:
    """Degrees of a piece's long way from level, -80 to 90: what stands about upright reads from the right."""
    box = shapely.get_coordinates(shape.minimum_rotated_rectangle)
    sides = np.diff(box[:3], axis=0)
    way = sides[int(np.argmax(np.hypot(*sides.T)))]
    turn = float(np.rad2deg(np.arctan2(way[1], way[0]))) % 180
    return turn - 180 if turn > _UPRIGHT else min(turn, 90.0)  # words past upright would be turned over
