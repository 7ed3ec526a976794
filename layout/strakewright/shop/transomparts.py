"""From the transom to what is cut and drawn.

seen      from inside the boat: on the stern transom, looking aft, port is on the right; on a bow transom, looking
          forward, port is on the left
Source: derived.
"""

from __future__ import annotations

import itertools

import numpy as np

from strakewright.arrays import Floats
from strakewright.drawn import Drawn, DrawnLine
from strakewright.frames import Transom, TransomBoard
from strakewright.geometry.outlines import clip_lines, thin_ring
from strakewright.geometry.regions import beyond, walled
from strakewright.parts import Mark, Part
from strakewright.shop.frameparts import bevel_words, lines_off, speck
from strakewright.shop.transoms import Plate, whole_faces
from strakewright.solids import Body

FINE = 40.0  # mm between the points of a curved transom's edges


def seen_inside(points: Floats, transom: Transom) -> Floats:
    """(n, 2) u, v as one sees them from inside the boat."""
    return points * np.array([-1.0, 1.0]) if transom.name.startswith("bow") else points


def transom_parts(transom: Transom) -> tuple[Part, ...]:
    """Boards and staves, inside face up, grain along x."""
    return tuple(_part(board, transom) for board in transom.boards)


def _part(board: TransomBoard, transom: Transom) -> Part:
    upright = board.kind == "doubling"

    def lay(points: Floats) -> Floats:
        flat = seen_inside(points, transom)
        return flat @ np.array([[0.0, -1.0], [1.0, 0.0]]) if upright else flat

    outline = lay(board.ring)
    low = outline.min(axis=0)
    outline = thin_ring(outline - low, tol=0.02)
    rows = [("centreline", np.array([[0.0, -9e3], [0.0, 9e3]]), "level")]
    if transom.cut_out is not None:
        ring = transom.cut_out
        rows.append(("cut-out" if transom.bridge is None else "well opening", np.concatenate([ring, ring[:1]]), "trim"))
    marks = [
        Mark(kind, name, line)  # type: ignore[arg-type]
        for name, points, kind in rows
        for line in clip_lines(lay(points) - low, outline)
    ]
    return Part(
        id=board.id,
        outline=np.round(outline, 3),
        thickness=board.thickness,
        species=transom.species,
        may_flip=False,
        marks=tuple(m for m in marks if len(m.points) > 1),
        quality="show" if board.kind == "board" else "sound",
    )


def transom_pattern(transom: Transom) -> Drawn:
    """The port half full size, laid flat, seen from inside the boat."""

    def half(ring: Floats) -> Floats:
        return beyond(ring, np.zeros(2), np.array([1.0, 0.0]))

    outline = half(transom.ring)
    lines = [DrawnLine(seen_inside(thin_ring(outline, tol=0.02), transom), "cut", True, transom.name)]
    faces = (transom.inside, transom.outside) if transom.control == "inside" else (transom.outside, transom.inside)
    for kind, face in zip(("scribe", "other face"), faces, strict=True):
        off = [seen_inside(x, transom) for x in lines_off(_half_ring(face.outline), outline)]
        lines += [DrawnLine(x, kind) for x in off]  # type: ignore[arg-type]
    for words, ring in ((transom.opening, transom.cut_out), ("doubling", transom.doubling)):
        if ring is not None:
            lines.append(DrawnLine(seen_inside(half(ring), transom), "scribe", True, words))
    for board in transom.boards[:-1]:
        if board.kind == "board":
            top = float(board.ring[:, 1].max())
            for seam in clip_lines(np.array([[0.0, top], [9e3, top]]), outline):
                lines.append(DrawnLine(seen_inside(seam, transom), "scribe", False, "seam"))
    top = float(transom.ring[:, 1].max())
    lines.append(DrawnLine(np.array([[0.0, -30.0], [0.0, top + 30.0]]), "centreline", False, "centreline"))
    for b in transom.bevels:
        spot = seen_inside(speck(b.at), transom)
        lines.append(DrawnLine(spot, "scribe", False, bevel_words(b)))
    spots = tuple((name, seen_inside(at[:2], transom)) for name, at in transom.inside.corners.items())
    return Drawn(f"{_id(transom)}-pattern", _title(transom), tuple(lines), _notes(transom), spots)


def _half_ring(outline: Floats) -> Floats:
    return np.concatenate([outline, np.array([[0.0, outline[-1, 1]]])])


def _id(transom: Transom) -> str:
    return "BT" if transom.name.startswith("bow") else "T"


def _title(transom: Transom) -> str:
    bent = "" if transom.radius is None else f", laid flat from a bend of R {transom.radius:.0f}"
    return f"{transom.name.capitalize()}, port half, seen from INSIDE the boat, in its own plane{bent}"


def _notes(transom: Transom) -> tuple[str, ...]:
    notes = [
        f"Raked {np.degrees(transom.rake):.1f} degrees; heights run along the rake. Solid: {transom.control} face,"
        " dashed: the other.",
        "The cut line holds both faces. Bevels: degrees from square, + outside face smaller.",
        "Starboard: turn the paper over and prick through. Square across from sheer to sheer.",
    ]
    if transom.cut_out is not None:
        notes.append(
            f"{transom.opening.capitalize()}: glue all boards up first, saw it last. Check the motor maker's clamp"
            " height."
        )
    return tuple(notes)


def transom_body(transom: Transom, plate: Plate) -> Body:
    """The transom in its place, boards as one."""
    inside, outside = (_fine(ring, transom.radius) for ring in whole_faces(transom))
    low, high = (inside, outside) if transom.name.startswith("bow") else (outside, inside)
    low, high, triangles = walled(low, high)
    insets = (transom.thickness, 0.0) if transom.name.startswith("bow") else (0.0, transom.thickness)
    space = [plate.at(inset).in_space(ring) for inset, ring in zip(insets, (low, high), strict=True)]
    info = {"piece": transom.name, "species": transom.species, "size": f"{transom.thickness:g} mm thick"}
    return Body(_id(transom), np.concatenate(space), triangles, info)


def _fine(ring: Floats, radius: float | None) -> Floats:
    """A ring with points at the same half breadths along all its edges, so that triangles follow the bend."""
    if radius is None:
        return ring
    rows = []
    for a, b in itertools.pairwise([*ring, ring[0]]):
        low, high = sorted((float(a[0]), float(b[0])))
        steps = np.arange(np.floor(low / FINE) + 1, np.ceil(high / FINE)) * FINE
        share = np.sort((steps - a[0]) / (b[0] - a[0])) if len(steps) else np.empty(0)
        rows.append(a + np.concatenate([[0.0], share])[:, None] * (b - a))
    return np.concatenate(rows)
