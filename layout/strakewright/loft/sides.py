"""The borders of each panel: which stretch of its edge is keel, chine, sheer, stem or transom.

ring      the edge of a panel's mesh, walked so that lower border, forward end, upper border, after end follow
arc       stretch of the ring between two corners
corner    where the neighbour changes, or where the line turns sharply

Every arc may only be some of the four sides (what meets a deck is the sheer, what meets a transom the after
end); among the assignments that keep the order of the ring, the one whose arcs point best along their sides
wins, and having all four sides counts in its favour.  Method: derived.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise, product

import numpy as np

from strakewright.arrays import Bools, Floats, Ints
from strakewright.errors import InputError, UnworkableError
from strakewright.geometry.curves import arc_length
from strakewright.geometry.meshes import border_loops, face_areas, face_normals, wound_alike
from strakewright.loft.parting import BOW_TRANSOM, DECK, TRANSOM, PartedSkin

LOWER, FORWARD, UPPER, AFT = range(4)
CENTRE, FREE = -5, -6
_SHARP = math.radians(35.0)
_FAINT = math.radians(1.0)  # bridged edges with less fold may lie beside the true crease
_WINDOW = 0.006  # of the ring's length, over which a turn is measured
_ALL_SIDES = 0.08  # of the ring's length, what having a further side is worth


@dataclass(frozen=True, eq=False)
class Side:
    """name : of the border;  corners : (n,) vertex numbers of the panel's own mesh, in the border's direction

    fixed : (n,) True where the corner lies on the true line (False where a gap was bridged)
    """

    name: str
    corners: Ints
    centreline: bool
    fixed: Bools


@dataclass(frozen=True, eq=False)
class PanelMesh:
    """One panel's own mesh, wound so that its normals point inboard, and its sides (None where two long
    borders meet in a point).  number : from the keel up;  skin : (n,) vertex numbers in the whole skin
    measured : (n, 3) corners as the file has them, where noisy borders were drawn fair; else None"""

    name: str
    number: int
    vertices: Floats
    triangles: Ints
    skin: Ints
    lower: Side
    upper: Side
    aft: Side | None
    forward: Side | None
    measured: Floats | None = None

    @property
    def sides(self) -> tuple[Side, ...]:
        """The sides there are."""
        return tuple(s for s in (self.lower, self.upper, self.aft, self.forward) if s is not None)


@dataclass(frozen=True)
class _Arc:
    label: int
    ring: Ints  # places on the ring, both ends included
    way: Floats  # from end to end
    length: float


def panel_meshes(skin: PartedSkin) -> tuple[PanelMesh, ...]:
    """Every panel with its four sides.  Raises InputError that says what was seen."""
    panels = tuple(_panel(skin, k) for k in range(len(skin.names)))
    for low, high in pairwise(panels):
        _check_shared(low, high)
    return panels


def _check_shared(low: PanelMesh, high: PanelMesh) -> None:
    """The upper border of one panel is the lower border of the next."""
    below, above = low.skin[low.upper.corners], high.skin[high.lower.corners]
    if len(below) == len(above) and (below == above).all():
        return
    first, second = low.vertices[low.upper.corners], high.vertices[high.lower.corners]
    raise InputError(
        f"the upper border of panel {low.name!r} (x {first[0, 0]:.0f} to {first[-1, 0]:.0f}) is not the lower"
        f" border of panel {high.name!r} (x {second[0, 0]:.0f} to {second[-1, 0]:.0f})",
        where="[hull] mesh",
        fix="Check forward and up; carry the chine from one end of the hull to the other",
    )


def _panel(skin: PartedSkin, number: int) -> PanelMesh:
    name = skin.names[number]
    mine = np.flatnonzero(skin.label == number)
    used, renumbered = np.unique(skin.triangles[mine], return_inverse=True)
    vertices = skin.vertices[used]
    triangles = _inboard(vertices, renumbered.reshape(-1, 3).astype(np.int64), name)
    ring = _ring(vertices, triangles, name)
    labels, bridged = _edge_labels(skin, used[ring], number)
    arcs = _arcs(vertices[ring], labels)
    sides = _sides(vertices[ring], arcs, number, len(skin.names), name)
    cut = {place: _side(place, arcs, sides, ring, bridged) for place in set(sides)}
    named = {
        place: Side(
            _border_name(place, number, len(skin.names), labels_of, vertices[corners]),
            corners,
            bool((vertices[corners, 1] == 0).all()),
            fixed,
        )
        for place, (corners, fixed, labels_of) in cut.items()
    }
    return PanelMesh(
        name,
        number,
        vertices,
        triangles,
        used,
        named[LOWER],
        named[UPPER],
        named.get(AFT),
        named.get(FORWARD),
    )


def _inboard(vertices: Floats, triangles: Ints, name: str) -> Ints:
    """Wound alike with normals inboard: to starboard or up, on the whole."""
    try:
        triangles = wound_alike(triangles)
    except UnworkableError as fault:
        raise InputError(fault.what, where=f"panel {name!r}", fix=fault.fix) from None
    area, normal = face_areas(vertices, triangles), face_normals(vertices, triangles)
    mean = area @ normal
    return triangles if mean[2] - mean[1] >= 0 else np.ascontiguousarray(triangles[:, ::-1])


def _ring(vertices: Floats, triangles: Ints, name: str) -> Ints:
    where = f"panel {name!r}"
    try:
        loops = border_loops(triangles)
    except UnworkableError as fault:
        raise InputError(fault.what, where=where, fix=fault.fix) from None
    if not loops:
        raise InputError("it is closed, without any border", where=where, fix="Check crease_deg and half")
    lengths = [float(arc_length(vertices[np.append(loop, loop[0])])[-1]) for loop in loops]
    longest = int(np.argmax(lengths))
    for i in (i for i in range(len(loops)) if i != longest):  # small ones are closed in `holes`
        spot = vertices[loops[i]].mean(axis=0)
        seen = f"a hole of {lengths[i]:.0f} mm round about x {spot[0]:.0f}, y {spot[1]:.0f}, z {spot[2]:.0f}"
        raise InputError(f"it has {seen}", where=where, fix="Close the hole, or weld the mesh there")
    return loops[longest]


def _edge_labels(skin: PartedSkin, ring: Ints, number: int) -> tuple[Ints, Bools]:
    """(n,) what lies across each edge of the ring (from corner i to i + 1), and whether it only
    bridges a gap."""
    ends = np.sort(np.stack([ring, np.roll(ring, -1)], axis=1), axis=1)
    n = len(skin.vertices)
    keys, wanted = skin.creases.net.ends @ np.array([n, 1]), ends @ np.array([n, 1])
    order = np.argsort(keys)
    edge = order[np.searchsorted(keys[order], wanted)]
    faces = skin.creases.net.faces[edge]
    labels = np.where(faces < 0, number, skin.label[faces])
    across = np.where(labels[:, 0] == number, labels[:, 1], labels[:, 0])
    centre = (skin.vertices[ends, 1] == 0).all(axis=1)
    nothing = (faces[:, 1] < 0) | (across == number)
    gap = skin.creases.bridged[edge] & (skin.creases.fold[edge] < _FAINT)
    return np.where(nothing, np.where(centre, CENTRE, FREE), across), gap


def _arcs(points: Floats, labels: Ints) -> list[_Arc]:
    """Stretches of the ring between corners, in its order."""
    labels = _without_scraps(points, labels)
    corner = labels != np.roll(labels, 1)
    corner |= _sharp_turns(points) & ((labels == FREE) | (labels == CENTRE))
    at = np.flatnonzero(corner)
    if len(at) == 0:
        at = np.array([int(np.argmin(points[:, 0]))])
    n, arcs = len(points), []
    for start, stop in zip(at, np.append(at[1:], at[0] + n), strict=True):
        ring = np.arange(start, stop + 1) % n
        run = points[ring]
        arcs.append(_Arc(int(labels[start]), ring, run[-1] - run[0], float(arc_length(run)[-1])))
    return arcs


def _without_scraps(points: Floats, labels: Ints) -> Ints:
    """Labels with stretches too short to mean anything given to what lies on both their sides."""
    n, labels = len(labels), labels.copy()
    step = np.linalg.norm(np.roll(points, -1, axis=0) - points, axis=1)
    least = 0.004 * step.sum()
    starts = np.flatnonzero(labels != np.roll(labels, 1))
    for i, start in enumerate(starts):
        stop = starts[(i + 1) % len(starts)]
        run = np.arange(start, stop if stop > start else stop + n) % n
        before, after = labels[start - 1], labels[stop % n]
        if step[run].sum() < least and before == after:
            labels[run] = before
    return labels


def _sharp_turns(points: Floats) -> Bools:
    """(n,) True where a closed ring turns sharply, measured over a window; only the sharpest place in it."""
    n = len(points)
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.roll(points, -1, axis=0) - points, axis=1))])
    whole, window = along[-1], _WINDOW * along[-1]
    at = along[:-1]
    thrice = np.concatenate([at - whole, at, at + whole])
    back = (np.searchsorted(thrice, at - window, side="right") - 1) % n
    ahead = np.searchsorted(thrice, at + window, side="left") % n
    arriving, leaving = points - points[back], points[ahead] - points
    size = np.linalg.norm(arriving, axis=1) * np.linalg.norm(leaving, axis=1)
    cosine = np.einsum("ij,ij->i", arriving, leaving) / np.maximum(size, 1e-300)
    turn = np.arccos(np.clip(cosine, -1.0, 1.0))
    sharp = turn > _SHARP
    for i in np.flatnonzero(sharp):
        near = np.abs((at - at[i] + whole / 2) % whole - whole / 2) < window
        sharp[i] = turn[i] >= turn[near].max() and not sharp[:i][near[:i] & (turn[:i] == turn[i])].any()
    return np.asarray(sharp)


def _sides(points: Floats, arcs: list[_Arc], number: int, count: int, name: str) -> tuple[int, ...]:
    """The side that each arc belongs to."""
    allowed = [_allowed(arc, points, arcs, number, count) for arc in arcs]
    if len(arcs) > 12:
        raise InputError(
            f"its border has {len(arcs)} corners, which is not understood",
            where=f"panel {name!r}",
            fix="Look for ragged edges in the mesh; a panel has a lower, an upper and one or two end borders",
        )
    expected = _expected_ways(points)
    total = sum(arc.length for arc in arcs)
    best, choice = -np.inf, None
    for sides in product(*allowed):
        if _in_order(sides):
            value = sum(float(arc.way @ expected[s]) for arc, s in zip(arcs, sides, strict=True))
            value += _ALL_SIDES * total * len(set(sides))
            if value > best + 1e-9:
                best, choice = value, sides
    if choice is None:
        raise InputError(
            f"its border has {len(arcs)} arcs ({'; '.join(_described(points, a) for a in arcs)}), and they do"
            " not make a lower border, an upper border and ends",
            where=f"panel {name!r}",
            fix="Check [hull] half, forward and up; or change crease_deg",
        )
    return choice


def _described(points: Floats, arc: _Arc) -> str:
    (x0, _, z0), (x1, _, z1) = points[arc.ring[0]], points[arc.ring[-1]]
    return f"from x {x0:.0f}, z {z0:.0f} to x {x1:.0f}, z {z1:.0f}"


def _allowed(arc: _Arc, points: Floats, arcs: list[_Arc], number: int, count: int) -> tuple[int, ...]:
    if arc.label >= 0:
        return (LOWER,) if arc.label < number else (UPPER,)
    fixed = {DECK: (UPPER,), TRANSOM: (AFT,), BOW_TRANSOM: (FORWARD,)}
    if arc.label in fixed:
        return fixed[arc.label]
    x = points[:, 0]
    middle = (x.min() + x.max()) / 2
    end = FORWARD if points[arc.ring, 0].mean() > middle else AFT
    if arc.label == CENTRE:
        centre = np.concatenate([a.ring for a in arcs if a.label == CENTRE])
        keel = number == 0 and np.ptp(x[centre]) > 0.5 * np.ptp(x)
        return (LOWER, end) if keel else (end,)
    places = [LOWER] if number == 0 else []
    return (*places, end, UPPER) if number == count - 1 else (*places, end)


def _expected_ways(points: Floats) -> Floats:
    """(4, 3) unit directions in which the sides are walked: forward, up the panel, aft, down the panel."""
    _, y, z = points.T
    forward = np.array([1.0, 0.0, 0.0])
    rows = np.stack([y - y.mean(), z - z.mean()])
    across = np.linalg.svd(rows @ rows.T)[0][:, 0]
    across = across if across.sum() >= 0 else -across
    up = np.array([0.0, *across])
    return np.stack([forward, up, -forward, -up])


def _in_order(sides: tuple[int, ...]) -> bool:
    """Once round, without going back, with both long borders."""
    steps = [(b - a) % 4 for a, b in zip(sides, sides[1:] + sides[:1], strict=True)]
    return LOWER in sides and UPPER in sides and sum(steps) == 4


def _side(
    place: int, arcs: list[_Arc], sides: tuple[int, ...], ring: Ints, bridged: Bools
) -> tuple[Ints, Bools, set[int]]:
    """Corners of one side in the border's own direction, which of them are sure, and the labels across it."""
    mine = [i for i, s in enumerate(sides) if s == place]
    first = next(i for i in mine if sides[i - 1] != place or len(mine) == len(sides))
    runs = [arcs[(first + k) % len(arcs)] for k in range(len(mine))]
    walk = np.concatenate([runs[0].ring[:1], *(run.ring[1:] for run in runs)])
    sure = np.ones(len(walk), dtype=np.bool_)
    gap = bridged[walk[:-1]]
    sure[1:-1] = ~(gap[1:] | gap[:-1])
    if place in (UPPER, AFT):
        walk, sure = walk[::-1], sure[::-1]
    return ring[walk], sure, {run.label for run in runs}


def _border_name(place: int, number: int, count: int, labels: set[int], points: Floats) -> str:
    if place in (FORWARD, AFT):
        return "bow transom" if BOW_TRANSOM in labels else ("stem" if place == FORWARD else "transom")
    line = number if place == LOWER else number + 1
    if line == count:
        return "sheer"
    if line == 0:
        return "keel" if count > 1 or (points[:, 1] == 0).all() else "chine"
    return "chine" if count == 2 else f"chine{line}"
