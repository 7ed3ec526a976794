"""Bevels along the long edges of a plank, wherever a paper asks for them.

bevel     in the plane square to the edge, from square to the face; + = the inside is the narrower face
stretch   part of an edge with one way of being cut: a chine may be lapped aft and mitred forward, with a step
          between; no bevel is ever made up across the step
square    an edge whose bevel leaves a gap of at most 0.15 mm (0.3 mm between two planks, which glue fills: common
          practice, no source)
"""

from __future__ import annotations

import numpy as np

from strakewright.arrays import Floats
from strakewright.parts import Margin, Plank

SQUARE = 0.15  # mm
Stretches = tuple[Margin, ...]


def edge_runs(plank: Plank, edge: Margin) -> Stretches:
    """An edge with the other stretches of the same border."""
    more = (e for e in plank.ends if edge.border is not None and e.border == edge.border)
    return (edge, *more)


def bevel_at(margin: Margin, x: float) -> float | None:
    """Bevel in radians where an edge passes x of the plank's own axes; None where it does not."""
    along: Floats = margin.fitted[:, 0]
    if not along.min() - 1e-6 <= x <= along.max() + 1e-6:
        return None
    order = np.argsort(along, kind="stable")
    return float(np.interp(x, along[order], margin.bevel[order]))


def bevel_of(runs: Stretches, x: float) -> float | None:
    """Bevel of the first stretch that passes x."""
    return next((angle for angle in (bevel_at(run, x) for run in runs) if angle is not None), None)


def low_and_high(plank: Plank) -> tuple[Stretches, Stretches]:
    """The edge that lies lower on the part, inside face up, and the one that lies higher."""
    first, second = (edge_runs(plank, m) for m in (plank.first, plank.second))
    turned = -1.0 if plank.face_up == "outside" else 1.0
    first_is_low = turned * (plank.first.flat[:, 1].mean() - plank.second.flat[:, 1].mean()) < 0
    return (first, second) if first_is_low else (second, first)


def degrees(radians: float) -> str:
    """To half a degree, with sign: what a bevel gauge can be set to.

    >>> degrees(np.deg2rad(-12.3)), degrees(0.001)
    ('-12.5°', '0°')
    """
    halves = round(float(np.rad2deg(radians)) * 2)
    return f"{halves / 2:+g}°" if halves else "0°"
