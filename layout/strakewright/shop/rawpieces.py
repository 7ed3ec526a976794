"""The pieces of a frame as they come from the planking: which side of the station plane each lies on, and its rings
on both faces, before members and water have their way through it.

span      planes of a piece's control face and of its other face
lap       neighbours lie on either side of the station plane;  half lap, gusset: all lie on one side
floor     against the bottom pieces, on the side where the next piece up lies (lap), else on the frame's far face

Source: derived; sizes of floor and gusset: `framepieces`.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np

from strakewright.arrays import Floats
from strakewright.frames import HalfLap
from strakewright.geometry.regions import NONE, area_of, join, share, without
from strakewright.members import Member, section_at
from strakewright.shop.framepieces import (
    Section,
    Strip,
    bisector,
    floor_ring,
    floor_size,
    gusset_ring,
    section_of,
    strips_of,
)
from strakewright.shop.inside import Inside, lines_at
from strakewright.shop.notches import mirrored_ring, notch_ring

SPLINTER = 10.0  # mm a floor ends inboard of a member beside its end
LEAST = 400.0  # mm2: a piece smaller than this is no piece


@dataclass(frozen=True)
class FrameSpec:
    """What the boat file asks of frames, mm."""

    sided: float = 32.0
    moulded: float = 70.0
    joint: Literal["lap", "half lap", "gusset"] = "lap"
    limber: float = 20.0
    notch_clear: float = 0.5
    species: str = "white ash"


@dataclass(frozen=True, eq=False)
class Bench:
    """What one frame is made from.  way : +1 when the frame lies forward of its station plane"""

    name: str
    station: float
    spec: FrameSpec
    inside: Inside
    members: tuple[Member, ...]
    way: int

    def section(self, x: float) -> Section:
        return section_of(x, lines_at(self.inside, x))


@dataclass(frozen=True, eq=False)
class Raw:
    """A piece as it comes from the planking.  big, small : rings on its control and other face;  headed : the two
    with the head's tail;  way : +1 when it lies forward of its control face;  inner : its inner edge"""

    kind: str
    span: tuple[float, float]
    big: Floats
    small: Floats
    headed: Floats
    inner: Floats
    strip: Strip | None = None
    whole: bool = False
    grain: Floats | None = None
    middle: Floats = field(default_factory=lambda: NONE)

    @property
    def way(self) -> int:
        return 1 if self.span[1] > self.span[0] else -1


def raw_pieces(bench: Bench, here: Section) -> tuple[list[Raw], dict[str, tuple[HalfLap, ...]]]:
    """All pieces before notches, port or whole, and the half laps by kind."""
    spec = bench.spec
    strips = strips_of(here, spec.moulded, spec.joint != "gusset")
    sections = {here.x: here}

    def section(x: float) -> Section:
        if x not in sections:
            sections[x] = bench.section(x)
        return sections[x]

    raws = []
    for i, strip in enumerate(reversed(strips)):
        way = bench.way * (-1 if spec.joint == "lap" and i % 2 else 1)
        span = (here.x, here.x + way * spec.sided)
        raw = _raw(strip, span, section(span[0]), section(span[1]))
        if spec.joint == "half lap":
            raw = replace(raw, middle=share(strip.ring, section(sum(span) / 2).whole))
        raws.append(raw)
    raws = [r for r in reversed(raws) if area_of(r.big) > LEAST]
    raws += _floors(bench, raws, section)
    if spec.joint == "gusset":
        raws += _gussets(bench, here, section)
    return raws, _half_laps(raws) if spec.joint == "half lap" else {}


def _raw(strip: Strip, span: tuple[float, float], near: Section, far: Section) -> Raw:
    big, small = (share(strip.ring, s.whole) for s in (near, far))
    headed = join([share(strip.headed, s.whole) for s in (near, far)])
    return Raw(strip.kind, span, big, small, headed, strip.inner, strip, strip.whole)


def _floors(bench: Bench, raws: list[Raw], section: Callable[[float], Section]) -> list[Raw]:
    """The floor (none where the bottom piece runs right across)."""
    spec, here = bench.spec, bench.station
    if any(r.whole for r in raws):
        return []
    low = raws[0].way if raws else bench.way
    start = here if spec.joint == "lap" and len(raws) > 1 else here + low * spec.sided
    way = -low if start == here else low
    span = (start, start + way * spec.sided)
    near, far = section(span[0]), section(span[1])
    if not near.lines:
        return []
    size = floor_size(near, spec.moulded, _top_of_members(bench, span[0]))
    size = replace(size, half=_clear_end(bench, span, size.half))
    taken = [r for r in raws[1:] if r.way == way and start == here]
    beside = [ring for r in taken for ring in (r.big, mirrored_ring(r.big))]
    rings = [without(floor_ring(s, size), beside) if s.lines else NONE for s in (near, far)]
    if area_of(rings[0]) < LEAST:
        return []
    upright = size.backer and float(np.ptp(rings[0][:, 1])) > float(np.ptp(rings[0][:, 0]))
    top = np.array([[-size.half, size.top], [size.half, size.top]])
    grain = np.array([0.0, 1.0]) if upright else np.array([1.0, 0.0])
    kind = "backer" if size.backer else "floor"
    return [Raw(kind, span, rings[0], rings[1], join(rings), top, None, True, grain)]


def _clear_end(bench: Bench, span: tuple[float, float], half: float) -> float:
    """Half length of a floor whose end does not fall into the notch of a member, or leave a splinter beside it."""
    for m in bench.members:
        if m.place != "inside" or m.where != "port":
            continue
        rings = [notch_ring(m, x, bench.spec.notch_clear) for x in span]
        sections = [s for s, r in ((section_at(m, x), r) for x, r in zip(span, rings, strict=True)) if len(r)]
        seen = [s[:, 0] for s in sections if s is not None]
        if seen and min(map(np.min, seen)) < half < max(map(np.max, seen)) + bench.spec.moulded / 2:
            half = float(min(map(np.min, seen))) - SPLINTER
    return half


def _top_of_members(bench: Bench, x: float) -> float:
    found = [section_at(m, x) for m in bench.members if m.place == "inside" and m.where == "centre"]
    return max((float(s[:, 1].max()) for s in found if s is not None), default=-np.inf)


def _gussets(bench: Bench, here: Section, section: Callable[[float], Section]) -> list[Raw]:
    """A gusset on the other face over every corner, port."""
    thick = max(12.0, round(bench.spec.sided / 2))
    start = here.x + bench.way * bench.spec.sided
    span = (start, start + bench.way * thick)
    near, far = section(span[0]), section(span[1])
    found: list[Raw] = []
    for lower, upper in zip(near.lines[:-1], near.lines[1:], strict=True):
        ring = gusset_ring(lower.flat, upper.flat, far, bench.spec.moulded) if far.lines else NONE
        if area_of(ring) > LEAST:
            across = bisector(lower.flat, upper.flat)
            grain = np.array([-across[1], across[0]])
            name = "gusset" if len(near.lines) == 2 else f"gusset{len(found) + 1}"
            found.append(Raw(name, span, ring, ring, ring, ring[:2], None, False, grain))
    return found


def _half_laps(raws: list[Raw]) -> dict[str, tuple[HalfLap, ...]]:
    """Where neighbours cross: the lower piece is cut down from its control face, the upper from its other one."""
    found: dict[str, tuple[HalfLap, ...]] = {}
    chain = [r for r in raws if r.strip is not None]
    for a, b in itertools.pairwise(chain):
        lap = share(a.headed, b.headed)
        if len(lap):
            found[a.kind] = (*found.get(a.kind, ()), HalfLap(lap, "control"))
            found[b.kind] = (*found.get(b.kind, ()), HalfLap(lap, "other"))
    return found
