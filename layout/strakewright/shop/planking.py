"""From the choice of seams to every plank, both sides.

strake        a course that runs fore and aft;  herringbone : diagonal courses, mirrored about the centreline
plank         one piece of a course in its true flat shape, with faces, bevels, tails and marks
hood end      end of a plank at the stem;  tail : wood left past a trim line
spiling       taking a plank's shape off the boat; here it is worked out from the surface
mate          the same plank on the other side: equal numbers in its own axes, seen from the other face

Source: derived; rules of faces, ends and tails: DEVELOPERS.md, "Trade rules in the code".
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from strakewright.errors import Finding
from strakewright.parts import Choice, FaceUp, Margin, Plank
from strakewright.shop.courses import Course
from strakewright.shop.folds import folds_of
from strakewright.shop.jointing import Whole, Written, choices_of, joints_of, plank_id, seam_stations
from strakewright.shop.joints import Joined
from strakewright.shop.pieces import Bench, Blank, plank_of
from strakewright.shop.shapes import Shape, shapes_of, split
from strakewright.shop.stealers import with_stealers
from strakewright.shop.strips import as_strip
from strakewright.shop.sweetness import dropped_courses, narrow_ends, scraps_left, unfair_seams
from strakewright.shop.whole import keel_end, spans, whole_of

MIRROR = np.array([1.0, -1.0, 1.0])


@dataclass(frozen=True, eq=False)
class Hung:
    """The planks of one layer.  planks : port first, then starboard, each in hanging order
    spare : pieces of further lawful splits;  choices : which of them go together;  joined : the joints
    shifted : numbers of the courses joined in other places to starboard: their pieces have no mates
    """

    planks: tuple[Plank, ...]
    findings: tuple[Finding, ...]
    joined: Joined
    spare: tuple[Plank, ...] = ()
    choices: tuple[Choice, ...] = ()
    shifted: tuple[int, ...] = ()


def plank_layer(bench: Bench) -> Hung:
    """All planks of one layer."""
    bench = replace(bench, folds=folds_of(bench.lined, bench.settings.thickness))
    whole = [(c, shape) for c in bench.lined.courses for shape in shapes_of(bench.lined, c)]
    if bench.settings.pattern == "strakes" and bench.settings.cut == "spiled":
        lined = with_stealers(bench.lined, whole, bench.settings, bench.frames, bench.half_frame)
        if lined is not bench.lined:
            bench = replace(bench, lined=lined, folds=folds_of(lined, bench.settings.thickness))
            whole = [(c, shape) for c in lined.courses for shape in shapes_of(lined, c)]
    joined = joints_of(bench, whole)
    findings = list(joined.findings)
    if bench.settings.pattern == "strakes":
        findings += unfair_seams(bench.lined) + scraps_left(bench.lined)
        named = [(plank_id(bench, c, 0, 1), shape) for c, shape in whole]
        findings += narrow_ends(named, bench.settings)
        findings += dropped_courses([(plank_id(bench, c, 0, 1), c) for c in bench.lined.courses])
    extra = seam_stations(bench.lined, whole, joined)
    final = [(c, s) for c in bench.lined.courses for s in shapes_of(bench.lined, c, extra)] if extra else whole
    blanks = _blanks(bench, final, joined)
    port = [_made(bench, blank, blanks) for blank in blanks]
    if bench.settings.pattern == "cross":
        port, said = _crossing(bench, port)
        findings += said
    if any(joined.starboard):
        return _unlike(bench, final, (joined, blanks), port, findings)
    planks = [*port, *(_mirrored(p) for p in port if p.side == "port")]
    spare, choices = _spare(bench, final, joined, blanks)
    return Hung(tuple(planks), tuple(findings), joined, spare, choices)


def _unlike(
    bench: Bench, whole: Whole, placed: tuple[Joined, list[Blank]], port: list[Plank], findings: list[Finding]
) -> Hung:
    """Both sides where joints are shifted: starboard's own pieces, and the mates of all others beside them.

    Their letters follow port's (S03a, S03b to port, S03c, S03d to starboard): no number is chalked twice."""
    joined, blanks = placed
    over = {c.number: (shape, other) for (c, shape), other in zip(whole, joined.starboard, strict=True) if other}
    there: list[Blank] = []
    for course in bench.lined.courses:
        mine = [b for b in blanks if b.course is course]
        if course.number in over:
            shape, split_there = over[course.number]
            mine = _pieces(bench, course, [(shape, list(split_there.joints))], after=len(mine))
        there += mine
    starboard = [_mirrored(_made(bench, blank, there)) for blank in there]
    planks = [replace(p, mate=None) if p.course in over else p for p in (*port, *starboard)]
    return Hung(tuple(planks), tuple(findings), joined, shifted=tuple(sorted(over)))


def _made(bench: Bench, blank: Blank, blanks: list[Blank]) -> Plank:
    plank = plank_of(bench, blank, blanks)
    return as_strip(plank, bench.settings, bench.limits) if bench.settings.cut == "straight" else plank


def _spare(
    bench: Bench, whole: Whole, joined: Joined, blanks: list[Blank]
) -> tuple[tuple[Plank, ...], tuple[Choice, ...]]:
    """Planks of the further splits, beside the neighbours as they are, and the choices they make up."""
    rows, made = [], []
    for (course, shape), splits in zip(whole, joined.splits, strict=True):
        if len(splits) < 2 or len(course.loops) > 1:
            continue
        ids = [tuple(b.id for b in blanks if b.course is course)]
        for k, split_there in enumerate(splits[1:], 1):
            mine = _pieces(bench, course, [(shape, list(split_there.joints))], k)
            others = [b for b in blanks if b.course is not course]
            made += [_made(bench, blank, [*mine, *others]) for blank in mine]
            ids.append(tuple(b.id for b in mine))
        rows.append(Written(course.number, tuple(ids), splits))
    return (*made, *(_mirrored(p) for p in made)), choices_of(rows)


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


def _blanks(bench: Bench, whole: Whole, joined: Joined) -> list[Blank]:
    blanks: list[Blank] = []
    for course in bench.lined.courses:
        cuts = [
            (shape, list(splits[0].joints))
            for (owner, shape), splits in zip(whole, joined.splits, strict=True)
            if owner is course
        ]
        blanks += _pieces(bench, course, cuts)
    return blanks


def _pieces(
    bench: Bench, course: Course, cuts: list[tuple[Shape, list[float]]], number: int = 0, after: int = 0
) -> list[Blank]:
    """The pieces of one course.  cuts : its shapes and the s of the joints of each;  number : of the split
    after : how many letters are taken"""
    pieces: list[tuple[Shape, bool]] = []
    for shape, joints in cuts:
        parts = split(shape, joints, [bench.settings.joint] * len(joints))
        pieces += [(p, i > 0) for i, p in enumerate(parts)]
    pieces = [p for p in pieces if len(p[0].runs) > 1]
    pieces.sort(key=lambda p: p[0].reach()[0])
    ids = [plank_id(bench, course, after + i, after + len(pieces), number) for i in range(len(pieces))]
    blanks = []
    for i, (shape, joint_aft) in enumerate(pieces):
        after = i + 1 < len(pieces) and pieces[i + 1][1]
        mates = (ids[i - 1] if joint_aft else None, ids[i + 1] if after else None)
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
