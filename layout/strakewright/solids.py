"""Pieces of the boat as solids in their places: for looking at, for weighing, and for finding what is in the way.

body      a closed shape of triangles with what is to be read when it is picked

Volume and centroid are sums over the tetrahedra between the origin and each triangle (divergence theorem).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from strakewright.arrays import Floats, Ints, frozen_array


@dataclass(frozen=True, eq=False)
class Body:
    """vertices : (n, 3) mm, x forward, y to port, z up;  triangles : (m, 3), counter-clockwise from outside.

    info : what is shown, such as side, panel, layer, verdict, board
    """

    name: str
    vertices: Floats
    triangles: Ints
    info: Mapping[str, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        object.__setattr__(self, "vertices", frozen_array(self.vertices, (None, 3), f"body {self.name!r}"))


def volume(body: Body) -> float:
    """mm3 enclosed; negative when the triangles are turned inside out.

    >>> corners = [[0, 0, 0], [2, 0, 0], [0, 3, 0], [0, 0, 5]]
    >>> volume(Body("wedge", np.array(corners, float), np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]])))
    5.0
    """
    return float(_sixths(body).sum() / 6.0)


def centroid(body: Body) -> Floats:
    """(3,) mm, where a body of one wood balances.  Raises ValueError for a body without volume."""
    sixths = _sixths(body)
    total = float(sixths.sum())
    if abs(total) < 1e-9:
        raise ValueError(f"body {body.name!r} encloses nothing")
    middles = _about(body)[body.triangles].sum(axis=1) / 4.0
    return np.asarray(sixths @ middles / total + body.vertices.mean(axis=0))


def _about(body: Body) -> Floats:
    """The corners from the body's own middle: small numbers lose nothing."""
    return np.asarray(body.vertices - body.vertices.mean(axis=0))


def _sixths(body: Body) -> Floats:
    """(m,) six times the volume of each triangle's tetrahedron."""
    a, b, c = np.moveaxis(_about(body)[body.triangles], 1, 0)
    return np.asarray(np.einsum("ij,ij->i", a, np.cross(b, c)))
