"""Which meshes may be laid flat: one open piece, without handles, and no closed ring.

handle    a loop of the surface that can be cut without parting it, such as that of a cup
ring      a surface that closes on itself, such as a pipe; a patch with a hole in it is none

Method: Euler's count of corners, edges and triangles; a border turns once round a patch, backwards round a hole
(Gauss-Bonnet).
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from strakewright.arrays import Floats, Ints
from strakewright.errors import InputError, UnworkableError
from strakewright.geometry.meshes import Edges, border_loops, components

Complex: TypeAlias = NDArray[np.complex128]

_RING_OPEN = 0.5  # rad by which the turning about a hole may miss a full turn


def check_mesh(vertices: Floats, triangles: Ints) -> None:
    """Refuse arrays that are no triangle mesh."""
    if vertices.ndim != 2 or vertices.shape[1] != 3 or triangles.ndim != 2 or triangles.shape[1] != 3:
        raise InputError(f"no triangle mesh: {vertices.shape} corners, {triangles.shape} triangles")
    if len(triangles) == 0 or not np.isfinite(vertices).all():
        raise InputError("the mesh is empty or a coordinate is not a number", fix="Check the file")
    used = np.zeros(len(vertices), dtype=bool)
    if triangles.min() < 0 or triangles.max() >= len(vertices):
        raise InputError("a triangle names a corner that does not exist", fix="Check the file")
    used[triangles] = True
    a, b, c = vertices[triangles.T]
    if ((a == b) & (b == c)).all(axis=1).any():
        raise InputError("a triangle has all its corners in one place", fix="Weld the mesh first")
    if not used.all():
        raise InputError(f"{np.count_nonzero(~used)} corners belong to no triangle", fix="Weld the mesh first")


def open_borders(triangles: Ints, net: Edges, corners: Complex) -> tuple[Ints, ...]:
    """The rings of its border.  Refuses what has no flat shape: several pieces, closed surfaces, handles, rings."""
    pieces = int(components(len(triangles), net).max()) + 1
    if pieces > 1:
        raise UnworkableError(f"{pieces} separate pieces", fix="Unroll each piece by itself")
    loops = border_loops(triangles, net)
    if not loops:
        raise UnworkableError("a closed surface has no flat shape", fix="Cut it open along a line")
    count = int(triangles.max()) + 1
    if count - len(net.ends) + len(triangles) != 2 - len(loops):
        raise UnworkableError("the surface has a handle", fix="Cut it into pieces without one")
    if len(loops) == 1:
        return loops
    turning = _turning(triangles, corners, loops)
    outer = int(np.argmax(turning))
    short = np.abs(np.delete(turning, outer) + 2 * np.pi)
    if (short > _RING_OPEN).any():
        raise UnworkableError("the surface is a closed ring", fix="Cut it open along a line from border to border")
    return loops


def _turning(triangles: Ints, corners: Complex, loops: tuple[Ints, ...]) -> Floats:
    """Turn of each border loop in the surface, rad: +2 pi round a flat patch, -2 pi round a hole in it."""
    onward, back = np.roll(corners, -1, axis=1) - corners, np.roll(corners, 1, axis=1) - corners
    inner = np.bincount(triangles.ravel(), np.angle(back / onward).ravel())
    return np.array([float(np.sum(np.pi - inner[loop])) for loop in loops])
