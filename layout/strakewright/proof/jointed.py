"""Proof that joints are cut to meet and stand where the rule in force lets them, from the finished planks alone.

joint     the ends of two pieces of one course that meet; scarf or butt
slope     length of a scarf over the thickness it tapers
stagger   joints of strakes side by side stand so many bays and so many mm apart; so many whole strakes between two
          joints in one bay
nib       square end of a dropped strake: that strake, and the one it is let into, are joined in another bay and 300 mm
          off (common practice, no source)
shifted   a course joined in other places to starboard: each of its joints stands in another bay and 300 mm off all
          of the other side's (common practice, no source)

Worked out from the planks' ends in space and from the frames; nothing is taken from the room that placed the joints.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from strakewright.arrays import Floats
from strakewright.errors import Check, at_most
from strakewright.parts import Margin, Plank
from strakewright.proof.nibs import nib_end

GAP, LENGTH, BEVEL = 1e-3, 0.01, 1e-6
SLACK = 3.0  # mm: a joint cut square to its plank lies across more than one x
JOINTS = ("scarf", "butt")
NIB_APART = 300.0  # mm of a joint from a nib of its course
SIDES_APART = 300.0  # mm of a shifted joint from those of the other side


IN_BENDS = 12.0  # slope of scarfs where a plank bends tightly: common practice, no source


@dataclass(frozen=True)
class JointRule:
    """The rule in force for one layer.  slope : of scarfs;  bays, apart, between : see `stagger`;  off_nibs : kept
    shifted : courses said to be joined in other places to starboard"""

    panel: str
    layer: int
    slope: float
    bays: int
    apart: float
    between: int
    off_nibs: bool = True
    shifted: tuple[int, ...] = ()


@dataclass(frozen=True)
class _Joint:
    course: int
    x: float
    bay: int


def joint_checks(
    planks: Iterable[Plank], frames: Sequence[tuple[str, float]], rules: Iterable[JointRule]
) -> tuple[Check, ...]:
    """For every layer that has joints: how they are cut, where they stand, and whether they keep off its nibs."""
    planks = list(planks)
    checks: list[Check] = []
    stations = np.array([x for _, x in frames])
    for rule in rules:
        mine = [p for p in planks if (p.panel, p.layer) == (rule.panel, rule.layer)]
        port, label = [p for p in mine if p.side != "starboard"], f"{rule.panel} layer {rule.layer}"
        checks += _of_side(port, frames, rule, label)
        if rule.shifted:
            starboard = [p for p in mine if p.side != "port"]
            checks += _of_side(starboard, frames, rule, f"{label} starboard")
            there = _places(_jointed(starboard), stations)
            near = _sides_near(_places(_jointed(port), stations), there, rule.shifted)
            checks.append(at_most(f"joints stand apart from the other side's, {label}", float(near), 0.0, "joints"))
    return tuple(checks)


def _jointed(planks: list[Plank]) -> list[tuple[Plank, Margin]]:
    return [(p, e) for p in planks for e in p.ends if e.meets in JOINTS]


def _of_side(planks: list[Plank], frames: Sequence[tuple[str, float]], rule: JointRule, label: str) -> list[Check]:
    """The checks of one side of a layer; none where it has no joint."""
    ends, stations = _jointed(planks), np.array([x for _, x in frames])
    checks: list[Check] = []
    if ends:
        checks.append(at_most(f"joints meet and taper as they should, {label}", _cut_amiss(ends, rule), GAP, "mm"))
        places = _places(ends, stations)
        checks.append(at_most(f"joints keep the rule in force, {label}", float(_breaches(places, rule)), 0.0, "pairs"))
        nibs = _nibs(planks, dict(frames))
        if nibs and rule.off_nibs:
            checks.append(at_most(f"joints by a nib, {label}", float(_by_nibs(places, nibs, stations)), 0.0, "joints"))
    return checks


def _sides_near(port: list[_Joint], starboard: list[_Joint], shifted: tuple[int, ...]) -> int:
    """Joints of shifted courses in a bay of, or within SIDES_APART of, one of the other side; courses without any on
    a side count as one, and so do joints of the other courses that are not where the other side's are."""
    count = 0
    for course in {j.course for j in (*port, *starboard)} | set(shifted):
        here, there = ([j for j in side if j.course == course] for side in (port, starboard))
        if course in shifted:
            near = [a for a in here for b in there if a.bay == b.bay or abs(a.x - b.x) < SIDES_APART - SLACK]
            count += len(near) or int(not here or not there)
        else:
            alike = [(a.x, a.bay) for a in here] == [(b.x, b.bay) for b in there]
            count += int(not alike)
    return count


def _cut_amiss(ends: list[tuple[Plank, Margin]], rule: JointRule) -> float:
    """The worst of: mates apart in space, slopes that do not fit each other, a scarf of the wrong length; mm."""
    by_id: dict[str, list[Margin]] = {}
    for plank, end in ends:
        by_id.setdefault(plank.id, []).append(end)
    worst = 0.0
    for plank, end in ends:
        mates = [(abs(_x(m) - _x(end)), m) for m in by_id.get(end.neighbour or "", [])]
        if not mates:
            return float("inf")
        mate = min(mates, key=lambda row: row[0])[1]
        worst = max(worst, _apart(end, mate))
        if mate.meets != end.meets or abs(float(end.bevel[0] + mate.bevel[0])) > BEVEL:
            return float("inf")
        long = plank.thickness * abs(float(np.tan(end.bevel[0])))
        slopes = (rule.slope, max(IN_BENDS, rule.slope)) if end.meets == "scarf" else (0.0,)
        if min(abs(long - k * plank.thickness) for k in slopes) > LENGTH or not _feather_aft(plank, end):
            return float("inf")
    return worst


def _x(margin: Margin) -> float:
    return float(margin.seam[:, 0].mean())


def _apart(a: Margin, b: Margin) -> float:
    """Largest distance between the corners of two ends that meet."""
    one, two = a.seam[[0, -1]], b.seam[[0, -1]]
    pairs = (two, two[::-1])
    return float(min(np.linalg.norm(one - rows, axis=-1).max() for rows in pairs))


def _feather_aft(plank: Plank, end: Margin) -> bool:
    """The aft piece is tapered on its outside (bevel below 0), the forward one on its inside."""
    if end.meets == "butt":
        return True
    other = np.concatenate([plank.first.seam[:, 0], plank.second.seam[:, 0]]).mean()
    is_aft_piece = bool(_x(end) > other)
    return bool((end.bevel < 0).all()) == is_aft_piece


def _places(ends: list[tuple[Plank, Margin]], stations: Floats) -> list[_Joint]:
    """Each joint once: that of the aft piece."""
    found = []
    for plank, end in ends:
        other = np.concatenate([plank.first.seam[:, 0], plank.second.seam[:, 0]]).mean()
        if _x(end) > other:
            found.append(_Joint(plank.course, _x(end), int(np.searchsorted(stations, _x(end)))))
    return found


def _breaches(joints: list[_Joint], rule: JointRule) -> int:
    """Pairs of joints nearer than the rule allows."""
    count = 0
    for a, b in combinations(joints, 2):
        away = abs(a.course - b.course)
        if away == 1:
            near = abs(a.bay - b.bay) < rule.bays or abs(a.x - b.x) < rule.apart - SLACK
            count += int(near)
        elif 1 < away <= rule.between:
            count += int(a.bay == b.bay)
    return count


@dataclass(frozen=True)
class _Nib:
    """courses : the dropped one, and the one it is let into"""

    courses: tuple[int, int]
    x: float


def _nibs(planks: list[Plank], frames: dict[str, float]) -> list[_Nib]:
    """Every nib, where it stands on the boat."""
    found = []
    for plank in planks:
        for told in plank.extra.get("nibs", ()):  # type: ignore[attr-defined]
            end = nib_end(plank, frames[told["frame"]])
            if end is not None:
                found.append(_Nib((plank.course, told["course"]), _x(end)))
    return found


def _by_nibs(joints: list[_Joint], nibs: list[_Nib], stations: Floats) -> int:
    """Joints of a nib's two courses in its bay or within NIB_APART of it."""
    count = 0
    for nib in nibs:
        bay = int(np.searchsorted(stations, nib.x))
        mine = [j for j in joints if j.course in nib.courses]
        count += sum(j.bay == bay or abs(j.x - nib.x) < NIB_APART - SLACK for j in mine)
    return count
