"""From the choice of seams to every plank, both sides.

strake        a course that runs fore and aft;  herringbone : diagonal courses, mirrored about the centreline
plank         one piece of a course in its true flat shape, with faces, bevels, tails and marks
hood end      end of a plank at the stem;  tail : wood left past a trim line
spiling       taking a plank's shape off the boat; here it is worked out from the surface
mate          the same plank on the other side: equal numbers in its own axes, seen from the other face

Source: derived; rules of faces, ends and tails: DEVELOPERS.md, "Trade rules in the code".
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from strakewright.arrays import Floats
from strakewright.errors import Finding
from strakewright.parts import FaceUp, Margin, Plank
from strakewright.shop.courses import Course, Lined, Seam
from strakewright.shop.joints import Joinable, place_joints
from strakewright.shop.pieces import Bench, Blank, plank_of
from strakewright.shop.shapes import Shape, shapes_of, split
from strakewright.shop.whole import keel_end, spans, whole_of

MIRROR = np.array([1.0, -1.0, 1.0])


def plank_layer(bench: Bench) -> tuple[list[Plank], list[Finding]]:
    """All planks of one layer: port first, then starboard, each in hanging order."""
    whole = [(c, shape) for c in bench.lined.courses for shape in shapes_of(bench.lined, c)]
    joints, findings = _joints(bench, whole)
    extra = _seam_stations(bench.lined, whole, joints)
    final = [(c, s) for c in bench.lined.courses for s in shapes_of(bench.lined, c, extra)] if extra else whole
    blanks = _blanks(bench, final, joints)
    port = [plank_of(bench, blank, blanks) for blank in blanks]
    if bench.settings.pattern == "cross":
        port, said = _crossing(bench, port)
        findings += said
    return [*port, *(_mirrored(p) for p in port if p.side == "port")], findings


def _crossing(bench: Bench, port: list[Plank]) -> tuple[list[Plank], list[Finding]]:
    """Cross planks made whole where the bottom is flat enough; the others stay in two, and the finding says so."""
    renamed = {p.id: p.id[:-1] + "C" for p in port if spans(p)}

    def told(m: Margin) -> Margin:
        return replace(m, neighbour=renamed.get(m.neighbour or "", m.neighbour))

    found = []
    for p in port:
        named = replace(p, first=told(p.first), second=told(p.second), ends=tuple(told(e) for e in p.ends))
        found.append(whole_of(named) if p.id in renamed else named)
    steep = [k for p in port if p.id not in renamed and (k := keel_end(p)) is not None]
    if not steep:
        return found, []
    worst = float(np.degrees(max(np.abs(k.bevel).max() for k in steep)))
    told_of = Finding(
        "cross-joined-at-keel",
        "warning",
        f"{bench.settings.panel}: {len(steep)} pairs",
        f"the bottom rises up to {worst:.1f} degrees at the keel: these cross planks cannot run from chine to chine",
        "They are made in two and meet on the keelson; a bottom that is flat across takes them whole",
    )
    return found, [told_of]


def _letter(panel: str) -> str:
    """Short chalk letters of a panel: bottom B, side S, bilge1 G1."""
    return panel.replace("bilge", "G") if panel.startswith("bilge") else panel[0].upper()


def _joints(bench: Bench, whole: list[tuple[Course, Shape]]) -> tuple[list[list[float]], list[Finding]]:
    settings = bench.settings
    if settings.joint == "none" or settings.pattern != "strakes" or not whole:
        return [[] for _ in whole], []
    scarf = settings.scarf_slope * settings.thickness
    courses = [_joinable(bench, c, shape) for c, shape in whole]
    return place_joints(courses, np.array([x for _, x in bench.frames]), bench.room, scarf)


def _joinable(bench: Bench, course: Course, shape: Shape) -> Joinable:
    lo, hi = shape.reach()
    skin, settings = bench.lined.skin, bench.settings
    st = np.concatenate([r.st for r in shape.runs])
    flat = np.concatenate([r.flat for r in shape.runs])
    sides = settings.trim_sheer if any(r.name == "sheer" for r in shape.runs) else 0.0
    sides += settings.trim_chine if any(r.name.startswith("chine") for r in shape.runs) else 0.0

    def x_at(s: Floats) -> Floats:
        middle = course.side * course.width(s) / 2
        return np.asarray(skin.patch.at(course.fan.pq(s, middle))[:, 0])

    def blank(s0: float, s1: float) -> tuple[float, float]:
        here = flat[(st[:, 0] >= s0 - 1e-6) & (st[:, 0] <= s1 + 1e-6)]
        middle = course.side * course.width(np.array([s0, s1])) / 2
        chord = np.diff(shape.flatten(np.stack([[s0, s1], middle], axis=-1)), axis=0)[0]
        chord /= np.linalg.norm(chord)
        along, across = here @ chord, here @ np.array([-chord[1], chord[0]])
        tails = (s0 <= lo) * settings.tail_aft + (s1 >= hi) * settings.tail_forward
        return float(np.ptp(along)) + tails + 4.0, float(np.ptp(across)) + sides + 4.0

    fixed = bench.joints.get(course.number)
    return Joinable(_id(bench, course, 0, 1), lo, hi, x_at, blank, fixed)


def _id(bench: Bench, course: Course, piece: int, pieces: int, side: str = "P") -> str:
    layer = f"{bench.lined.skin.layer}." if bench.settings.layers > 1 else ""
    part = chr(ord("a") + piece) if pieces > 1 else ""
    return f"{_letter(bench.lined.skin.panel)}{layer}{course.number:02d}{part}{side}"


def _seam_stations(
    lined: Lined, whole: list[tuple[Course, Shape]], joints: list[list[float]]
) -> dict[int, list[float]]:
    """Where joints end on seams, so that the planks on both sides list the same points there."""
    found: dict[int, list[float]] = {}
    for (course, _), cuts in zip(whole, joints, strict=True):
        for seam in (course.left, course.right):
            if seam is None or not cuts:
                continue
            found.setdefault(id(seam), []).extend(_stations_at(course, seam, cuts))
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


def _blanks(bench: Bench, whole: list[tuple[Course, Shape]], joints: list[list[float]]) -> list[Blank]:
    blanks: list[Blank] = []
    for course in bench.lined.courses:
        pieces: list[tuple[Shape, bool]] = []
        for (owner, shape), cuts in zip(whole, joints, strict=True):
            if owner is course:
                parts = split(shape, cuts, ["scarf"] * len(cuts))
                pieces += [(p, i > 0) for i, p in enumerate(parts)]
        pieces = [p for p in pieces if len(p[0].runs) > 1]
        pieces.sort(key=lambda p: p[0].reach()[0])
        ids = [_id(bench, course, i, len(pieces)) for i in range(len(pieces))]
        for i, (shape, joined) in enumerate(pieces):
            after = i + 1 < len(pieces) and pieces[i + 1][1]
            mates = (ids[i - 1] if joined else None, ids[i + 1] if after else None)
            blanks.append(Blank(ids[i], course, i + 1, shape, mates))
    return blanks


def _mirrored(p: Plank) -> Plank:
    """The mate on the other side: the same numbers, seen from the other face."""

    def across(m: Margin) -> Margin:
        return replace(m, seam=m.seam * MIRROR, neighbour=_other(m.neighbour))

    face: FaceUp = "outside" if p.face_up == "inside" else "inside"
    return replace(
        p,
        id=p.id[:-1] + "S",
        side="starboard",
        mate=p.id,
        face_up=face,
        first=across(p.first),
        second=across(p.second),
        ends=tuple(across(m) for m in p.ends),
    )


def _other(name: str | None) -> str | None:
    return None if name is None else name[:-1] + "S"
