"""The screw map of every layer, once planks and frames are known."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from strakewright.errors import Finding
from strakewright.frames import Framing
from strakewright.job.planked import Frames, Layer
from strakewright.shop.screws import Fastening, screwed

NAMED = 8  # places named in the finding, the others are counted


def fasten(
    layers: tuple[Layer, ...], framing: Framing, frames: Frames, plugs: bool
) -> tuple[tuple[Layer, ...], list[Finding]]:
    """Every layer's planks with their screws, innermost layer first.  plugs : wanted where planks are thick enough"""
    made: list[Layer] = []
    findings: list[Finding] = []
    for layer in layers:
        panel, number = layer.settings.panel, layer.lined.skin.layer
        others = [p for x in layers if x.settings.panel == panel and x is not layer for p in x.planks]
        below = np.concatenate([np.zeros((0, 3)), *(x.screws for x in made if x.settings.panel == panel)])
        how = Fastening(
            total=layer.settings.total,
            covered=number < layer.settings.layers,
            on_layer=number > 1,
            plugs=plugs,
            frames=_offsets(framing, frames, panel),
        )
        found = screwed(layer.planks, others, below, how)
        made.append(replace(layer, hung=replace(layer.hung, planks=found.planks), screws=found.spots))
        findings += _bare(f"{panel} layer {number}" if layer.settings.layers > 1 else panel, found.bare)
    return tuple(made), findings


def _offsets(framing: Framing, frames: Frames, panel: str) -> dict[str, float]:
    """How far the middle of each frame's piece under a panel lies forward of the station; 0 where none is sawn."""
    stations = dict(frames)
    found: dict[str, float] = {}
    for frame in framing.frames:
        for piece in frame.pieces:
            if piece.kind == panel and frame.name in stations:
                found[frame.name] = (piece.x_control + piece.x_other) / 2 - stations[frame.name]
    return found


def _bare(name: str, places: tuple[tuple[str, str], ...]) -> list[Finding]:
    if not places:
        return []
    told = ", ".join(f"{plank} at {frame}" for plank, frame in places[:NAMED])
    more = f" and {len(places) - NAMED} more" if len(places) > NAMED else ""
    return [
        Finding(
            "no-clear-screw",
            "note",
            name,
            f"no screw on the frame is 12 mm clear of every seam: {told}{more}",
            "Glue and clamp there, or set a screw between the seams by eye",
        )
    ]
