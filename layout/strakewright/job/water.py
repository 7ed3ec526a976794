"""From weights to the water: curves of form, how she lies, marks to paint, righting curve, and what to say of it.

tender     a metacentric height under 250 mm: a light step rolls her (common practice, no source)
off her lines   the water stands more than 25 mm off the drawn waterline at an end (common practice, no source)
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from strakewright.afloat.lying import at_rest, righting_curve
from strakewright.afloat.marks import pose_of, water_marks
from strakewright.afloat.shell import Shell
from strakewright.afloat.upright import at_level, sectional_areas, table
from strakewright.arrays import Floats
from strakewright.errors import Finding, UnworkableError
from strakewright.floating import FRESH, SALT, Afloat, Hydrostatics, RightingCurve, Watered
from strakewright.ledger import Weight, centre_of_gravity, total
from strakewright.outfit import WaterSettings
from strakewright.proof.waterproof import afloat_checks

TENDER, OFF_LINES, OUT_OF_TRIM = 250.0, 25.0, np.deg2rad(1.0)
WATERS = (("fresh", FRESH), ("salt", SALT))


def watered(shell: Shell, coarse: Shell, weights: Sequence[Weight], asked: WaterSettings) -> Watered:
    """Curves of form whatever she weighs; all else for the weights given.  coarse : for the righting curve"""
    form = table(shell)
    lines, findings = _lines(shell, asked)
    weight, centre = total(weights), centre_of_gravity(weights)
    try:
        lies = {name: at_rest(shell, weight, centre, water) for name, water in WATERS}
    except UnworkableError as trouble:
        told = Finding("cannot-float", "blocking", "the boat with everything aboard", trouble.what, trouble.fix)
        return Watered(form, lines, {}, None, (), np.zeros((0, 2)), (), (*findings, told))
    here = lies[asked.water]
    findings += _said(here, shell, asked)
    opening = None if asked.downflooding is None else np.array(asked.downflooding)
    curve, more = _curve(coarse, here, opening)
    checks = tuple(c for n, a in lies.items() for c in afloat_checks(shell.vertices, shell.triangles, a, f"{n} water"))
    areas = sectional_areas(shell, shell.low + here.draught)
    return Watered(form, lines, lies, curve, water_marks(shell, pose_of(here)), areas, checks, (*findings, *more))


def _lines(shell: Shell, asked: WaterSettings) -> tuple[Hydrostatics | None, list[Finding]]:
    level = asked.designed_waterline
    if level is None:
        return None, []
    if shell.low + 1.0 < level <= shell.top:
        return at_level(shell, level), []
    what = f"a waterline {level:.0f} mm over the base line is not on the hull ({shell.low:.0f} to {shell.top:.0f} mm)"
    return None, [
        Finding("waterline-off-hull", "warning", "designed_waterline", what, "Give its height in the hull's axes")
    ]


def _curve(shell: Shell, here: Afloat, opening: Floats | None) -> tuple[RightingCurve | None, list[Finding]]:
    try:
        return righting_curve(shell, here.weight, np.asarray(here.centre), opening, here.water), []
    except UnworkableError as trouble:
        return None, [Finding("no-righting-curve", "warning", "righting curve", trouble.what, trouble.fix)]


def _said(lies: Afloat, shell: Shell, asked: WaterSettings) -> list[Finding]:
    """What a builder should hear of how she lies."""
    found = []
    if lies.freeboard <= 0.0:
        what = f"the sheer is {-lies.freeboard:.0f} mm under water at x {lies.freeboard_x:.0f}: she fills"
        found.append(Finding("sheer-under-water", "blocking", "the boat with everything aboard", what, _SHIFT))
    if lies.gm < TENDER:
        what = f"metacentric height {lies.gm:.0f} mm: she rolls at a light step (under {TENDER:.0f}: common practice)"
        found.append(Finding("tender", "warning", "stability", what, "Bring weights lower, or make her broader"))
    if abs(lies.trim) > OUT_OF_TRIM:
        way = "stern" if lies.trim > 0 else "bow"
        what = f"she trims by the {way}, {abs(np.rad2deg(lies.trim)):.1f} degrees"
        found.append(Finding("out-of-trim", "note", "trim", what, _SHIFT))
    if abs(lies.heel) > OUT_OF_TRIM:
        way = "starboard" if lies.heel > 0 else "port"
        what = f"she lists to {way}, {abs(np.rad2deg(lies.heel)):.1f} degrees"
        found.append(Finding("lists", "warning", "list", what, "Move weights across"))
    if asked.designed_waterline is not None:
        found += _off_lines(lies, shell, asked.designed_waterline)
    return found


_SHIFT = "Move weights fore and aft, or carry less"


def _off_lines(lies: Afloat, shell: Shell, designed: float) -> list[Finding]:
    """The water against the drawn line, both at the ends of the sheer in the centreline plane."""
    ends = {"aft": float(shell.sheer[0, 0]), "forward": float(shell.sheer[-1, 0])}
    off = {name: (lies.level - lies.up[0] * x) / lies.up[2] - designed for name, x in ends.items()}
    if max(abs(v) for v in off.values()) <= OFF_LINES:
        return []
    words = ", ".join(f"{abs(v):.0f} mm {'above' if v > 0 else 'below'} it {name}" for name, v in off.items())
    return [Finding("off-her-lines", "warning", "designed waterline", f"the water stands {words}", _SHIFT)]
