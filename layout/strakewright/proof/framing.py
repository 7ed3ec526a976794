"""Frames proved from their finished rings, without a word from what made them.

held      both finished faces of a piece lie within the line it is cut to, so bevels and paring only take wood off
mirrored  starboard pieces are port pieces turned over
clear     no finished face has wood where a member's own section passes
bearing   planks of the innermost layer touch the frames: a seam stands half the plank's thickness off, which is
          t / (2 cos bevel) in the frame's plane
tape      the diagonals of the set-up sheet, reckoned again from the marks of the frames themselves
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np
import shapely

from strakewright.arrays import Floats
from strakewright.errors import Check, at_most
from strakewright.frames import FramePiece, Framing
from strakewright.members import Member, section_at
from strakewright.parts import Plank

HELD = 0.06  # mm: rings are thinned to a few hundredths
MIRRORED = 1e-6
CLEAR = 1.0  # mm2 of a face
TAPE = 0.1  # mm
BEARING = 0.2  # mm


def judge_frames(framing: Framing, members: Sequence[Member] = (), planks: Sequence[Plank] = ()) -> tuple[Check, ...]:
    """Every check that applies; none for a boat without frames."""
    pieces = [p for f in framing.frames for p in f.pieces]
    if not pieces:
        return ()
    checks = [
        at_most("frame faces outside their cut line", max(map(_sticks_out, pieces)), HELD, "mm"),
        at_most("frame halves not mirrored", _unlike(pieces), MIRRORED, "mm"),
        at_most("set-up diagonals off", _tape(framing), TAPE, "mm"),
    ]
    inner = [m for m in members if m.place == "inside"]
    if inner:
        checks.append(at_most("frame wood where members pass", max(_fouled(p, inner) for p in pieces), CLEAR, "mm2"))
    gaps = [gap for plank in planks if plank.side == "port" and plank.layer == 1 for gap in _gaps(framing, plank)]
    if gaps:
        checks.append(at_most("planks off the frames", max(gaps), BEARING, "mm"))
    return tuple(checks)


def _gaps(framing: Framing, plank: Plank) -> Iterable[float]:
    """How far a plank's inside lies off each frame it crosses, told from its seams."""
    for frame in framing.frames:
        piece = next((p for p in frame.pieces if p.kind == plank.panel and p.side != "starboard"), None)
        line = frame.lines.get(plank.panel)
        if piece is None or line is None:
            continue
        places = np.array([b.at for b in piece.bevels])
        angles = np.array([b.angle for b in piece.bevels])
        way = places[-1] - places[0]
        for margin in (plank.first, plank.second):
            if margin.meets != "seam":
                continue
            for point in _crossings(margin.seam, frame.station):
                share = float((point - places[0]) @ way / (way @ way))
                bevel = np.interp(share, (places - places[0]) @ way / (way @ way), angles)
                off = float(shapely.distance(shapely.Point(point), shapely.LineString(line)))
                if 0.02 < share < 0.98:
                    yield abs(off - plank.thickness / 2 / float(np.cos(bevel)))


def _crossings(seam: Floats, station: float) -> list[Floats]:
    """(y, z) where a line in space passes x = station."""
    over = seam[:, 0] - station
    found = []
    for i in np.flatnonzero(over[:-1] * over[1:] < 0):
        share = over[i] / (over[i] - over[i + 1])
        found.append(seam[i, 1:] + share * (seam[i + 1, 1:] - seam[i, 1:]))
    return found


def _sticks_out(piece: FramePiece) -> float:
    cut = shapely.Polygon(piece.outline)
    faces = [shapely.points(ring) for ring in (piece.control, piece.other)]
    return max(float(shapely.distance(points, cut).max(initial=0.0)) for points in faces)


def _unlike(pieces: Iterable[FramePiece]) -> float:
    """Largest difference between a port ring and its starboard twin; infinite where there is no twin."""
    by_id = {p.id: p for p in pieces}
    worst = 0.0
    for piece in by_id.values():
        if piece.side != "port":
            continue
        twin = by_id.get(piece.id.removesuffix("P") + "S")
        if twin is None:
            return math.inf
        for name in ("control", "other", "outline"):
            worst = max(worst, _apart(getattr(piece, name), getattr(twin, name)))
    return worst


def _apart(port: Floats, starboard: Floats) -> float:
    over = shapely.LinearRing(starboard * np.array([-1.0, 1.0]))
    return float(shapely.hausdorff_distance(shapely.LinearRing(port), over))


def _fouled(piece: FramePiece, members: Iterable[Member]) -> float:
    """mm2 of a finished face that lie within a member."""
    worst = 0.0
    for x, ring in ((piece.x_control, piece.control), (piece.x_other, piece.other)):
        wood = shapely.Polygon(ring)
        for member in members:
            section = section_at(member, x)
            if section is None:
                continue
            sides = [section] if member.where == "centre" else [section, section * np.array([-1.0, 1.0])]
            for one in sides:
                solid = shapely.Polygon(one)
                if solid.is_valid:
                    worst = max(worst, float(wood.intersection(solid).area))
    return worst


def _tape(framing: Framing) -> float:
    """Largest difference between a diagonal on the sheet and one reckoned from the marks."""
    sheet = framing.set_up
    if sheet is None:
        return 0.0
    rows = {row.name: row for row in sheet.rows}
    worst = 0.0
    for frame in framing.frames:
        row = rows.get(frame.name)
        for corner in frame.corners:
            if corner.name == "keel":
                continue
            told = row.diagonals.get(corner.name) if row else None
            if told is None:
                return math.inf
            y, z = (float(v) for v in corner.at)
            for nail, length in zip(sheet.points, told, strict=True):
                worst = max(worst, abs(math.hypot(frame.station - nail, y, sheet.h_ref - z) - length))
    return worst
