"""Triangle meshes of surfaces given as functions: irregular, with exact vertices.

The triangulation is a jittered grid, so nothing lines up by chance; vertices are on the surface to rounding.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np

from strakewright.arrays import Floats, Ints

Mesh = tuple[Floats, Ints]
Face = Callable[[Floats, Floats], Floats]


@dataclass(frozen=True)
class Make:
    """How a test mesh is made.  triangles : wanted number, about, for the skin as made (whole or half)

    jitter : share of a cell by which inner points are moved;  deck, transom : lids added (whole hulls)
    """

    triangles: int = 16000
    whole: bool = True
    deck: bool = False
    transom: bool = False
    jitter: float = 0.25
    seed: int = 7


WHOLE = Make()


def hull_of(faces: Sequence[Face], make: Make) -> Mesh:
    """Port faces from the keel up sharing their long edges, then the mirror and the lids."""
    rng = np.random.default_rng(make.seed)
    length, girths = _sizes(faces)
    budget = make.triangles / (2.0 if make.whole else 1.0) / 2.0
    cell = np.sqrt(length * girths.sum() / budget)
    columns = max(round(length / cell), 3)
    u = np.linspace(0.0, 1.0, columns + 1)
    u[1:-1] += make.jitter * rng.uniform(-1, 1, columns - 1) / columns
    pieces = [_face_mesh(f, u, max(round(g / cell), 2), make.jitter, rng) for f, g in zip(faces, girths, strict=True)]
    vertices, triangles = _joined([(p[0], p[1]) for p in pieces])
    if make.whole:
        mirror = vertices * np.array([1.0, -1.0, 1.0])
        lids = _lids(pieces, make)
        vertices, triangles = _joined([(vertices, triangles), (mirror, triangles[:, ::-1]), *lids])
    return weld(vertices, triangles)


def _sizes(faces: Sequence[Face]) -> tuple[float, Floats]:
    t = np.linspace(0.0, 1.0, 41)
    along = faces[-1](t, np.full_like(t, 0.5))
    across = [f(np.full_like(t, 0.4), t) for f in faces]
    return _run(along), np.array([_run(a) for a in across])


def _run(points: Floats) -> float:
    return float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())


def _face_mesh(
    face: Face, u: Floats, rows: int, jitter: float, rng: np.random.Generator
) -> tuple[Floats, Ints, list[Ints]]:
    """Vertices, triangles and the columns of indices, each from the lower edge up."""
    columns: list[Ints] = []
    us: list[Floats] = []
    vs: list[Floats] = []
    start = 0
    for i, here in enumerate(u):
        v = np.linspace(0.0, 1.0, rows + 1)
        v[1:-1] += jitter * rng.uniform(-1, 1, rows - 1) / rows
        at = np.full(rows + 1, here)
        if 0 < i < len(u) - 1:
            at[1:-1] += 0.6 * jitter * rng.uniform(-1, 1, rows - 1) / (len(u) - 1)
        columns.append(np.arange(start, start + rows + 1))
        us.append(at)
        vs.append(v)
        start += rows + 1
    v_all = np.concatenate(vs)
    strips = [_zip(a, b, v_all) for a, b in pairwise(columns)]
    return face(np.concatenate(us), v_all), np.concatenate(strips), columns


def _zip(left: Ints, right: Ints, v: Floats) -> Ints:
    """Triangles between two columns, always stepping on the side that lies lower; normals to -(u x v)."""
    i = j = 0
    out: list[tuple[int, int, int]] = []
    while i < len(left) - 1 or j < len(right) - 1:
        up_left = j == len(right) - 1 or (i < len(left) - 1 and v[left[i + 1]] <= v[right[j + 1]])
        if up_left:
            out.append((int(left[i]), int(left[i + 1]), int(right[j])))
            i += 1
        else:
            out.append((int(left[i]), int(right[j + 1]), int(right[j])))
            j += 1
    return np.array(out)


def _lids(pieces: Sequence[tuple[Floats, Ints, list[Ints]]], make: Make) -> list[Mesh]:
    lids: list[Mesh] = []
    if make.deck:
        points, _, columns = pieces[-1]
        lids.append(_band(points[[c[-1] for c in columns]]))
    if make.transom:
        edge = np.concatenate([points[columns[0]] for points, _, columns in pieces])
        lids.append(_band(edge))
    return lids


def _band(edge: Floats) -> Mesh:
    """Strip from a port edge to its mirror image."""
    n = len(edge)
    i = np.arange(n - 1)
    quads = np.stack([i, i + n, i + 1, i + 1, i + n, i + n + 1], axis=1).reshape(-1, 3)
    return np.concatenate([edge, edge * np.array([1.0, -1.0, 1.0])]), quads


def _joined(meshes: Sequence[Mesh]) -> Mesh:
    starts = np.cumsum([0, *(len(v) for v, _ in meshes)])
    return (
        np.concatenate([v for v, _ in meshes]),
        np.concatenate([t + s for (_, t), s in zip(meshes, starts, strict=False)]),
    )


def weld(vertices: Floats, triangles: Ints) -> Mesh:
    """One vertex for points nearer than 1e-6 mm; faces that fold to nothing are left out."""
    _, first, back = np.unique(np.round(vertices, 6), axis=0, return_index=True, return_inverse=True)
    t = back.reshape(-1)[triangles]
    kept = vertices[first]
    a, b, c = kept[t.T]
    return kept, t[np.linalg.norm(np.cross(b - a, c - a), axis=1) > 1e-6]


def write_mesh(path: Path, mesh: Mesh) -> Path:
    """Write a mesh by the suffix of `path` (.ply and .stl binary, .obj text); returns `path`."""
    import trimesh

    vertices, triangles = mesh
    trimesh.Trimesh(vertices, triangles, process=False).export(path)
    return path
