"""From a mesh file to panels and flats: seconds, memory, and how far the outlines are from those of a dense mesh.

    PYTHONPATH=layout:. python tests/bench/mesh_bench.py [--million]

The hull is the port half of the sample tender with other triangles; `off` is the largest distance of a panel's borders
from those of a mesh of 48 000, and the greatest share by which panel areas differ.  Seconds are processor seconds.
"""

from __future__ import annotations

import argparse
import resource
import tempfile
import time
from pathlib import Path

import numpy as np

from strakewright.geometry.sections import area
from strakewright.hull import Hull
from strakewright.loft.hulls import loft_hull
from strakewright.read.mesh import read_mesh
from strakewright.settings import HullSettings
from strakewright.shop.unrolling import unroll_surface
from tests.bench.damaged import off_line, samples


def mesh_file(folder: Path, cell: float, seed: int) -> Path:
    """The port half of the tender as binary PLY."""
    make = samples()
    mesh, _ = make.skin([make.line(p) for p in make.TEASEL], cell, seed)
    path = folder / f"hull-{cell:g}.ply"
    path.write_bytes(make.as_ply(make.welded([mesh])))
    return path


def lofted(path: Path) -> Hull:
    return loft_hull(read_mesh(path), HullSettings(path, "mm", 1.0, half=True), "bench")


def borders_off(hull: Hull, dense: Hull) -> float:
    """mm, largest distance of borders in space."""
    return max(
        float(off_line(a.in_space(mine), b.in_space(his)).max())
        for a, b in zip(hull.panels, dense.panels, strict=True)
        for (mine, _), (his, _) in zip(a.ring(), b.ring(), strict=True)
    )


def areas_off(hull: Hull, dense: Hull) -> float:
    """Largest share by which panel areas differ."""
    sizes = [[area(p.patch, np.concatenate([r[:-1] for _, r in p.ring()])) for p in h.panels] for h in (hull, dense)]
    return max(abs(a / b - 1) for a, b in zip(*sizes, strict=True))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--million", action="store_true")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        cells = (54.0, 17.5) if not asked.million else (3.78,)
        dense = lofted(mesh_file(folder, 17.0, 5))
        print("| triangles | read s | panels s | flat s | borders off mm | areas off ppm | peak MB |")
        print("|---|---|---|---|---|---|---|")
        for cell in cells:
            path = mesh_file(folder, cell, 1)
            clock = [time.process_time()]
            mesh = read_mesh(path)
            clock.append(time.process_time())
            hull = loft_hull(mesh, HullSettings(path, "mm", 1.0, half=True), "bench")
            clock.append(time.process_time())
            unroll_surface(np.asarray(mesh.vertices), np.asarray(mesh.triangles))
            clock.append(time.process_time())
            read, panels, flat = np.diff(clock)
            peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
            print(
                f"| {len(mesh.triangles)} | {read:.2f} | {panels:.2f} | {flat:.2f} | {borders_off(hull, dense):.4f} |"
                f" {1e6 * areas_off(hull, dense):.2f} | {peak:.0f} |"
            )


if __name__ == "__main__":
    main()
