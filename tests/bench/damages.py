"""Ways in which meshes of hulls come damaged, each made by seeded code from a clean one.

kind      one sort of damage;  `KINDS` maps its name to a function (clean hull, rng) -> damaged mesh and boat-file keys
clean     a hull of our own invention: a tender with a pointed stem and a sinking chine, or a hull with a straight
          chine and no stem; sizes and triangles differ with the seed

Meshes are arrays (n, 3) mm and (m, 3).  `Damaged.unit` is mm per unit of the file.
"""

from __future__ import annotations

import importlib.util
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from itertools import pairwise
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


def plain(hull: Clean, rng: Rng) -> Damaged:
    """No damage at all: what the others are measured against."""
    return Damaged(hull.whole)


# -- corners and triangles ---------------------------------------------------------------------------------------------


def unwelded(hull: Clean, rng: Rng) -> Damaged:
    """Every triangle with corners of its own, in single precision, shuffled."""
    vertices, triangles = hull.whole
    return Damaged((vertices, rng.permutation(triangles)), kind="stl")


def slivers(hull: Clean, rng: Rng) -> Damaged:
    """A fifth of the triangles split at a point two hundredths of a millimetre from one of their corners."""
    vertices, triangles = hull.whole
    pick = rng.random(len(triangles)) < 0.2
    a, b, c = (vertices[triangles[pick, k]] for k in range(3))
    way = b + rng.uniform(0.2, 0.8, (len(a), 1)) * (c - b) - a
    new = a + 0.02 * way / np.linalg.norm(way, axis=1, keepdims=True)
    number = len(vertices) + np.arange(len(new))
    i, j, k = triangles[pick].T
    pieces = np.concatenate([np.stack(p, axis=1) for p in ((i, j, number), (j, k, number), (k, i, number))])
    return Damaged((np.concatenate([vertices, new]), np.concatenate([triangles[~pick], pieces])))


def repeated(hull: Clean, rng: Rng) -> Damaged:
    """A tenth of the triangles given again, half of these turned over."""
    vertices, triangles = hull.whole
    again = triangles[rng.random(len(triangles)) < 0.1]
    flip = rng.random(len(again)) < 0.5
    return Damaged((vertices, np.concatenate([triangles, np.where(flip[:, None], again[:, ::-1], again)])))


def twice(hull: Clean, rng: Rng) -> Damaged:
    """The whole skin exported twice, with corners of its own."""
    vertices, triangles = hull.whole
    return Damaged((np.concatenate([vertices, vertices]), np.concatenate([triangles, triangles + len(vertices)])))


def degenerate(hull: Clean, rng: Rng) -> Damaged:
    """Triangles whose corners fall together or lie in one line."""
    vertices, triangles = hull.whole
    some = triangles[rng.choice(len(triangles), 60, replace=False)]
    point = some[:, [0, 1, 1]]
    middle = vertices[some[:, :2]].mean(axis=1)
    line = np.stack([some[:, 0], len(vertices) + np.arange(len(some)), some[:, 1]], axis=1)
    return Damaged((np.concatenate([vertices, middle]), np.concatenate([triangles, point, line])))


def turned(hull: Clean, rng: Rng) -> Damaged:
    """Two triangles of five turned over."""
    vertices, triangles = hull.whole
    flip = rng.random(len(triangles)) < 0.4
    return Damaged((vertices, np.where(flip[:, None], triangles[:, ::-1], triangles)))


def one_side_turned(hull: Clean, rng: Rng) -> Damaged:
    """The starboard side turned inside out."""
    vertices, triangles = hull.whole
    flip = vertices[triangles, 1].mean(axis=1) < 0
    return Damaged((vertices, np.where(flip[:, None], triangles[:, ::-1], triangles)))


def holes(hull: Clean, rng: Rng) -> Damaged:
    """Three small holes of one to three triangles, away from all borders."""
    vertices, triangles = hull.half
    gone: set[int] = set()
    net = edges(triangles)
    border = np.zeros(len(vertices), dtype=bool)
    border[net.ends[net.border].ravel()] = True
    fold = _folds(vertices, triangles, net)
    border[net.ends[net.inner & (fold > np.radians(3))].ravel()] = True
    inner = np.flatnonzero(~border[triangles].any(axis=1))
    for first in rng.choice(inner, 3, replace=False):
        gone.add(int(first))
        beside = net.faces[net.inner][(net.faces[net.inner] == first).any(axis=1)].ravel()
        gone |= {int(t) for t in beside[: rng.integers(0, 4)] if t in inner}
    half = vertices, np.delete(triangles, sorted(gone), axis=0)
    return Damaged(_both(half), refusal=("hole",))


def hole_at_chine(hull: Clean, rng: Rng) -> Damaged:
    """Two to four triangles missing on both sides of the chine."""
    vertices, triangles = hull.half
    net = edges(triangles)
    x = vertices[net.ends, 0].mean(axis=1) - vertices[:, 0].min()
    along = (x > 0.1 * np.ptp(vertices[:, 0])) & (x < 0.8 * np.ptp(vertices[:, 0]))
    chine = np.flatnonzero(net.inner & along & (_folds(vertices, triangles, net) > np.radians(10)))
    gone = {int(f) for f in net.faces[rng.choice(chine)]}
    for face in sorted(gone)[: rng.integers(0, 3)]:
        beside = net.faces[net.inner][(net.faces[net.inner] == face).any(axis=1)].ravel()
        gone.add(int(rng.choice(beside)))
    return Damaged(_both((vertices, np.delete(triangles, sorted(gone), axis=0))), refusal=("hole",))


def _folds(vertices: Floats, triangles: Ints, net: Any) -> Floats:
    from strakewright.geometry.meshes import dihedral_fold

    return dihedral_fold(vertices, triangles, net)


def large_hole(hull: Clean, rng: Rng) -> Damaged:
    """A hole of 400 mm in the side or the bottom."""
    vertices, triangles = hull.half
    middle = vertices[triangles].mean(axis=1)
    x = vertices[:, 0].min() + rng.uniform(0.3, 0.5) * np.ptp(vertices[:, 0])
    chine, sheer = (vertices[self_at] for self_at in (hull.chain("keel"), hull.chain("sheer")))
    foot, top = (line[np.argmin(np.abs(line[:, 0] - x))] for line in (chine, sheer))
    side = hull.truth.panels[-1].in_space(hull.truth.panels[-1].lower)
    corner = side[np.argmin(np.abs(side[:, 0] - x))]
    centre = (corner + top) / 2 if rng.random() < 0.5 else (corner + foot) / 2
    keep = np.linalg.norm(middle - centre, axis=1) > 190.0
    return Damaged(_both((vertices, triangles[keep])), refusal=("hole",))


def t_junctions(hull: Clean, rng: Rng) -> Damaged:
    """A tenth of the inner edges divided on one side only: the neighbour does not share the new corner."""
    vertices, triangles = hull.half
    net = edges(triangles)
    used: set[int] = set()
    new_points, new_faces, gone = [], [], set()
    for edge in rng.permutation(np.flatnonzero(net.inner))[: len(triangles) // 10]:
        face = int(net.faces[edge, 0])
        if face in used:
            continue
        used |= {int(f) for f in net.faces[edge]}
        a, b = net.ends[edge]
        apex = next(int(c) for c in triangles[face] if c not in (a, b))
        at = list(triangles[face]).index(apex)
        p, q = triangles[face, (at + 1) % 3], triangles[face, (at + 2) % 3]
        number = len(vertices) + len(new_points)
        new_points.append(vertices[[a, b]].mean(axis=0))
        new_faces += [[apex, p, number], [apex, number, q]]
        gone.add(face)
    rest = np.delete(triangles, sorted(gone), axis=0)
    placed = hull.onto(np.array(new_points))
    return Damaged(_both((np.concatenate([vertices, placed]), np.concatenate([rest, new_faces]))))


def chine_apart(hull: Clean, rng: Rng) -> Damaged:
    """Bottom and side meshed one by one: along the chine corners of their own, the two lines up to 0.06 mm apart."""
    from strakewright.geometry.meshes import components

    vertices, triangles = hull.half
    net = edges(triangles)
    label = components(len(triangles), net, _folds(vertices, triangles, net) < np.radians(5))
    parts = []
    for piece in np.unique(label):
        used, own = np.unique(triangles[label == piece], return_inverse=True)
        moved = vertices[used] + (rng.uniform(-0.03, 0.03, (len(used), 3)) if piece else 0.0)
        moved[vertices[used, 1] == 0.0, 1] = 0.0
        parts.append((moved, own.reshape(-1, 3)))
    return Damaged(_both(_together(*parts)))


def gap_at_chine(hull: Clean, rng: Rng) -> Damaged:
    """The side moved out by 15 mm: the skin is open along the chine."""
    from strakewright.geometry.meshes import components

    vertices, triangles = hull.half
    net = edges(triangles)
    label = components(len(triangles), net, _folds(vertices, triangles, net) < np.radians(5))
    middle = [vertices[triangles[label == k], 2].mean() for k in range(label.max() + 1)]
    upper = label == int(np.argmax(middle))
    side = _own(vertices, triangles[upper])
    bottom = _own(vertices, triangles[~upper])
    return Damaged(
        _both(_together(bottom, (side[0] + [0.0, 15.0, 15.0], side[1]))),
        refusal=("pieces", "chine", "join", "border", "crease"),
    )


# -- more than the skin ------------------------------------------------------------------------------------------------


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
    return Damaged(_together(*_shells(hull)))


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
        boxes.append(_box(at, rng.uniform(60, 320, 3)))
    return Damaged(_together(hull.whole, *boxes))


def decked(hull: Clean, rng: Rng) -> Damaged:
    """A cambered deck over the whole hull, sharing the sheer's corners."""
    return Damaged(_welded(_together(hull.whole, _deck(hull))))


def decked_and_closed(hull: Clean, rng: Rng) -> Damaged:
    """Deck and transom: a closed body."""
    return Damaged(_welded(_together(hull.whole, _deck(hull), _transom(hull))))


def cockpit_sole(hull: Clean, rng: Rng) -> Damaged:
    """A floor inside the hull that stops a little short of the skin."""
    vertices = hull.whole[0]
    x = np.linspace(0.15, 0.6, 8) * vertices[:, 0].max()
    half = np.array([0.75 * np.abs(vertices[np.abs(vertices[:, 0] - a) < 150.0, 1]).max() for a in x])
    z = 0.6 * vertices[:, 2].max()
    rows = np.stack([np.stack([x, s * half, np.full_like(x, z)], axis=1) for s in (1, -1)]).reshape(-1, 3)
    i = np.arange(len(x) - 1)
    quads = np.concatenate([np.stack([i, i + 1, i + 8], 1), np.stack([i + 1, i + 9, i + 8], 1)])
    return Damaged(_together(hull.whole, (rows, quads)))


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
    return Damaged(_together(hull.whole, *(_box(p, np.full(3, 4.0)) for p in at)))


# -- how it was meshed -------------------------------------------------------------------------------------------------


def needles(hull: Clean, rng: Rng) -> Damaged:
    """Coarse triangles from chine to chine, as programs make them on ruled surfaces; 0.2 mm of chord allowed."""
    make = samples()
    size = rng.uniform(0.9, 1.1, 3)
    lines = [make.line([tuple(np.array(p) * size) for p in points]) for points in make.TEASEL]
    u = np.sort(np.concatenate([np.linspace(0, 1, 120), rng.uniform(0, 1, 10)]))
    vertices = np.concatenate([edge(u) for edge in lines])
    n, rows = len(u), []
    for k in range(2):
        a = k * n + np.arange(n - 1)
        rows += [np.stack([a, a + n, a + 1], 1), np.stack([a + 1, a + n, a + n + 1], 1)]
    return Damaged(make.welded([make.mirrored((vertices, np.concatenate(rows)))]))


def sawtooth(hull: Clean, rng: Rng) -> Damaged:
    """Fine needles across the hull with corners 0.02 mm in and out in turn: the normals lie."""
    vertices, triangles = hull.half
    shake = 0.02 * np.where(np.arange(len(vertices)) % 2, 1.0, -1.0)[:, None]
    out = np.stack([np.zeros(len(vertices)), np.full(len(vertices), 0.5), np.full(len(vertices), -0.8)], axis=1)
    moved = vertices + shake * out
    moved[np.abs(vertices[:, 1]) < 1e-9, 1] = 0.0
    return Damaged(_both((moved, triangles)))


def noise(hull: Clean, rng: Rng) -> Damaged:
    """Every corner 0.1 mm astray, each way at random."""
    vertices, triangles = hull.whole
    return Damaged((vertices + rng.uniform(-0.1, 0.1, vertices.shape), triangles))


def rounded_shape(rng: Rng) -> exact.RunningChine:
    """The hull that `rounded` rounds off."""
    return exact.RunningChine(length=5600.0 * rng.uniform(0.85, 1.1), least=rng.uniform(22.0, 32.0))


def rounded(hull: Clean, rng: Rng) -> Damaged:
    """The chine rounded over a strip of three to six facets, tangent to both panels; the hull is made anew."""
    shape = rounded_shape(rng)
    radius, facets = rng.uniform(10.0, 28.0), int(rng.integers(3, 7))
    columns, below, above = 90, 14, 10
    sections = [
        _rounded_section(shape, x, radius, (below, facets, above)) for x in np.linspace(0, shape.length, columns)
    ]
    vertices = np.concatenate(sections)
    corner = np.arange(len(vertices)).reshape(columns, -1)
    a, b, c, d = (s.ravel() for s in (corner[:-1, :-1], corner[1:, :-1], corner[:-1, 1:], corner[1:, 1:]))
    return Damaged((vertices, np.concatenate([np.stack([a, b, c], 1), np.stack([b, d, c], 1)])), {"half": True})


def _rounded_section(shape: exact.RunningChine, x: float, radius: float, count: tuple[int, int, int]) -> Floats:
    """(n, 3) keel, bottom, fillet, side at a station; lines are straight in the section."""
    below, facets, above = count
    low = float(np.radians(shape.deadrise(np.array(x))))
    high = low + float(np.radians(shape.fold(np.array(x))))
    corner = np.array([shape.half_breadth, shape.chine_height])
    along, up = (np.array([np.cos(t), np.sin(t)]) for t in (low, high))
    short = radius * np.tan((high - low) / 2)
    keel = corner - shape.half_breadth / np.cos(low) * along
    keel[0] = 0.0
    centre = corner - short * along + radius * np.array([-np.sin(low), np.cos(low)])
    turn = np.linspace(low, high, facets + 1)
    arc = centre + radius * np.stack([np.sin(turn), -np.cos(turn)], axis=1)
    bottom = np.linspace(keel, arc[0], below)[:-1]
    side = np.linspace(arc[-1], corner + shape.side_girth * up, above)[1:]
    rows = np.concatenate([bottom, arc, side])
    return np.column_stack([np.full(len(rows), x), rows])


def fading(hull: Clean, rng: Rng) -> Damaged:
    """A chine whose fold sinks to 4 degrees and comes back forward."""
    make = Make(triangles=4000, seed=int(rng.integers(1000)))
    return Damaged(exact.RunningChine(least=4.0).mesh(make))


# -- how it lies -------------------------------------------------------------------------------------------------------


def off_centre(hull: Clean, rng: Rng) -> Damaged:
    """The whole boat up to 300 mm to one side, at a height and a place of its own."""
    vertices, triangles = hull.whole
    return Damaged((vertices + np.array([rng.uniform(-4000, 4000), rng.uniform(-300, 300), 0.0]), triangles))


def heeled(hull: Clean, rng: Rng) -> Damaged:
    """Drawn heeled by up to three degrees, or slewed by up to two."""
    vertices, triangles = hull.whole
    heel, slew = rng.uniform(-1, 1, 2) * ([3.0, 0.0] if rng.random() < 0.5 else [0.0, 2.0])
    return Damaged((vertices @ _turn(np.radians(heel), np.radians(slew)).T, triangles))


def _turn(heel: float, slew: float) -> Floats:
    c, s = np.cos(heel), np.sin(heel)
    roll = np.array([[1, 0, 0], [0, c, -s], [0, s, c]])
    c, s = np.cos(slew), np.sin(slew)
    return np.asarray(np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]]) @ roll)


def starboard_half(hull: Clean, rng: Rng) -> Damaged:
    """The starboard half in place of the port one."""
    vertices, triangles = hull.half
    return Damaged((vertices * [1.0, -1.0, 1.0], triangles[:, ::-1]), {"half": True})


def other_axes(hull: Clean, rng: Rng) -> Damaged:
    """Bow to -y, up along +x, in inches, and the boat file says so."""
    x, y, z = hull.whole[0].T / 25.4
    return Damaged((np.stack([z, -x, -y], axis=1), hull.whole[1]), {"forward": "-y", "up": "+x"}, scale=25.4)


def wrong_unit(hull: Clean, rng: Rng) -> Damaged:
    """Millimetres read as metres, or metres as millimetres: a 5000 m boat, a 5 mm boat."""
    scale = 1000.0 if rng.random() < 0.5 else 0.001
    return Damaged(hull.whole, scale=scale, refusal=("mesh_units",))


def half_called_whole(hull: Clean, rng: Rng) -> Damaged:
    """A port half without `half = true`."""
    return Damaged(hull.half, refusal=("half = true",))


def whole_called_half(hull: Clean, rng: Rng) -> Damaged:
    """Both sides with `half = true`."""
    return Damaged(hull.whole, {"half": True}, refusal=("half = false",))


def ragged_sheer(hull: Clean, rng: Rng) -> Damaged:
    """Every fifth triangle at the sheer missing."""
    vertices, triangles = hull.half
    net = edges(triangles)
    on = net.faces[net.border & (vertices[net.ends].mean(axis=1)[:, 2] > 0.75 * vertices[:, 2].max()), 0]
    on = np.unique(on)
    gone = on[rng.random(len(on)) < 0.2]
    return Damaged(_both((vertices, np.delete(triangles, gone, axis=0))), refusal=("ragged", "corners", "arcs"))


def cut_off(hull: Clean, rng: Rng) -> Damaged:
    """A file that stops in its middle."""
    text = off_text(hull.whole)
    return Damaged(hull.whole, text=text[: int(len(text) * rng.uniform(0.3, 0.95))], refusal=("cut off",))


def not_numbers(hull: Clean, rng: Rng) -> Damaged:
    """A corner that is no number."""
    rows = off_text(hull.whole).split(b"\n")
    rows[int(rng.integers(3, 200))] = b"nan 12.5 300"
    return Damaged(hull.whole, text=b"\n".join(rows), refusal=("not numbers", "not a readable"))


# -- helpers -----------------------------------------------------------------------------------------------------------


def off_text(mesh: Mesh) -> bytes:
    """A mesh as OFF, numbers in full."""
    vertices, triangles = mesh
    rows = ["OFF", f"{len(vertices)} {len(triangles)} 0"]
    rows += [" ".join(repr(float(c)) for c in v) for v in vertices]
    rows += [f"3 {a} {b} {c}" for a, b, c in triangles]
    return ("\n".join(rows) + "\n").encode()


def _both(half: Mesh) -> Mesh:
    make = samples()
    return _welded(make.mirrored(half))


def _welded(mesh: Mesh) -> Mesh:
    vertices, triangles = mesh
    _, first, back = np.unique(np.round(vertices, 6) + 0.0, axis=0, return_index=True, return_inverse=True)
    return vertices[first], back.reshape(-1)[triangles]


def _own(vertices: Floats, triangles: Ints) -> Mesh:
    used, own = np.unique(triangles, return_inverse=True)
    return vertices[used], own.reshape(-1, 3)


def _together(*meshes: Mesh) -> Mesh:
    starts = np.cumsum([0, *(len(v) for v, _ in meshes)])
    return (
        np.concatenate([v for v, _ in meshes]),
        np.concatenate([t + s for (_, t), s in zip(meshes, starts, strict=False)]),
    )


def _box(centre: Floats, size: Floats) -> Mesh:
    import trimesh

    box = trimesh.creation.box(extents=size)
    return np.asarray(box.vertices) + centre, np.asarray(box.faces, dtype=np.int64)


def _deck(hull: Clean) -> Mesh:
    edge = hull.half[0][hull.chain("sheer")]
    n = len(edge)
    middle = edge * [1.0, 0.0, 1.0] + np.outer(0.05 * edge[:, 1], [0.0, 0.0, 1.0])
    vertices = np.concatenate([edge, middle, edge * [1.0, -1.0, 1.0]])
    i = np.arange(n - 1)
    quads = [np.stack([i + k, i + 1 + k, i + n + k], 1) for k in (0, n)]
    quads += [np.stack([i + 1 + k, i + n + 1 + k, i + n + k], 1) for k in (0, n)]
    return _clean_faces(vertices, np.concatenate(quads))


def _transom(hull: Clean) -> Mesh:
    """The after end closed by a strip from port to starboard."""
    edge = hull.half[0][hull.chain("transom")]
    n = len(edge)
    both = np.concatenate([edge, edge * [1.0, -1.0, 1.0]])
    i = np.arange(n - 1)
    quads = np.concatenate([np.stack([i, i + n, i + 1], 1), np.stack([i + 1, i + n, i + n + 1], 1)])
    return _clean_faces(both, quads)


def _clean_faces(vertices: Floats, triangles: Ints) -> Mesh:
    a, b, c = vertices[triangles.T]
    return vertices, triangles[np.linalg.norm(np.cross(b - a, c - a), axis=1) > 1e-3]


KINDS: dict[str, Callable[[Clean, Rng], Damaged]] = {
    f.__name__.replace("_", " "): f
    for f in (
        plain, unwelded, slivers, repeated, twice, degenerate, turned, one_side_turned, holes, hole_at_chine,
        large_hole, t_junctions, chine_apart, gap_at_chine, doubled_shell, loose_shells, fittings, decked,
        decked_and_closed, cockpit_sole, bulkheads, skeg, specks, needles, sawtooth, noise, rounded, fading, off_centre,
        heeled, starboard_half, other_axes, wrong_unit, half_called_whole, whole_called_half, ragged_sheer, cut_off,
        not_numbers,
    )
}  # fmt: skip
__all__ = ["KINDS", "Clean", "Damaged", "clean", "off_text", "replace"]
