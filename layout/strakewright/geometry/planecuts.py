"""Lines in which planes cut a patch: waterlines, buttocks, diagonals and sections, for drawings.

mesh      the patch inside its ring as triangles, fine enough for the eye; crossings lie on the patch itself

Method: Delaunay triangles over chart points (B. Delaunay 1934, by qhull), crossed by the plane.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.spatial import Delaunay

from strakewright.arrays import Floats, Ints
from strakewright.geometry.contours import level_lines
from strakewright.geometry.outlines import contains
from strakewright.geometry.surface import Patch

CELL = 40.0  # mm


@dataclass(frozen=True, eq=False)
class CutMesh:
    """chart : (n, 2) mm;  space : (n, 3) mm;  triangles : (m, 3)"""

    patch: Patch
    chart: Floats
    space: Floats
    triangles: Ints

    def cut(self, normal: Floats, level: float) -> list[Floats]:
        """(k, 3) polylines on the patch where normal . r = level (mm for a unit normal)."""
        lines = level_lines(self.chart, self.triangles, self.space @ normal, level)
        return [self.patch.at(line) for line in lines]


def cut_mesh(patch: Patch, ring: Floats) -> CutMesh:
    """The part of a patch inside a ring, ready for planes.  ring : (m, 2) chart points, first not repeated"""
    step = max(1, round(len(ring) / 800))
    border = ring[::step]
    low, high = ring.min(axis=0), ring.max(axis=0)
    p, q = (np.arange(a, b, min(CELL, (b - a) / 12)) for a, b in zip(low, high, strict=True))
    grid = np.stack(np.meshgrid(p, q, indexing="ij"), axis=-1).reshape(-1, 2)
    chart = np.concatenate([border, grid[contains(ring, grid)]])
    triangles = Delaunay(chart).simplices.astype(np.int64)
    middle = chart[triangles].mean(axis=1)
    triangles = triangles[contains(ring, middle)]
    return CutMesh(patch, chart, patch.at(chart), triangles)
