"""What layers of one panel owe each other.

crossing   angle between the seams of two layers: at least 60 degrees aft of the staves and 30 among them, so that each
           layer stiffens the other; where one layer runs fore and aft, at least 30 everywhere
ends       where seams end on keel, chine or transom the ends of two layers stay a quarter of a width apart
drift      change of the angle of diagonals since the first seam, at most 3 degrees aft of the staves

Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from strakewright.arrays import Floats
from strakewright.errors import Finding
from strakewright.shop.angles import crossing_angles, seams_of
from strakewright.shop.courses import Lined
from strakewright.shop.steering import MOST_DRIFT, MOST_TAPER

LEAST_CROSSING_DEG = 60.0
LEAST_STAVED_DEG = 30.0
ENDS_APART = 0.25  # of the width
NAMED = 6  # places named in a finding, the others are counted


def layer_findings(panel: str, layers: Sequence[Lined]) -> list[Finding]:
    """Everything that is amiss between the layers of one panel, innermost first."""
    found = [f for lined in layers for f in _drift(panel, lined)]
    for one, other in pairwise(layers):
        found += [*_crossing(panel, one, other), *_ends(panel, one, other)]
    return found


def _name(panel: str, lined: Lined) -> str:
    return f"{panel} layer {lined.skin.layer}"


def _drift(panel: str, lined: Lined) -> list[Finding]:
    most = lined.figures.get("drift_max_deg", 0.0)
    if most <= np.degrees(MOST_DRIFT) + 1e-6:
        return []
    return [
        Finding(
            "angle-drift",
            "warning",
            _name(panel, lined),
            f"the angle of the diagonals drifts {most:.1f} degrees from the first plank, though planks are tapered "
            f"{MOST_TAPER:.0f} mm each",
            "Start the first plank nearer to where it drifts (start_at), let staves begin further aft (staves_from), "
            "or use another angle",
        )
    ]


def _crossing(panel: str, one: Lined, other: Lined) -> list[Finding]:
    """The worst place on either side of where staves begin."""
    rows = crossing_angles(one, other)
    if not len(rows):
        return []
    begins = min(x.figures.get("staves_from_x", np.inf) for x in (one, other))
    both_lean = all("lean_deg" in x.figures for x in (one, other))
    found = []
    for mask, least in (
        (rows[:, 0] < begins, LEAST_CROSSING_DEG if both_lean else LEAST_STAVED_DEG),
        (rows[:, 0] >= begins, LEAST_STAVED_DEG),
    ):
        here = rows[mask]
        if len(here) and here[:, 1].min() < least:
            x, angle = here[int(here[:, 1].argmin())]
            found.append(
                Finding(
                    "layers-cross-shallow",
                    "warning",
                    f"{panel} layers {one.skin.layer} and {other.skin.layer}",
                    f"they cross at only {angle:.0f} degrees at x {x:.0f}; at least {least:.0f} are wanted there",
                    "Give one of them another angle_deg",
                )
            )
    return found


def _ends(panel: str, one: Lined, other: Lined) -> list[Finding]:
    width = max(one.nominal, other.nominal)
    here, there = _seam_ends(one), _seam_ends(other)
    close: list[tuple[str, float]] = []
    for border in here.keys() & there.keys():
        gaps = np.linalg.norm(here[border][:, None] - there[border][None], axis=-1).min(axis=1)
        close += [(border, float(x)) for x in here[border][gaps < ENDS_APART * width, 0]]
    if not close:
        return []
    close.sort()
    places = ", ".join(f"{border} x {x:.0f}" for border, x in close[:NAMED])
    more = f" and {len(close) - NAMED} more" if len(close) > NAMED else ""
    return [
        Finding(
            "layer-ends-close",
            "note",
            f"{panel} layers {one.skin.layer} and {other.skin.layer}",
            f"seams of both end within {ENDS_APART * width:.0f} mm of each other: {places}{more}",
            "Bed these ends well in glue; another start_at or width moves them",
        )
    ]


def _seam_ends(lined: Lined) -> dict[str, Floats]:
    """(n, 3) mm by name of the border, of every end of a seam."""
    found: dict[str, list[Floats]] = {}
    for seam in seams_of(lined):
        for crossing in (seam.crossings[0], seam.crossings[-1]):
            spot = lined.skin.patch.at(seam.curve.at(np.array([crossing.along])))[0]
            found.setdefault(lined.skin.border_at(crossing.around), []).append(spot)
    return {border: np.array(rows) for border, rows in found.items()}
