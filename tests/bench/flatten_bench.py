"""Flattening against libigl (LSCM, then ten rounds of ARAP), same meshes, same run, one thread, one table.

    python -m venv /somewhere && /somewhere/bin/pip install numpy scipy libigl
    PYTHONPATH=layout:. python tests/bench/flatten_bench.py --peer /somewhere/bin/python

Strains are those of the facets for both, by a function of this file. `off` is the largest distance from the exact
development after a rigid fit. Times are processor seconds of the best of several runs; memory is the worker's peak.
"""

from __future__ import annotations

import argparse
import json
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

COUNTS = (5_000, 50_000, 500_000)
Work = Callable[[Any, Any], Any]


def ours(smooth: bool) -> Work:
    from strakewright.geometry.flatten import flatten

    return lambda vertices, triangles: flatten(vertices, triangles, smooth=smooth).points


def peer(vertices: Any, triangles: Any) -> Any:
    """LSCM with the two ends of the longest axis held, scaled to the true area; then ARAP, one corner held."""
    import igl

    spread = vertices - vertices.mean(axis=0)
    along = spread @ np.linalg.eigh(spread.T @ spread)[1][:, 2]
    held = np.array([along.argmin(), along.argmax()])
    start, _ = igl.lscm(vertices, triangles, held, np.column_stack([along[held], np.zeros(2)]))
    a, b, c = start[triangles.T]
    flat = np.abs((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]).sum()
    a, b, c = vertices[triangles.T]
    start = start * np.sqrt(np.linalg.norm(np.cross(b - a, c - a), axis=1).sum() / flat)
    data, pin = igl.ARAPData(), np.array([0])
    data.max_iter = 10
    igl.arap_precomputation(vertices, triangles, 2, pin, data)
    return igl.arap_solve(start[pin], data, start)


def worker(kind: str, mesh: Path, repeats: int) -> None:
    """Run in a process of its own: flatten the mesh, leave the points beside it, print seconds and memory."""
    stored = np.load(mesh)
    vertices, triangles = stored["vertices"], stored["triangles"].astype(np.int64)
    work = peer if kind == "peer" else ours(kind == "smooth")
    seconds = []
    for _ in range(repeats):
        start = time.process_time()
        points = work(vertices, triangles)
        seconds.append(time.process_time() - start)
    np.save(mesh.with_suffix(f".{kind}.npy"), points)
    print(json.dumps({"seconds": min(seconds), "peak": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024}))


def strains(vertices: Any, triangles: Any, flat: Any) -> tuple[float, float]:
    """rms and largest principal strain of the facets, from the singular values of each triangle's map."""
    a, b, c = vertices[triangles.T]
    x = np.linalg.norm(b - a, axis=1)
    along = np.einsum("ij,ij->i", b - a, c - a) / x
    normal = np.cross(b - a, c - a)
    up = np.linalg.norm(normal, axis=1) / x
    p, q = (flat[triangles[:, 1]] - flat[triangles[:, 0]]).T, (flat[triangles[:, 2]] - flat[triangles[:, 0]]).T
    first = p / x
    second = (q - first * along) / up
    jacobian = np.stack([first.T, second.T], axis=-1)
    values = np.linalg.svd(jacobian, compute_uv=False) - 1
    area = x * up / 2
    return float(np.sqrt(area @ (values**2).sum(axis=1) / area.sum())), float(np.abs(values).max())


def measured(kind: str, python: str, mesh: Path, repeats: int) -> dict[str, float]:
    command = [python, __file__, "--worker", kind, "--mesh", str(mesh), "--repeats", str(repeats)]
    done = subprocess.run(
        command, capture_output=True, text=True, check=True, env={**os.environ, "OMP_NUM_THREADS": "1"}
    )
    return dict(json.loads(done.stdout.splitlines()[-1]))


def row(name: str, count: int, folder: Path, peer_python: str) -> str:
    """One line of the table."""
    from tests.bench.flatten_shapes import SHAPES, off_after_fit

    shape = SHAPES[name](count)
    mesh = folder / "mesh.npz"
    np.savez(mesh, vertices=shape.vertices, triangles=shape.triangles)
    repeats = 7 if count < 100_000 else 1
    told = {}
    for kind, python in (("peer", peer_python), ("facets", sys.executable), ("smooth", sys.executable)):
        told[kind] = measured(kind, python, mesh, repeats)
        points = np.load(mesh.with_suffix(f".{kind}.npy"))
        told[kind]["rms"], told[kind]["max"] = strains(shape.vertices, shape.triangles, points)
        known = len(shape.flat) == len(shape.vertices)
        told[kind]["off"] = off_after_fit(points, shape.flat) if known else float("nan")
    a, b, c = told["peer"], told["facets"], told["smooth"]
    offs = " / ".join("-" if np.isnan(t["off"]) else f"{t['off']:.4f}" for t in (a, b, c))
    return (
        f"| {name} | {len(shape.triangles)} | {a['seconds']:.2f} / {b['seconds']:.2f} / {c['seconds']:.2f}"
        f" | {b['seconds'] / a['seconds']:.2f} / {c['seconds'] / a['seconds']:.2f}"
        f" | {b['rms'] / a['rms']:.4f} | {b['max'] / a['max']:.4f} | {offs}"
        f" | {a['peak']:.0f} / {b['peak']:.0f} / {c['peak']:.0f} |"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--peer", default=sys.executable)
    parser.add_argument("--counts", type=int, nargs="*", default=COUNTS)
    parser.add_argument("--worker")
    parser.add_argument("--mesh", type=Path)
    parser.add_argument("--repeats", type=int, default=1)
    asked = parser.parse_args()
    if asked.worker:
        worker(asked.worker, asked.mesh, asked.repeats)
        return
    from tests.bench.flatten_shapes import SHAPES

    print("| surface | triangles | seconds peer / facets / smooth | time ratios | rms ratio | max ratio", end="")
    print(" | off mm peer / facets / smooth | peak MB |")
    print("|" + "---|" * 8)
    with tempfile.TemporaryDirectory() as folder:
        for count in asked.counts:
            for name in SHAPES:
                print(row(name, count, Path(folder), asked.peer), flush=True)


if __name__ == "__main__":
    main()
