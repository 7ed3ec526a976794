"""Borders of meshes whose corners lie astray at random, drawn fair before any surface is fitted.

line       a border's corners from end to end; a chine is one line of two panels
noise      how far its corners lie off a fair line at random, mm (root of the mean square of each coordinate)
leverage   share of a corner's own noise that is left in the fair line there: small inside, larger at the ends
corner     where lines meet: each line says where it lies across its own run, weighed by how sure it is
end plane  x = base + lean z, where all corners of an end lie in one within their noise: they say together where it is

Method: smoothing by a white noise integrated two, three or four times (G. Wahba 1978), order and strength by
generalised cross-validation (P. Craven, G. Wahba 1979); corners by weighted least squares of the lines' ends, the
lines then bent to them as their covariances say (conditioning of a normal law).  A mesh whose corners lie on fair
lines is left as it is, to the last digit.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from strakewright.arrays import Floats, Ints
from strakewright.errors import Finding
from strakewright.geometry.curves import arc_length
from strakewright.loft.fairing import wiener
from strakewright.loft.sides import PanelMesh

LEAST, MOST = 0.008, 0.5  # mm of noise below which nothing is done, and above which it is another shape
WORTH_A_WARNING = 0.1  # mm that a border may still be out
_ORDERS = (2, 3, 4)
_LOGS = np.linspace(-4.0, 14.0, 55)
_WARY = 1.4  # each free number counts for more than one
_FEW, _MANY = 6, 240  # corners of a line that can be judged; of longer ones so many at each end
_KEPT = 160  # of those, which are drawn fair: the inner ones only hold them
_CALM = 0.4  # likeness of neighbouring leftovers above which they are no noise
_COMMON = 0.25  # usual leftover over the root of their mean square below which a few corners are wrong, not all astray
_SHORT = 12  # corners below which form passes for noise
_BORNE_OUT = 2.5  # times the noise of long lines that short ones may have
_OFF = 1.4  # times the noise that an end may be out of its plane
_SURE = 4.0  # times the root of the variance of all ways together: nothing lies farther out, twenty seeds of each kind
_FIRM = 1e-3  # mm, what a line without noise is sure to


@dataclass(frozen=True, eq=False)
class _Plane:
    """base, lean : x = base + lean z;  spread : (2, 2) their covariance over the noise's variance"""

    base: float
    lean: float
    spread: Floats

    def put(self, points: Floats) -> Floats:
        """Points moved along x onto it."""
        return np.column_stack([self.base + self.lean * points[:, 2], points[:, 1:]])

    def share(self, z: float) -> float:
        """Of the noise's variance, square to the plane at a height."""
        at = np.array([1.0, z])
        return float(at @ self.spread @ at) / (1.0 + self.lean**2)


@dataclass(frozen=True, eq=False)
class _Line:
    """corners : (n,) numbers in the skin;  points : (n, 3) where the fair line passes;  noise : mm
    spread : (n, n) covariance over the noise's variance;  level : whether it lies in y = 0"""

    corners: Ints
    points: Floats
    spread: Floats
    noise: float
    level: bool
    plane: _Plane | None = None

    @property
    def noisy(self) -> bool:
        """Whether it is to be drawn fair."""
        return self.noise > LEAST


def steadied(meshes: tuple[PanelMesh, ...]) -> tuple[tuple[PanelMesh, ...], tuple[Finding, ...]]:
    """The panels with noisy borders drawn fair, and the finding that tells how far they may still be out.

    Where anything was moved, x is reckoned anew from the aftmost point: of noisy corners that was the farthest out.
    """
    lines = _in_end_planes(_lines(meshes), meshes)
    noisy = [line for line in lines if line.noisy]
    if not noisy:
        return meshes, ()
    moved = np.full((1 + max(int(m.skin.max()) for m in meshes), 3), np.nan)
    for mesh in meshes:
        moved[mesh.skin] = mesh.vertices
    corners = _corners(lines, moved)
    for line in noisy:
        moved[line.corners] = _bent(line, corners)
    for number, (spot, _) in corners.items():
        moved[number] = spot
    aft = np.array([np.nanmin(moved[:, 0]), 0.0, 0.0])
    made = tuple(replace(m, vertices=moved[m.skin] - aft, measured=m.vertices - aft) for m in meshes)
    inside = [line.noise * float(np.sqrt(2.0 * np.diag(line.spread)[1:-1].max(initial=0.0))) for line in noisy]
    return made, (_told(noisy, max([*inside, *(out for _, out in corners.values())])),)


def _told(noisy: list[_Line], worst: float) -> Finding:
    noise, out = float(np.sqrt(np.mean([line.noise**2 for line in noisy]))), _SURE * worst
    what = (
        f"the mesh's corners lie astray at random by about {noise:.2f} mm; its borders were drawn fair through them,"
        f" and may still be up to {out:.2f} mm out"
    )
    fix = "Export the mesh with more digits, or finer; one taken off a boat is as good as its measuring"
    return Finding("corners-astray", "warning" if out > WORTH_A_WARNING else "note", "hull", what, fix)


def _lines(meshes: tuple[PanelMesh, ...]) -> list[_Line]:
    """Every border once.

    Short ones are drawn fair only where a long one is about as noisy: a mesh is astray all over, and the bend of an
    end that has few corners passes for noise.
    """
    found: dict[tuple[int, ...], tuple[_Line, _Line]] = {}
    for mesh in meshes:
        for side in mesh.sides:
            corners, points = mesh.skin[side.corners], mesh.vertices[side.corners]
            if tuple(corners.tolist()) not in found:
                plain = _Line(corners, points, np.zeros((0, 0)), 0.0, side.centreline)
                found[tuple(corners.tolist())] = plain, _faired(plain)
    known = max((fair.noise for plain, fair in found.values() if len(plain.corners) >= _SHORT), default=0.0)
    return [
        fair if len(plain.corners) >= _SHORT or fair.noise <= _BORNE_OUT * known else plain
        for plain, fair in found.values()
    ]


def _faired(plain: _Line) -> _Line:
    """A line drawn fair; as it is where it is too short to be judged, or its leftovers are no noise."""
    points, n = plain.points, len(plain.corners)
    along = arc_length(points)
    if n < _FEW or np.diff(along).min() <= 1e-6 * along[-1] or _shake(along, points) < LEAST / 2:
        return plain
    fair, spread = points.copy(), np.zeros((n, n))
    stretches = [(0, n, 0, n)] if n <= _MANY else [(0, _MANY, 0, _KEPT), (n - _MANY, n, n - _KEPT, n)]
    noises = []
    for start, stop, first, last in stretches:
        own = _smoother(along[start:stop], points[start:stop])
        left = points[start:stop] - own @ points[start:stop]
        freedom = (2 if plain.level else 3) * max(stop - start - float(np.trace(own)), 1.0)
        random = _alike(left) <= _CALM and _common(left) >= _COMMON
        noises.append(float(np.sqrt((left**2).sum() / freedom)) if random else 0.0)
        spread[first:last, first:last] = own[first - start : last - start, first - start : last - start]
        fair[first:last] -= left[first - start : last - start]
    noise = min(noises)
    return replace(plain, points=fair, spread=spread, noise=noise) if LEAST < noise < MOST else plain


def _shake(along: Floats, points: Floats) -> float:
    """mm, noise by how far inner corners lie off the cubics through the two before and the two after."""
    at, near = along[2:-2], [along[i : len(along) - 4 + i] for i in (0, 1, 3, 4)]
    shares = [np.prod([(at - v) / (u - v) for v in near if v is not u], axis=0) for u in near]
    off = points[2:-2] - sum(
        s[:, None] * points[i : len(points) - 4 + i] for s, i in zip(shares, (0, 1, 3, 4), strict=True)
    )
    return float(np.sqrt(np.mean(off**2 / (1.0 + np.sum(np.square(shares), axis=0))[:, None])))


def _alike(left: Floats) -> float:
    """Likeness of neighbouring leftovers, -1 to 1: 0 for noise."""
    return float((left[1:] * left[:-1]).sum() / max(float((left**2).sum()), 1e-30))


def _common(left: Floats) -> float:
    """Median distance of leftovers over the root of their mean square: 0.7 to 0.9 for noise, 0 for a lost corner."""
    off = np.linalg.norm(left, axis=1)
    return float(np.median(off) / max(np.sqrt(np.mean(off**2)), 1e-30))


def _smoother(along: Floats, points: Floats) -> Floats:
    """(n, n) what makes a fair line of corners: of all orders and strengths the one of least score."""
    u = (along - along[0]) / (along[-1] - along[0])
    orders = [order for order in _ORDERS if len(u) > 2 * order]
    return min((_of_order(u, points, order) for order in orders), key=lambda found: found[0])[1]


def _of_order(u: Floats, points: Floats, order: int) -> tuple[float, Floats]:
    """Score of cross-validation, and the (n, n) smoother, of the best strength of one order."""
    n = len(u)
    free = np.linalg.qr(np.stack([u**k for k in range(order)], axis=1), mode="complete")[0][:, order:]
    weights, turn = np.linalg.eigh(free.T @ wiener(u, u, order) @ free)
    basis = free @ turn
    seen = ((basis.T @ points) ** 2).sum(axis=1)
    kept = 1.0 / (10.0 ** _LOGS[:, None] * np.maximum(weights, 0.0) + 1.0)  # (k, m) what is left of each part
    freedom = n - _WARY * (n - kept.sum(axis=1))
    score = np.where(freedom > 0.5, n * (kept**2 @ seen) / np.maximum(freedom, 0.5) ** 2, np.inf)
    best = int(np.argmin(score))
    return float(score[best]), np.eye(n) - (basis * kept[best]) @ basis.T


# -- ends --------------------------------------------------------------------------------------------------------------


def _in_end_planes(lines: list[_Line], meshes: tuple[PanelMesh, ...]) -> list[_Line]:
    """Noisy lines across an end put into its plane, where there is one."""
    for end in ("aft", "forward"):
        keys: set[tuple[int, ...]] = set()
        spots: dict[int, Floats] = {}
        for mesh in meshes:
            side = getattr(mesh, end)
            if side is not None and not side.centreline:
                numbers = mesh.skin[side.corners].tolist()
                keys.add(tuple(numbers))
                spots |= dict(zip(numbers, mesh.vertices[side.corners], strict=True))
        own = [tuple(line.corners.tolist()) in keys and line.noisy for line in lines]
        noise = max((line.noise for line, mine in zip(lines, own, strict=True) if mine), default=0.0)
        plane = _end_plane(np.array(list(spots.values())), noise) if len(spots) >= _FEW and noise > 0 else None
        if plane is not None:
            lines = [
                replace(line, points=plane.put(line.points), plane=plane) if mine else line
                for line, mine in zip(lines, own, strict=True)
            ]
    return lines


def _end_plane(points: Floats, noise: float) -> _Plane | None:
    """The plane of an end's corners (n, 3); None where they do not lie in one within their noise."""
    points = points[np.argsort(points[:, 2], kind="stable")]
    rows = np.column_stack([np.ones(len(points)), points[:, 2]])
    base, lean = np.linalg.lstsq(rows, points[:, 0], rcond=None)[0]
    left = (points[:, 0] - base - lean * points[:, 2]) / np.hypot(1.0, lean)
    if np.sqrt((left**2).sum() / (len(left) - 2)) > _OFF * noise or _alike(left) > _CALM:
        return None
    return _Plane(float(base), float(lean), np.linalg.inv(rows.T @ rows) * (1.0 + lean**2))


def _corners(lines: list[_Line], measured: Floats) -> dict[int, tuple[Floats, float]]:
    """Of every corner that a noisy line ends at: its place, and the root of its variance, mm."""
    ends: dict[int, list[tuple[_Line, int]]] = {}
    for line in lines:
        for place in (0, -1):
            ends.setdefault(int(line.corners[place]), []).append((line, place))
    return {c: _met(rows, measured[c]) for c, rows in ends.items() if any(line.noisy for line, _ in rows)}


def _met(rows: list[tuple[_Line, int]], measured: Floats) -> tuple[Floats, float]:
    """Least squares of what each line says; the corner as measured counts a little, for what no line says."""
    known = np.eye(3) * (0.5 / max(line.noise for line, _ in rows)) ** 2
    pull = known @ measured
    for line, place in rows:
        says = _says(line, place, float(measured[2]))
        known, pull = known + says, pull + says @ line.points[place]
    if measured[1] == 0.0:  # on the centreline
        known[1], known[:, 1], pull[1], known[1, 1] = 0.0, 0.0, 0.0, 1.0 / _FIRM**2
    spread = np.linalg.inv(known)
    return spread @ pull, float(np.sqrt(np.trace(spread)))


def _says(line: _Line, place: int, height: float) -> Floats:
    """(3, 3) one over variance of a line's end: nothing along its run."""
    way = line.points[place] - line.points[1 if place == 0 else -2]
    way = way / np.linalg.norm(way)
    sure = max(line.noise * float(np.sqrt(line.spread[place, place])), _FIRM) if line.noisy else _FIRM
    if line.plane is None:
        return np.asarray((np.eye(3) - np.outer(way, way)) / sure**2)
    out = np.array([1.0, 0.0, -line.plane.lean])
    out = out / np.linalg.norm(out)
    beside = np.cross(out, way)
    held = np.outer(beside, beside) / sure**2 + np.outer(out, out) / (line.noise**2 * line.plane.share(height))
    return np.asarray(held, dtype=np.float64)


def _bent(line: _Line, corners: dict[int, tuple[Floats, float]]) -> Floats:
    """(n, 3) the fair line bent to its ends."""
    if line.corners[0] == line.corners[-1]:
        return line.points
    ends = [0, len(line.corners) - 1]
    off = np.stack([corners[int(line.corners[e])][0] - line.points[e] for e in ends])
    points = line.points + line.spread[:, ends] @ np.linalg.solve(line.spread[np.ix_(ends, ends)], off)
    if line.plane is not None:
        points[1:-1] = line.plane.put(points[1:-1])
    if line.level:
        points[:, 1] = 0.0
    return np.asarray(points)
