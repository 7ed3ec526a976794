"""More in the file than the skin: shells, decks, soles, bulkheads, fittings."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from strakewright.geometry.meshes import edges
from tests.bench.damaged import Clean, Damaged, Rng, box, deck, together, transom_lid, welded
from tests.exact_meshes import Mesh


def doubled_shell(hull: Clean, rng: Rng) -> Damaged:
    """An inner skin 18 mm inside the outer one, joined to it along the sheer and the ends: a solid hull."""
    outer, inner = _shells(hull)
    vertices, triangles = outer
    count = len(vertices)
    net = edges(triangles)
    rim = [(a, b) for a, b, on in zip(*net.ends.T, net.border, strict=True) if on]
    bridge = [t for a, b in rim for t in ((a, b, b + count), (a, b + count, a + count))]
    return Damaged(
        (np.concatenate([vertices, inner[0]]), np.concatenate([triangles, inner[1] + count, np.array(bridge)]))
    )


def loose_shells(hull: Clean, rng: Rng) -> Damaged:
    """Inner and outer skin that do not touch."""
    return Damaged(together(*_shells(hull)))


def _shells(hull: Clean) -> tuple[Mesh, Mesh]:
    import trimesh

    vertices, triangles = hull.whole
    normals = np.array(trimesh.Trimesh(vertices, triangles, process=False).vertex_normals)
    normals[np.abs(vertices[:, 1]) < 1e-6, 1] = 0.0
    outward = (normals * (vertices - vertices.mean(axis=0))).sum() > 0
    inner = vertices - (18.0 if outward else -18.0) * normals
    return hull.whole, (inner, triangles[:, ::-1])


def fittings(hull: Clean, rng: Rng) -> Damaged:
    """An engine, a tank and two cleats: boxes inside that touch nothing."""
    boxes = []
    for _ in range(4):
        at = np.array([rng.uniform(0.2, 0.5) * np.ptp(hull.whole[0][:, 0]), rng.uniform(-200, 200), 500.0])
        boxes.append(box(at, rng.uniform(60, 320, 3)))
    return Damaged(together(hull.whole, *boxes))


def decked(hull: Clean, rng: Rng) -> Damaged:
    """A cambered deck over the whole hull, sharing the sheer's corners."""
    return Damaged(welded(together(hull.whole, deck(hull))))


def decked_and_closed(hull: Clean, rng: Rng) -> Damaged:
    """Deck and transom: a closed body."""
    return Damaged(welded(together(hull.whole, deck(hull), transom_lid(hull))))


def cockpit_sole(hull: Clean, rng: Rng) -> Damaged:
    """A floor inside the hull that stops a little short of the skin."""
    vertices = hull.whole[0]
    x = np.linspace(0.15, 0.6, 8) * vertices[:, 0].max()
    half = np.array([0.75 * np.abs(vertices[np.abs(vertices[:, 0] - a) < 150.0, 1]).max() for a in x])
    z = 0.6 * vertices[:, 2].max()
    rows = np.stack([np.stack([x, s * half, np.full_like(x, z)], axis=1) for s in (1, -1)]).reshape(-1, 3)
    i = np.arange(len(x) - 1)
    quads = np.concatenate([np.stack([i, i + 1, i + 8], 1), np.stack([i + 1, i + 9, i + 8], 1)])
    return Damaged(together(hull.whole, (rows, quads)))


def bulkheads(hull: Clean, rng: Rng) -> Damaged:
    """Two bulkheads whose corners are the skin's own: three triangles meet along their edges."""
    vertices, triangles = hull.whole
    extra, points = [], []
    x = np.unique(vertices[vertices[:, 1] > 10.0, 0].round(1))
    for place in rng.uniform(0.25, 0.6, 2):
        chain = _section_chain(hull, place * x.max())
        middle = len(vertices) + len(points)
        points.append(vertices[chain].mean(axis=0) * [1, 0, 1])
        extra += [[a, b, middle] for a, b in pairwise(chain)]
    new = np.concatenate([vertices, points])
    return Damaged((new, np.concatenate([triangles, np.array(extra)])))


def _section_chain(hull: Clean, x: float) -> list[int]:
    """Corners of the whole skin from the starboard sheer round to the port sheer, near a station, along edges."""
    from scipy.sparse import csr_array
    from scipy.sparse.csgraph import dijkstra

    vertices, triangles = hull.whole
    net = edges(triangles)
    a, b = vertices[net.ends[:, 0]], vertices[net.ends[:, 1]]
    off = np.abs((a + b)[:, 0] / 2 - x)
    cost = np.linalg.norm(a - b, axis=1) * (1 + (off / 40.0) ** 2)
    graph = csr_array((cost, net.ends.T), shape=(len(vertices), len(vertices)))
    rim = np.unique(net.ends[net.border])
    rim = rim[vertices[rim, 2] > 0.6 * vertices[:, 2].max()]
    port, starboard = (rim[side * vertices[rim, 1] > 100.0] for side in (1, -1))
    start, stop = (int(s[np.argmin(np.abs(vertices[s, 0] - x))]) for s in (starboard, port))
    before = dijkstra(graph, directed=False, indices=[start], return_predecessors=True)[1][0]
    chain = [stop]
    while chain[-1] != start:
        chain.append(int(before[chain[-1]]))
    return chain


def skeg(hull: Clean, rng: Rng) -> Damaged:
    """A skeg that shares the keel's corners: a plate in the centreline plane under the after body."""
    vertices, triangles = hull.whole
    keel = np.flatnonzero(np.abs(vertices[:, 1]) < 1e-9)
    keel = keel[np.argsort(vertices[keel, 0])]
    on = keel[(vertices[keel, 0] < 0.35 * vertices[:, 0].max()) & (vertices[keel, 2] < 0.4 * vertices[:, 2].max())]
    below = vertices[on] - [0.0, 0.0, 120.0]
    number = len(vertices) + np.arange(len(on))
    quads = [
        t for k in range(len(on) - 1) for t in ((on[k], on[k + 1], number[k]), (on[k + 1], number[k + 1], number[k]))
    ]
    return Damaged((np.concatenate([vertices, below]), np.concatenate([triangles, np.array(quads)])))


def specks(hull: Clean, rng: Rng) -> Damaged:
    """Loose scraps of triangles about the hull."""
    at = hull.whole[0].mean(axis=0) + rng.uniform(-1, 1, (12, 3)) * [1500.0, 300.0, 200.0]
    return Damaged(together(hull.whole, *(box(p, np.full(3, 4.0)) for p in at)))
