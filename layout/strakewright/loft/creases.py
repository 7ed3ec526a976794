"""Creases: the folds of a mesh along which one panel ends and the next begins.

fold      angle between two neighbouring triangles, 0 = flat
crease    chain of edges with a fold above `crease_deg`
following a crease that sinks below that is traced on along the edges of greatest fold, down to 2 degrees,
          and over a gap by a fair line to where it shows again (a chine in the forefoot does that)
loose end a corner where a crease stops inside the skin

Method: derived; gaps are bridged by the cheapest chain of edges beside a cubic that is tangent to both ends.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.interpolate import CubicHermiteSpline
from scipy.sparse import csr_array
from scipy.sparse.csgraph import connected_components, dijkstra
from scipy.spatial import KDTree

from strakewright.arrays import Bools, Floats, Ints
from strakewright.geometry.meshes import Edges, dihedral_fold, edges
from strakewright.loft.named import lines_in_mesh

LEAST_FOLD = math.radians(2.0)
_TURN = math.cos(math.radians(25.0))  # a followed crease strays less than this from its heading
_ASTRAY = 0.35  # how far off the batten the other end of a gap may lie, as a share of the way to it
_BRIDGE = 0.15  # longest gap as a share of the hull's length
_SHORTEST = 0.02  # creases shorter than this share of the length, ending loose at both ends, are noise


@dataclass(frozen=True, eq=False)
class Creases:
    """net : all edges;  fold : (e,) radians;  parts : (e,) True where the skin is parted (borders included)

    bridged : (e,) True where a gap was crossed;  loose : corners where a crease still ends inside the skin
    """

    net: Edges
    fold: Floats
    parts: Bools
    bridged: Bools
    loose: tuple[int, ...]


def find_creases(vertices: Floats, triangles: Ints, crease_deg: float, given: tuple[Floats, ...] = ()) -> Creases:
    """Where to part the skin.  vertices : (n, 3) mm, triangles : (m, 3);  given : (k, 3) mm lines that part it too."""
    net = edges(triangles)
    fold = dihedral_fold(vertices, triangles, net)
    wall = ~net.inner
    sharp = net.inner & (fold >= math.radians(crease_deg))
    length = float(np.ptp(vertices[:, 0]))
    sharp &= ~_noise(vertices, net, wall, sharp, _SHORTEST * length)
    along, beside = lines_in_mesh(vertices, net, given)
    tracer = _Tracer(vertices, net, fold, wall | sharp | along, _BRIDGE * length)
    tracer.follow_all()
    return Creases(net, fold, tracer.parts, tracer.bridged | beside, tuple(tracer.loose))


def _noise(vertices: Floats, net: Edges, wall: Bools, sharp: Bools, shortest: float) -> Bools:
    """(e,) sharp edges in short chains that touch no border."""
    chains = np.flatnonzero(sharp)
    if len(chains) == 0:
        return np.zeros(len(sharp), dtype=np.bool_)
    ends = net.ends[chains]
    graph = csr_array((np.ones(len(ends)), (ends[:, 0], ends[:, 1])), shape=(len(vertices), len(vertices)))
    label = connected_components(graph, directed=False)[1]
    length = np.linalg.norm(np.diff(vertices[ends], axis=1)[:, 0], axis=1)
    total = np.bincount(label[ends[:, 0]], length, label.max() + 1)
    total[label[net.ends[wall].ravel()]] = np.inf
    noisy = np.zeros(len(sharp), dtype=np.bool_)
    noisy[chains] = total[label[ends[:, 0]]] < shortest
    return noisy


class _Tracer:
    """Carries creases on from their loose ends.  One at a time, in the order of corners: always the same way."""

    def __init__(self, vertices: Floats, net: Edges, fold: Floats, parts: Bools, bridge: float) -> None:
        self.vertices, self.net, self.fold, self.bridge = vertices, net, fold, bridge
        self.parts = parts.copy()
        self.bridged = np.zeros(len(parts), dtype=np.bool_)
        self.loose: list[int] = []
        self.degree = np.bincount(net.ends[parts].ravel(), minlength=len(vertices))
        order = np.argsort(net.ends.ravel(), kind="stable")
        self._edges_at = order // 2
        self._start = np.searchsorted(net.ends.ravel()[order], np.arange(len(vertices) + 1))

    def follow_all(self) -> None:
        """First along folds from every loose end, then over the gaps that are left."""
        for corner in np.flatnonzero(self.degree == 1):
            if self.degree[corner] == 1:
                self._walk(int(corner))
        for corner in np.flatnonzero(self.degree == 1):
            if self.degree[corner] == 1:
                self._cross_gap(int(corner))
        self.loose = [int(c) for c in np.flatnonzero(self.degree == 1)]

    def _around(self, corner: int) -> Ints:
        return np.asarray(self._edges_at[self._start[corner] : self._start[corner + 1]])

    def _other(self, edge: int, corner: int) -> int:
        a, b = self.net.ends[edge]
        return int(b if a == corner else a)

    def _heading(self, corner: int, reach: int = 6) -> Floats:
        """Direction in which the crease arrives at its loose end, over its last few edges."""
        here, last = corner, -1
        for _ in range(reach):
            back = [int(e) for e in self._around(here) if self.parts[e] and e != last]
            if len(back) != 1:
                break
            last = back[0]
            here = self._other(last, here)
        way = self.vertices[corner] - self.vertices[here]
        return np.asarray(way / max(float(np.linalg.norm(way)), 1e-12))

    def _walk(self, corner: int) -> None:
        """On along the greatest fold until it meets a parted edge or sinks below the least fold."""
        while self.degree[corner] == 1:
            heading = self._heading(corner)
            choices = [int(e) for e in self._around(corner) if not self.parts[e] and self.fold[e] >= LEAST_FOLD]
            onward = np.array([self._other(e, corner) for e in choices], dtype=np.int64)
            ways = self.vertices[onward] - self.vertices[corner]
            cosine = ways @ heading / np.maximum(np.linalg.norm(ways, axis=1), 1e-12)
            value = np.where(cosine > _TURN, self.fold[choices] * cosine**8, 0.0)
            if len(value) == 0 or value.max() <= 0.0:
                return
            corner = self._take(choices[int(np.argmax(value))], corner)

    def _take(self, edge: int, corner: int) -> int:
        self.parts[edge] = True
        self.degree[self.net.ends[edge]] += 1
        return self._other(edge, corner)

    def _cross_gap(self, corner: int) -> None:
        """Bridge from a loose end to the loose end, else to the parted corner, that a batten laid on would meet."""
        behind = self._own_chain(corner)
        batten = self._batten(corner)
        for wanted in (self.degree == 1, self.degree > 0):
            there = np.flatnonzero(wanted & ~behind)
            if len(there) == 0:
                continue
            off, at = (np.asarray(a) for a in KDTree(batten).query(self.vertices[there]))
            along = at * self.bridge / (len(batten) - 1)
            met = np.flatnonzero((at > 0) & (off < _ASTRAY * along))
            if len(met):
                best = met[int(np.argmin(off[met] + 0.2 * along[met]))]
                self._bridge_to(corner, int(there[best]), self._heading(corner, 12))
                return

    def _batten(self, corner: int) -> Floats:
        """(101, 3) points on from a loose end, as a parabola through the crease's last stretch would run."""
        chain = [corner]
        last = -1
        while len(chain) < 40:
            back = [int(e) for e in self._around(chain[-1]) if self.parts[e] and e != last]
            if len(back) != 1:
                break
            last = back[0]
            chain.append(self._other(last, chain[-1]))
        points = self.vertices[chain] - self.vertices[corner]
        gone = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))])
        near = gone <= max(2 * self.bridge, gone[min(2, len(gone) - 1)])
        t, rows = -gone[near, None], points[near]
        powers = np.hstack([t, t**2]) if len(rows) > 4 else t
        shape = np.linalg.lstsq(powers, rows, rcond=None)[0]
        ahead = np.linspace(0.0, self.bridge, 101)[:, None]
        reach = np.hstack([ahead, ahead**2]) if len(rows) > 4 else ahead
        return np.asarray(self.vertices[corner] + reach @ shape)

    def _own_chain(self, corner: int) -> Bools:
        """(n,) corners of the chain that ends here, back to its first fork."""
        mine = np.zeros(len(self.vertices), dtype=np.bool_)
        here, last = corner, -1
        while True:
            mine[here] = True
            back = [int(e) for e in self._around(here) if self.parts[e] and e != last]
            if len(back) != 1:
                return mine
            last = back[0]
            here = self._other(last, here)
            if mine[here]:
                return mine

    def _bridge_to(self, corner: int, target: int, heading: Floats) -> None:
        start, stop = self.vertices[corner], self.vertices[target]
        span = float(np.linalg.norm(stop - start))
        arrival = -self._heading(target, 12) if self.degree[target] == 1 else (stop - start) / span
        fair = CubicHermiteSpline([0.0, 1.0], np.stack([start, stop]), np.stack([heading, arrival]) * span)(
            np.linspace(0.0, 1.0, 101)
        )
        off: Floats = np.asarray(KDTree(fair).query(self.vertices)[0], dtype=np.float64)
        near = np.flatnonzero(self.net.inner & ~self.parts & (off[self.net.ends].max(axis=1) < span))
        if len(near) == 0:
            return
        ends = self.net.ends[near]
        length = np.linalg.norm(np.diff(self.vertices[ends], axis=1)[:, 0], axis=1)
        cost = length * (
            1.0 + (off[ends].mean(axis=1) / (0.1 * span + 1e-9)) ** 2 + 20.0 * off[ends].mean(axis=1) / span
        )
        for a, b in self._cheapest(ends, cost, corner, target):
            edge = int(next(e for e in self._around(a) if self._other(int(e), a) == b))
            if not self.parts[edge]:
                self.bridged[edge] = True
                self._take(edge, a)

    def _cheapest(self, ends: Ints, cost: Floats, corner: int, target: int) -> list[tuple[int, int]]:
        n = len(self.vertices)
        graph = csr_array((cost, (ends[:, 0], ends[:, 1])), shape=(n, n))
        before = dijkstra(graph, directed=False, indices=[corner], return_predecessors=True)[1][0]
        chain, here = [], target
        while here != corner:
            back = int(before[here])
            if back < 0:
                return []
            chain.append((back, here))
            here = back
        return chain[::-1]
