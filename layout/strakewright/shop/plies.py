"""Plies as pieces of wood: lengths, tapers, scarfs and the blanks that are cut.

length     of a ply's own middle line; an outer ply is longer by the angle it turns times the thickness between
scarf      tapered glued joint, 12 times the ply thickness long (the Wood Handbook, ch. 10: a slope of 1 in 12 or
           flatter is the strongest); half of it lies each side of the joint, 10 mm more is left on every feather
stagger    joints of neighbouring plies stand at least STAGGER mm and two scarf lengths apart (common practice)
blank      8 mm wider than the finished section needs, 50 mm longer at each end (common practice)

Source: derived; a blank is as wide as the finished section is between a ply's two faces, at every station.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from strakewright.arrays import Floats
from strakewright.geometry.outlines import as_ccw, thin_line
from strakewright.members import Ply, Swept
from strakewright.parts import Part
from strakewright.shop.bending import Curve, ply_curve

SLOPE = 12.0
SPOIL = 10.0
STAGGER = 300.0
WIDER, LONGER = 8.0, 50.0
EVEN = 3.0  # mm of taper that is not worth cutting
LEAST_WIDTH = 12.0


@dataclass(frozen=True)
class Layup:
    """count plies, standing on edge if `flip`;  longest : clear length mm of the boards they come from

    over : mm the blanks are left long at the after and the forward end"""

    name: str
    count: int
    flip: bool
    longest: float
    species: str
    mirrored: bool
    over: tuple[float, float] = (LONGER, LONGER)


def slug(name: str) -> str:
    """A name as it is chalked: letters, digits and dashes.

    >>> slug("Chine log 2")
    'chine-log-2'
    """
    return "-".join("".join(c if c.isalnum() and c.isascii() else " " for c in name.lower()).split())[:26] or "member"


def plies_of(swept: Swept, layup: Layup) -> tuple[tuple[Ply, ...], tuple[Part, ...]]:
    """Every ply with its joints, and every piece to cut, port then starboard."""
    plies, parts = [], []
    for number in range(1, layup.count + 1):
        curve = ply_curve(swept.blank, layup.count, number, layup.flip)
        thickness = (swept.blank.width if layup.flip else swept.blank.depth) / layup.count
        joints = joints_at(curve.length, thickness, layup.longest, number, layup.over)
        edge = _needed(swept, layup, number)
        pieces = _pieces(layup, number, thickness, curve, edge, joints)
        parts += pieces
        width = float((edge[1] - edge[0]).max())
        names = tuple(p.id for p in pieces if not p.id.endswith("-S"))
        plies.append(Ply(number, thickness, width, curve.length, joints, names))
    return tuple(plies), tuple(parts)


def joints_at(
    length: float, thickness: float, longest: float, number: int, over: tuple[float, float] = (LONGER, LONGER)
) -> tuple[float, ...]:
    """Middles of the scarfs of one ply, mm from its after end: even shares, pushed fore and aft by turns so that
    neighbours stand apart.

    >>> joints_at(3000.0, 6.0, 4000.0, 1), joints_at(6000.0, 6.0, 4000.0, 1), joints_at(6000.0, 6.0, 4000.0, 2)
    ((), (2850.0,), (3150.0,))
    """
    overlap = SLOPE * thickness
    if length + sum(over) <= longest:
        return ()
    shift = max(STAGGER, 2.0 * overlap) / 2 * (-1.0 if number % 2 else 1.0)
    for count in range(2, 40):
        joints = [length * k / count + shift for k in range(1, count)]
        ends = [-over[0], *joints, length + over[1]]
        extra = [overlap / 2 + SPOIL if 0 < i < count else 0.0 for i in range(count + 1)]
        pieces = [ends[i + 1] - ends[i] + extra[i] + extra[i + 1] for i in range(count)]
        if max(pieces) <= longest:
            return tuple(joints)
    return ()


def _needed(swept: Swept, layup: Layup, number: int) -> tuple[Floats, Floats]:
    """(n,) lower and upper edge of the finished section inside one ply, across it, mm from the blank's middle (or
    from its outer face, for plies on edge)."""
    blank = swept.blank
    away = swept.corners - blank.outer[:, None]
    across = np.einsum("nkj,nj->nk", away, blank.across)
    deep = np.einsum("nkj,nj->nk", away, blank.deep)
    wide, through = (deep, across + blank.width / 2) if layup.flip else (across, blank.depth - deep)
    t = (blank.width if layup.flip else blank.depth) / layup.count
    low, high = (number - 1) * t, number * t
    found = np.full((2, len(away)), np.nan)
    for i in range(len(away)):
        inside = _between(np.stack([through[i], wide[i]], axis=-1), low, high)
        if len(inside):
            found[:, i] = inside.min(), inside.max()
    return _filled(found[0]), _filled(found[1])


def _between(ring: Floats, low: float, high: float) -> Floats:
    """Second coordinates of all corners of a ring between two levels of its first."""
    after = np.roll(ring, -1, axis=0)
    rows = [ring[(ring[:, 0] >= low - 1e-9) & (ring[:, 0] <= high + 1e-9), 1]]
    for level in (low, high):
        cross = (ring[:, 0] - level) * (after[:, 0] - level) < 0
        share = (level - ring[cross, 0]) / (after[cross, 0] - ring[cross, 0])
        rows.append(ring[cross, 1] + share * (after[cross, 1] - ring[cross, 1]))
    return np.concatenate(rows)


def _filled(values: Floats) -> Floats:
    """Stations where the section does not reach into the ply take their neighbours' edge."""
    known = np.flatnonzero(np.isfinite(values))
    if not len(known):
        return np.zeros(len(values))
    return np.interp(np.arange(len(values)), known, values[known])


def _pieces(
    layup: Layup, number: int, thickness: float, curve: Curve, edge: tuple[Floats, Floats], joints: tuple[float, ...]
) -> list[Part]:
    low, high = edge
    low, high = low - WIDER / 2, high + WIDER / 2
    thin = high - low < LEAST_WIDTH
    middle = (low + high) / 2
    low, high = np.where(thin, middle - LEAST_WIDTH / 2, low), np.where(thin, middle + LEAST_WIDTH / 2, high)
    if np.ptp(low) < EVEN and np.ptp(high) < EVEN:
        low, high = np.full_like(low, low.min()), np.full_like(high, high.max())
    overlap = SLOPE * thickness
    stops = [-layup.over[0], *joints, curve.length + layup.over[1]]
    made = []
    for i in range(len(stops) - 1):
        grow = overlap / 2 + SPOIL
        a = stops[i] - (grow if i else 0.0)
        b = stops[i + 1] + (grow if i < len(joints) else 0.0)
        name = f"{layup.name}-{number}{'abcdefghij'[i] if joints else ''}"
        made += _mates(layup, name, (a, b), curve, (low, high, thickness))
    return made


def _mates(
    layup: Layup, name: str, span: tuple[float, float], curve: Curve, size: tuple[Floats, Floats, float]
) -> list[Part]:
    """The piece, and its twin for the other side.  size : lower edge, upper edge, thickness"""
    inner = curve.run[(curve.run > span[0]) & (curve.run < span[1])]
    x = np.concatenate([[span[0]], inner, [span[1]]])
    low, high = (np.interp(x, curve.run, e) for e in size[:2])
    bottom = thin_line(_outer_hull(np.stack([x, low], axis=-1), -1.0), 0.05, 1e6)
    top = thin_line(_outer_hull(np.stack([x, high], axis=-1), 1.0), 0.05, 1e6)
    ring = np.concatenate([bottom, top[::-1]])
    shift = np.array([ring[:, 0].min(), ring[:, 1].min()])
    ring = np.round(as_ccw(ring - shift), 3)
    tags = ("-P", "-S") if layup.mirrored else ("",)
    return [
        Part(
            id=f"{name}{tag}",
            outline=ring if tag != "-S" else np.round(as_ccw(ring * [1.0, -1.0] + [0.0, np.ptp(ring[:, 1])]), 3),
            thickness=round(size[2], 3),
            species=layup.species,
            may_flip=True,
            mate=f"{name}{'-S' if tag == '-P' else '-P'}" if layup.mirrored else None,
            quality="sound",
            stage=1,
        )
        for tag in tags
    ]


def _outer_hull(points: Floats, side: float) -> Floats:
    """The points that a straight edge laid on from outside would touch: a ply is ripped with straight saw cuts."""
    kept: list[Floats] = []
    for p in points:
        while len(kept) > 1:
            a, b = kept[-2], kept[-1]
            if side * ((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])) >= 0:
                kept.pop()
            else:
                break
        kept.append(p)
    return np.array(kept)
