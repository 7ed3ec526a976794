"""Makes the meshes of the three sample boats.  All three are invented: no drawing and no boat stands behind them.

Run it with `python sample_hulls/make.py`; the files it writes are the committed ones.

line     one of the boat's edge lines (keel, chine, sheer): a spline hung on a few points x, y, z, from aft forward
panel    straight lines drawn between two neighbouring lines, from after end to stem
bend     radius of a curved transom about its raked middle line; the skin runs on aft, or ends short, to meet it
skin     jittered triangles with their corners exactly on the panels

Teasel     5.85 m skiff, whole hull in mm
Corncrake  7.3 m launch with two chines, port half in metres, bow towards -x
Sallow     4.1 m pram-bowed punt, closed by a deck and two transoms, in inches, 3 mm off centre
"""

from __future__ import annotations

import struct
from collections.abc import Callable, Sequence
from itertools import pairwise
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import BSpline

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Mesh = tuple[Floats, Ints]
HERE = Path(__file__).parent
CELL = 30.0  # mm, size of Sallow's triangles
MIRROR = np.array([1.0, -1.0, 1.0])

# lines in mm, each from the keel up: x forward, y out from the centreline, z up from the base line

TEASEL = (
    [(129, 0, 60), (1050, 0, 22), (2150, 0, 0), (3250, 0, 0), (4250, 0, -10), (5080, 0, 60), (5560, 0, 560)],
    [
        (106, 745, 205),
        (1050, 775, 190),
        (2150, 790, 182),
        (3250, 700, 196),
        (4250, 510, 262),
        (4960, 245, 385),
        (5560, 0, 560),
    ],
    [
        (0, 870, 705),
        (1000, 935, 680),
        (2200, 980, 668),
        (3400, 960, 690),
        (4500, 740, 765),
        (5200, 395, 860),
        (5850, 0, 960),
    ],
)
CORNCRAKE = (
    [
        (210, 0, 330),
        (1450, 0, 180),
        (2750, 0, 60),
        (4100, 0, 20),
        (5500, 0, 20),
        (6400, 0, 10),
        (7000, 0, 30),
        (7300, 0, 480),
    ],
    [
        (150, 690, 560),
        (1400, 790, 430),
        (2750, 850, 340),
        (4100, 830, 300),
        (5400, 650, 290),
        (6400, 320, 350),
        (6950, 125, 430),
        (7300, 0, 480),
    ],
    [
        (95, 860, 800),
        (1350, 1000, 690),
        (2750, 1070, 620),
        (4100, 1060, 600),
        (5400, 880, 610),
        (6400, 425, 670),
        (6950, 165, 740),
        (7300, 0, 820),
    ],
    [
        (0, 930, 1220),
        (1300, 1080, 1140),
        (2750, 1160, 1100),
        (4100, 1165, 1110),
        (5400, 1000, 1180),
        (6450, 540, 1280),
        (6950, 235, 1340),
        (7300, 0, 1390),
    ],
)
CORNCRAKE_BEND = 4000.0  # mm; her sheer still ends where its line does, her keel runs on some 0.1 m
SALLOW = (
    [(70, 0, 80), (800, 0, 6), (1600, 0, -26), (2400, 0, -20), (3240, 0, 36), (3920, 0, 190)],
    [(70, 430, 80), (800, 500, 6), (1600, 545, -26), (2400, 535, -20), (3240, 440, 36), (3920, 300, 190)],
    [(0, 530, 420), (780, 610, 380), (1600, 660, 355), (2430, 650, 360), (3350, 540, 410), (4100, 380, 500)],
)


def line(points: Sequence[tuple[float, float, float]]) -> BSpline:
    """Quintic spline hung on points (not through the inner ones, so it is always fair)."""
    inner = np.linspace(0.0, 1.0, len(points) - 4)
    return BSpline(np.concatenate([[0.0] * 5, inner, [1.0] * 5]), np.array(points, dtype=float), 5)


def ends_on(lines: Sequence[BSpline], bend: float) -> Callable[[BSpline, BSpline, Floats], Floats]:
    """Where straight lines across a panel, at shares v from its lower line, come to a transom of that radius.

    Its raked middle line is as steep as a line from keel to sheer; the sheer's after end lies on it.
    """
    keel, sheer = lines[0](0.0), lines[-1](0.0)
    lean = (sheer[0] - keel[0]) / (sheer[2] - keel[2])
    steep = np.hypot(lean, 1.0)

    def beyond(points: Floats) -> Floats:
        """How far forward of the transom, along x.  The bend is a circle square to the raked line."""
        sag, edge = (bend - np.sqrt(bend**2 - y**2) for y in (points[:, 1], sheer[1]))
        return np.asarray(points[:, 0] - sheer[0] - lean * (points[:, 2] - sheer[2]) - steep * (sag - edge))

    def meet(low: BSpline, high: BSpline, v: Floats) -> Floats:
        u, step = np.zeros(len(v)), 1e-4
        for _ in range(20):  # Newton's way, the slope by a small step
            here = beyond(between(low, high, u, v))
            u = u - here * step / (beyond(between(low, high, u + step, v)) - here)
        return u

    return meet


def between(low: BSpline, high: BSpline, u: Floats, v: Floats) -> Floats:
    """(n, 3) points on the panel; v from the lower line (0) to the upper (1)."""
    return (1 - v)[:, None] * low(u) + v[:, None] * high(u)


def skin(lines: Sequence[BSpline], cell: float, seed: int, bend: float | None = None) -> tuple[Mesh, list[Ints]]:
    """Port skin, outward normals, and for each line the corners that lie on it."""
    meet = ends_on(lines, bend) if bend else lambda low, high, v: np.zeros(len(v))
    rng = np.random.default_rng(seed)
    columns = round(np.linalg.norm(np.diff(lines[-1](np.linspace(0, 1, 200)), axis=0), axis=1).sum() / cell)
    u = np.linspace(0, 1, columns + 1)
    u[1:-1] += rng.uniform(-0.25, 0.25, columns - 1) / columns
    starts = [meet(edge, edge, np.zeros(1))[0] for edge in lines]
    vertices = [edge(start + (1 - start) * u) for edge, start in zip(lines, starts, strict=True)]
    at = [np.arange(columns + 1) + k * (columns + 1) for k in range(len(lines))]
    count, triangles = len(lines) * (columns + 1), []
    for k, (low, high) in enumerate(pairwise(lines)):
        ladder: list[tuple[Ints, Floats]] = []
        for i, here in enumerate(u):
            girth = float(np.linalg.norm(high(here) - low(here)))
            rows = max(1, round(girth / cell)) if 0 < i < columns or girth > 1e-9 else 1
            v = np.linspace(0, 1, rows + 1)
            v[1:-1] += rng.uniform(-0.25, 0.25, rows - 1) / rows
            along = np.full(rows - 1, here)
            if 0 < i < columns:
                along += rng.uniform(-0.15, 0.15, rows - 1) / columns
            start = meet(low, high, v[1:-1])
            vertices.append(between(low, high, start + (1 - start) * along, v[1:-1]))
            ladder.append((np.array([at[k][i], *range(count, count + rows - 1), at[k + 1][i]]), v))
            count += rows - 1
        triangles += [t for left, right in pairwise(ladder) for t in zipped(left, right)]
    return (np.concatenate(vertices), np.array(triangles)), at


def zipped(left: tuple[Ints, Floats], right: tuple[Ints, Floats]) -> list[tuple[int, int, int]]:
    """Triangles between two columns of corners, stepping up on the side that lies lower."""
    (a, va), (b, vb), i, j, out = left, right, 0, 0, []
    while i < len(a) - 1 or j < len(b) - 1:
        if j == len(b) - 1 or (i < len(a) - 1 and va[i + 1] <= vb[j + 1]):
            out.append((int(a[i]), int(a[i + 1]), int(b[j])))
            i += 1
        else:
            out.append((int(a[i]), int(b[j + 1]), int(b[j])))
            j += 1
    return out


def mirrored(mesh: Mesh) -> Mesh:
    """Both sides."""
    vertices, triangles = mesh
    return np.concatenate([vertices, vertices * MIRROR]), np.concatenate(
        [triangles, triangles[:, ::-1] + len(vertices)]
    )


def lid(edge: Floats, foot: Floats, camber: float, faces: Floats) -> Mesh:
    """A deck or transom from a port edge to its mirror image, crowned by `camber`; normals towards `faces`.

    foot : shares (-1 starboard to 1 port) at which corners lie along its first row
    """
    ladder, vertices, count = [], [], 0
    for i, port in enumerate(edge):
        rows = max(1, round(2 * port[1] / CELL))
        v = np.linspace(-1, 1, rows + 1) if i or not len(foot) else foot
        rows = len(v) - 1
        points = np.outer(np.ones(rows + 1), port)
        points[:, 1] *= v
        points += np.outer(camber * (port[1] / edge[:, 1].max()) ** 2 * (1 - v**2), faces)
        vertices.append(points)
        ladder.append((np.arange(count, count + rows + 1), v))
        count += rows + 1
    points = np.concatenate(vertices)
    triangles = np.array([t for left, right in pairwise(ladder) for t in zipped(left, right)])
    a, b, c = points[triangles.T]
    out = (np.cross(b - a, c - a) @ faces).sum() > 0
    return points, triangles if out else triangles[:, ::-1]


def welded(meshes: Sequence[Mesh]) -> Mesh:
    """One mesh with shared corners and without triangles that have no area."""
    starts = np.cumsum([0, *(len(v) for v, _ in meshes)])
    vertices = np.concatenate([v for v, _ in meshes])
    triangles = np.concatenate([t + s for (_, t), s in zip(meshes, starts, strict=False)])
    _, first, back = np.unique(np.round(vertices, 6) + 0.0, axis=0, return_index=True, return_inverse=True)
    vertices, triangles = vertices[first], back.reshape(-1)[triangles]
    a, b, c = vertices[triangles.T]
    return vertices, triangles[np.linalg.norm(np.cross(b - a, c - a), axis=1) > 1e-3]


def teasel() -> Mesh:
    """Both sides, open, mm."""
    mesh, _ = skin([line(p) for p in TEASEL], 33.0, 1)
    return welded([mirrored(mesh)])


def corncrake() -> Mesh:
    """Port half, metres, bow to -x (so the file's y runs to starboard, and up stays up)."""
    vertices, triangles = welded([skin([line(p) for p in CORNCRAKE], 33.0, 2, CORNCRAKE_BEND)[0]])
    return vertices * np.array([-1e-3, -1e-3, 1e-3]), triangles


def sallow() -> Mesh:
    """Closed body in inches, shifted 3 mm to port."""
    lines = [line(p) for p in SALLOW]
    mesh, at = skin(lines, CELL, 3)
    lids = [lid(mesh[0][at[-1]], np.array([]), 25.0, np.array([0.0, 0.0, 1.0]))]
    for end, way in ((0.0, -1.0), (1.0, 1.0)):
        bottom = end_column(lines[0](end), lines[1](end), mesh[0])
        share = bottom[:, 1] / bottom[-1, 1]
        foot = np.concatenate([-share[:0:-1], share])
        lids.append(lid(end_column(lines[1](end), lines[2](end), mesh[0]), foot, 0.0, np.array([way, 0.0, 0.0])))
    vertices, triangles = welded([mirrored(mesh), *lids])
    return (vertices + np.array([0.0, 3.0, 0.0])) / 25.4, triangles


def end_column(low: Floats, high: Floats, vertices: Floats) -> Floats:
    """Corners of the port skin on the straight end from one line to the next."""
    way = high - low
    share = (vertices - low) @ way / (way @ way)
    off = np.linalg.norm(vertices - low - share[:, None] * way, axis=1)
    on = (off < 1e-6) & (share > -1e-9) & (share < 1 + 1e-9)
    return np.asarray(vertices[on][np.argsort(share[on])])


def as_ply(mesh: Mesh) -> bytes:
    """Binary PLY, single precision."""
    vertices, triangles = mesh
    head = (
        "ply\nformat binary_little_endian 1.0\ncomment invented sample hull\n"
        f"element vertex {len(vertices)}\nproperty float x\nproperty float y\nproperty float z\n"
        f"element face {len(triangles)}\nproperty list uchar int vertex_indices\nend_header\n"
    )
    rows = np.zeros(len(triangles), dtype=[("n", "u1"), ("corners", "<i4", 3)])
    rows["n"], rows["corners"] = 3, triangles
    return head.encode() + vertices.astype("<f4").tobytes() + rows.tobytes()


def as_obj(mesh: Mesh) -> bytes:
    """OBJ text, to a thousandth of a millimetre when the unit is the metre."""
    vertices, triangles = mesh
    rows = ["# invented sample hull"]
    rows += ["v " + " ".join(f"{c + 0.0:.6f}" for c in v) for v in np.round(vertices, 6) + 0.0]
    rows += ["f " + " ".join(str(i + 1) for i in t) for t in triangles]
    return ("\n".join(rows) + "\n").encode()


def as_stl(mesh: Mesh) -> bytes:
    """Binary STL."""
    vertices, triangles = mesh
    corners = vertices[triangles]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    rows = np.zeros(len(triangles), dtype=[("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("spare", "<u2")])
    rows["normal"], rows["corners"] = normal / np.linalg.norm(normal, axis=1, keepdims=True), corners
    return b"invented sample hull".ljust(80) + struct.pack("<I", len(triangles)) + rows.tobytes()


def main() -> None:
    """Write the three meshes beside their boat files."""
    for name, mesh, write in (
        ("teasel/hull.ply", teasel(), as_ply),
        ("corncrake/hull.obj", corncrake(), as_obj),
        ("sallow/hull.stl", sallow(), as_stl),
    ):
        path = HERE / name
        path.write_bytes(write(mesh))
        print(f"{name}: {len(mesh[1])} triangles, {path.stat().st_size / 1e6:.2f} MB")


if __name__ == "__main__":
    main()
