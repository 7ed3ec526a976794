"""Glue in the planking's joints, and the screws and plugs that hold it.

joint area    of every glued face once: seams, scarfs, layer on layer, plank on frame, ends and chine
screw map     marks of kind "screw" on the planks; where there are none, screws are estimated by the frames crossed
lead hole     drilled for the threaded part: a share of the root, which is two thirds of the shank
withdrawal    pull that draws a screw from side grain, N: 108.25 G^2 D L with G the gravity, D the shank and L the
              thread in the wood, mm (ultimate); the design figure is 2850 / 15700 of it

Sources: Wood Handbook (all editions 1955-2021) p = 15 700 G^2 D lb to the inch of thread; 2850 G^2 D for design;
root two thirds of the shank (GTR-190 ch. 8); lead holes 70 % of the root in softwood (ASTM STP, western woods), 90 %
in hardwood (from memory, sources disagree); D = 0.060 + 0.013 N inch (ASME B18.6.1, from memory but for 8 and 10).
Never load a screw in withdrawal from end grain. Plugs only where the plank is 16 mm or thicker (common practice).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from strakewright.geometry.curves import arc_length
from strakewright.geometry.outlines import signed_area
from strakewright.ledger import Glue, JointAreas, Screw, Screws
from strakewright.outfit import FasteningSettings, GlueSettings
from strakewright.parts import Margin, Plank
from strakewright.stores.sheathing import pots
from strakewright.tables import Figure, words_of
from strakewright.units import INCH, POUND

SHARED = ("seam", "scarf", "keel", "chine")  # both pieces bring this face: each counts half
ALONE = ("stem", "transom")
FRAME_SIDED = 32.0  # mm
PLUGGED_FROM = 16.0  # mm of plank
WIDE = 120.0  # mm: from here three screws to a frame, below it two; common practice, no source
NEWTON_PER_POUND = float(POUND) * 9.80665
ULTIMATE, DESIGN = 15_700.0, 2_850.0
ROOT = 2.0 / 3.0


def margin_area(margin: Margin, thickness: float) -> float:
    """mm2 of an edge's face: its length times the thickness over the cosine of its bevel."""
    cos = np.maximum(np.cos(margin.bevel), 0.05)
    slant = thickness / ((cos[1:] + cos[:-1]) / 2)
    return float((np.diff(arc_length(margin.flat)) * slant).sum())


def joint_areas(planks: Sequence[Plank], sided: float = FRAME_SIDED, dry: frozenset[str] = frozenset()) -> JointAreas:
    """sided : mm of frame that the planks lie on;  dry : panels whose seams are caulked, not glued"""
    found = {"seam": 0.0, "scarf": 0.0, "layer": 0.0, "frame": 0.0, "end": 0.0}
    for plank in planks:
        for margin in (plank.first, plank.second, *plank.ends):
            share = 0.5 if margin.meets in SHARED else 1.0 if margin.meets in ALONE else 0.0
            kind = margin.meets if margin.meets in ("seam", "scarf") else "end"
            if not (kind == "seam" and plank.panel in dry):
                found[kind] += share * margin_area(margin, plank.thickness)
        if plank.layer > 1:
            found["layer"] += abs(signed_area(plank.fitted_outline))
        else:
            found["frame"] += sided * sum(_long(m.points) for m in plank.marks if m.kind == "frame")
    return JointAreas(*(1e-6 * found[k] for k in ("seam", "scarf", "layer", "frame", "end")))


def _long(points: np.ndarray) -> float:
    return float(arc_length(points)[-1]) if len(points) > 1 else 0.0


def glue_of(areas: JointAreas, settings: GlueSettings, laminated: float = 0.0, waste: float = 0.2) -> Glue:
    """From the joints' areas and the spread the maker asks for.  laminated : kg between the plies of members, both
    sides, as their own glue plans have it"""
    aboard = areas.total * settings.spread / 1000 + laminated
    mass = aboard * (1 + waste)
    return Glue(mass, pots(mass, settings.spread / 1000, settings), aboard)


def screws_of(planks: Sequence[Plank], settings: FasteningSettings) -> Screws:
    """Counted from the screw marks of the planks, or estimated from the frames that they cross."""
    mapped = any(m.kind == "screw" for p in planks for m in p.marks)
    counts = [_mapped(p) if mapped else _estimated(p) for p in planks]
    plugged = [c for p, c in zip(planks, counts, strict=True) if settings.plugs and p.thickness >= PLUGGED_FROM]
    return Screws(sum(counts), mapped, sum(plugged))


def _mapped(plank: Plank) -> int:
    return sum(len(m.points) for m in plank.marks if m.kind == "screw")


def _estimated(plank: Plank) -> int:
    return sum(3 if _long(m.points) > WIDE else 2 for m in plank.marks if m.kind == "frame")


def screw_diameter(gauge: int) -> float:
    """mm of the shank.

    >>> round(screw_diameter(8) / 25.4, 3), round(screw_diameter(10) / 25.4, 3)
    (0.164, 0.19)
    """
    return (0.060 + 0.013 * gauge) * float(INCH)


def lead_hole(gauge: int, softwood: bool) -> float:
    """mm, for the threaded part."""
    return screw_diameter(gauge) * ROOT * (0.7 if softwood else 0.9)


def withdrawal(gravity: float, diameter: float, thread: float) -> tuple[float, float]:
    """N to draw a screw from side grain: ultimate, and for design.  diameter, thread in the wood : mm

    >>> round(withdrawal(0.70, 0.164 * 25.4, 25.4)[0] / NEWTON_PER_POUND)
    1262
    """
    pounds = gravity**2 * (diameter / float(INCH)) * (thread / float(INCH))
    return ULTIMATE * pounds * NEWTON_PER_POUND, DESIGN * pounds * NEWTON_PER_POUND


def plug_size(gauge: int) -> str:
    """Common practice, no source."""
    return '3/8"' if gauge <= 8 else '1/2"' if gauge <= 12 else '5/8"'


def screw_in(plank_thickness: float, wood: tuple[str, Figure, bool], settings: FasteningSettings) -> Screw:
    """One screw through a plank.  wood : name, gravity and whether a softwood of what it goes into"""
    name, gravity, softwood = wood
    diameter = screw_diameter(settings.gauge)
    thread = max(0.0, settings.length - plank_thickness)
    ultimate, design = withdrawal(gravity.value, diameter, thread)
    lead = lead_hole(settings.gauge, softwood)
    return Screw(
        settings.gauge,
        settings.length,
        diameter,
        lead,
        thread,
        ultimate,
        design,
        name,
        f"{gravity.value:.2f}, {words_of(gravity.status)}",
    )
