"""A mesh turned, scaled and set down as the port half of a boat.

forward, up   the file's axes that point to the bow and to the sky
centreline    the upright plane of symmetry, y = 0; of a whole hull it is measured: where the mirrored skin
              lies on the skin itself
half hull     a file that holds one side only

Method: Gauss-Newton on the distances along the normals between mirrored vertices and the skin (point-to-plane
matching), the worst fittings left out; derived.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from strakewright.arrays import Bools, Floats, Ints
from strakewright.errors import Finding, InputError, UnworkableError
from strakewright.geometry.meshes import weld, wound_alike
from strakewright.loft.centreline import upright
from strakewright.loft.clearing import Inner, cleared
from strakewright.loft.holes import filled, told_holes
from strakewright.loft.mending import main_body, stitched, without_scraps
from strakewright.loft.named import GroupMap, of_groups, panels_of_groups
from strakewright.settings import HullSettings
from strakewright.triangles import TriangleMesh

SHORTEST, LONGEST = 1500.0, 30000.0
SNAP = 0.05  # mm, vertices this near the centreline are on it
_UNITS = (("mm", 1.0), ("cm", 10.0), ("m", 1000.0), ("in", 25.4), ("ft", 304.8))
_AXES = {f"{sign}{name}": (i, s) for i, name in enumerate("xyz") for sign, s in (("+", 1.0), ("-", -1.0))}


@dataclass(frozen=True, eq=False)
class PortHalf:
    """vertices : (n, 3) mm, x = 0 at the aftmost point;  triangles : (m, 3)

    length : mm overall;  centre : file's y of the centreline after turning, mm;  mismatch : mm between the halves
    chines : (n, 3) mm lines along which the boat file parts the skin;  groups : panels by the file's groups
    """

    vertices: Floats
    triangles: Ints
    length: float
    centre: float
    mismatch: float
    findings: tuple[Finding, ...]
    chines: tuple[Floats, ...] = ()
    groups: GroupMap | None = None


def port_half(mesh: TriangleMesh, settings: HullSettings) -> PortHalf:
    """The port half of the boat in the contract's axes.

    Raises InputError for impossible axes, sizes that no boat has, and halves that do not agree.
    """
    vertices = turned(mesh.vertices, settings) * settings.mesh_scale
    triangles = np.asarray(mesh.triangles)
    _check_size(vertices, settings, mesh.source)
    findings: list[Finding] = []
    if settings.ignore:
        triangles = triangles[~of_groups(mesh, settings.ignore, "ignore")]
        what = f"left out of the mesh as asked: {', '.join(settings.ignore)}"
        findings.append(Finding("groups-left-out", "note", "hull", what))
    triangles, inner = cleared(vertices, triangles)
    findings += [*_told_inside(inner), *_told_turned(vertices, triangles)]
    centre, mismatch, turn = 0.0, 0.0, np.eye(3)
    if settings.half:
        vertices, triangles = _half_as_given(vertices, triangles, mesh.source, findings)
    else:
        turn, centre, mismatch = upright(vertices, triangles, mesh.source, findings)
        vertices = vertices @ turn.T - np.array([0.0, centre, 0.0])
        _snap(vertices, float(np.clip(3 * mismatch, SNAP, 2.0)))
        findings += _told_plate(vertices, triangles)
        vertices, triangles = _port_of(vertices, triangles)
    vertices, triangles = _mended(vertices, triangles, findings)
    shift = np.array([vertices[:, 0].min(), centre, 0.0])
    vertices = vertices - shift * np.array([1.0, 0.0, 1.0])
    length = float(vertices[:, 0].max())
    _ask_about_bow(vertices, length, findings)
    half = PortHalf(vertices, triangles, length, centre, mismatch, tuple(findings))

    def placed(points: Floats) -> Floats:
        return np.asarray(turned(points, settings) * settings.mesh_scale @ turn.T - shift)

    return _with_names(half, mesh, settings, placed)


def _with_names(
    half: PortHalf, mesh: TriangleMesh, settings: HullSettings, placed: Callable[[Floats], Floats]
) -> PortHalf:
    """The half with the chines and panels that the boat file names.  placed : from the file's axes to the hull's"""
    lines = tuple(_to_port(placed(np.array(line))) for line in settings.chine)
    if not settings.groups:
        return replace(half, chines=lines)
    corners = placed(mesh.vertices)[mesh.triangles]
    if settings.half and corners[..., 1].mean() < 0:
        corners = corners * np.array([1.0, -1.0, 1.0])
    return replace(half, chines=lines, groups=GroupMap(corners, panels_of_groups(mesh, settings.groups)))


def _to_port(line: Floats) -> Floats:
    return line * np.array([1.0, -1.0, 1.0]) if line[:, 1].mean() < 0 else line


def _told_inside(inner: tuple[Inner, ...]) -> list[Finding]:
    if not inner:
        return []
    spots = "; ".join("x {:.0f}, y {:.0f}, z {:.0f}".format(*piece.spot) for piece in inner[:3])
    area = sum(piece.area for piece in inner) / 1e6
    what = f"{len(inner)} surfaces inside the skin set aside, {area:.2f} m2 (in the file's place about {spots}): "
    return [
        Finding(
            "inside-set-aside",
            "warning",
            "hull",
            what + "the outermost skin is the hull",
            'Leave them out of the mesh to be sure; with both faces of the planking in the file, surface = "outside"',
        )
    ]


def _told_turned(vertices: Floats, triangles: Ints) -> list[Finding]:
    """Triangles that face the other way than those beside them; panels are wound alike later (`sides`)."""
    try:
        turned = (wound_alike(triangles) != triangles).any(axis=1)
    except UnworkableError:
        return []  # told where the panel is
    if not turned.any():
        return []
    x, y, z = vertices[triangles[turned]].mean(axis=1)[0]
    what = (
        f"{int(turned.sum())} of {len(turned)} triangles face the other way than those beside them, the first about"
        f" x {x:.0f}, y {y:.0f}, z {z:.0f} in the file's place; they are turned over"
    )
    return [Finding("triangles-turned", "note", "hull", what)]


def _told_plate(vertices: Floats, triangles: Ints) -> list[Finding]:
    """A skeg or a plate drawn in the centreline plane, which is no skin."""
    plate = (vertices[triangles, 1] == 0.0).all(axis=1)
    if not plate.any():
        return []
    corners = vertices[triangles[plate]].reshape(-1, 3)
    (x0, _, z0), (x1, _, z1) = corners.min(axis=0), corners.max(axis=0)
    what = (
        f"{int(plate.sum())} triangles in the centreline plane were left out, x {x0:.0f} to {x1:.0f},"
        f" z {z0:.0f} to {z1:.0f} in the file's place: a skeg or another plate"
    )
    return [Finding("plate-set-aside", "note", "hull", what)]


def _mended(vertices: Floats, triangles: Ints, findings: list[Finding]) -> tuple[Floats, Ints]:
    vertices, triangles, joined = stitched(vertices, triangles)
    if joined:
        what = f"borders that only lie on each other were joined at {joined} corners"
        findings.append(Finding("seams-stitched", "note", "hull", what))
    vertices, triangles, closed = without_scraps(vertices, triangles)
    if closed:
        what = f"{closed} corners less than a tenth of a millimetre from another were joined to it"
        findings.append(Finding("slivers-closed", "note", "hull", what))
    triangles, holes = filled(vertices, triangles)
    findings += told_holes(holes, float(np.ptp(vertices[:, 0])))
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
    return f"{mm:.3g} mm" if mm < 100 else f"{float(f'{mm / 1000:.3g}'):.10g} m"


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
    findings += _told_plate(vertices, triangles)
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
