"""From frames to what is cut and drawn: parts for the boards, full-size patterns for paper.

seen      every piece is drawn as one looks at its control face: that face carries the marks and lies up on the board
far line  where the other face ends when its bevel is on: dashed on paper, scribed on wood

Source: derived.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from strakewright.arrays import Floats
from strakewright.drawn import Drawn, DrawnLine
from strakewright.frames import BevelAt, FacesTo, FramePiece, Notch, SawnFrame
from strakewright.geometry.outlines import clip_lines, distance_to_ring, thin_ring
from strakewright.geometry.regions import beyond
from strakewright.parts import Mark, Part

APART = 0.15  # mm two face lines must lie apart to be drawn both
GRAIN = np.degrees(np.arctan(1 / 12))
CURVED = 0.5  # degrees of curve above which a piece's own grain leaves less room for skew on the board


def seen(points: Floats, faces: FacesTo) -> Floats:
    """(n, 2) y, z as one sees them looking at a face: from forward port is on the right, from aft on the left."""
    return points * np.array([-1.0, 1.0]) if faces == "aft" else points


def part_of(piece: FramePiece, spall_z: float | None = None) -> Part:
    """The part: control face up, grain along x, its lower left corner at 0, 0."""
    place = _Place(piece)
    outline = place.ring(piece.outline)
    marks = [m for m in _marks(piece, place, outline, spall_z) if len(m.points) > 1]
    curve = float(np.degrees(piece.run_out))
    return Part(
        id=piece.id,
        outline=np.round(outline, 3),
        thickness=piece.thickness,
        species=piece.species,
        may_flip=False,
        marks=tuple(marks),
        mate=_mate(piece),
        max_skew_deg=max(0.2, GRAIN - curve) if curve > CURVED else None,
        quality="sound",
    )


def _mate(piece: FramePiece) -> str | None:
    if piece.side == "centre":
        return None
    stem, _, side = piece.id.rpartition("-")
    return f"{stem}-{'S' if side == 'P' else 'P'}"


class _Place:
    """From the station plane to the part's own axes."""

    def __init__(self, piece: FramePiece) -> None:
        self.faces: FacesTo = piece.control_faces
        way = seen(piece.grain[None], self.faces)[0]
        self.axes = np.array([way, [-way[1], way[0]]]).T
        self.low = (seen(piece.outline, self.faces) @ self.axes).min(axis=0)

    def line(self, points: Floats) -> Floats:
        return np.asarray(seen(points, self.faces) @ self.axes - self.low)

    def ring(self, ring: Floats) -> Floats:
        moved = self.line(ring)
        return thin_ring(moved[::-1] if self.faces == "aft" else moved, tol=0.02)


def _marks(piece: FramePiece, place: _Place, outline: Floats, spall_z: float | None) -> Iterable[Mark]:
    for name, ring in (("control face", piece.control), ("other face", piece.other)):
        for line in lines_off(ring, piece.outline):
            yield Mark("tick", name, place.line(line))
    for notch in piece.notches:
        for name, ring in (("near", notch.control), ("far", notch.other)):
            for line in clip_lines(place.line(_closed(ring)), outline):
                yield Mark("tick", f"{notch.member} {name}", line)
    for lap in piece.halves:
        for line in clip_lines(place.line(_closed(lap.ring)), outline):
            yield Mark("joint", f"half lap, {lap.face} face", line)
    if piece.side == "centre":
        yield from _across(piece, place, outline, np.array([[0.0, -9e3], [0.0, 9e3]]), "centreline")
    if piece.kind == "side":
        tip = piece.bevels[-1].at
        side = -1.0 if piece.side == "port" else 1.0
        square = np.array([-piece.grain[1], piece.grain[0]])
        square = square if square[0] * side > 0 else -square
        yield from _across(
            piece, place, outline, np.array([tip - 300.0 * square, tip + 300.0 * square]), "sheer", "trim"
        )
        if spall_z is not None:
            yield from _across(piece, place, outline, np.array([[-9e3, spall_z], [9e3, spall_z]]), "spall")


def _across(
    piece: FramePiece, place: _Place, outline: Floats, line: Floats, name: str, kind: str = "level"
) -> Iterable[Mark]:
    for found in clip_lines(place.line(line), outline):
        yield Mark(kind, name, found)  # type: ignore[arg-type]


def _closed(ring: Floats) -> Floats:
    return np.concatenate([ring, ring[:1]])


def lines_off(ring: Floats, of: Floats, apart: float = APART) -> list[Floats]:
    """The stretches of a ring that lie further than `apart` from the line of another."""
    if not len(ring):
        return []
    off = distance_to_ring(ring, of) > apart
    if off.all() or not off.any():
        return [_closed(ring)] if off.all() else []
    start = int(np.flatnonzero(~off)[0])
    ring, off = np.roll(ring, -start, axis=0), np.roll(off, -start)
    ring, off = _closed(ring), np.append(off, off[0])
    ends = np.flatnonzero(np.diff(off.astype(int)))
    return [ring[a : b + 2] for a, b in zip(ends[::2], ends[1::2], strict=True)]


# -- patterns ----------------------------------------------------------------------------------------


def pattern_of(frame: SawnFrame) -> Drawn:
    """The port half of a frame, full size, seen looking at its control face; turn the paper over for starboard."""
    faces = frame.control_faces
    lines: list[DrawnLine] = []
    for piece in frame.pieces:
        if piece.side != "starboard":
            lines += _drawn(piece, faces)
    lines += _references(frame, faces)
    return Drawn(
        f"{frame.name}-pattern",
        f"Frame {frame.name} at x {frame.station:.0f}, port half, looking at the {faces.upper()} face",
        tuple(lines),
        tuple(_notes(frame)),
        _spots(frame, faces),
    )


def _drawn(piece: FramePiece, faces: FacesTo) -> list[DrawnLine]:
    """One piece: cut line, the face lines off it, notches, half laps, bevels."""

    def half(ring: Floats) -> Floats:
        return beyond(ring, np.zeros(2), np.array([1.0, 0.0])) if piece.side == "centre" else ring

    outline = half(piece.outline)
    lines = [DrawnLine(seen(_thin(outline), faces), "cut", True, f"{piece.id} {piece.thickness:g} mm, grain along")]
    for kind, ring in (("scribe", piece.control), ("other face", piece.other)):
        lines += [DrawnLine(seen(x, faces), kind) for x in lines_off(half(ring), outline)]  # type: ignore[arg-type]
    for notch in piece.notches:
        lines += _notch_lines(notch, outline, faces)
    for lap in piece.halves:
        for line in clip_lines(_closed(lap.ring), outline):
            lines.append(DrawnLine(seen(line, faces), "scribe", False, f"half lap from the {lap.face} face"))
    for b in piece.bevels:
        lines.append(DrawnLine(seen(speck(b.at), faces), "scribe", False, bevel_words(b)))
    return lines


def _notch_lines(notch: Notch, outline: Floats, faces: FacesTo) -> list[DrawnLine]:
    found = []
    for kind, words, ring in (
        ("scribe", f"{notch.member}: pare to here on the control face", notch.control),
        ("other face", f"{notch.member}: and to here on the other face", notch.other),
    ):
        for line in clip_lines(_closed(ring), outline):
            found.append(DrawnLine(seen(line, faces), kind, False, words))  # type: ignore[arg-type]
    return found


def _thin(ring: Floats) -> Floats:
    return thin_ring(ring, tol=0.02)


def _references(frame: SawnFrame, faces: FacesTo) -> list[DrawnLine]:
    keel, top = frame.corner("keel"), max(float(c.at[1]) for c in frame.corners)
    wide = max(float(c.at[0]) for c in frame.corners)
    rows = [("centreline", np.array([[0.0, keel[1] - 40.0], [0.0, top + 60.0]]), "centreline")]
    if frame.spall is not None:
        z = frame.spall[0]
        rows.append(("reference", np.array([[0.0, z], [wide + 30.0, z]]), f"upper edge of cross spall, z {z:.0f}"))
    for corner in frame.corners:
        y, z = corner.at
        rows.append(("scribe", np.array([[y - 12.0, z], [y + 12.0, z]]), corner.name))
    return [DrawnLine(seen(points, faces), kind, False, words) for kind, points, words in rows]  # type: ignore[arg-type]


def _notes(frame: SawnFrame) -> list[str]:
    other = "forward" if frame.control_faces == "aft" else "aft"
    notes = [
        f"BIG FACE = {frame.control_faces.upper()}: it stands on the station line. Bevels take wood off the"
        f" {other} face. Solid lines: this face. Dashed: where the {other} face ends.",
        "Bevels: degrees from square, square to the edge; + under bevel (far face smaller), - standing (far face"
        " larger: the cut line already holds it).",
        "Notches: saw square to what both outlines share, then pare to both lines. No clearance on the bearing.",
        "Starboard: turn the paper over and prick through.",
    ]
    if frame.joint == "lap":
        notes.append(
            "LAPPED: the plane of the joints stands on the station line; "
            + "; ".join(f"{p.kind} lies {_lies(p)} of it" for p in frame.pieces if p.side != "starboard")
        )
    return notes


def _lies(piece: FramePiece) -> str:
    return "forward" if piece.x_other > piece.x_control else "aft"


def speck(at: Floats) -> Floats:
    """(2, 2) a line hardly there, for words to stand at."""
    return np.array([at, at + np.array([0.0, 0.5])])


def bevel_words(bevel: BevelAt) -> str:
    """As printed on the pattern."""
    return "square" if bevel.square else f"{np.degrees(bevel.angle):+.1f}°"


def _spots(frame: SawnFrame, faces: FacesTo) -> tuple[tuple[str, Floats], ...]:
    """Points to measure the paper between: keel, corners, and the centreline at the spall."""
    spots = [(c.name, seen(c.at, faces)) for c in frame.corners]
    if frame.spall is not None:
        spots.append(("centreline at spall", np.array([0.0, frame.spall[0]])))
    return tuple(spots)
