"""A mesh turned, scaled and set down as the port half of a boat.

forward, up   the file's axes that point to the bow and to the sky
centreline    the upright plane of symmetry, y = 0; of a whole hull it is measured: where the mirrored skin
              lies on the skin itself
half hull     a file that holds one side only

Method: Gauss-Newton on the distances along the normals between mirrored vertices and the skin (point-to-plane
matching), the worst fittings left out; derived.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.spatial import KDTree

from strakewright.arrays import Bools, Floats, Ints
from strakewright.errors import Finding, InputError
from strakewright.geometry.meshes import face_areas, face_normals, weld
from strakewright.loft.mending import filled, main_body, stitched
from strakewright.settings import HullSettings
from strakewright.triangles import TriangleMesh

SHORTEST, LONGEST = 1500.0, 30000.0
SNAP = 0.05  # mm, vertices this near the centreline are on it
WORTH_TELLING, TOO_FAR = 0.5, 10.0  # mm, mismatch of the two halves
_UNITS = (("mm", 1.0), ("cm", 10.0), ("m", 1000.0), ("in", 25.4), ("ft", 304.8))
_AXES = {f"{sign}{name}": (i, s) for i, name in enumerate("xyz") for sign, s in (("+", 1.0), ("-", -1.0))}


@dataclass(frozen=True, eq=False)
class PortHalf:
    """vertices : (n, 3) mm, x = 0 at the aftmost point;  triangles : (m, 3)

    length : mm overall;  centre : file's y of the centreline after turning, mm;  mismatch : mm between the halves
    """

    vertices: Floats
    triangles: Ints
    length: float
    centre: float
    mismatch: float
    findings: tuple[Finding, ...]


def port_half(mesh: TriangleMesh, settings: HullSettings) -> PortHalf:
    """The port half of the boat in the contract's axes.

    Raises InputError for impossible axes, sizes that no boat has, and halves that do not agree.
    """
    vertices = turned(mesh.vertices, settings) * settings.mesh_scale
    triangles = np.asarray(mesh.triangles)
    _check_size(vertices, settings, mesh.source)
    findings: list[Finding] = []
    centre = mismatch = 0.0
    if settings.half:
        vertices, triangles = _half_as_given(vertices, triangles, mesh.source, findings)
    else:
        centre, mismatch = _measured_centre(vertices, triangles, mesh.source, findings)
        vertices = vertices - np.array([0.0, centre, 0.0])
        _snap(vertices, float(np.clip(3 * mismatch, SNAP, 2.0)))
        vertices, triangles = _port_of(vertices, triangles)
    vertices, triangles = _mended(vertices, triangles, findings)
    vertices = vertices - np.array([vertices[:, 0].min(), 0.0, 0.0])
    length = float(vertices[:, 0].max())
    _ask_about_bow(vertices, length, findings)
    return PortHalf(vertices, triangles, length, centre, mismatch, tuple(findings))


def _mended(vertices: Floats, triangles: Ints, findings: list[Finding]) -> tuple[Floats, Ints]:
    vertices, triangles, joined = stitched(vertices, triangles)
    if joined:
        what = f"borders that only lie on each other were joined at {joined} corners"
        findings.append(Finding("seams-stitched", "note", "hull", what))
    triangles, holes = filled(vertices, triangles)
    if holes:
        spots = "; ".join(f"x {x:.0f}, y {y:.0f}, z {z:.0f}" for x, y, z in holes[:3])
        what = f"{len(holes)} small hole{'s' if len(holes) > 1 else ''} closed over ({spots})"
        findings.append(Finding("holes-closed", "note", "hull", what))
    triangles, bodies, specks = main_body(vertices, triangles)
    if specks:
        what = f"{specks} small pieces that hang on nothing were left out"
        findings.append(Finding("loose-pieces", "note", "hull", what))
    if bodies:
        spots = "; ".join(f"x {x:.0f}, y {y:.0f}, z {z:.0f}" for x, y, z in bodies[:3])
        what = f"{len(bodies)} bodies that do not hang on the skin were set aside ({spots})"
        findings.append(Finding("bodies-set-aside", "warning", "hull", what, "Leave them out of the mesh to be sure"))
    return weld(vertices, triangles)


def turned(points: Floats, settings: HullSettings) -> Floats:
    """(n, 3) points with x forward, y to port, z up.

    Raises InputError when forward and up lie along the same axis.
    """
    forward, up = _axis(settings.forward, "forward"), _axis(settings.up, "up")
    if forward @ up != 0.0:
        raise InputError(
            f"forward = {settings.forward!r} and up = {settings.up!r} lie along one axis",
            where="[hull] forward, up",
            fix="Name two different axes of the file, such as forward = '+x', up = '+z'",
        )
    return np.asarray(points @ np.stack([forward, np.cross(up, forward), up], axis=1))


def _axis(name: str, key: str) -> Floats:
    if name not in _AXES:
        raise InputError(f"{key} = {name!r} is no axis", where=f"[hull] {key}", fix="Use '+x', '-x' ... '-z'")
    i, sign = _AXES[name]
    axis = np.zeros(3)
    axis[i] = sign
    return axis


def _check_size(vertices: Floats, settings: HullSettings, source: str) -> None:
    length, *others = np.ptp(vertices, axis=0)
    if SHORTEST <= length <= LONGEST:
        return
    likely = [
        name
        for name, mm in _UNITS
        if SHORTEST <= length / settings.mesh_scale * mm <= LONGEST and mm != settings.mesh_scale
    ]
    fix = "Set forward to the axis that runs along the boat"
    if not any(SHORTEST <= size <= LONGEST for size in others):
        fix = f"Set mesh_units = {' or '.join(repr(u) for u in likely)}" if likely else "Check the file's unit"
    raise InputError(
        f"the hull would be {_metres(length)} long (boats are {_metres(SHORTEST)} to {_metres(LONGEST)})"
        f" with mesh_units = {settings.mesh_units!r}, forward = {settings.forward!r}",
        where=source,
        fix=fix,
    )


def _metres(mm: float) -> str:
    return f"{mm / 1000:.3g} m"


def _snap(vertices: Floats, reach: float = SNAP) -> None:
    vertices[np.abs(vertices[:, 1]) <= reach, 1] = 0.0


def _half_as_given(vertices: Floats, triangles: Ints, source: str, findings: list[Finding]) -> tuple[Floats, Ints]:
    vertices = vertices.copy()
    _snap(vertices)
    low, high = vertices[:, 1].min(), vertices[:, 1].max()
    if min(-low, high) > 0.02 * max(-low, high):
        raise InputError(
            f"the file reaches {-low:.0f} mm to starboard and {high:.0f} mm to port of y = 0, and half = true",
            where=source,
            fix="Set half = false, or move the half hull so that its centreline lies in y = 0",
        )
    if high < -low:
        _refuse_turned_round(vertices, source)
        vertices, triangles = vertices * np.array([1.0, -1.0, 1.0]), triangles[:, ::-1]
        findings.append(
            Finding("half-mirrored", "note", "hull", "the file holds the starboard half; its mirror image is used")
        )
    return _port_of(vertices, triangles)


def _refuse_turned_round(vertices: Floats, source: str) -> None:
    aft, fore = _end_breadths(vertices)
    if aft < 0.5 * fore:
        raise InputError(
            "with these axes the half hull lies to starboard and is narrow at its after end",
            where=source,
            fix="Turn forward round (such as '-x' for '+x'), or up",
        )


def _end_breadths(vertices: Floats) -> tuple[float, float]:
    """Half-breadths in the last and in the first twentieth of the length."""
    x, y = vertices[:, 0], np.abs(vertices[:, 1])
    low, span = x.min(), np.ptp(x)
    return float(y[x <= low + span / 20].max()), float(y[x >= low + span * 0.95].max())


def _ask_about_bow(vertices: Floats, length: float, findings: list[Finding]) -> None:
    aft, fore = _end_breadths(vertices)
    if aft < 0.5 * fore and fore > length / 40:
        findings.append(
            Finding(
                "bow-looks-aft",
                "warning",
                "hull",
                f"half-breadth is {aft:.0f} mm at the after end and {fore:.0f} mm at the forward end",
                "If the bow is the narrow end, turn [hull] forward round",
            )
        )


def _measured_centre(vertices: Floats, triangles: Ints, source: str, findings: list[Finding]) -> tuple[float, float]:
    """y of the plane of symmetry, and how far the mirrored halves lie apart (95 of 100 vertices)."""
    skin = _Skin(vertices, triangles)
    some = skin.sample()
    centre = _first_centre(vertices, triangles)
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
    ridge = vertices[np.abs(vertices[:, 1] - centre) <= SNAP, 1]
    centre = float(np.median(ridge)) if len(ridge) > 4 else centre
    centre = 0.0 if abs(centre) < SNAP / 2 else centre
    mismatch = float(np.quantile(np.abs(gap), 0.95))
    _judge(centre, mismatch, source, findings)
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
        """Signed distance along the nearest triangle's normal (past its border: plain), and the normal's y."""
        near = self._tree.query(points, k=min(12, len(self.triangles)))[1].reshape(len(points), -1)
        foot = _nearest_on(points[:, None], self.vertices[self.triangles[near]])
        best = np.argmin(np.linalg.norm(points[:, None] - foot, axis=2), axis=1)
        rows = np.arange(len(points))
        away, normal = points - foot[rows, best], self.normals[near[rows, best]]
        along, whole = np.einsum("ij,ij->i", away, normal), np.linalg.norm(away, axis=1)
        beside = np.abs(along) < 0.9 * whole - 1e-9
        return np.where(beside, whole, along), np.where(beside, 0.0, normal[:, 1])


def _nearest_on(points: Floats, corners: Floats) -> Floats:
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


def _port_of(vertices: Floats, triangles: Ints) -> tuple[Floats, Ints]:
    """Triangles to port of y = 0, those that cross it cut, those lying in it left out."""
    y = vertices[triangles, 1]
    crosses = (y.min(axis=1) < 0) & (y.max(axis=1) > 0)
    port = (y.min(axis=1) >= 0) & (y.max(axis=1) > 0)
    if not crosses.any():
        return weld(vertices, triangles[port])
    pieces, faces = _cut(vertices, triangles[crosses])
    return weld(
        np.concatenate([vertices, pieces]),
        np.concatenate([triangles[port], faces + len(vertices)]),
        reach=1e-6,
    )


def _cut(vertices: Floats, triangles: Ints) -> tuple[Floats, Ints]:
    """The port pieces of triangles that cross the centreline plane."""
    points: list[Floats] = []
    faces: list[Ints] = []
    for corners in vertices[triangles]:
        ring = _clipped(corners)
        start = len(points)
        points.extend(ring)
        faces.extend(np.array([start, start + i, start + i + 1]) for i in range(1, len(ring) - 1))
    return np.array(points), np.array(faces)


def _clipped(corners: Floats) -> list[Floats]:
    """The corners of one triangle's port piece, in order; cut points from port to starboard, so that
    neighbouring triangles find the same ones."""
    ring: list[Floats] = []
    for here, onward in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        if here[1] >= 0:
            ring.append(here)
        if here[1] * onward[1] < 0:
            port, starboard = (here, onward) if here[1] > 0 else (onward, here)
            cut = port + (starboard - port) * (port[1] / (port[1] - starboard[1]))
            ring.append(cut * np.array([1.0, 0.0, 1.0]))
    return ring


def on_centreline(vertices: Floats) -> Bools:
    """(n,) True for vertices in y = 0."""
    return np.asarray(vertices[:, 1] == 0.0)
