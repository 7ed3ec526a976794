"""Panels meshed without a corner inside: long triangles from border to border, as programs write ruled surfaces.

needle    triangle with its base on one long border and its tip on the other
ruling    a side of a needle that lies on the surface
diagonal  the other side, across a quad of two rulings: it lies off a twisted surface, up to centimetres in a forefoot

Which sides are rulings is read from the ends: the end border is one, or the needle at a pointed end stands alone; from
there every two needles, one from each border, make a quad.  Read from both ends, the answers must agree.
Between rulings the surface is the bilinear one.  Method: derived.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from strakewright.arrays import Floats, Ints
from strakewright.geometry.meshes import Edges, edges
from strakewright.loft.sides import PanelMesh

_ACROSS = np.linspace(0.0, 1.0, 6)[1:-1]
_AGREE = 0.9  # of the rulings found from one end that must be found from the other


@dataclass(frozen=True, eq=False)
class Needles:
    """shares : (k, 4) of four corners each;  corners : (k, 4) vertex numbers: together points on the surface

    unsure : mm, how far the surface may lie from them, 0 where the rulings are known
    """

    shares: Floats
    corners: Ints
    unsure: float


def needles_of(mesh: PanelMesh) -> Needles | None:
    """Points inside a panel that has no corners inside; None for all other panels."""
    net = edges(mesh.triangles)
    rim = np.unique(net.ends[net.border])
    if len(rim) < len(np.unique(mesh.triangles)) or len(mesh.triangles) < 6:
        return None
    walk = _walk(mesh, net)
    if walk is None:
        return None
    lower = set(mesh.lower.corners.tolist())
    forward = _rulings(mesh, walk, mesh.aft is None, lower)
    backward = _rulings(mesh, walk[::-1], mesh.forward is None, lower)
    agreed = forward & backward
    if len(agreed) < _AGREE * len(forward):
        return Needles(np.empty((0, 4)), np.empty((0, 4), dtype=np.int64), _unsure(mesh, net))
    return _points(mesh, agreed, lower)


def _walk(mesh: PanelMesh, net: Edges) -> list[int] | None:
    """Triangles from aft to forward, each beside the one before; None when they are no strip."""
    pairs = net.faces[net.inner]
    beside: dict[int, list[int]] = {}
    for a, b in pairs.tolist():
        beside.setdefault(a, []).append(b)
        beside.setdefault(b, []).append(a)
    ends = [t for t, mates in beside.items() if len(mates) == 1]
    if len(ends) != 2 or len(pairs) != len(mesh.triangles) - 1:
        return None
    x = mesh.vertices[mesh.triangles][..., 0].mean(axis=1)
    walk = [min(ends, key=lambda t: float(x[t]))]
    while len(walk) < len(mesh.triangles):
        walk.append(next(t for t in beside[walk[-1]] if len(walk) < 2 or t != walk[-2]))
    return walk


def _rulings(mesh: PanelMesh, walk: list[int], pointed: bool, lower: set[int]) -> set[tuple[int, int]]:
    """Inner edges (low, high corner) that are rulings, read from the end where the walk begins."""
    based = [_based_below(mesh.triangles[t].tolist(), lower) for t in walk]
    found: set[tuple[int, int]] = set()
    i = 1 if pointed else 0
    if pointed:
        found.add(_shared(mesh.triangles, walk[0], walk[1]))
    while i < len(walk):
        quad = i + 1 < len(walk) and based[i] != based[i + 1]
        i += 2 if quad else 1
        if i < len(walk):
            found.add(_shared(mesh.triangles, walk[i - 1], walk[i]))
    return found


def _based_below(corners: list[int], lower: set[int]) -> bool:
    return sum(c in lower for c in corners) >= 2


def _shared(triangles: Ints, one: int, other: int) -> tuple[int, int]:
    a, b = sorted(set(triangles[one].tolist()) & set(triangles[other].tolist()))
    return a, b


def _points(mesh: PanelMesh, rulings: set[tuple[int, int]], lower: set[int]) -> Needles:
    """On every ruling, and half way between neighbours."""
    lines = [(a, b) if a in lower else (b, a) for a, b in rulings]
    lines.sort(key=lambda ab: float(mesh.vertices[list(ab), 0].sum()))
    foot, head = np.array(lines, dtype=np.int64).T
    rows, shares = [], []
    for v in _ACROSS:
        rows.append(np.stack([foot, head, foot, head], axis=1))
        shares.append(np.tile([1 - v, v, 0.0, 0.0], (len(foot), 1)))
        rows.append(np.stack([foot[:-1], head[:-1], foot[1:], head[1:]], axis=1))
        shares.append(np.tile(np.array([1 - v, v, 1 - v, v]) / 2, (len(foot) - 1, 1)))
    return Needles(np.concatenate(shares), np.concatenate(rows), 0.0)


def _unsure(mesh: PanelMesh, net: Edges) -> float:
    """mm between the two diagonals of the worst quad: the surface runs somewhere between them."""
    worst = 0.0
    for (a, b), (one, other) in zip(net.ends[net.inner], net.faces[net.inner], strict=True):
        c, d = (next(int(k) for k in mesh.triangles[t] if k not in (a, b)) for t in (one, other))
        p, q, r, s = mesh.vertices[[a, b, c, d]]
        normal = np.cross(q - p, s - r)
        size = float(np.linalg.norm(normal))
        if size > 1e-9:
            worst = max(worst, abs(float((r - p) @ normal)) / size)
    return worst
