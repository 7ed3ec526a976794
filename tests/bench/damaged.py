"""A clean hull to damage, the damaged mesh, and the tools that damages share.

clean     a hull of our own invention: a tender with a pointed stem and a sinking chine, or a hull with a straight
          chine and no stem; sizes and triangles differ with the seed

Meshes are arrays (n, 3) mm and (m, 3).
"""

from __future__ import annotations

import importlib.util
from dataclasses import dataclass, field
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
from scipy.spatial import KDTree

from strakewright.arrays import Floats, Ints
from strakewright.geometry.meshes import edges
from strakewright.geometry.surface import foot_points
from strakewright.hull import Hull, Panel
from strakewright.loft.hulls import loft_hull
from strakewright.settings import HullSettings
from strakewright.triangles import TriangleMesh
from tests import exact_hulls as exact
from tests.exact_meshes import Make, Mesh

Rng = np.random.Generator


_HERE = Path(__file__).parents[2]


@dataclass(frozen=True, eq=False)
class Damaged:
    """mesh : as in the file;  keys : of the boat file's [hull];  kind : of file (off, stl);
    refusal : words of which one must stand in a refusal, if it is refused"""

    mesh: Mesh
    keys: dict[str, Any] = field(default_factory=dict)
    kind: str = "off"
    scale: float = 1.0
    refusal: tuple[str, ...] = ()
    text: bytes | None = None


@dataclass(frozen=True, eq=False)
class Clean:
    """half : the port half, without lids;  truth : what the clean hull lofts to"""

    half: Mesh
    whole: Mesh
    truth: Hull

    def chain(self, *names: str) -> Ints:
        """Corners of the half's rim that lie on borders of these names, in the order of the lines."""
        vertices, triangles = self.half
        net = edges(triangles)
        rim = np.unique(net.ends[net.border])
        shift = np.array([vertices[:, 0].min(), 0.0, 0.0])
        found: list[int] = []
        for panel in self.truth.panels:
            for border, _ in panel.ring():
                if border.name in names:
                    line = panel.in_space(border) + shift
                    off, at = KDTree(line).query(vertices[rim])
                    on = np.flatnonzero(off < 12.0)
                    on = on[off_line(vertices[rim[on]], line) < 0.05]
                    found += [int(c) for c in rim[on[np.argsort(at[on])]] if int(c) not in found]
        return np.array(found)

    def onto(self, points: Floats) -> Floats:
        """Points moved to the nearest place on the true surface."""
        shift = np.array([self.half[0][:, 0].min(), 0.0, 0.0])
        spots = np.stack([feet(panel, points - shift) for panel in self.truth.panels]) + shift
        far = np.linalg.norm(spots - points, axis=2)
        return spots[far.argmin(axis=0), np.arange(len(points))]


def off_line(points: Floats, line: Floats) -> Floats:
    near = KDTree(line).query(points)[1]
    best = np.full(len(points), np.inf)
    for i in (-1, 0):
        k = np.clip(near + i, 0, len(line) - 2)
        a, b = line[k], line[k + 1]
        share = np.clip(((points - a) * (b - a)).sum(1) / np.maximum(((b - a) ** 2).sum(1), 1e-12), 0, 1)
        best = np.minimum(best, np.linalg.norm(points - a - share[:, None] * (b - a), axis=1))
    return best


def feet(panel: Panel, points: Floats) -> Floats:
    ring = np.concatenate([chart for _, chart in panel.ring()])
    low, high = ring.min(axis=0), ring.max(axis=0)
    p, q = np.meshgrid(np.linspace(low[0], high[0], 90), np.linspace(low[1], high[1], 24))
    grid = np.stack([p.ravel(), q.ravel()], axis=1)
    start = grid[KDTree(panel.patch.at(grid)).query(points)[1]]
    return panel.patch.at(foot_points(panel.patch, points, start))


def samples() -> ModuleType:
    """The maker of the sample hulls."""
    spec = importlib.util.spec_from_file_location("sample_make", _HERE / "sample_hulls" / "make.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def clean(seed: int, cell: float = 75.0) -> Clean:
    """A clean hull: of even seeds with a stem, of odd ones without."""
    rng = np.random.default_rng([seed, 17])
    make = samples()
    if seed % 2 == 0:
        size = rng.uniform(0.9, 1.1, 3)
        lines = [make.line([tuple(np.array(p) * size) for p in points]) for points in make.TEASEL]
        half = make.welded([make.skin(lines, cell, seed)[0]])
    else:
        shape = exact.RunningChine(length=5600.0 * rng.uniform(0.85, 1.1), least=rng.uniform(17.0, 22.0))
        half = shape.mesh(Make(triangles=round(2 * 5.2e6 / cell**2), whole=False, seed=seed))
    whole = make.welded([make.mirrored(half)])
    keys = HullSettings(Path("clean"), "mm", 1.0, crease_deg=12.0)
    return Clean(half, whole, loft_hull(TriangleMesh(*whole), keys, "clean"))


def off_text(mesh: Mesh) -> bytes:
    """A mesh as OFF, numbers in full."""
    vertices, triangles = mesh
    rows = ["OFF", f"{len(vertices)} {len(triangles)} 0"]
    rows += [" ".join(repr(float(c)) for c in v) for v in vertices]
    rows += [f"3 {a} {b} {c}" for a, b, c in triangles]
    return ("\n".join(rows) + "\n").encode()


def both_sides(half: Mesh) -> Mesh:
    make = samples()
    return welded(make.mirrored(half))


def welded(mesh: Mesh) -> Mesh:
    vertices, triangles = mesh
    _, first, back = np.unique(np.round(vertices, 6) + 0.0, axis=0, return_index=True, return_inverse=True)
    return vertices[first], back.reshape(-1)[triangles]


def own(vertices: Floats, triangles: Ints) -> Mesh:
    used, own = np.unique(triangles, return_inverse=True)
    return vertices[used], own.reshape(-1, 3)


def together(*meshes: Mesh) -> Mesh:
    starts = np.cumsum([0, *(len(v) for v, _ in meshes)])
    return (
        np.concatenate([v for v, _ in meshes]),
        np.concatenate([t + s for (_, t), s in zip(meshes, starts, strict=False)]),
    )


def box(centre: Floats, size: Floats) -> Mesh:
    import trimesh

    box = trimesh.creation.box(extents=size)
    return np.asarray(box.vertices) + centre, np.asarray(box.faces, dtype=np.int64)


def deck(hull: Clean) -> Mesh:
    edge = hull.half[0][hull.chain("sheer")]
    n = len(edge)
    middle = edge * [1.0, 0.0, 1.0] + np.outer(0.05 * edge[:, 1], [0.0, 0.0, 1.0])
    vertices = np.concatenate([edge, middle, edge * [1.0, -1.0, 1.0]])
    i = np.arange(n - 1)
    quads = [np.stack([i + k, i + 1 + k, i + n + k], 1) for k in (0, n)]
    quads += [np.stack([i + 1 + k, i + n + 1 + k, i + n + k], 1) for k in (0, n)]
    return clean_faces(vertices, np.concatenate(quads))


def transom_lid(hull: Clean) -> Mesh:
    """The after end closed by a strip from port to starboard."""
    edge = hull.half[0][hull.chain("transom")]
    n = len(edge)
    both = np.concatenate([edge, edge * [1.0, -1.0, 1.0]])
    i = np.arange(n - 1)
    quads = np.concatenate([np.stack([i, i + n, i + 1], 1), np.stack([i + 1, i + n, i + n + 1], 1)])
    return clean_faces(both, quads)


def clean_faces(vertices: Floats, triangles: Ints) -> Mesh:
    a, b, c = vertices[triangles.T]
    return vertices, triangles[np.linalg.norm(np.cross(b - a, c - a), axis=1) > 1e-3]
