"""Short ways to loft a test mesh."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from strakewright.arrays import Floats, Ints
from strakewright.hull import Border, Hull, Panel
from strakewright.loft.hulls import loft_hull
from strakewright.settings import HullSettings
from strakewright.triangles import TriangleMesh


def settings(scale: float = 1.0, **keys: Any) -> HullSettings:
    return HullSettings(Path("hull.ply"), "mm" if scale == 1.0 else "other", scale, **keys)


def lofted(mesh: tuple[Floats, Ints], scale: float = 1.0, **keys: Any) -> Hull:
    return loft_hull(TriangleMesh(*mesh), settings(scale, **keys), "test hull")


def inside(panel: Panel, count: int = 4000) -> Floats:
    """(n, 3) points of the patch spread over the panel, borders included."""
    import shapely

    ring = np.concatenate([points for _, points in panel.ring()])
    low, high = ring.min(axis=0), ring.max(axis=0)
    spread = np.random.default_rng(1).uniform(low, high, (3 * count, 2))
    polygon = shapely.Polygon(ring)
    shapely.prepare(polygon)
    within = spread[shapely.contains_xy(polygon, spread[:, 0], spread[:, 1])][:count]
    assert len(within) > count / 4
    return panel.patch.at(np.concatenate([within, ring]))


def space(panel: Panel, name: str) -> Floats:
    """(n, 3) the points of a border by its name."""
    return panel.in_space(border(panel, name))


def border(panel: Panel, name: str) -> Border:
    return next(b for b, _ in panel.ring() if b.name == name)


def codes(hull: Hull) -> set[str]:
    return {f.code for f in hull.findings}
