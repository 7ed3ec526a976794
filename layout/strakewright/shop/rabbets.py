"""The rabbets of a stem, and the wood they leave between them.

rabbet    groove in each side of the stem that hood ends stand in, cut square to the planking
middle    wood between the inner corners of the two grooves, 2 (H - t cos a): H half the stem's width at the rabbet
          line, t thickness of all planking, a half-angle between planking and centreline plane

Source: derived (trigonometry): a square end of thickness t reaches t cos a in from the rabbet line.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from strakewright.errors import Finding
from strakewright.hull import Hull
from strakewright.settings import BackboneSettings, PlankingSettings

LEAST_SIDING = 0.5  # mm off the centreline from which the border is itself the rabbet line


@dataclass(frozen=True)
class Thinnest:
    """Where a panel's rabbets leave least.  place : (x, z) mm;  half_angle : radians;  middle : mm"""

    panel: str
    place: tuple[float, float]
    half_angle: float
    middle: float


def middle_of(half_width: float, thickness: float, half_angle: float) -> float:
    """mm of wood between two rabbets.

    >>> [round(middle_of(22.2, 19.0, np.radians(a)), 1) for a in (29.0, 60.0)]
    [11.2, 25.4]
    """
    return float(2.0 * (half_width - thickness * np.cos(half_angle)))


def rabbets(hull: Hull, planking: tuple[PlankingSettings, ...], backbone: BackboneSettings) -> list[Thinnest]:
    """The thinnest place along each panel's stem; empty where hood ends do not stand in a rabbet."""
    if backbone.stem_end != "rabbet":
        return []
    total, found = {p.panel: p.total for p in planking}, []
    for panel in (p for p in hull.panels if p.name in total):
        border = next((b for b, _ in panel.ring() if b.name == "stem"), None)
        if border is None:
            continue
        space, normal = panel.in_space(border), panel.patch.normal(border.chart)
        along = np.gradient(space, axis=0)
        athwart = np.array([0.0, 1.0, 0.0]) - along * (along[:, 1] / np.maximum((along**2).sum(axis=1), 1e-12))[:, None]
        athwart /= np.linalg.norm(athwart, axis=1, keepdims=True)  # square to the stem, in whose section a is measured
        half_angle = np.arccos(np.clip(np.abs((normal * athwart).sum(axis=1)), 0.0, 1.0))
        given = backbone.half_siding or backbone.stem_face_min / 2
        half = np.where(np.abs(space[:, 1]) > LEAST_SIDING, np.abs(space[:, 1]), given)
        middle = 2.0 * (half - total[panel.name] * np.cos(half_angle))
        i = int(np.argmin(middle))
        place = float(space[i, 0]), float(space[i, 2])
        found.append(Thinnest(panel.name, place, float(half_angle[i]), float(middle[i])))
    return found


def rabbet_findings(rows: list[Thinnest], least: float) -> list[Finding]:
    """Stems that their rabbets cut through (blocking), and those left with less than `least` mm (warning)."""
    found = []
    for row in (r for r in rows if r.middle < least):
        through = row.middle <= 0.0
        left = "meet in the middle of the stem" if through else f"leave {row.middle:.1f} mm of the stem between them"
        found.append(
            Finding(
                "rabbet-too-deep",
                "blocking" if through else "warning",
                row.panel,
                f"the rabbets {left} at x {row.place[0]:.0f}, height {row.place[1]:.0f}, where the planking stands at "
                f"{np.degrees(row.half_angle):.0f} degrees to the centreline; {least:.0f} mm are wanted",
                "Use a wider stem (half_siding), thinner planking, or a cap over hood ends (stem_end)",
            )
        )
    return found


def rabbet_records(rows: list[Thinnest]) -> list[dict[str, object]]:
    """As summary.json lists them."""
    return [
        {
            "panel": r.panel,
            "middle_min": r.middle,
            "x": r.place[0],
            "z": r.place[1],
            "half_angle_deg": float(np.degrees(r.half_angle)),
        }
        for r in rows
    ]
