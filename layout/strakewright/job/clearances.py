"""Figures of a layer for summary.json: how near its screws stand to seams, and how its planks meet at the keel.

lateral    distance along the face: of points on two skins h apart, sqrt(d2 - h2) (derived; skins bend far wider than h)
centre joint    where port and starboard planks meet over the keelson, each cut to its own side's deadrise
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from strakewright.arrays import Floats
from strakewright.errors import Check, at_most
from strakewright.geometry.nearby import nearest
from strakewright.job.planked import Frames, Layer
from strakewright.parts import Margin, Plank
from strakewright.shop.screws import FROM_SCREW, FROM_SEAM

Record = dict[str, Any]
STEP = 2.0  # mm between the points that stand for a seam
NEARER = 1.0  # mm by which a place carried to a twisted end, and skins taken as parallel, may be off


def screw_figures(layer: Layer, layers: Sequence[Layer]) -> Record:
    """Least distances, mm, of this layer's screws: from the seams of every layer of the panel, from screws below.

    Empty without screws; None where there is nothing to keep clear of."""
    if not len(layer.screws):
        return {}
    seams, below = [], []
    for other in (x for x in layers if x.settings.panel == layer.settings.panel):
        apart = abs(other.lined.skin.depth - layer.lined.skin.depth)
        seams.append(_lateral(layer.screws, _seams(other.planks), apart))
        if other.lined.skin.layer < layer.lined.skin.layer:
            below.append(_lateral(layer.screws, other.screws, apart))
    return {"screw_to_seam_min": _least(seams), "screw_to_screw_below_min": _least(below)}


def screw_checks(layers: Sequence[Layer]) -> tuple[Check, ...]:
    """Whether the screws of every layer keep clear of all seams of its panel and of the screws below, by how many mm
    they fall short."""
    found = []
    for layer in layers:
        name, figures = f"{layer.settings.panel} layer {layer.lined.skin.layer}", screw_figures(layer, layers)
        for what, key, wanted in (
            ("seams of every layer", "screw_to_seam_min", FROM_SEAM),
            ("screws below", "screw_to_screw_below_min", FROM_SCREW),
        ):
            if figures.get(key) is not None:
                short = max(wanted - figures[key], 0.0)
                found.append(at_most(f"screws {wanted:.0f} mm clear of {what}, {name}", short, NEARER, "mm"))
    return tuple(found)


def _lateral(spots: Floats, points: Floats, apart: float) -> float:
    """Least distance along the face between points of two skins `apart` mm from each other; inf without points."""
    if not len(points):
        return float("inf")
    return float(np.sqrt(max(float(nearest(spots, points).min()) ** 2 - apart**2, 0.0)))


def _least(gaps: list[float]) -> float | None:
    least = min(gaps, default=float("inf"))
    return least if np.isfinite(least) else None


def _seams(planks: Sequence[Plank]) -> Floats:
    """(n, 3) points of all seams between planks, port side."""
    rows = [np.zeros((0, 3))]
    for plank in (p for p in planks if p.on_port):
        rows += [_dense(m.seam) for m in _margins(plank) if m.meets == "seam"]
    return np.concatenate(rows)


def _dense(points: Floats) -> Floats:
    run = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=-1))])
    at = np.linspace(0.0, run[-1], int(run[-1] / STEP) + 2)
    return np.stack([np.interp(at, run, points[:, k]) for k in range(3)], axis=-1)


def _margins(plank: Plank) -> tuple[Margin, ...]:
    return (plank.first, plank.second, *plank.ends)


def centre_joint(layer: Layer, frames: Frames) -> Record:
    """How port and starboard planks meet at the keel: mm between them at mid-thickness, and their bevel, at frames.

    Twice how far their ends stand off the centreline; layers that both meet in it are not offset from each other."""
    ends = [m for p in layer.planks if p.on_port for m in _margins(p) if m.border == "keel"]
    if not ends:
        return {}
    rows = np.concatenate([np.column_stack([m.seam[:, :2], m.bevel]) for m in ends])
    x, y, bevel = rows[rows[:, 0].argsort(kind="stable")].T
    there = {name: at for name, at in frames if x[0] <= at <= x[-1]}
    return {
        "centre_joint": {
            "apart_max": float(2 * np.abs(y).max()),
            "bevel_min_deg": float(np.degrees(bevel.min())),
            "bevel_max_deg": float(np.degrees(bevel.max())),
            "bevel_at_frames_deg": {name: float(np.degrees(np.interp(at, x, bevel))) for name, at in there.items()},
        }
    }
