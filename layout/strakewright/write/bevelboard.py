"""Bevel boards: the bevels of every frame and every course drawn full size, to set a bevel gauge by.

board     strip 100 mm wide; its lower long edge is the face the bevel is measured from
line      one bevel: the gauge's stock lies along the lower edge, its blade along the line; upright = square
lean      a line that leans to the right is + (the far or inside face is the smaller), to the left is -

100 mm up, a line of angle a has gone 100 tan(a) aside (derived).  One board for a frame, one for a course of planks,
one for a member, as boatbuilders keep them (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from strakewright.drawn import Drawn, DrawnLine
from strakewright.frames import Framing
from strakewright.geometry.outlines import clip_lines
from strakewright.members import Member
from strakewright.parts import Plank
from strakewright.write.edges import SQUARE, bevel_of, degrees, edge_runs
from strakewright.write.girths import pair_stem

WIDTH = 100.0  # mm: of the board
_STEP, _END = 44.0, 20.0  # mm between the feet of lines, and left at both ends
_MOST = 14  # lines on one board
_NOTES = (
    f"Board {WIDTH:g} mm wide. Stock of the gauge along the LOWER edge, blade along the line; upright is square.",
    "Leaning right is +, wood comes off the far (frames) or inside (planks) arris; left is -. PORT and STBD the same.",
)
_OF_MEMBERS = (
    f"Board {WIDTH:g} mm wide. Lower edge: the SIDE of the squared blank, for the stock of the gauge; upright: square.",
    "Blade along the line: the face on the planking. Wood comes off at the sides of the blank. PORT and STBD alike.",
)
_LEAST = np.radians(0.5)  # of a member's face
Row = tuple[str, float]


def bevel_boards(framing: Framing, planks: Iterable[Plank], members: Iterable[Member] = ()) -> tuple[Drawn, ...]:
    """One board for every frame, every course and every member with a bevel on it, in the order they are met."""
    found: list[Drawn] = []
    for frame in framing.frames:
        rows = [
            (f"{piece.kind} {bevel.name}", bevel.angle)
            for piece in frame.pieces
            if piece.side != "starboard"
            for bevel in piece.bevels
            if not bevel.square
        ]
        found += _boards(f"BB-{frame.name}", f"Bevel board of frame {frame.name}", rows)
    courses: dict[tuple[str, int, int], list[Plank]] = {}
    for plank in planks:
        if plank.stands_for:
            courses.setdefault((plank.panel, plank.layer, plank.course), []).append(plank)
    for (panel, layer, course), mine in courses.items():
        title = f"Bevel board of {panel} layer {layer} course {course}"
        found += _boards(f"BB-{pair_stem(mine[0].id)}", title, [row for plank in mine for row in _plank_rows(plank)])
    for member in members:
        name = member.name.replace(" ", "-")
        found += _boards(f"BB-{name}", f"Bevel board of the {member.name}", _member_rows(member), _OF_MEMBERS)
    return tuple(found)


def _member_rows(member: Member) -> list[Row]:
    """Every face at the frames that leans away from the blank's outer face; both in one where they lean alike."""
    bearings = [b.on for b in member.swept.bearings]
    names = [f"{on} {n + 1}" if bearings.count(on) > 1 else on for n, on in enumerate(bearings)]
    found: list[Row] = []
    for row in (r for r in member.rows if r.name and len(r.bevels)):
        alike = len(names) > 1 and float(np.ptp(row.bevels)) < np.radians(0.25)
        faces = [("both faces", row.bevels[0])] if alike else zip(names, row.bevels, strict=True)
        found += [(f"{row.name} {name}", float(angle)) for name, angle in faces if abs(angle) > _LEAST]
    return found


def _plank_rows(plank: Plank) -> list[Row]:
    """Both long edges where they cross frame lines and are not square."""
    rows: list[Row] = []
    for mark in (m for m in plank.marks if m.kind == "frame" and len(m.points) > 1):
        pieces = clip_lines(mark.points, plank.outline)
        for name, edge in (("first", plank.first), ("second", plank.second)) if pieces else ():
            angle = bevel_of(edge_runs(plank, edge), float(np.concatenate(pieces)[:, 0].mean()))
            if angle is not None and abs(plank.thickness * np.tan(angle)) > SQUARE:
                rows.append((f"{mark.name} {edge.border or name + ' edge'}", angle))
    return rows


def _boards(name: str, title: str, rows: Sequence[Row], notes: Sequence[str] = _NOTES) -> list[Drawn]:
    lots = [rows[n : n + _MOST] for n in range(0, len(rows), _MOST)]
    return [_board(name if len(lots) == 1 else f"{name}.{n}", title, lot, notes) for n, lot in enumerate(lots, start=1)]


def _board(name: str, title: str, rows: Sequence[Row], notes: Sequence[str]) -> Drawn:
    """Lines sorted by their lean, so that none crosses another; a figure in the list tells each one's place."""
    order = sorted(range(len(rows)), key=lambda n: rows[n][1])
    lean = [WIDTH * float(np.tan(rows[n][1])) for n in order]
    first = _END + max(0.0, -lean[0])
    feet = first + _STEP * np.arange(len(order))
    long = float(max(feet[-1] + _STEP, feet[-1] + lean[-1] + _END))
    ring = np.array([[0.0, 0.0], [long, 0.0], [long, WIDTH], [0.0, WIDTH]])
    lines = [DrawnLine(ring, "cut", closed=True)]
    for k, (n, aside) in enumerate(zip(order, lean, strict=True)):
        lines.append(DrawnLine(np.array([[feet[k], 0.0], [feet[k] + aside, WIDTH]]), "scribe"))
        foot = np.array([[feet[k], -2.0], [feet[k], -12.0], [feet[k], -14.0]])  # its number stands clear of the lines
        lines.append(DrawnLine(foot, "scribe", words=f"{n + 1}"))
    told = "   ".join(f"{n + 1}: {place} {degrees(angle)}" for n, (place, angle) in enumerate(rows))
    spots = (("A", ring[0]), ("B", ring[1]), ("C", ring[2]))
    return Drawn(name, title, tuple(lines), (*notes, told), spots)
