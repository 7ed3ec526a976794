"""Proof that a dropped strake ends in a nib that can be fastened.

nib       square end of a dropped strake: at least 20 mm wide and a third of its widest place, and over a frame
wood      of a frame: on either side of its station line, a siding deep

Measured on the flat rings and in space, whatever the room that cut the nib says of its width.  Source of the rule:
common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import shapely

from strakewright.arrays import Floats
from strakewright.errors import Check, at_most
from strakewright.parts import Margin, Plank

LEAST, SHARE = 20.0, 1 / 3
SLACK = 0.5  # mm
SQUARE_DEG = 15.0  # a nib may stand so far off square to the edge beside it
STATIONS = 60


def nib_checks(planks: Iterable[Plank], frames: tuple[tuple[str, float], ...], siding: float) -> tuple[Check, ...]:
    """None where no strake is dropped.  frames : name and x;  siding : of the frames, mm"""
    at = dict(frames)
    short, off, slant = [], [], []
    for plank in planks:
        for told in plank.extra.get("nibs", ()):  # type: ignore[attr-defined]
            nib = nib_end(plank, at[told["frame"]])
            if nib is None:
                return (at_most("nibs of dropped strakes are there", float("inf"), 0.0, "nibs"),)
            width = float(np.linalg.norm(nib.flat[-1] - nib.flat[0]))
            short.append(max(LEAST, SHARE * _widest(plank.net_outline)) - width)
            off.append(abs(float(nib.seam[:, 0].mean()) - at[told["frame"]]))
            slant.append(_off_square(plank, nib))
    if not short:
        return ()
    return (
        at_most("nibs of dropped strakes fall short of 20 mm and a third of the width", max(short), SLACK, "mm"),
        at_most("nibs of dropped strakes off their frame's line", max(off), siding, "mm"),
        at_most("nibs of dropped strakes off square", max(slant), SQUARE_DEG, "degrees"),
    )


def nib_end(plank: Plank, x: float) -> Margin | None:
    """The end against a seam that is nearest to a frame."""
    ends = [e for e in plank.ends if e.meets == "seam"]
    return min(ends, key=lambda e: abs(float(e.seam[:, 0].mean()) - x), default=None)


def _widest(ring: Floats) -> float:
    """Widest place of a flat strake, across the line of its ends, mm."""
    shape = shapely.Polygon(ring)
    low, high = ring[:, 1].min() - 1.0, ring[:, 1].max() + 1.0
    rows = np.linspace(ring[:, 0].min(), ring[:, 0].max(), STATIONS + 2)[1:-1]
    lines = shapely.linestrings([[(x, low), (x, high)] for x in rows])
    return float(shapely.length(shapely.intersection(lines, shape)).max())


def _off_square(plank: Plank, nib: Margin) -> float:
    """Degrees by which a nib is off square to the nearer long edge."""
    way = nib.flat[-1] - nib.flat[0]
    worst = 0.0
    for edge in (plank.first, plank.second):
        gaps = np.linalg.norm(edge.flat - nib.flat.mean(axis=0), axis=-1)
        k = int(np.clip(gaps.argmin(), 1, len(edge.flat) - 2))
        along = edge.flat[k + 1] - edge.flat[k - 1]
        cosine = abs(float(way @ along)) / float(np.linalg.norm(way) * np.linalg.norm(along))
        worst = max(worst, float(np.degrees(np.arcsin(min(1.0, cosine)))))
    return worst
