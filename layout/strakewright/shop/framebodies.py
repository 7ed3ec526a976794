"""Frames and transoms as solids in their places.

A piece is the solid between its two finished faces, with straight rulings from line to line: that is what paring a
notch, or planing a bevel, to both scribed lines leaves.  A halved piece is two such slabs, one with its half lap out.

Source: derived.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from strakewright.arrays import Floats, Ints
from strakewright.frames import FramePiece, SawnFrame
from strakewright.geometry.regions import walled, without
from strakewright.solids import Body


def frame_bodies(frames: Iterable[SawnFrame]) -> tuple[Body, ...]:
    """A body for every piece of every frame."""
    return tuple(piece_body(piece, frame.name) for frame in frames for piece in frame.pieces)


def piece_body(piece: FramePiece, frame: str = "") -> Body:
    """One piece in its place."""
    info = {
        "piece": piece.kind,
        "side": piece.side,
        "frame": frame,
        "species": piece.species,
        "size": f"{piece.thickness:g} mm thick",
        "notches": ", ".join(n.member for n in piece.notches) or "none",
    }
    slabs = [_slab(*faces) for faces in _faces(piece)]
    starts = np.cumsum([0, *(len(v) for v, _ in slabs)])
    vertices = np.concatenate([v for v, _ in slabs])
    triangles = np.concatenate([t + s for (_, t), s in zip(slabs, starts, strict=False)])
    return Body(piece.id, vertices, triangles, info)


def _faces(piece: FramePiece) -> list[tuple[float, Floats, float, Floats]]:
    """x and ring of both faces of every slab."""
    if not piece.halves:
        return [(piece.x_control, piece.control, piece.x_other, piece.other)]
    half_way = (piece.x_control + piece.x_other) / 2
    slabs = []
    for face, x, ring in (("control", piece.x_control, piece.control), ("other", piece.x_other, piece.other)):
        laps = [h.ring for h in piece.halves if h.face == face]
        outer, inner = without(ring, laps), without(piece.middle, laps)
        if len(outer) and len(inner):
            slabs.append((x, outer, half_way, inner))
    return slabs


def _slab(x_a: float, a: Floats, x_b: float, b: Floats) -> tuple[Floats, Ints]:
    if x_a > x_b:
        x_a, a, x_b, b = x_b, b, x_a, a
    low, high, triangles = walled(a, b)
    planes = np.concatenate([np.full(len(low), x_a), np.full(len(high), x_b)])
    return np.column_stack([planes, np.concatenate([low, high])]), triangles
