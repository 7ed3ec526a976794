"""The boat as a GLB file: metres, Y up, one node per plank, shaded by verdict.

Axes: x of the boat (forward) stays x, z (up) becomes Y, y (to port) becomes -Z.  Normals are left out, so viewers
shade the facets flat.  After Khronos glTF 2.0 (ISO/IEC 12113:2022), binary form.
"""

from __future__ import annotations

import json
import struct
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from strakewright.arrays import Floats
from strakewright.solids import Body
from strakewright.write.palette import VERDICT_COLOURS, linear_rgb

_ARRAY, _INDICES, _FLOAT, _UINT = 34962, 34963, 5126, 5125


def write_glb(path: Path, bodies: Sequence[Body], boat: str) -> None:
    """hull.glb"""
    path.write_bytes(glb_bytes(bodies, boat))


def glb_bytes(bodies: Sequence[Body], boat: str) -> bytes:
    """The whole file.  Equal bodies give equal bytes."""
    views: list[dict[str, Any]] = []
    accessors: list[dict[str, Any]] = []
    blob = bytearray()
    colours = _colours(bodies)
    meshes, nodes = [], []
    for body in bodies:
        points = _accessor(_y_up(body.vertices), "VEC3", blob, views, accessors)
        faces = _accessor(body.triangles.astype("<u4").reshape(-1), "SCALAR", blob, views, accessors)
        material = list(colours).index(_verdict(body))
        shape = {"attributes": {"POSITION": points}, "indices": faces, "material": material}
        meshes.append({"name": body.name, "primitives": [shape]})
        nodes.append({"name": body.name, "mesh": len(meshes) - 1, "extras": dict(body.info)})
    tree = {
        "asset": {"version": "2.0", "generator": "strakewright"},
        "scene": 0,
        "scenes": [{"name": boat} | ({"nodes": list(range(len(nodes)))} if nodes else {})],
    }
    materials = [_material(name, rgb) for name, rgb in colours.items()]
    filled = {"materials": materials, "nodes": nodes, "meshes": meshes, "accessors": accessors, "bufferViews": views}
    tree |= {key: value for key, value in filled.items() if value}
    if blob:
        tree["buffers"] = [{"byteLength": len(blob)}]
    return _packed(json.dumps(tree, separators=(",", ":")).encode(), bytes(blob))


def _verdict(body: Body) -> str:
    verdict = body.info.get("verdict", "")
    return verdict if verdict in VERDICT_COLOURS else "other"


def _colours(bodies: Sequence[Body]) -> dict[str, str]:
    """Verdict -> colour, those that occur."""
    used = {_verdict(body) for body in bodies}
    return {name: rgb for name, rgb in [*VERDICT_COLOURS.items(), ("other", "#BBBBBB")] if name in used}


def _y_up(vertices: Floats) -> np.ndarray[Any, Any]:
    x, y, z = vertices.T / 1000
    return np.column_stack([x, z, -y]).astype("<f4")


def _accessor(
    data: np.ndarray[Any, Any], kind: str, blob: bytearray, views: list[dict[str, Any]], accessors: list[dict[str, Any]]
) -> int:
    """Add an array to the file; returns its number."""
    views.append({"buffer": 0, "byteOffset": len(blob), "byteLength": data.nbytes})
    views[-1]["target"] = _ARRAY if kind == "VEC3" else _INDICES
    blob += data.tobytes()
    entry = {"bufferView": len(views) - 1, "componentType": _FLOAT if kind == "VEC3" else _UINT}
    entry |= {"count": len(data), "type": kind}  # type: ignore[dict-item]
    if kind == "VEC3":
        entry |= {"min": data.min(axis=0).tolist(), "max": data.max(axis=0).tolist()}
    accessors.append(entry)
    return len(accessors) - 1


def _material(name: str, rgb: str) -> dict[str, Any]:
    colour = [*linear_rgb(rgb), 1.0]
    return {
        "name": name,
        "pbrMetallicRoughness": {"baseColorFactor": colour, "metallicFactor": 0, "roughnessFactor": 0.8},
    }


def _packed(tree: bytes, blob: bytes) -> bytes:
    tree += b" " * (-len(tree) % 4)
    chunks = struct.pack("<I4s", len(tree), b"JSON") + tree
    if blob:
        chunks += struct.pack("<I4s", len(blob), b"BIN\0") + blob
    return struct.pack("<4sII", b"glTF", 2, 12 + len(chunks)) + chunks
