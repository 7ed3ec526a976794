"""Chines that were rounded off in the mesh, made sharp again: planks are cut to a corner and rounded after.

band      the strip of triangles within which the skin turns at a rounded chine
rim       the two lines along which the band meets the panels
corner    where the two panels, each carried on as it bends, meet

Each side is carried on by a cubic fitted to its corners near by (weighted least squares), in the plane through both
rims.  Only long, narrow bands are taken: a round bilge stays round.  Method: derived.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from scipy.spatial import KDTree

from strakewright.arrays import Bools, Floats, Ints
from strakewright.errors import Finding, UnworkableError
from strakewright.geometry.curves import arc_length
from strakewright.geometry.meshes import Edges, components, dihedral_fold, edges, wound_alike
from strakewright.loft.rounding import HAND, SURELY, turns
from strakewright.loft.symmetry import PortHalf

_WHOLE = 0.6  # of the turn in one fold: a sharp corner
_LONG, _WIDE = 0.25, 190.0  # of the length; mm between the rims
_REACH = 110.0  # mm, how far corners of a side weigh in, more where they lie far apart
_FEW, _ENOUGH = 8, 24  # corners that a quadric and a cubic need
_CUBIC = [(i, j) for i in range(4) for j in range(4 - i)]
_QUADRIC = [(i, j) for i in range(3) for j in range(3 - i)]
_ON = 0.02  # mm: a corner this near a panel carried on is its own
_FARTHEST = 80.0  # mm from the rims to the corner


@dataclass(frozen=True, eq=False)
class _Band:
    """mine : (m,) its triangles;  lower, upper : corner numbers of its rims, aft to forward"""

    mine: Bools
    lower: Ints
    upper: Ints


def sharpened(half: PortHalf, crease_deg: float) -> PortHalf:
    """The half hull with every rounded chine made a sharp one, each told in a finding; itself when there is none."""
    if half.groups is not None:
        return half  # the file says where the panels end
    try:
        triangles = wound_alike(half.triangles)
    except UnworkableError:
        return half
    net = edges(triangles)
    bands = _bands(half, triangles, net, math.radians(SURELY * crease_deg))
    for band in bands:
        half = _with_corner(half, triangles, band)
        if len(bands) > 1:
            return sharpened(half, crease_deg)  # numbers have changed: look again
    return half


def _bands(half: PortHalf, triangles: Ints, net: Edges, least: float) -> list[_Band]:
    """Bands from the keel up."""
    turn = turns(half.vertices, triangles)
    marked = turn > least
    if not marked.any():
        return []
    fold = dihedral_fold(half.vertices, triangles, net)
    across = turn[net.faces].max(axis=1)
    whole = net.inner & (fold > _WHOLE * across) & (across > least)
    middle = half.vertices[triangles].mean(axis=1)
    if whole.any():
        marked &= KDTree(_strewn(half.vertices[net.ends[whole]])).query(middle)[0] > 1.2 * HAND
    piece = components(len(triangles), net, net.inner & marked[net.faces].all(axis=1))
    found = []
    for number in np.unique(piece[marked]):
        mine = marked & (piece == number)
        if np.ptp(middle[mine, 0]) > _LONG * half.length:
            band = _band_of(half.vertices, triangles, net, mine)
            if band is not None:
                found.append(band)
    return found


def _strewn(stretches: Floats) -> Floats:
    """Points on stretches (k, 2, 3), about 20 mm apart."""
    step = np.linalg.norm(stretches[:, 1] - stretches[:, 0], axis=1)
    counts = np.maximum(2, (step / 20.0).astype(int) + 1)
    return np.concatenate(
        [np.linspace(a, b, n) for (a, b), n in zip(stretches, counts, strict=True)],
    )


def _band_of(vertices: Floats, triangles: Ints, net: Edges, mine: Bools) -> _Band | None:
    """The band with its rims; None when it does not have two, or is too wide for a chine."""
    inside = mine[net.faces]
    rim = net.ends[net.inner & (inside[:, 0] ^ inside[:, 1])]
    chains = [c for c in _chains(rim) if np.ptp(vertices[c, 0]) > _LONG / 2 * np.ptp(vertices[triangles[mine], 0])]
    if len(chains) != 2:
        return None
    lower, upper = sorted((_forward(vertices, c) for c in chains), key=lambda c: float(vertices[c, 2].mean()))
    width = KDTree(vertices[upper]).query(vertices[lower])[0]
    return _Band(mine, lower, upper) if np.median(width) < _WIDE else None


def _forward(vertices: Floats, chain: Ints) -> Ints:
    return chain if vertices[chain[-1], 0] >= vertices[chain[0], 0] else chain[::-1]


def _chains(ends: Ints) -> list[Ints]:
    """Edges (k, 2) strung together into open lines of corner numbers; where lines touch, the longest way is kept."""
    beside: dict[int, set[int]] = {}
    for a, b in ends.tolist():
        beside.setdefault(a, set()).add(b)
        beside.setdefault(b, set()).add(a)
    chains: list[Ints] = []
    while True:
        tips = [c for c, mates in beside.items() if len(mates) == 1]
        if not tips:
            return chains
        walk = [min(tips)]
        while beside[walk[-1]]:
            step = min(beside[walk[-1]])
            beside[walk[-1]].discard(step)
            beside[step].discard(walk[-1])
            walk.append(step)
        chains.append(np.array(walk, dtype=np.int64))


def _with_corner(half: PortHalf, triangles: Ints, band: _Band) -> PortHalf:
    """The band's triangles replaced by two strips that meet at the corner."""
    vertices, net = half.vertices, edges(triangles)
    band = _narrowed(vertices, triangles, net, band)
    sides = _sides(vertices, triangles, band)
    lower, upper = vertices[band.lower], vertices[band.upper]
    share = arc_length(lower) / arc_length(lower)[-1]
    mates = _mates(lower, upper)
    ends = vertices[np.unique(net.ends[net.border & band.mine[net.faces[:, 0]]])]
    ways: list[Floats | None] = [None] * len(lower)
    for at in (0, -1):
        ways[at] = _end_way(lower[at], mates[at], ends)
    corners = np.array([_corner(p, q, sides, way) for p, q, way in zip(lower, mates, ways, strict=True)])
    if not np.isfinite(corners).all():
        return half
    corners[(lower[:, 1] == 0.0) & (mates[:, 1] == 0.0), 1] = 0.0
    number = len(vertices) + np.arange(len(corners))
    above = arc_length(upper) / arc_length(upper)[-1]
    strips = [_zipped(band.lower, share, number, share), _zipped(number, share, band.upper, above)]
    gone = triangles[band.mine]
    told = _told(vertices[gone].reshape(-1, 3), corners)
    return replace(
        half,
        vertices=np.concatenate([vertices, corners]),
        triangles=np.concatenate([triangles[~band.mine], *strips]),
        findings=(*half.findings, told),
    )


def _narrowed(vertices: Floats, triangles: Ints, net: Edges, band: _Band) -> _Band:
    """The band without the triangles that lie on one of the panels carried on."""
    sides = _sides(vertices, triangles, band)
    inner = np.setdiff1d(triangles[band.mine], np.concatenate([band.lower, band.upper]))
    owner = np.zeros(len(vertices), dtype=np.int64)
    for mark, rim, side in zip((1, 2), (band.lower, band.upper), sides, strict=True):
        owner[rim] = mark
        nearest = rim[KDTree(vertices[rim]).query(vertices[inner])[1]]
        for at in np.unique(nearest):
            sheet = _Sheet(side, vertices[at])
            some = inner[nearest == at]
            if sheet.sound:
                off = np.array([abs(sheet.value(point)) for point in vertices[some]])
                owner[some[(off < max(_ON, 3 * sheet.noise)) & (owner[some] == 0)]] = mark
    corners = owner[triangles]
    left = band.mine & ~((corners[:, 0] > 0) & (corners == corners[:, :1]).all(axis=1))
    return (_band_of(vertices, triangles, net, left) if left.any() else None) or band


def _end_way(p: Floats, q: Floats, ends: Floats) -> Floats | None:
    """(3,) out of the corner in the plane of the rounding's own end; None where that is straight."""
    across = (q - p) / max(float(np.linalg.norm(q - p)), 1e-9)
    near = ends[np.linalg.norm(ends - (p + q) / 2, axis=1) < 0.75 * np.linalg.norm(q - p)]
    off = (near - p) - np.outer((near - p) @ across, across)
    far = np.linalg.norm(off, axis=1)
    return off[far.argmax()] if len(far) and far.max() > 0.3 else None


def _told(old: Floats, corners: Floats) -> Finding:
    out = np.asarray(KDTree(old).query(corners)[0])
    what = (
        f"the chine between x = {corners[:, 0].min():.0f} and {corners[:, 0].max():.0f} mm was rounded in the mesh;"
        f" it was made sharp where the panels meet, up to {out.max():.0f} mm outside the rounding"
    )
    return Finding("chine-sharpened", "warning", "hull", what, "Round the corner after planking, as far as drawn")


def _sides(vertices: Floats, triangles: Ints, band: _Band) -> tuple[Floats, Floats]:
    """(n, 3) corners of the two panels near the band, below and above."""
    clear = np.unique(triangles[~band.mine])
    below, above = (KDTree(vertices[rim]).query(vertices[clear])[0] for rim in (band.lower, band.upper))
    near = np.minimum(below, above) < 5 * _REACH
    points = vertices[clear]
    return points[near & (below < above)], points[near & (above < below)]


def _mates(lower: Floats, upper: Floats) -> Floats:
    """(n, 3) for each point of the lower rim the nearest on the upper one, ends to ends."""
    fine = np.concatenate([np.linspace(a, b, 9)[:-1] for a, b in pairwise(upper)] + [upper[-1:]])
    mates = fine[KDTree(fine).query(lower)[1]]
    mates[0], mates[-1] = upper[0], upper[-1]
    return np.asarray(mates)


def _corner(p: Floats, q: Floats, sides: tuple[Floats, Floats], way: Floats | None) -> Floats:
    """(3,) where both sides meet in the plane through p, q and the way out; nan when they do not.

    way : (3,) out, where it is known; else half way between the normals
    """
    sheets = [_Sheet(side, at) for side, at in zip(sides, (p, q), strict=True)]
    if not all(f.sound for f in sheets):
        return np.full(3, np.nan)
    across = (q - p) / max(float(np.linalg.norm(q - p)), 1e-9)
    one, other = sheets[0].normal, sheets[1].normal
    one, other = (-one if one @ across > 0 else one), (-other if other @ across < 0 else other)  # away from each other
    out = one + other if way is None else way
    out = out - (out @ across) * across
    frame = np.stack([across, out / np.linalg.norm(out)])
    at = (p + q) / 2
    for _ in range(20):
        value = np.array([f.value(at) for f in sheets])
        slope = np.array([frame @ f.slope(at) for f in sheets])
        if abs(np.linalg.det(slope)) < 1e-4:
            return np.full(3, np.nan)
        step = np.linalg.solve(slope, -value)
        at = at + step @ frame
        if np.abs(step).max() < 1e-7:
            break
    far = float(np.linalg.norm(at - (p + q) / 2))
    return at if far < _FARTHEST + float(np.linalg.norm(q - p)) else np.full(3, np.nan)


class _Sheet:
    """Height z over a plane near a point as a cubic in x and y, fitted to one side's corners."""

    def __init__(self, points: Floats, at: Floats) -> None:
        far = np.linalg.norm(points - at, axis=1)
        last = min(_ENOUGH, len(far)) - 1
        reach = max(_REACH, float(np.partition(far, last)[last]) / 1.5) if len(far) else _REACH
        near = far < 2 * reach
        self.at, self.sound = at, bool(near.sum() >= _FEW)
        if not self.sound:
            return
        some, weight = points[near] - at, np.exp(-((far[near] / reach) ** 2))
        middle = weight @ some / weight.sum()
        self.frame: Floats = np.linalg.svd((some - middle) * weight[:, None])[2]
        x, y, z = (some @ self.frame.T).T
        self.powers = _CUBIC if len(z) >= _ENOUGH else _QUADRIC
        rows = self._rows(x, y)
        self.shape = np.linalg.lstsq(rows * weight[:, None], z * weight, rcond=None)[0]
        self.noise = float(np.sqrt(weight @ (rows @ self.shape - z) ** 2 / weight.sum()))
        self.normal: Floats = self.slope(at)

    def _rows(self, x: Floats, y: Floats) -> Floats:
        return np.stack([x**i * y**j for i, j in self.powers], axis=-1)

    def value(self, at: Floats) -> float:
        """mm, how far a point lies off the sheet, along its third axis."""
        x, y, z = self.frame @ (at - self.at)
        return float(z - self._rows(x, y) @ self.shape)

    def slope(self, at: Floats) -> Floats:
        """(3,) of `value` in space."""
        x, y, _ = self.frame @ (at - self.at)
        along = sum(s * i * x ** max(i - 1, 0) * y**j for s, (i, j) in zip(self.shape, self.powers, strict=True))
        across = sum(s * j * x**i * y ** max(j - 1, 0) for s, (i, j) in zip(self.shape, self.powers, strict=True))
        return np.asarray(np.array([-along, -across, 1.0]) @ self.frame)


def _zipped(left: Ints, share_left: Floats, right: Ints, share_right: Floats) -> Ints:
    """Triangles between two lines of corners, stepping on the side that lies behind."""
    i = j = 0
    out: list[tuple[int, int, int]] = []
    while i < len(left) - 1 or j < len(right) - 1:
        if j == len(right) - 1 or (i < len(left) - 1 and share_left[i + 1] <= share_right[j + 1]):
            out.append((int(left[i]), int(left[i + 1]), int(right[j])))
            i += 1
        else:
            out.append((int(left[i]), int(right[j + 1]), int(right[j])))
            j += 1
    return np.array(out, dtype=np.int64)
