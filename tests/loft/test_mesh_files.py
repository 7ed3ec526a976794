"""Mesh files: every format gives the same triangles, every bad file one plain message."""

from __future__ import annotations

import struct
from pathlib import Path

import numpy as np
import pytest

from strakewright.errors import InputError
from strakewright.read.mesh import read_mesh
from tests import exact_hulls as exact
from tests.exact_meshes import Make, write_mesh

SMALL = Make(triangles=300, deck=True, transom=True)


@pytest.mark.parametrize("suffix", ["stl", "obj", "ply", "off", "glb", "3mf"])
def test_formats_give_the_same_mesh(tmp_path: Path, suffix: str) -> None:
    vertices, triangles = exact.v_prism(SMALL)
    mesh = read_mesh(write_mesh(tmp_path / f"hull.{suffix}", (vertices, triangles)))
    assert mesh.triangles.shape == triangles.shape
    assert len(mesh.vertices) == len(vertices)
    got, put = mesh.vertices[mesh.triangles], vertices[triangles]
    assert np.abs(np.sort(got.reshape(-1, 3), axis=0) - np.sort(put.reshape(-1, 3), axis=0)).max() < 1e-3
    assert mesh.findings == ()


def test_text_stl(tmp_path: Path) -> None:
    path = tmp_path / "one.stl"
    facet = "facet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 9 0 0\nvertex 0 9 0\nendloop\nendfacet\n"
    path.write_text(f"solid one\n{facet}endsolid one\n")
    assert read_mesh(path).triangles.shape == (1, 3)


def test_degenerate_and_repeated_triangles_are_told(tmp_path: Path) -> None:
    path = tmp_path / "odd.off"
    path.write_text("OFF\n4 4 0\n0 0 0\n9 0 0\n0 9 0\n4.5 0 0\n3 0 1 2\n3 2 0 1\n3 0 1 3\n3 0 0 2\n")
    mesh = read_mesh(path)
    assert len(mesh.triangles) == 1
    assert {f.code: f.what[0] for f in mesh.findings} == {
        "degenerate-triangles": "2",
        "repeated-triangles": "1",
    }


def test_arrays_cannot_be_changed(tmp_path: Path) -> None:
    mesh = read_mesh(write_mesh(tmp_path / "hull.ply", exact.wedge_bow(SMALL)))
    with pytest.raises(ValueError, match="read-only"):
        mesh.triangles[0, 0] = 7


BAD: dict[str, tuple[str, bytes, str]] = {
    "empty": ("a.stl", b"", "empty"),
    "text": ("a.stl", b"Dear builder, " * 40, "cut off or damaged"),
    "few bytes": ("a.stl", b"abc", "too few"),
    "zeros": ("a.stl", bytes(500), "cut off or damaged"),
    "cut stl": ("a.stl", bytes(80) + struct.pack("<I", 9) + bytes(300), "should hold 9 triangles"),
    "cut text stl": ("a.stl", b"solid x\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\n", "endsolid"),
    "no facets": ("a.stl", b"solid x\nendsolid x\n", "no triangles"),
    "no triangles stl": ("a.stl", bytes(80) + struct.pack("<I", 0), "no triangles"),
    "not ply": ("a.ply", b"solid x\n", "begins with 'ply'"),
    "ply head": ("a.ply", b"ply\nformat ascii 1.0\nelement vertex 3\n", "end_header"),
    "cut ply": (
        "a.ply",
        b"ply\nformat ascii 1.0\nelement vertex 3\nproperty float x\nproperty float y\nproperty float z\n"
        b"element face 1\nproperty list uchar int vertex_indices\nend_header\n0 0 0\n1 0 0\n",
        "4 lines announced, 2 found",
    ),
    "cut binary ply": (
        "a.ply",
        b"ply\nformat binary_little_endian 1.0\nelement vertex 300\nproperty float x\nproperty float y\n"
        b"property float z\nelement face 1\nproperty list uchar int vertex_indices\nend_header\n" + bytes(40),
        "not a readable PLY",
    ),
    "points only": (
        "a.ply",
        b"ply\nformat ascii 1.0\nelement vertex 1\nproperty float x\nproperty float y\nproperty float z\n"
        b"end_header\n0 0 0\n",
        "no triangles",
    ),
    "not off": ("a.off", b"hello\n", "begins with 'OFF'"),
    "off counts": ("a.off", b"OFF\nthree\n", "counts is missing"),
    "cut off": ("a.off", b"OFF\n3 1 0\n0 0 0\n1 0 0\n", "4 lines announced, 2 found"),
    "off index": ("a.off", b"OFF\n3 1 0\n0 0 0\n1 0 0\n0 1 0\n3 0 1 7\n", "not in the file|not a readable"),
    "obj of words": ("a.obj", b"nothing to see\n" * 9, "no triangles|not a readable"),
    "obj nan": ("a.obj", b"v 0 0 nan\nv 1 0 0\nv 0 1 0\nf 1 2 3\n", "are not numbers"),
    "obj inf": ("a.obj", b"v 0 0 0\nv inf 0 0\nv 0 1 0\nf 1 2 3\n", "are not numbers"),
    "obj index": ("a.obj", b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 9\n", "not in the file|not a readable"),
    "obj lines": ("a.obj", b"v 0 0 0\nv 1 0 0\nl 1 2\n", "no triangles|not a readable"),
    "no size": ("a.obj", b"v 1 1 1\nv 1 1 1\nv 1 1 1\nf 1 2 3\n", "no body of any size"),
    "slivers only": ("a.obj", b"v 0 0 0\nv 1 0 0\nv 2 0 0\nf 1 2 3\n", "has an area"),
    "huge": ("a.obj", b"v 0 0 0\nv 1e30 0 0\nv 0 1 0\nf 1 2 3\n", "no body of any size"),
    "not glb": ("a.glb", b"glTF" + bytes(30), "not a readable GLB"),
    "gltf words": ("a.gltf", b"{}", "not a readable GLTF|no triangles"),
    "not 3mf": ("a.3mf", b"PK\x03\x04" + bytes(40), "not a readable 3MF"),
    "unknown": ("a.step", b"ISO-10303-21;", "'.step' is not known"),
    "no suffix": ("hull", b"solid", "without a suffix"),
}


@pytest.mark.parametrize("name", BAD)
def test_bad_files(tmp_path: Path, name: str, capfd: pytest.CaptureFixture[str]) -> None:
    file, data, said = BAD[name]
    (tmp_path / file).write_bytes(data)
    with pytest.raises(InputError, match=said) as caught:
        read_mesh(tmp_path / file)
    assert file in caught.value.where
    assert caught.value.fix
    assert capfd.readouterr() == ("", "")


def test_missing_and_folder(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no such mesh file"):
        read_mesh(tmp_path / "hüll.stl")
    with pytest.raises(InputError, match="is a folder"):
        read_mesh(tmp_path)


@pytest.mark.parametrize("suffix", ["stl", "ply", "off", "glb", "3mf"])
@pytest.mark.parametrize("share", [0.1, 0.5, 0.97])
def test_truncated_files(tmp_path: Path, suffix: str, share: float) -> None:
    path = write_mesh(tmp_path / f"hull.{suffix}", exact.wedge_bow(SMALL))
    data = path.read_bytes()
    path.write_bytes(data[: int(share * len(data))])
    with pytest.raises(InputError):
        read_mesh(path)
