"""What would help a plank that the wood takes only firmly, or not at all: told with figures.

cure      narrower or thinner by how much, another stock, steam and the radius it buys, staves, another mode
backing   hollowing the inside so that a plank lies on a surface that is round across it; costs thickness
steam     an hour for every 25 mm of thickness (a trade sheet, read at second hand); how far steamed wood bends without
          a strap is common practice, no source: try an offcut first

Source: the strains of `fit` solved for width and thickness; derived.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

STEAMED_HARD, STEAMED_SOFT = 25.0, 50.0  # radius over thickness that steam buys without a strap
MOST_BACKING = 1 / 6  # of the thickness that may be hollowed out of a plank
LEAST_WIDTH, LEAST_THICKNESS = 20.0, 4.0  # mm: below these a cure is no plank


@dataclass(frozen=True)
class Strained:
    """A plank at its worst place.

    thickness, width : mm;  bend, across, twist : per mm;  fold_out : strain;  hollow : mm
    """

    thickness: float
    width: float
    bend: float
    across: float
    twist: float
    fold_out: float

    def total(self, thickness: float, width: float) -> float:
        """Combined strain at another thickness and width; the fold-out grows with the square of the width."""
        part = (width / self.width) ** 2
        return thickness * self.bend / 2 + self.twist**2 * width**2 / 12 + self.fold_out * part


def thinner_for_bend(at: Strained, limit: float) -> str:
    """limit : t / R"""
    return _thinner(limit / at.bend, at.thickness)


def thinner_for_twist(at: Strained, limit: float) -> str:
    """limit : t x twist"""
    return _thinner(limit / at.twist, at.thickness)


def _thinner(most: float, thickness: float) -> str:
    if not LEAST_THICKNESS <= most < thickness:
        return ""
    return f"thinner, {np.floor(2 * most) / 2:g} mm instead of {thickness:g}"


def narrower_for_hollow(at: Strained, limit: float) -> str:
    """limit : mm of hollow"""
    return _narrower(float(np.sqrt(8 * limit / abs(at.across))), at.width) if at.across else ""


def _narrower(most: float, width: float) -> str:
    if not LEAST_WIDTH <= most < width:
        return ""
    return f"narrower, {np.floor(most):.0f} mm instead of {width:.0f}"


def for_strain(at: Strained, limit: float) -> list[str]:
    """Widths or thicknesses at which the combined strain comes down to `limit`."""
    found = []
    rest = at.thickness * at.bend / 2
    spread = at.total(0.0, at.width)
    if rest < limit and spread > 0:
        found.append(_narrower(at.width * float(np.sqrt((limit - rest) / spread)), at.width))
    if spread < limit and at.bend > 0:
        found.append(_thinner(2 * (limit - spread) / at.bend, at.thickness))
    return [words for words in found if words]


def backing(hollow: float, thickness: float) -> str:
    """Empty where too much wood would go."""
    if hollow > MOST_BACKING * thickness:
        return ""
    left = thickness - hollow
    return (
        f"back out the inside by {hollow:.1f} mm: {thickness:g} mm is then {left:.1f} thick at the middle "
        f"(from {np.ceil(2 * (thickness + hollow)) / 2:g} mm stock it keeps its thickness)"
    )


def steam(at: Strained, softwood: bool) -> str:
    """Time and the radius that becomes possible, where that is enough."""
    over = STEAMED_SOFT if softwood else STEAMED_HARD
    if at.bend <= 0 or 1 / at.bend < over * at.thickness:
        return ""
    hours = at.thickness / 25.0
    return (
        f"steam for {hours:.1f} h (1 h per 25 mm, at second hand): bends to about R {over * at.thickness / 1000:.2f} m "
        f"({over:.0f} x thickness, common practice, no source)"
    )
