"""Notches and limbers of frames: where members pass, and where water does.

notch     the member's own oblique section in the plane of a face, wider by the clearance on its two sides, none
          where it bears, and open to the planking
side      of a notch: runs from the planking inwards, along the line in which the member's side cuts the face
limber    hollow at the planking, 1.25 x 0.75 times the size asked for (20 mm: 25 x 15), sawn square through

Source: derived (a member's sides hold its run and its depth: their traces in a station plane are square to its
breadth); places and sizes of limbers: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from strakewright.arrays import Floats
from strakewright.frames import OVER
from strakewright.geometry.regions import NONE, hull_ring
from strakewright.members import Member, Swept, section_at

OPEN = 400.0  # mm a notch reaches out past the planking
HEAD = 120.0  # mm a clamp's notch is open upwards
BESIDE = 12.0  # mm from a member's side to the middle of the limber beside it
WIDE, DEEP = 1.25, 0.75  # a limber's width and depth over its size


def notch_ring(member: Member, x: float, clear: float) -> Floats:
    """(n, 2) outline of the notch in the plane x, port member or whole; empty where the member does not pass."""
    section = section_at(member, x)
    if section is None:
        section = _slice(member.swept, x)
    if not len(section):
        return NONE
    out, broad = _ways(member.swept, x)
    wide = np.concatenate([section + clear * broad, section - clear * broad])
    return hull_ring(np.concatenate([wide, wide + OPEN * out]))


def _slice(swept: Swept, x: float) -> Floats:
    """(n, 2) where the plane x cuts a member that does not pass it whole: all its crossings with the corners' lines
    and with the sections' edges; empty when there are none.  A plumb stem is only ever cut like this."""
    along = [swept.corners[:-1], swept.corners[1:]]
    round_it = [swept.corners, np.roll(swept.corners, -1, axis=1)]
    a, b = (np.concatenate([p.reshape(-1, 3), q.reshape(-1, 3)]) for p, q in zip(along, round_it, strict=True))
    over = np.nonzero((a[:, 0] - x) * (b[:, 0] - x) < 0)[0]
    part = ((x - a[over, 0]) / (b[over, 0] - a[over, 0]))[:, None]
    found = a[over, 1:] + part * (b[over, 1:] - a[over, 1:])
    return found if len(found) > 2 else NONE


def open_above(ring: Floats, line: Floats) -> Floats:
    """A notch at the head of a piece, open to the end: no tongue of wood is left above a sheer clamp."""
    way = (line[-1] - line[-20]) / np.linalg.norm(line[-1] - line[-20])
    return hull_ring(np.concatenate([ring, ring + HEAD * way])) if len(ring) else ring


def _ways(swept: Swept, x: float) -> tuple[Floats, Floats]:
    """In the plane x: unit direction of a notch's sides, outwards, and the step square to it that opens the gap
    between side and member by 1 mm, both (2,)."""
    across, deep = (_between(swept, vectors, x) for vectors in (swept.blank.across, swept.blank.deep))
    out = np.array([-across[2], across[1]])
    out /= np.linalg.norm(out)
    if out @ deep[1:] > 0:
        out = -out
    square = np.array([-out[1], out[0]])
    return out, square / max(abs(float(square @ across[1:])), 0.2)


def _between(swept: Swept, vectors: Floats, x: float) -> Floats:
    """A unit vector of the blank where its outer face passes x."""
    over = swept.blank.outer[:, 0] - x
    i = int(np.abs(over).argmin())
    j = min(
        max(i + (1 if over[i] * (swept.blank.outer[-1, 0] - swept.blank.outer[0, 0]) < 0 else -1), 0), len(over) - 1
    )
    part = 0.0 if over[i] == over[j] else float(np.clip(over[i] / (over[i] - over[j]), 0.0, 1.0))
    found = vectors[i] * (1 - part) + vectors[j] * part
    return np.asarray(found / np.linalg.norm(found))


def through(members: Iterable[Member], x: tuple[float, float]) -> list[Member]:
    """Inner members that pass one plane or both."""
    inner = (m for m in members if m.place == "inside")
    return [m for m in inner if any(len(notch_ring(m, at, 0.0)) for at in x)]


def limber_ring(line: Floats, y: float, size: float, deeper: float) -> Floats:
    """(n, 2) hollow centred on a planking line at half breadth y;  deeper : mm added, for the smaller face."""
    z = float(np.interp(y, line[:, 0], line[:, 1]))
    ahead = min(y + 5.0, float(line[-1, 0]))
    way = np.array([ahead - (y - 5.0), float(np.interp(ahead, *line.T)) - float(np.interp(y - 5.0, *line.T))])
    way /= np.linalg.norm(way)
    up = np.array([-way[1], way[0]])
    turn = np.linspace(0.0, np.pi, 17)
    half, deep = WIDE * size / 2, DEEP * size + deeper
    arch = np.array([y, z]) + half * np.outer(np.cos(turn), way) + deep * np.outer(np.sin(turn), up)
    foot = arch[[-1, 0]] - 60.0 * up
    return np.concatenate([arch, foot])


def mirrored_ring(ring: Floats) -> Floats:
    """The starboard twin of a port ring, still counter-clockwise."""
    return np.asarray((ring * OVER)[::-1])


def half_breadth_of(members: Iterable[Member], x: float) -> float:
    """Half the breadth, at the planking, of the inner member on the centreline; 0 without one."""
    found = [section_at(m, x) for m in members if m.place == "inside" and m.where == "centre"]
    return max((float(np.abs(s[:, 0]).max()) for s in found if s is not None), default=0.0)
