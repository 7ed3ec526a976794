"""A yard that builds whole boats from exact meshes: the acceptance tests' one way in.

Everything here only prepares inputs (settings, frames, boards) and runs the program's own path from a mesh to
planks; what the result should be is worked out in the tests from closed forms.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from tests.exact_meshes import Mesh

from strakewright.arrays import Floats
from strakewright.errors import Finding
from strakewright.hull import Hull
from strakewright.job.building import frames_of
from strakewright.job.inputs import Inputs, hull_of
from strakewright.job.planked import Frames, Layer, plank_hull
from strakewright.lumber import Board
from strakewright.parts import Margin, Plank
from strakewright.settings import (
    BackboneSettings,
    BoatSettings,
    FrameSettings,
    HullSettings,
    PlankingSettings,
    StockSettings,
)
from strakewright.triangles import TriangleMesh

NOWHERE = Path("boat.toml")


@dataclass(frozen=True, eq=False)
class Planked:
    """A boat as far as its planks."""

    inputs: Inputs
    hull: Hull
    frames: Frames
    layers: tuple[Layer, ...]
    findings: tuple[Finding, ...]

    @property
    def planks(self) -> tuple[Plank, ...]:
        return tuple(p for layer in self.layers for p in layer.planks)

    def port(self, panel: str, layer: int = 1) -> list[Plank]:
        """Port planks of one layer, in hanging order."""
        return [p for p in self.planks if (p.side, p.panel, p.layer) == ("port", panel, layer)]


def settings_of(
    planking: tuple[PlankingSettings, ...],
    spacing: float = 700.0,
    surface: str = "outside",
    stem_end: str = "cap",
) -> BoatSettings:
    """A boat file as the reader would make it."""
    return BoatSettings(
        path=NOWHERE,
        name="Proof",
        units="mm",
        hull=HullSettings(NOWHERE, "mm", 1.0, surface=surface),  # type: ignore[arg-type]
        frames=FrameSettings(spacing=spacing),
        planking=planking,
        stock=StockSettings(NOWHERE),
        species="white ash",
        backbone=BackboneSettings(stem_end=stem_end),  # type: ignore[arg-type]
    )


def rectangle(name: str, length: float, width: float, thickness: float) -> Board:
    """A clear board of white ash."""
    ring = np.array([[0.0, 0.0], [length, 0.0], [length, width], [0.0, width]])
    return Board(name, ring, thickness, "white ash")


def planked(mesh: Mesh, boat: BoatSettings, boards: tuple[Board, ...] = ()) -> Planked:
    """The path from mesh to planks, nothing nested."""
    inputs = Inputs(boat, TriangleMesh(*mesh), boards, ())
    hull = hull_of(inputs)
    frames = frames_of(boat.frames, hull)
    layers, findings = plank_hull(inputs, hull, frames, lambda *_: None)
    return Planked(inputs, hull, frames, layers, (*hull.findings, *findings))


def margins(plank: Plank) -> tuple[Margin, ...]:
    """Every stretch of a plank's ring."""
    return (plank.first, plank.second, *plank.ends)


def length(points: Floats) -> float:
    """Length of a polyline."""
    return float(np.linalg.norm(np.diff(points, axis=0), axis=-1).sum())


def rigid_fit(points: Floats, onto: Floats) -> Floats:
    """`points` (n, 2) turned, shifted and if need be mirrored onto `onto` by least squares (Kabsch)."""
    here, there = points.mean(axis=0), onto.mean(axis=0)
    u, _, v = np.linalg.svd((points - here).T @ (onto - there))
    return np.asarray((points - here) @ u @ v + there)
