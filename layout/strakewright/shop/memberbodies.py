"""Members as solids in their places, port and starboard.

A run's body is ruled from section to section; its ends are flat.  A sawn piece is a prism on its outline.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from strakewright.arrays import Floats, Ints
from strakewright.geometry.regions import triangulated
from strakewright.members import Member, Sawn, Swept
from strakewright.solids import Body, volume

STEP = 4  # stations between sections of the body: for looking at, within 0.1 mm of the finest
MIRROR = np.array([1.0, -1.0, 1.0])


def member_bodies(members: Iterable[Member], sawn: Iterable[Sawn], every: int = STEP) -> tuple[Body, ...]:
    """A body for every member and sawn piece, with its twin.  every : stations between sections"""
    found = [body for m in members for body in _twins(run_body(m, every), m.where)]
    return (*found, *(body for s in sawn for body in _twins(sawn_body(s), s.where)))


def run_body(member: Member, every: int = STEP) -> Body:
    """The finished member, port piece or whole."""
    plies = f"{len(member.plies)} plies of {member.plies[0].thickness:.1f} mm" if len(member.plies) > 1 else "solid"
    info = {
        "piece": "member",
        "place": f"{member.place} the planking",
        "along": member.along,
        "species": member.species,
        "size": f"{member.sided:g} x {member.moulded:g} mm, {plies}",
        "bend": "straight" if member.bend.flat is None else f"R {member.bend.flat / 1000:.2f} m",
        "twist": f"{np.rad2deg(member.bend.twist) * 1000:.1f} deg/m",
    }
    return _outward(Body(member.name, *swept_mesh(member.swept, every), info))


def swept_mesh(swept: Swept, every: int = 1) -> tuple[Floats, Ints]:
    """Walls from section to section, ends closed by a fan; outward where corners run counter-clockwise from ahead."""
    rings = np.concatenate([swept.corners[:-1:every], swept.corners[-1:]])
    n, k = rings.shape[:2]
    index = np.arange(n * k, dtype=np.int64).reshape(n, k)
    here, after = index[:-1], np.roll(index, -1, axis=1)[:-1]
    ahead, beyond = index[1:], np.roll(index, -1, axis=1)[1:]
    walls = np.concatenate([np.stack([here, after, ahead], axis=-1), np.stack([after, beyond, ahead], axis=-1)])
    fan = np.stack([np.zeros(k - 2, dtype=np.int64), np.arange(1, k - 1), np.arange(2, k)], axis=-1)
    ends = np.concatenate([index[0][fan][:, ::-1], index[-1][fan]])
    return rings.reshape(-1, 3), np.concatenate([walls.reshape(-1, 3), ends])


def sawn_body(piece: Sawn) -> Body:
    """A sawn piece as a prism, square edged."""
    info = {
        "piece": "sawn member",
        "place": f"{piece.place} the planking",
        "species": piece.species,
        "size": f"{piece.thickness:g} mm thick",
    }
    return _outward(Body(piece.name, *sawn_mesh(piece), info))


def sawn_mesh(piece: Sawn) -> tuple[Floats, Ints]:
    """The outline stood up to the piece's thickness in its plane."""
    flat = piece.outline
    there = piece.corner + flat[:, :1] * piece.along + flat[:, 1:] * piece.up
    half = piece.thickness / 2 * np.cross(piece.along, piece.up)
    triangles = triangulated(flat)
    n = len(flat)
    rim, after = np.arange(n), np.roll(np.arange(n), -1)
    walls = np.concatenate([np.column_stack([rim, after, after + n]), np.column_stack([rim, after + n, rim + n])])
    return np.concatenate([there - half, there + half]), np.concatenate([triangles[:, ::-1], triangles + n, walls])


def _outward(body: Body) -> Body:
    if volume(body) >= 0:
        return body
    return Body(body.name, body.vertices, body.triangles[:, ::-1], body.info)


def _twins(body: Body, where: str) -> list[Body]:
    if where == "centre":
        return [body]
    info = dict(body.info)
    twin = Body(f"{body.name} starboard", body.vertices * MIRROR, body.triangles[:, ::-1], info | {"side": "starboard"})
    return [Body(f"{body.name} port", body.vertices, body.triangles, info | {"side": "port"}), twin]
