"""Mesh files: triangles in, with every way a file can be bad turned into one plain message.

mesh       STL (text or binary), OBJ, PLY, OFF, GLB/glTF, 3MF
welding    triangles that share a place share a vertex; STL writes every corner anew
degenerate triangle whose corners fall together or lie in one line

Reading is trimesh's; what it lets through silently (cut-off files, missing triangles) is checked here first.
"""

from __future__ import annotations

import logging
import re
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from strakewright.arrays import Floats, Ints
from strakewright.errors import Finding, InputError
from strakewright.geometry.meshes import face_areas, nearest_faces, weld
from strakewright.triangles import TriangleMesh

SUFFIXES = ("stl", "obj", "ply", "off", "glb", "gltf", "3mf")
_KNOWN = "STL, OBJ, PLY, OFF, GLB or 3MF"
_WELD = 2e-7  # of the mesh's size: 1.5 ulp of single precision, the precision of STL
_FLAT = 1e-9  # triangles with less height than this share of the mesh's size are dropped
_MOST = 4_000_000  # triangles
_OBJ_GROUPS, _MOST_GROUPS = re.compile(rb"(?m)^[og][ \t]"), 200


def read_mesh(path: Path) -> TriangleMesh:
    """The triangles of a mesh file, welded, in the file's own axes and unit.

    Raises InputError for anything that is not a readable mesh.
    """
    path = Path(path)
    kind = _checked_kind(path)
    _check_whole(path, kind)
    vertices, triangles, groups = _load(path, kind)
    _check_numbers(vertices, triangles, path)
    whole = _cleaned(vertices, triangles, path)
    names = tuple(sorted({name for name, _ in groups}))
    if len(names) < 2:
        return replace(whole, groups=names, group=np.zeros(len(whole.triangles), dtype=np.int64) if names else None)
    number = np.repeat([names.index(name) for name, _ in groups], [count for _, count in groups])
    near = nearest_faces(vertices[triangles].mean(axis=1), whole.vertices[whole.triangles].mean(axis=1))
    return replace(whole, groups=names, group=number[near])


def _checked_kind(path: Path) -> str:
    where = str(path)
    if path.is_dir():
        raise InputError("is a folder, not a mesh file", where=where, fix=f"Name the {_KNOWN} file inside it")
    if not path.exists():
        advice = "Check the name; a name in a boat file is sought beside that file"
        raise InputError("no such mesh file", where=where, fix=advice)
    kind = path.suffix.lower().lstrip(".")
    if kind not in SUFFIXES:
        shown = f"'.{kind}'" if kind else "without a suffix"
        raise InputError(f"a mesh file {shown} is not known", where=where, fix=f"Save the hull as {_KNOWN}")
    try:
        empty = path.stat().st_size == 0
        with path.open("rb") as stream:
            stream.read(1)
    except OSError as fault:
        raise InputError(f"cannot be read ({fault.strerror})", where=where, fix="Check its permissions") from None
    if empty:
        raise InputError("the file is empty", where=where, fix="Export the mesh again")
    return kind


def _check_whole(path: Path, kind: str) -> None:
    """Cut-off files that a lenient reader would take for smaller meshes."""
    if kind not in ("stl", "ply", "off"):
        return
    data = path.read_bytes()
    cut = {"stl": _stl_is_cut, "ply": _ply_is_cut, "off": _off_is_cut}[kind](data)
    if cut:
        raise InputError(f"the file is cut off or damaged: {cut}", where=str(path), fix="Export the mesh again")


def _stl_is_cut(data: bytes) -> str:
    count = int.from_bytes(data[80:84], "little") if len(data) >= 84 else -1
    if len(data) == 84 + 50 * count:
        return ""
    if data[:5].lower() == b"solid" and b"facet" in data[:4096]:
        ends = len(re.findall(rb"(?mi)^\s*endsolid", data))
        starts = len(re.findall(rb"(?mi)^\s*solid\b", data))
        corners = len(re.findall(rb"(?i)\bvertex\b", data))
        whole = ends >= starts and corners == 3 * len(re.findall(rb"(?i)\bendfacet\b", data))
        return "" if whole else "the text stops before 'endsolid'"
    if data[:5].lower() == b"solid" and re.search(rb"(?mi)^\s*endsolid", data):
        return ""
    if len(data) < 84:
        return f"{len(data)} bytes are too few for an STL file"
    return f"it should hold {count} triangles in {84 + 50 * count} bytes and has {len(data)} bytes"


def _ply_is_cut(data: bytes) -> str:
    head, mark, body = data.partition(b"end_header")
    if not data.startswith(b"ply"):
        return "a PLY file begins with 'ply'"
    if not mark:
        return "its header has no 'end_header'"
    counts = [int(n) for n in re.findall(rb"(?m)^element\s+\S+\s+(\d+)", head)]
    if re.search(rb"(?m)^format\s+ascii", head):
        lines = [line for line in body.splitlines() if line.strip()]
        return "" if len(lines) >= sum(counts) else f"{sum(counts)} lines announced, {len(lines)} found"
    return ""


def _off_is_cut(data: bytes) -> str:
    lines = [line.split(b"#")[0].split() for line in data.splitlines()]
    rows = [line for line in lines if line]
    if not rows or not rows[0][0].upper().endswith(b"OFF"):
        return "an OFF file begins with 'OFF'"
    body = [rows[0][1:], *rows[1:]] if len(rows[0]) > 1 else rows[1:]
    if not body or len(body[0]) < 2 or not all(n.isdigit() for n in body[0]):
        return "the line of counts is missing"
    wanted = int(body[0][0]) + int(body[0][1])
    return "" if len(body) - 1 >= wanted else f"{wanted} lines announced, {len(body) - 1} found"


@contextmanager
def _quietly() -> Iterator[None]:
    """The mesh library speaks through warnings and a logger; the builder hears our own words instead."""
    log = logging.getLogger("trimesh")
    before = log.disabled
    log.disabled = True
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            yield
    finally:
        log.disabled = before


def _load(path: Path, kind: str) -> tuple[Floats, Ints, list[tuple[str, int]]]:
    """Corners, triangles, and of each group in turn its name and number of triangles."""
    import trimesh

    try:
        with _quietly():
            apart = kind == "obj" and len(_OBJ_GROUPS.findall(path.read_bytes())) <= _MOST_GROUPS
            split: dict[str, Any] = {"split_objects": True, "split_groups": True} if apart else {}
            scene: Any = trimesh.load(str(path), file_type=kind, force="scene", process=False, **split)
            meshes = [m for m in scene.dump() if isinstance(m, trimesh.Trimesh) and len(m.faces)]
            groups = [(str(m.metadata.get("name", "")), len(m.faces)) for m in meshes]
    except MemoryError:
        raise InputError("the file is too large for this machine", where=str(path)) from None
    except Exception as fault:
        said = str(fault).strip().splitlines()
        reason = f" ({said[0][:120]})" if said else ""
        raise InputError(
            f"this is not a readable {kind.upper()} mesh{reason}",
            where=str(path),
            fix=f"Export the hull again as {_KNOWN}",
        ) from None
    if not meshes:
        raise InputError("no triangles in the file", where=str(path), fix="Export surfaces as a mesh, not lines")
    return *_merged(meshes), groups


def _merged(meshes: list[Any]) -> tuple[Floats, Ints]:
    starts = np.cumsum([0, *(len(m.vertices) for m in meshes)])
    vertices = np.concatenate([np.asarray(m.vertices, dtype=np.float64) for m in meshes])
    faces = [np.asarray(m.faces, dtype=np.int64) + s for m, s in zip(meshes, starts, strict=False)]
    return vertices, np.concatenate(faces)


def _check_numbers(vertices: Floats, triangles: Ints, path: Path) -> None:
    where = str(path)
    if len(triangles) > _MOST:
        raise InputError(f"{len(triangles)} triangles are too many", where=where, fix=f"Thin to under {_MOST}")
    if triangles.min() < 0 or triangles.max() >= len(vertices):
        raise InputError("a triangle names a vertex that is not in the file", where=where, fix="Export it again")
    bad = np.flatnonzero(~np.isfinite(vertices).all(axis=1))
    if len(bad):
        raise InputError(
            f"{len(bad)} of {len(vertices)} vertices are not numbers (the first is vertex {bad[0] + 1})",
            where=where,
            fix="Export the mesh again",
        )
    if float(np.abs(vertices).max()) > 1e9 or float(np.ptp(vertices, axis=0).max()) == 0.0:
        raise InputError("the vertices make no body of any size", where=where, fix="Check the exporting program")


def _cleaned(vertices: Floats, triangles: Ints, path: Path) -> TriangleMesh:
    """Welded, without triangles that have no height and without triangles given twice."""
    size = float(np.ptp(vertices, axis=0).max())
    before = len(triangles)
    try:
        vertices, triangles = weld(*weld(vertices, triangles), reach=_WELD * size)
    except InputError as fault:
        raise InputError(fault.what, where=str(path), fix=fault.fix) from None
    corners = vertices[triangles]
    longest = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1)
    flat = 2 * face_areas(vertices, triangles) <= _FLAT * size * longest
    triangles = triangles[~flat]
    _, first = np.unique(np.sort(triangles, axis=1), axis=0, return_index=True)
    twice = len(triangles) - len(first)
    triangles = triangles[np.sort(first)]
    if len(triangles) == 0:
        raise InputError("no triangle has an area", where=str(path), fix="Export surfaces as a mesh")
    findings = _mended(before - len(triangles) - twice, twice, path.name)
    return TriangleMesh(vertices, triangles, (), str(path), findings)


def _mended(degenerate: int, twice: int, name: str) -> tuple[Finding, ...]:
    found = []
    if degenerate:
        found.append(Finding("degenerate-triangles", "note", name, f"{degenerate} triangles without area left out"))
    if twice:
        found.append(Finding("repeated-triangles", "note", name, f"{twice} triangles given twice left out"))
    return tuple(found)
