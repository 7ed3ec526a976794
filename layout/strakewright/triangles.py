"""Triangles as read from a file, before anything is known about the boat.

mesh      corners and the triangles between them, in the file's own axes and unit
group     a named part of the file (a body, a layer, an object)
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike

from strakewright.arrays import Floats, Ints, frozen_array
from strakewright.errors import Finding


def _frozen_indices(values: ArrayLike, limit: int) -> Ints:
    array = np.array(values, dtype=np.int64)
    if array.ndim != 2 or array.shape[1] != 3:
        raise ValueError(f"triangles: expected shape (m, 3), got {array.shape}")
    if array.size and (array.min() < 0 or array.max() >= limit):
        raise ValueError("triangles: a triangle names a vertex that does not exist")
    array.setflags(write=False)
    return array


@dataclass(frozen=True, eq=False)
class TriangleMesh:
    """vertices : (n, 3) in the file's unit;  triangles : (m, 3) vertex numbers

    source : file name for messages;  findings : what was mended on the way in
    groups : names of the file's groups and objects;  group : (m,) which of them each triangle belongs to
    """

    vertices: Floats
    triangles: Ints
    groups: tuple[str, ...] = ()
    source: str = "mesh"
    findings: tuple[Finding, ...] = field(default=())
    group: Ints | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "vertices", frozen_array(self.vertices, (None, 3), "vertices"))
        object.__setattr__(self, "triangles", _frozen_indices(self.triangles, len(self.vertices)))
