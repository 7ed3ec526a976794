"""Members as solids to be weighed: swept sections and sawn pieces, both sides of the boat.

Source: derived. Ends of a sweep are closed by a fan from the first corner, exact for sections without hollows.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from strakewright.arrays import Floats, Ints
from strakewright.members import Member, Sawn, Swept
from strakewright.solids import Body

MIRROR = np.array([1.0, -1.0, 1.0])


def member_bodies(members: Iterable[Member], sawn: Iterable[Sawn]) -> list[Body]:
    """A body for every member and sawn piece; those of the port side also for starboard."""
    found: list[Body] = []
    for member in members:
        found += _sides(member.name, swept_mesh(member.swept), member.species, member.where == "port")
    for piece in sawn:
        found += _sides(piece.name, sawn_mesh(piece), piece.species, piece.where == "port")
    return found


def _sides(name: str, mesh: tuple[Floats, Ints], wood: str, both: bool) -> list[Body]:
    vertices, triangles = mesh
    info = {"species": wood}
    port = Body(name, vertices, triangles, info)
    return [port, Body(f"{name} starboard", vertices * MIRROR, triangles[:, ::-1], info)] if both else [port]


def swept_mesh(swept: Swept) -> tuple[Floats, Ints]:
    """Walls from station to station and both ends; outward where corners run counter-clockwise seen from forward."""
    n, k, _ = swept.corners.shape
    index = np.arange(n * k).reshape(n, k)
    here, after = index[:-1], np.roll(index, -1, axis=1)[:-1]
    ahead, beyond = index[1:], np.roll(index, -1, axis=1)[1:]
    walls = np.concatenate([np.stack([here, after, ahead], axis=-1), np.stack([after, beyond, ahead], axis=-1)])
    fan = np.stack([np.zeros(k - 2, dtype=np.int64), np.arange(1, k - 1), np.arange(2, k)], axis=-1)
    ends = np.concatenate([index[0][fan][:, ::-1], index[-1][fan]])
    return swept.corners.reshape(-1, 3), np.concatenate([walls.reshape(-1, 3), ends])


def sawn_mesh(piece: Sawn) -> tuple[Floats, Ints]:
    """The piece's outline stood up to its thickness in its plane (the fan is exact for volume and balance, whatever
    the outline: what it counts twice it takes off again)."""
    n = len(piece.outline)
    flat = piece.corner + piece.outline[:, :1] * piece.along + piece.outline[:, 1:] * piece.up
    out = np.cross(piece.along, piece.up) * piece.thickness / 2
    rim, after = np.arange(n), np.roll(np.arange(n), -1)
    walls = np.concatenate([np.stack([rim, after, after + n], axis=-1), np.stack([rim, after + n, rim + n], axis=-1)])
    fan = np.stack([np.zeros(n - 2, dtype=np.int64), np.arange(1, n - 1), np.arange(2, n)], axis=-1)
    return np.concatenate([flat - out, flat + out]), np.concatenate([fan[:, ::-1], fan + n, walls])
