"""From flat courses to the places where they are joined, and the stations that seams must list for it.

joinable  a course as `joints` needs to know it: how long a board each stretch of it wants, how tightly it bends
stations  where a joint ends on a seam both planks beside that seam list the same point
spare     further lawful joints of a course, made into planks of their own for the nesting to choose from
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from strakewright.arrays import Floats
from strakewright.parts import Choice, Option
from strakewright.shop.courses import Course, Lined, Seam
from strakewright.shop.fit import tightness
from strakewright.shop.joints import Joinable, Joined, Split, place_joints, rule_of
from strakewright.shop.pieces import Bench
from strakewright.shop.shapes import Shape

WHOLE = Split((), (), (), 0.0)
COST_OF_A_JOINT = (
    0.02  # m2 of board that one joint fewer is worth: half an hour at the bench; common practice, no source
)
UNEVEN = 0.002  # m2 that equal pieces are worth, for each whole share squared

Whole = list[tuple[Course, Shape]]
"""Every course with its flat shape, unjoined."""


@dataclass(frozen=True)
class Written:
    """One course's joints: number, ids of the pieces of each of its splits (port), the splits"""

    course: int
    ids: tuple[tuple[str, ...], ...]
    splits: tuple[Split, ...]


def joints_of(bench: Bench, whole: Whole) -> Joined:
    """Joints of every course of a layer: of strakes only, where joints are wanted at all."""
    s = bench.settings
    rule = rule_of(s.joint, s.scarf_slope, s.thickness, (s.stagger_bays, s.stagger_min), bench.spare)
    rule = replace(rule, shifted=s.joint_sides == "shifted")
    if s.joint == "none" or s.pattern != "strakes" or not whole:
        return Joined(tuple((WHOLE,) for _ in whole), rule.stagger[0], rule.stagger[0])
    courses = [_joinable(bench, c, shape) for c, shape in whole]
    return place_joints(courses, np.array([x for _, x in bench.frames]), bench.room, rule)


def _joinable(bench: Bench, course: Course, shape: Shape) -> Joinable:
    lo, hi = shape.reach()
    skin, settings = bench.lined.skin, bench.settings
    st = np.concatenate([r.st for r in shape.runs])
    flat = np.concatenate([r.flat for r in shape.runs])
    sides = settings.trim_sheer if any(r.name == "sheer" for r in shape.runs) else 0.0
    sides += settings.trim_chine if any(r.name.startswith("chine") for r in shape.runs) else 0.0
    sides += max(bench.spare_of(course, "left"), bench.spare_of(course, "right"))

    def x_at(s: Floats) -> Floats:
        return np.asarray(skin.patch.at(course.fan.pq(s, course.middle(s)))[:, 0])

    def blank(s0: float, s1: float) -> tuple[float, float]:
        here = flat[(st[:, 0] >= s0 - 1e-6) & (st[:, 0] <= s1 + 1e-6)]
        ends = np.array([s0, s1])
        chord = np.diff(shape.flatten(np.stack([ends, course.middle(ends)], axis=-1)), axis=0)[0]
        chord /= np.linalg.norm(chord)
        along, across = here @ chord, here @ np.array([-chord[1], chord[0]])
        tails = (s0 <= lo) * settings.tail_aft + (s1 >= hi) * settings.tail_forward
        wide = (
            float(course.width(np.linspace(lo, hi, 50)).max()) if settings.cut == "straight" else float(np.ptp(across))
        )
        return float(np.ptp(along)) + tails + 4.0, wide + sides + 4.0

    def bend(s: Floats) -> Floats:
        return tightness(skin, course, s, settings.thickness)

    fixed = bench.joints.get(course.number)
    nibs = tuple(float(skin.patch.at(n.line)[:, 0].mean()) for n in (*course.nibs, *course.notches))
    starboard = bench.starboard.get(course.number)
    shifts = len(course.loops) == 1 and (starboard is not None or not bench.starboard)
    return Joinable(plank_id(bench, course, 0, 1), lo, hi, x_at, blank, fixed, bend, nibs, starboard, shifts)


def _letter(panel: str) -> str:
    """Short chalk letters of a panel: bottom B, side S, bilge1 G1."""
    return panel.replace("bilge", "G") if panel.startswith("bilge") else panel[0].upper()


def plank_id(bench: Bench, course: Course, piece: int, pieces: int, split: int = 0) -> str:
    """Id of a port piece: panel, layer, course, piece.  split : 0 = the joints taken, 1 ... = further ones"""
    layer = f"{bench.lined.skin.layer}." if bench.settings.layers > 1 else ""
    part = chr(ord("a") + piece) if pieces > 1 else ""
    other = f"-{split + 1}" if split else ""
    return f"{_letter(bench.lined.skin.panel)}{layer}{course.number:02d}{other}{part}P"


def seam_stations(lined: Lined, whole: Whole, joined: Joined) -> dict[int, list[float]]:
    """Where joints end on seams, so that the planks on both sides list the same points there."""
    found: dict[int, list[float]] = {}
    across = joined.starboard or (None,) * len(whole)
    for (course, _), splits, other in zip(whole, joined.splits, across, strict=True):
        cuts = sorted({s for split in (*splits, *((other,) if other else ())) for s in split.joints})
        for seam in (course.left, course.right):
            if seam is not None and cuts:
                found.setdefault(id(seam), []).extend(_stations_at(course, seam, cuts))
        for nib in course.notches:  # past a nib the course lies along the seam beyond the dropped one
            past = [s for s in cuts if (s > nib.station) == nib.forward]
            if nib.rim is not None and past:
                found.setdefault(id(nib.rim), []).extend(_stations_at(course, nib.rim, past))
    return found


def _stations_at(course: Course, seam: Seam, cuts: list[float]) -> list[float]:
    if seam is course.base:
        return cuts
    stations = np.array(cuts)
    coarse = seam.stations[::10]
    s, _ = course.fan.locate(seam.curve.at(coarse))
    known = np.isfinite(s)
    sigma = np.interp(stations, s[known], coarse[known])
    for _ in range(4):  # secant steps on s(sigma) = cut
        here, _ = course.fan.locate(seam.curve.at(sigma))
        ahead, _ = course.fan.locate(seam.curve.at(sigma + 1.0))
        sigma = sigma + (stations - here) / (ahead - here)
    return [float(x) for x in sigma]


def choices_of(rows: list[Written]) -> tuple[Choice, ...]:
    """What may be chosen between: the splits of every course that has more than one, both sides alike."""
    found = []
    for row in rows:
        if len(row.ids) < 2:
            continue
        least = min(split.cost for split in row.splits)
        fewest = min(len(split.joints) for split in row.splits)
        options = []
        for ids, split in zip(row.ids, row.splits, strict=True):
            both = (*ids, *(i[:-1] + "S" for i in ids))
            cost = COST_OF_A_JOINT * 2 * (len(split.joints) - fewest) + UNEVEN * (split.cost - least)
            note = "joints at x " + ", ".join(f"{x:.0f}" for x in split.xs)
            options.append(Option(both, round(float(cost), 6), note))
        found.append(Choice(row.ids[0][0].rstrip("abcdefP"), tuple(options)))
    return tuple(found)
