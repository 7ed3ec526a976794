"""What a builder must know about a member before cutting it.

bearing   want 1.75 times the planking's thickness on each side of a stem, min_bearing on keelson and logs (common
          practice, no source);  the inner stem's face should be at least 16 mm broad to be nailed and glued
strain    from bending flatwise and edgewise together, against the strain at which the wood breaks (strength over
          stiffness, Wood Handbook): over 0.6 of it is asking for trouble in a dry stick (common practice)
"""

from __future__ import annotations

import numpy as np

from strakewright.errors import Finding
from strakewright.members import Member
from strakewright.settings import BoatSettings, MemberSettings
from strakewright.shop.backbone import bearing_widths
from strakewright.shop.fit import as_measured, limits_of
from strakewright.shop.swept import Skins
from strakewright.tables import species

STEM_BEARING = 1.75  # times the planking's thickness
LEAST_FACE = 16.0
ABSURD = 3.0  # blank's width over its depth
SLACK = 0.1
ABOVE_FOOT = 50.0  # mm over the keel's end from which a run along keel and stem is reckoned a stem


def faults_of(member: Member, ask: MemberSettings, boat: BoatSettings, skins: Skins) -> list[Finding]:
    """Warnings and notes about one member; nothing here blocks."""
    found = [*_bending(member, boat), *_gluing(member, boat), *_bearing(member, boat, skins)]
    if ask.along.startswith("chine") and ask.face == "inside":
        found += _log(member, skins)
    if member.former is not None:
        share = 1.0 / len(member.plies) ** 2
        found.append(
            Finding(
                "test-piece",
                "note",
                member.name,
                f"springback is reckoned as 1/n2 = {share:.1%} of the bend; species, glue and grain move it",
                "Bend and glue a test piece of the same plies on the former, measure how far it opens, and set "
                "springback_factor to what it opened over what was reckoned",
            )
        )
    return found


def _bending(member: Member, boat: BoatSettings) -> list[Finding]:
    found, bend, wood = [], member.bend, species(member.species)
    own = boat.own_wood(wood.name)
    limits = limits_of(wood, own)
    limit = limits.firm_bend
    if bend.ratio > limit + 1e-9:
        radius = bend.flat or 0.0
        found.append(
            Finding(
                "member-tight",
                "warning",
                member.name,
                f"plies of {member.plies[0].thickness:.1f} mm are bent to R {radius:.0f} mm at {bend.at:.0f} mm "
                f"from the after end: t/R 1/{1 / bend.ratio:.0f}, over 1/{1 / limit:.0f}",
                f"Use plies of {radius * limit:.1f} mm or thinner, or steam them and bend a test piece",
            )
        )
    breaks = as_measured(wood, own).breaking_strain
    if breaks is not None and bend.strain > limits.firm_share * breaks:
        found.append(
            Finding(
                "member-strain",
                "warning",
                member.name,
                f"bent flatwise and edgewise it is strained {bend.strain:.2%}, "
                f"{bend.strain / breaks:.0%} of what breaks it",
                "Use narrower or thinner plies, lay them the other way (plies_lie), or cut them to the curve",
            )
        )
    return found


def _gluing(member: Member, boat: BoatSettings) -> list[Finding]:
    plan, owned, found = member.clamping, boat.outfit.glue.clamps, []
    if plan is None:
        return []
    need = len(plan.positions)
    if owned is not None and need > owned:
        wide = plan.spacing * (need - 1) / max(owned - 1, 1)
        found.append(
            Finding(
                "clamps-short",
                "warning",
                member.name,
                f"{need} clamps are wanted at {plan.spacing:.0f} mm and {owned} are there",
                f"Borrow {need - owned}, or use all at {wide:.0f} mm with a stiff batten over the plies",
            )
        )
    slow = [b for b in plan.batches if b.minutes > boat.outfit.glue.open_time]
    if slow:
        found.append(
            Finding(
                "glue-time",
                "warning",
                member.name,
                f"even one ply takes {slow[0].minutes:.0f} min to spread and clamp, the glue stays open "
                f"{boat.outfit.glue.open_time:.0f} min",
                "Get a second pair of hands, a slower glue, or fewer clamps over a stiff batten",
            )
        )
    return found


def _bearing(member: Member, boat: BoatSettings, skins: Skins) -> list[Finding]:
    found = []
    inside_centre = member.where == "centre" and member.place == "inside"
    if not inside_centre:
        return []
    narrow = float(bearing_widths(member.swept).sum(axis=0).min())
    stem = "stem" in member.along
    want = STEM_BEARING * max(skins.thick) if stem else boat.backbone.min_bearing
    if narrow < want - 1e-6:
        found.append(
            Finding(
                "bearing-narrow",
                "warning",
                member.name,
                f"the planking bears on {narrow:.0f} mm each side where it is narrowest; {want:.0f} mm are wanted",
                "Make it wider (sided) or deeper (moulded)",
            )
        )
    if stem:
        face, height = _stem_face(member, skins)
        if face < LEAST_FACE - SLACK:
            found.append(
                Finding(
                    "stem-face-thin",
                    "warning",
                    member.name,
                    f"the inner stem is left a face of {face:.1f} mm at height {height:.0f}: a knife edge that cannot "
                    "be nailed",
                    f"Set half_siding (or stem_face_min) so that {LEAST_FACE:.0f} mm are left",
                )
            )
    return found


def _stem_face(member: Member, skins: Skins) -> tuple[float, float]:
    """Least width mm of the inner stem's face, and its height there: where it is a stem and no keelson."""
    rings, keel = member.swept.corners, skins.hull.panels[0]
    faces, heights = np.linalg.norm(rings[:, 1] - rings[:, 0], axis=-1), rings[:, 0, 2]
    foot = 0
    if keel.lower.name == "keel":
        low = np.flatnonzero(heights < keel.in_space(keel.lower)[-1, 2] + ABOVE_FOOT)
        foot = min(int(low.max(initial=-1)) + 1, len(faces) - 1)
    at = foot + int(faces[foot:].argmin())
    return float(faces[at]), float(heights[at])


def _log(member: Member, skins: Skins) -> list[Finding]:
    found, blank = [], member.swept.blank
    if blank.width > ABSURD * blank.depth:
        found.append(
            Finding(
                "log-wide",
                "warning",
                member.name,
                f"turned to the side its blank is {blank.width:.0f} mm wide: it hangs far below a flat chine",
                'Write log_turn = "bisector", or end it further aft',
            )
        )
    edge = next(p for p in skins.hull.panels if member.along in (p.upper.name, "chine"))
    short = float(edge.in_space(edge.upper)[-1, 0] - member.swept.middle[-1, 0])
    if short > 150.0:
        found.append(
            Finding(
                "log-ends",
                "note",
                member.name,
                f"it ends {short:.0f} mm before the chine does: at the stem's side, or where no fold is left",
                "Let its end in to the stem or a frame there",
            )
        )
    return found
