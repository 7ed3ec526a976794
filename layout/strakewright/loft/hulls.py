"""The loft's front bench: a mesh in, the boat as panels out.

Steps: turn and halve (`symmetry`), make rounded chines sharp (`sharpening`), part at the chines (`creases`,
`parting`), find each panel's borders (`sides`), draw them fair where corners are astray (`steadying`), refuse what
stays round and tight (`rounding`), lay flat and fit (`patching`).
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace

import numpy as np

from strakewright.errors import InputError, UnworkableError
from strakewright.hull import Hull, Panel
from strakewright.loft.parting import part_skin
from strakewright.loft.patching import panel_of
from strakewright.loft.rounding import check_rounding
from strakewright.loft.sharpening import sharpened
from strakewright.loft.sides import panel_meshes
from strakewright.loft.steadying import steadied
from strakewright.loft.symmetry import PortHalf, port_half
from strakewright.loft.twoways import figures_apart
from strakewright.settings import HullSettings
from strakewright.triangles import TriangleMesh


def loft_hull(mesh: TriangleMesh, settings: HullSettings, name: str) -> Hull:
    """The boat that a mesh describes.

    Raises InputError or UnworkableError that say what was seen and what to set.
    """
    with _naming(mesh.source):
        return _lofted(mesh, settings, name)


@contextmanager
def _naming(source: str) -> Iterator[None]:
    """Errors from within name the mesh file too."""
    try:
        yield
    except (InputError, UnworkableError) as fault:
        if source not in fault.where:
            fault.where = f"{source}, {fault.where}" if fault.where else source
        raise


def _lofted(mesh: TriangleMesh, settings: HullSettings, name: str) -> Hull:
    half = sharpened(port_half(mesh, settings), settings.crease_deg)
    skin = part_skin(half, settings.crease_deg)
    meshes, astray = steadied(panel_meshes(skin))
    if astray:
        half = replace(half, length=float(max(m.vertices[:, 0].max() for m in meshes)))
    turns = tuple(f for m in meshes for f in check_rounding(m, settings.crease_deg))
    made = [panel_of(m) for m in meshes]
    panels = tuple(panel for panel, _ in made)
    told = tuple(f for _, some in made for f in some)
    everything = (*mesh.findings, *half.findings, *skin.findings, *astray, *turns, *told)
    return Hull(name, panels, settings.surface, half.length, everything, _figures(half, panels, mesh))


def _figures(half: PortHalf, panels: tuple[Panel, ...], mesh: TriangleMesh) -> dict[str, float | str]:
    breadth = float(half.vertices[:, 1].max())
    figures: dict[str, float | str] = {
        "length": half.length,
        "half_breadth": breadth,
        "depth": float(np.ptp(half.vertices[:, 2])),
        "triangles": float(len(mesh.triangles)),
        "panels": ", ".join(p.name for p in panels),
        "residual": max(p.residual for p in panels),
        "centreline_moved": half.centre,
        "halves_mismatch": half.mismatch,
    }
    return figures | figures_apart(panels)
