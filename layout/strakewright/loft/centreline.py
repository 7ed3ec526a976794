"""The centreline of a whole hull: the plane about which the mirrored skin lies on the skin itself.

centreline    upright plane of symmetry, y = 0 once found
heel, slew    how a boat lies in its file: turned about its length, turned about the plumb line

Method: Gauss-Newton on the distances along the normals between mirrored vertices and the skin (point-to-plane
matching), the worst fittings left out; derived.
"""

from __future__ import annotations

import math

import numpy as np
from scipy.spatial import KDTree

from strakewright.arrays import Floats, Ints
from strakewright.errors import Finding, InputError
from strakewright.geometry.meshes import face_areas, face_normals

SNAP = 0.05  # mm, vertices this near the centreline are on it
WORTH_TELLING, TOO_FAR = 0.5, 10.0  # mm, mismatch of the two halves
_TILTED = math.radians(8.0)  # a file turned by more is turned on purpose


def upright(vertices: Floats, triangles: Ints, source: str, findings: list[Finding]) -> tuple[Floats, float, float]:
    """(3, 3) the turn that sets the hull upright; y of its centreline then, mm; how far the halves lie apart, mm.

    A hull that lies straight in its file is only shifted.  Raises InputError when the halves do not agree.
    """
    skin, upright_turn = _Skin(vertices, triangles), np.eye(3)
    centre, mismatch = _measured_centre(skin)
    if mismatch > WORTH_TELLING:
        turn, turned_mismatch = _measured_tilt(skin, centre)
        if turned_mismatch < mismatch / 3:
            findings.append(_told_tilt(turn))
            upright_turn = turn
            skin = _Skin(vertices @ turn.T, triangles)
            centre, mismatch = _measured_centre(skin)
    _judge(centre, mismatch, source, findings)
    return upright_turn, centre, mismatch


def _told_tilt(turn: Floats) -> Finding:
    heel, slew = math.degrees(math.asin(-turn[1, 2])), math.degrees(math.asin(turn[1, 0]))
    what = f"the file's boat lay heeled {abs(heel):.2f} and slewed {abs(slew):.2f} degrees; it is turned upright"
    fix = "Fore-and-aft trim cannot be seen in a mesh: check a height at both ends"
    return Finding("tilted", "warning", "hull", what, fix)


def _measured_tilt(skin: _Skin, centre: float) -> tuple[Floats, float]:
    """(3, 3) the turn that sets the plane of symmetry upright, and the mismatch it leaves."""
    some = skin.sample()
    normal, reach = np.array([0.0, 1.0, 0.0]), centre
    middle = np.array([some[:, 0].mean(), centre, some[:, 2].mean()])
    reach = 0.0
    gap = np.zeros(len(some))
    for _ in range(25):
        points = some - middle
        off = points @ normal - reach
        gap, facing = skin.gaps_facing(middle + points - 2 * off[:, None] * normal)
        near = np.abs(gap) <= max(3 * float(np.median(np.abs(gap))), 1e-9)
        across = facing @ normal
        columns = [2 * across]
        columns += [-2 * (points[:, k] * across + off * facing[:, k]) for k in (0, 2)]
        lever = np.stack(columns, axis=1)[near]
        step = -np.linalg.lstsq(lever, gap[near], rcond=None)[0]
        reach += float(step[0])
        normal = normal + np.array([step[1], 0.0, step[2]])
        normal /= np.linalg.norm(normal)
        if abs(normal[1]) < math.cos(_TILTED):
            return np.eye(3), np.inf
        if np.abs(step[1:]).max() < 1e-9 and abs(step[0]) < 1e-6:
            break
    forward = np.array([1.0, 0.0, 0.0]) - normal[0] * normal
    forward /= np.linalg.norm(forward)
    return np.stack([forward, normal, np.cross(forward, normal)]), float(np.quantile(np.abs(gap), 0.95))


def _measured_centre(skin: _Skin) -> tuple[float, float]:
    """y of the plane of symmetry, and how far the mirrored halves lie apart (95 of 100 vertices)."""
    some = skin.sample()
    centre = _first_centre(skin.vertices, skin.triangles)
    gap = np.zeros(len(some))
    for _ in range(8):
        mirrored = some * np.array([1.0, -1.0, 1.0]) + np.array([0.0, 2 * centre, 0.0])
        gap, slope = skin.gaps(mirrored)
        near = np.abs(gap) <= max(3 * float(np.median(np.abs(gap))), 1e-9)
        lever = 2 * slope[near]
        step = -float(lever @ gap[near]) / max(float(lever @ lever), 1e-12)
        centre += step
        if abs(step) < 1e-7:
            break
    sideways = skin.vertices[:, 1]
    ridge = sideways[np.abs(sideways - centre) <= SNAP]
    centre = float(np.median(ridge)) if len(ridge) > 4 else centre
    centre = 0.0 if abs(centre) < SNAP / 2 else centre
    mismatch = float(np.quantile(np.abs(gap), 0.95))
    return centre, mismatch


def _first_centre(vertices: Floats, triangles: Ints) -> float:
    """Mean y of the skin, weighted by area."""
    areas = face_areas(vertices, triangles)
    return float(areas @ vertices[triangles, 1].mean(axis=1) / areas.sum())


def _judge(centre: float, mismatch: float, source: str, findings: list[Finding]) -> None:
    if mismatch > TOO_FAR:
        raise InputError(
            f"the two halves of the hull do not agree: mirrored about y = {centre:.1f} mm they lie"
            f" up to {mismatch:.0f} mm apart",
            where=source,
            fix="Set half = true if the file holds one side only, or check forward and up",
        )
    if mismatch > WORTH_TELLING:
        findings.append(
            Finding(
                "halves-differ",
                "warning",
                "hull",
                f"port and starboard differ by {mismatch:.1f} mm; the port half is used for both",
                "Mirror one half in the program that made the mesh",
            )
        )
    if abs(centre) > 0.1:
        findings.append(
            Finding(
                "off-centre",
                "note",
                "hull",
                f"the file's centreline lies at {centre:+.2f} mm (+ to port); it is moved to y = 0",
            )
        )


class _Skin:
    """The triangles prepared for asking how far points lie off them."""

    def __init__(self, vertices: Floats, triangles: Ints) -> None:
        self.vertices, self.triangles = vertices, triangles
        self.normals = face_normals(vertices, triangles)
        self._tree = KDTree(vertices[triangles].mean(axis=1))

    def sample(self, most: int = 3000) -> Floats:
        """Vertices spread evenly over the list, always the same ones."""
        used = np.unique(self.triangles)
        step = max(1, len(used) // most)
        return self.vertices[used[::step]]

    def gaps(self, points: Floats) -> tuple[Floats, Floats]:
        """As `gaps_facing`, with the normal's y only."""
        gap, facing = self.gaps_facing(points)
        return gap, facing[:, 1]

    def gaps_facing(self, points: Floats) -> tuple[Floats, Floats]:
        """Signed distance along the nearest triangle's normal (past its border: plain), and that normal, (n, 3)."""
        near = self._tree.query(points, k=min(12, len(self.triangles)))[1].reshape(len(points), -1)
        foot = nearest_on(points[:, None], self.vertices[self.triangles[near]])
        best = np.argmin(np.linalg.norm(points[:, None] - foot, axis=2), axis=1)
        rows = np.arange(len(points))
        away, normal = points - foot[rows, best], self.normals[near[rows, best]]
        along, whole = np.einsum("ij,ij->i", away, normal), np.linalg.norm(away, axis=1)
        beside = np.abs(along) < 0.9 * whole - 1e-9
        return np.where(beside, whole, along), np.where(beside[:, None], 0.0, normal)


def nearest_on(points: Floats, corners: Floats) -> Floats:
    """Nearest point of each triangle.  points : (n, 1, 3), corners : (n, k, 3, 3); returns (n, k, 3).

    The foot in the plane if it lies inside, else the nearest point of the three sides.
    """
    a, b, c = corners[..., 0, :], corners[..., 1, :], corners[..., 2, :]
    u, v, w = b - a, c - a, points - a
    uu, uv, vv = (np.einsum("...i,...i->...", m, n) for m, n in ((u, u), (u, v), (v, v)))
    wu, wv = np.einsum("...i,...i->...", w, u), np.einsum("...i,...i->...", w, v)
    det = np.maximum(uu * vv - uv**2, 1e-300)
    s, t = (vv * wu - uv * wv) / det, (uu * wv - uv * wu) / det
    foot = a + s[..., None] * u + t[..., None] * v
    inside = (s >= 0) & (t >= 0) & (s + t <= 1)
    best, least = foot, np.where(inside, 0.0, np.inf)
    for start, end in ((a, b), (b, c), (c, a)):
        side = end - start
        share = np.einsum("...i,...i->...", points - start, side) / np.einsum("...i,...i->...", side, side)
        here = start + np.clip(share, 0.0, 1.0)[..., None] * side
        gap = np.linalg.norm(points - here, axis=-1)
        nearer = gap < least
        best, least = np.where(nearer[..., None], here, best), np.where(nearer, gap, least)
    return np.asarray(best)
