"""The flat that is planed along the keel for the shoe, and what it leaves of the planking.

ridge     where both sides' planks meet on the keelson, each cut to the deadrise: no plank crosses it
flat      width W planed level along the ridge for the keel or shoe;  it takes (W / 2) sin(deadrise) at the middle
left      what is left of all layers there: at least 4 mm, or the flat has to narrow forward

Source: derived (trigonometry); 4 mm: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from strakewright.arrays import Floats
from strakewright.errors import Finding
from strakewright.hull import Hull, Panel
from strakewright.settings import BackboneSettings, PlankingSettings

LEAST_LEFT = 4.0


@dataclass(frozen=True)
class Ridge:
    """At one frame.  deadrise : radians, in the section square to the keel;  flat, taken, left : mm
    through : whether the outermost layer is cut through at the middle"""

    frame: str
    x: float
    deadrise: float
    flat: float
    taken: float
    left: float
    through: bool


def taken_by_flat(flat: float, deadrise: float) -> float:
    """mm of thickness that a flat takes at the middle.

    >>> [round(taken_by_flat(44.0, np.radians(d)), 1) for d in (14.8, 23.0, 46.0)]
    [5.6, 8.6, 15.8]
    """
    return float(flat / 2 * np.sin(deadrise))


def ridges(
    hull: Hull,
    planking: tuple[PlankingSettings, ...],
    backbone: BackboneSettings,
    frames: tuple[tuple[str, float], ...],
) -> list[Ridge]:
    """At every frame where the lowest panel lies on the centreline; empty where no flat is asked for."""
    panel = hull.panels[0]
    mine = next((p for p in planking if p.panel == panel.name), None)
    if backbone.keel_flat is None or mine is None or not panel.lower.centreline:
        return []
    x, deadrise = _deadrise(panel)
    at, widths = (np.array(c) for c in zip(*backbone.keel_flat, strict=True))
    found = []
    for name, station in frames:
        if x.min() <= station <= x.max():
            rise = float(np.interp(station, x, deadrise))
            flat = float(np.interp(station, at, widths))
            taken = taken_by_flat(flat, rise)
            left = mine.total - taken
            through = mine.layers > 1 and taken >= mine.thicknesses[-1]
            found.append(Ridge(name, station, rise, flat, taken, left, through))
    return found


def _deadrise(panel: Panel) -> tuple[Floats, Floats]:
    """x ascending along the keel and the angle between the bottom and level there, radians."""
    chart = panel.lower.chart
    x = panel.patch.at(chart)[:, 0]
    rise = np.arcsin(np.clip(np.abs(panel.patch.normal(chart)[:, 1]), 0.0, 1.0))
    order = np.argsort(x)
    return x[order], rise[order]


def ridge_findings(rows: list[Ridge]) -> list[Finding]:
    """Frames where too little is left (blocking), and where the outer layer is cut through (warning)."""
    thin = [r for r in rows if r.left < LEAST_LEFT]
    cut = [r for r in rows if r.through and r.left >= LEAST_LEFT]
    found = []
    if thin:
        worst = min(thin, key=lambda r: r.left)
        found.append(
            Finding(
                "keel-flat-too-wide",
                "blocking",
                ", ".join(r.frame for r in thin),
                f"the flat of {worst.flat:.0f} mm planed for the shoe leaves {max(worst.left, 0.0):.1f} mm of planking "
                f"at {worst.frame}, where the bottom rises {np.degrees(worst.deadrise):.0f} degrees",
                "Let it narrow forward: keel_flat may be a list, as [[600, 44], [4800, 20]]",
            )
        )
    if cut:
        found.append(
            Finding(
                "keel-flat-through-layer",
                "warning",
                ", ".join(r.frame for r in cut),
                f"the flat cuts through the outer layer: it takes up to {max(r.taken for r in cut):.1f} mm there",
                "Bed the shoe well in glue, or let keel_flat narrow forward",
            )
        )
    return found
