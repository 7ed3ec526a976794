"""Strips: planks ripped parallel and pushed sideways to their place.

strip      a plank cut "straight": its line to cut is a rectangle of its true length and tails
edge-set   the bend in its own width that it is pushed to, all of the plank's sideways curve (its crook)
sag        how far the middle of the bent edge stands off its chord; over 3 m, and over the whole length
force      what pushes a straight strip to that sag at its middle, held at both ends: 48 E I h / L^3, I = t w^3 / 12

A spiled plank is sawn to its curve and has no edge-set; its crook goes into the width of board it wants.

Sources: beam theory; more than 6 mm in 3 m refused where a strip is wider than three times its thickness, because it
buckles: common practice, no source.  Strains as for the other bends.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, cast

import numpy as np

from strakewright.arrays import Floats
from strakewright.geometry.curves import arc_length, curvature, spline_curve
from strakewright.parts import Fit, Mark, Plank
from strakewright.settings import PlankingSettings
from strakewright.shop.fit import Limits
from strakewright.shop.shapes import sag
from strakewright.tables import species

BUCKLES, SAG_MOST, SAG_OVER = 3.0, 6.0, 3000.0
STIFFNESS = 10_000.0  # MPa where the table has none; common practice, no source
NEWTON = 9.80665
STATIONS = 81


@dataclass(frozen=True)
class EdgeSet:
    """strain : at the edges;  sag_3m, sag : mm, over 3 m and over the length;  length : mm;  force : N at mid-length"""

    strain: float
    sag_3m: float
    sag: float
    length: float
    force: float


def pushed_line(plank: Plank) -> Floats:
    """(n, 2) flat points of the edge that is pushed against the strip before, aft to forward, evenly spaced."""
    edge = plank.first.flat
    run = arc_length(edge)
    at = np.linspace(0.0, run[-1], STATIONS)
    return np.stack([np.interp(at, run, edge[:, k]) for k in (0, 1)], axis=-1)


def edge_set(line: Floats, width: float, thickness: float, stiffness: float) -> EdgeSet:
    """What it takes to push a straight strip to a line.  line : (n, 2) mm;  stiffness : MPa"""
    curve = spline_curve(line)
    bend = np.abs(curvature(curve, np.linspace(0.06, 0.94, 60) * curve.end)).max()
    length = float(arc_length(line)[-1])
    whole = sag(line)
    inertia = thickness * width**3 / 12
    return EdgeSet(
        strain=float(width * bend / 2),
        sag_3m=_sag_over(line, SAG_OVER),
        sag=whole,
        length=length,
        force=48 * stiffness * inertia * whole / length**3,
    )


def _sag_over(line: Floats, span: float) -> float:
    """Largest sag of any stretch of that length; of a shorter line as if it went on at the same bend."""
    run = arc_length(line)
    if run[-1] <= span:
        return float(sag(line) * (span / run[-1]) ** 2)
    starts = np.linspace(0.0, run[-1] - span, 25)
    rows = [np.linspace(s, s + span, 31) for s in starts]
    return max(sag(np.stack([np.interp(row, run, line[:, k]) for k in (0, 1)], axis=-1)) for row in rows)


def as_strip(plank: Plank, settings: PlankingSettings, limits: Limits) -> Plank:
    """The plank as a strip: a rectangle to cut, marks where they fall on it while it is straight, and its verdict.

    The rings of faces and net plank stay in the flat axes of the boat's surface.
    """
    line = pushed_line(plank)
    cut = straightened(plank.outline, line)
    low, high = cut.min(axis=0), cut.max(axis=0)
    outline = np.array([[low[0], low[1]], [high[0], low[1]], [high[0], high[1]], [low[0], high[1]]]) - low
    marks = tuple(replace(m, points=straightened(m.points, line) - low) for m in plank.marks)
    wood = species(settings.species)
    stiffness = wood.stiffness.value if wood.stiffness else STIFFNESS
    pushed = edge_set(line, float(high[1] - low[1]), plank.thickness, stiffness)
    fit = judged(plank.fit, pushed, float(high[1] - low[1]) / plank.thickness, limits)
    extra = {
        **plank.extra,
        "edge_set_3m": pushed.sag_3m,
        "edge_force_n": pushed.force,
        "strip_marks": [_record(m) for m in marks],
    }
    return replace(plank, outline=outline, cut="straight", fit=fit, extra=extra)


def _record(mark: Mark) -> dict[str, object]:
    return {"kind": mark.kind, "name": mark.name, "points": mark.points}


def strip_marks(plank: Plank) -> tuple[Mark, ...]:
    """The marks of a strip as they fall on it while it is straight."""
    rows = cast(list[dict[str, Any]], plank.extra["strip_marks"])
    return tuple(Mark(row["kind"], row["name"], row["points"]) for row in rows)


def straightened(points: Floats, line: Floats) -> Floats:
    """(n, 2) points in the axes of a line made straight: length along it and distance off it to the left."""
    run = arc_length(line)
    ways = np.diff(line, axis=0)
    lengths = np.linalg.norm(ways, axis=-1)
    ways = ways / lengths[:, None]
    rel = points[:, None] - line[None, :-1]
    along = np.einsum("nki,ki->nk", rel, ways)
    inside = np.clip(along, 0.0, lengths)
    gap = np.linalg.norm(rel - inside[..., None] * ways, axis=-1)
    k = gap.argmin(axis=1)
    rows = np.arange(len(points))
    ahead = np.where((k == len(ways) - 1) | ((k == 0) & (along[rows, k] < 0)), along[rows, k], inside[rows, k])
    left = rel[rows, k, 1] * ways[k, 0] - rel[rows, k, 0] * ways[k, 1]
    return np.stack([run[k] + ahead, left], axis=-1)


def judged(fit: Fit, pushed: EdgeSet, slender: float, limits: Limits) -> Fit:
    """The verdict with the edge-set added.  slender : width over thickness"""
    total = fit.strain_total + pushed.strain
    share = total / limits.breaking_strain
    words = (
        f"edge-set {pushed.sag:.0f} mm in {pushed.length / 1000:.1f} m ({pushed.sag_3m:.1f} mm in 3 m), "
        f"pushed with {pushed.force / NEWTON:.0f} kgf"
    )
    verdict, reason = fit.verdict, fit.reason
    if slender > BUCKLES and pushed.sag_3m > SAG_MOST:
        verdict, reason = "refused", f"{words}. It buckles: narrower strips, or planks spiled to shape"
    elif share > limits.firm_share and verdict != "refused":
        verdict, reason = "refused", f"{words}, strain {100 * total:.2f} %. Narrower strips, or planks spiled to shape"
    elif share > limits.easy_share and verdict == "easy":
        verdict, reason = "firm", f"{words}, strain {100 * total:.2f} %. Narrower strips go easier"
    elif verdict == "easy":
        reason = f"{reason}; {words}"
    return replace(fit, edge_set=pushed.sag, strain_total=total, verdict=verdict, reason=reason)
