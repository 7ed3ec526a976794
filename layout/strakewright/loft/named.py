"""Panels as the builder names them: groups or objects of the mesh file, and chine lines given as points.

group     a named part of the mesh file
named     panels that are groups, one or several each, listed from the keel up
chine     a line of points in the file's own axes and unit, along which the skin is parted whatever its fold

Method: derived.  A triangle of the half hull belongs to the group of the file's triangle it lies on.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra
from scipy.spatial import KDTree

from strakewright.arrays import Bools, Floats, Ints
from strakewright.errors import InputError
from strakewright.geometry.meshes import Edges
from strakewright.loft.centreline import nearest_on
from strakewright.triangles import TriangleMesh

OTHER = -1
_BESIDE = 24  # triangles looked at for the one a point lies on
_ASTRAY, _ON = 30.0, 1.0  # mm, how far the mesh's edges may lie off a chine given as points; and still be on it


@dataclass(frozen=True, eq=False)
class GroupMap:
    """corners : (k, 3, 3) mm of the file's triangles, as they lie in the half hull;  panel : (k,) which panel each
    belongs to by its group, counted from the keel up, or OTHER"""

    corners: Floats
    panel: Ints

    def at(self, points: Floats) -> Ints:
        """(n,) the panel on which points (n, 3) of the skin lie."""
        tree = KDTree(self.corners.mean(axis=1))
        count = min(_BESIDE, len(self.corners))
        near = tree.query(points, k=count)[1].reshape(len(points), count)
        foot = nearest_on(points[:, None], self.corners[near])
        best = np.linalg.norm(points[:, None] - foot, axis=2).argmin(axis=1)
        return np.asarray(self.panel[near[np.arange(len(points)), best]])


def of_groups(mesh: TriangleMesh, names: tuple[str, ...], key: str) -> Bools:
    """(m,) True where a triangle belongs to one of the named groups.  Raises InputError for a name not in the file."""
    for name in names:
        if name not in mesh.groups:
            there = ", ".join(f'"{g}"' for g in mesh.groups[:12]) or "none"
            raise InputError(
                f'no group or object "{name}" in the mesh', where=f"[hull] {key}", fix=f"The file has: {there}"
            )
    numbers = [mesh.groups.index(name) for name in names]
    return np.zeros(len(mesh.triangles), dtype=np.bool_) if mesh.group is None else np.isin(mesh.group, numbers)


def panels_of_groups(mesh: TriangleMesh, panels: tuple[tuple[str, ...], ...]) -> Ints:
    """(m,) the panel that each triangle of the file belongs to, or OTHER."""
    found = np.full(len(mesh.triangles), OTHER)
    for number, names in enumerate(panels):
        found[of_groups(mesh, names, "groups")] = number
    return found


def lines_in_mesh(vertices: Floats, net: Edges, lines: tuple[Floats, ...]) -> tuple[Bools, Bools]:
    """(e,) edges along which lines given as points part the skin, and those of them that only run near the line.

    Raises InputError where the mesh has no edges near a line.
    """
    parts, beside = (np.zeros(len(net.ends), dtype=np.bool_) for _ in range(2))
    for line in lines:
        off: Floats = _off_line(vertices, line)
        chain = _along(vertices, net, line, off)
        order = {(min(a, b), max(a, b)): n for n, (a, b) in enumerate(net.ends.tolist())}
        for a, b in pairwise(chain):
            edge = order[min(a, b), max(a, b)]
            parts[edge] = True
            beside[edge] = max(off[a], off[b]) > _ON
    return parts, beside


def _along(vertices: Floats, net: Edges, line: Floats, off: Floats) -> list[int]:
    """Corners from the line's beginning to its end along the mesh's edges nearest to it."""
    start, stop = (int(KDTree(vertices).query(line[end])[1]) for end in (0, -1))
    ends = net.ends[net.inner | net.border]
    run = np.linalg.norm(vertices[ends[:, 1]] - vertices[ends[:, 0]], axis=1)
    cost = run * (1.0 + (off[ends].mean(axis=1) / 2.0) ** 2)
    n = len(vertices)
    graph = csr_array((cost, (ends[:, 0], ends[:, 1])), shape=(n, n))
    before = dijkstra(graph, directed=False, indices=[start], return_predecessors=True)[1][0]
    chain = [stop]
    while chain[-1] != start and before[chain[-1]] >= 0:
        chain.append(int(before[chain[-1]]))
    worst = max(chain, key=lambda c: float(off[c]))
    if chain[-1] != start or off[worst] > _ASTRAY:
        x, y, z = vertices[worst]
        raise InputError(
            f"the mesh has no edges near the chine: they stray {off[worst]:.0f} mm, worst at"
            f" x {x:.0f}, y {y:.0f}, z {z:.0f} of the hull",
            where="[hull] chine",
            fix="Give more points, in the mesh file's own axes and unit; or refine the mesh along the chine",
        )
    return chain[::-1]


def _off_line(points: Floats, line: Floats) -> Floats:
    """(n,) mm of points from a polyline."""
    best = np.full(len(points), np.inf)
    for a, b in pairwise(line):
        way = b - a
        share = np.clip((points - a) @ way / max(float(way @ way), 1e-12), 0.0, 1.0)
        best = np.minimum(best, np.linalg.norm(points - a - share[:, None] * way, axis=1))
    return best
