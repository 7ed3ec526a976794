"""How far a thin first layer runs free between what holds it while the next is glued to it.

bay       mm from frame to frame
gap       mm round the girth from the panel's edge, or a batten, to the next batten or edge
span      mm along a plank from one of these to the next: bay / cos a along diagonals that lean a from the keel over
          frames alone, gap / sin a over battens alone

Source: a first layer goes hollow where bays and gaps are both over 30 of its thicknesses: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from strakewright.errors import Finding
from strakewright.settings import MemberSettings, PlankingSettings

THICKNESSES = 30.0


def battens_of(panel: str, members: Sequence[MemberSettings]) -> list[float]:
    """Shares of the girth at which battens hold a panel from inside."""
    mine = [m.along.partition("@") for m in members if m.shape == "run" and m.face == "inside"]
    return sorted(float(share) for name, at, share in mine if at and name == panel)


def free_span(layer: PlankingSettings, bay: float, gap: float) -> float | None:
    """mm along a plank between what holds it, None where bays or gaps are close enough.

    >>> diagonals = PlankingSettings("bottom", "herringbone", 9.5, layers=2, width=100.0, angle_deg=45.0)
    >>> round(free_span(diagonals, 600.0, 900.0))      # 9.5 mm at 45 degrees over bays of 600 mm
    849
    >>> free_span(diagonals, 600.0, 280.0) is None
    True
    """
    lean = {"strakes": 0.0, "cross": np.pi / 2}.get(layer.pattern, float(np.deg2rad(layer.angle_deg)))
    along, athwart = float(np.cos(lean)), float(np.sin(lean))
    held = [(bay, along), (gap, athwart)]
    crossed = [
        (apart, share) for apart, share in held if share > 1e-6
    ]  # strakes cross no batten, cross planks no frame
    if any(apart <= THICKNESSES * layer.thickness for apart, _ in crossed):
        return None
    return min(apart / share for apart, share in crossed)


def unheld(layer: PlankingSettings, frames: Sequence[float], girth: float, battens: Sequence[float]) -> list[Finding]:
    """What to tell of the first of several layers.  frames : x, mm;  girth : the longest, mm;  battens : shares"""
    if len(frames) < 2:
        return []
    gap = girth * float(np.diff([0.0, *battens, 1.0]).max())
    span = free_span(layer, float(np.diff(np.sort(frames)).max()), gap)
    if span is None:
        return []
    return [
        Finding(
            "layer-unheld",
            "note",
            f"{layer.panel} layer 1",
            f"its planks of {layer.thickness:g} mm run {span:.0f} mm from one hold to the next, where"
            f" {THICKNESSES * layer.thickness:.0f} mm is usual: they may go hollow under the next layer",
            f'Let in battens along it ("{layer.panel}@0.33", "{layer.panel}@0.66"), set frames closer, or shore it up'
            " while the next layer is glued",
        )
    ]
