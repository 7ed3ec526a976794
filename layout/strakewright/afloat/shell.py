"""The hull as one closed shape for the water to close on: panels' outsides as fine triangles, both sides, and lids.

lid      a strip straight across from a border to its mirror image: transom, bow transom, a flat along the keel, deck
shell    triangles of the skin and the lids together;  sheer : the upper border, port

Source: derived. Chart points between the four borders by bilinear blending (S. Coons 1967); the triangles' chords
leave out the hollow of a curved skin, an error of second order that the tests measure.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from strakewright.arrays import Bools, Floats, Ints
from strakewright.geometry.curves import spline_curve, without_repeats
from strakewright.geometry.surface import Patch
from strakewright.hull import Hull, Panel
from strakewright.shop.skins import moved_ring
from strakewright.shop.transoms import Plate, transom_plates
from strakewright.solids import Body

ALONG, ACROSS = 160, 40
COARSE = 2  # every second line of the grid each way: for curves that are looked at
ON_CENTRELINE = 0.05  # mm
MIRROR = np.array([1.0, -1.0, 1.0])

Mesh = tuple[Floats, Ints]


@dataclass(frozen=True, eq=False)
class Shell:
    """vertices (n, 3) mm;  triangles (m, 3) outward;  wets (m,) False on the deck and where wood lies on wood.

    sheer, keel : (k, 3) upper and lower border, port, aft to forward;  stem, transom : (j, 3) port edge of the ends
    from below up;  low : height of the lowest point;  decked : closed at the sheer
    """

    vertices: Floats
    triangles: Ints
    wets: Bools
    sheer: Floats
    keel: Floats
    stem: Floats
    transom: Floats
    low: float
    decked: bool = False

    @property
    def top(self) -> float:
        """Height up to which water may stand round a level hull: the lowest of the sheer, or all of a decked one."""
        return float(self.sheer[:, 2].min() if not self.decked else self.vertices[:, 2].max() + 1.0)


def shell_of(hull: Hull, outward: Mapping[str, float] | None = None, deck: bool = False, every: int = 1) -> Shell:
    """The shell of a hull.  outward : panel -> mm from the described surface to the planking's outside;
    deck : close her at the sheer;  every : line of the grid is taken"""
    grids = [outside_grid(p, (outward or {}).get(p.name, 0.0))[::every, ::every] for p in hull.panels]
    skins = [_outward(grid) for grid in grids]
    skins += [_outward(np.stack([a[:, -1], b[:, 0]], axis=1)) for a, b in pairwise(grids)]  # where chines stand apart
    aft = without_repeats(np.concatenate([g[0] for g in grids]))
    forward = without_repeats(np.concatenate([g[-1] for g in grids]))
    sheer = grids[-1][:, -1]
    plates = {name: plate for name, (plate, _) in transom_plates(hull).items()}
    lids = [_end(aft, plates.get("transom")), _end(forward, plates.get("bow transom"), turned=True)]
    lids.append(_lid(grids[0][:, 0], turned=True))
    port = [*skins, *lids]
    top = [_lid(sheer)] if deck else []
    pieces = [*port, *(_mirrored(m) for m in skins), *top]
    vertices, triangles = joined(pieces)
    wets = np.arange(len(triangles)) < len(triangles) - sum(len(t) for _, t in top)
    return Shell(vertices, triangles, wets, sheer, grids[0][:, 0], forward, aft, float(vertices[:, 2].min()), deck)


def with_outer_wood(shell: Shell, bodies: Iterable[Body]) -> Shell:
    """The shell and what is fastened to its outside: keel shoe, skeg, stem cap, rails, which displace their own volume.

    Their faces are not counted as wetted: about as much of the planking lies dry under them.
    """
    outer = [(body.vertices, body.triangles) for body in bodies]
    vertices, triangles = joined([(shell.vertices, shell.triangles), *outer])
    wets = np.append(shell.wets, np.zeros(len(triangles) - len(shell.triangles), dtype=bool))
    return replace(shell, vertices=vertices, triangles=triangles, wets=wets, low=float(vertices[:, 2].min()))


def outside_grid(panel: Panel, outward: float) -> Floats:
    """(ALONG + 1, ACROSS + 1, 3) points of the outside of a panel's planking, [forward, up].  outward : mm from the
    described surface"""
    if outward == 0.0:
        patch, walk = panel.patch, panel.ring()
    else:
        patch, stretches = moved_ring(panel, -outward)
        walk = tuple((s.border, s.chart) for s in stretches)
    by = {border.name: points for border, points in walk}
    ends = (by.get(border.name) if border else None for border in (panel.forward, panel.aft))
    forward, aft = ends
    return panel_grid(patch, (by[panel.lower.name], forward, by[panel.upper.name], aft))


def panel_grid(patch: Patch, borders: tuple[Floats, Floats | None, Floats, Floats | None]) -> Floats:
    """(ALONG + 1, ACROSS + 1, 3) points of a panel.  borders : lower, forward, upper, aft as (n, 2) chart points in
    ring order (counter-clockwise), None where the long ones meet"""
    low, forward, up, aft = borders
    u, v = np.linspace(0, 1, ALONG + 1), np.linspace(0, 1, ACROSS + 1)
    low, up = _spaced(low, u), _spaced(up[::-1], u)
    fore = _spaced(forward, v) if forward is not None else np.repeat(low[-1:], len(v), axis=0)
    back = _spaced(aft[::-1], v) if aft is not None else np.repeat(low[:1], len(v), axis=0)
    s, t = u[:, None, None], v[None, :, None]
    blend = (1 - t) * low[:, None] + t * up[:, None] + (1 - s) * back[None] + s * fore[None]
    corners = (1 - s) * ((1 - t) * low[0] + t * up[0]) + s * ((1 - t) * low[-1] + t * up[-1])
    points = patch.at(blend - corners)
    near = np.abs(points[:, 0, 1]).max() < ON_CENTRELINE
    if near:
        points[:, 0, 1] = 0.0
    return np.asarray(points)


def _spaced(points: Floats, shares: Floats) -> Floats:
    curve = spline_curve(points)
    return curve.at(curve.end * shares)


def _outward(grid: Floats) -> Mesh:
    """Triangles of a grid [forward, up] with their outside to the water."""
    n, m = grid.shape[:2]
    index = np.arange(n * m).reshape(n, m)
    a, b, c, d = index[:-1, :-1], index[:-1, 1:], index[1:, :-1], index[1:, 1:]
    triangles = np.concatenate([np.stack([a, b, c], axis=-1), np.stack([b, d, c], axis=-1)]).reshape(-1, 3)
    return grid.reshape(-1, 3), triangles


def _mirrored(mesh: Mesh) -> Mesh:
    return mesh[0] * MIRROR, mesh[1][:, ::-1]


def _end(border: Floats, plate: Plate | None, turned: bool = False) -> Mesh:
    """The lid of an end, bent as its transom is.  border : (n, 3) port edge from below up"""
    if plate is None or plate.bend == 0.0 or np.abs(border[:, 1]).max() < ON_CENTRELINE:
        return _lid(border, turned)
    across = border[:, 1:2] * np.linspace(1.0, -1.0, 2 * ACROSS + 1)
    out = plate.bulge(across) - plate.bulge(border[:, 1:2])
    grid = (
        border[:, None] * np.array([1.0, 0.0, 1.0]) + across[..., None] * [0.0, 1.0, 0.0] + out[..., None] * plate.out
    )
    points, quads = _outward(grid)
    return points, quads[:, ::-1] if turned else quads


def _lid(border: Floats, turned: bool = False) -> Mesh:
    """The strip from a port border to its mirror image; nothing where the border lies in the centreline plane.

    Outside aft for an edge that runs up, above for one that runs forward; `turned` the other way."""
    if np.abs(border[:, 1]).max() < ON_CENTRELINE:
        return np.zeros((0, 3)), np.zeros((0, 3), dtype=np.int64)
    n = len(border)
    i = np.arange(n - 1)
    quads = np.concatenate([np.stack([i, i + n, i + 1], axis=1), np.stack([i + 1, i + n, i + n + 1], axis=1)])
    points = np.concatenate([border, border * MIRROR])
    return points, quads[:, ::-1] if turned else quads


def joined(meshes: list[Mesh]) -> Mesh:
    """Several meshes as one."""
    starts = np.cumsum([0, *(len(v) for v, _ in meshes)])
    vertices = np.concatenate([v for v, _ in meshes])
    return vertices, np.concatenate([t + s for (_, t), s in zip(meshes, starts, strict=False)])
