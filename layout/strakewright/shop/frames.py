"""Sawn frames: which face stands on the station line, and the pieces cut to both of their faces.

control face  chosen per frame, so that bevelling takes wood off where it takes most: forward of its station where
              the boat narrows forward, aft of it where she narrows aft
gusset        all pieces in one plane, cut on the corners' bisectors; gussets and floor on the other face
half lap      all pieces in one plane, each halved where they cross
lap           neighbours lie on either side of the station plane, which is the plane of their joints
pattern       what holds both faces: where a piece's bevel changes sign neither face holds the other

Source: the rule of removal and its limits: common practice, no source; geometry derived.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from strakewright.arrays import Floats
from strakewright.errors import Finding
from strakewright.frames import Corner, FramePiece, HalfLap, Notch, SawnFrame
from strakewright.geometry.outlines import clip_lines, contains, grow_ring, thin_ring
from strakewright.geometry.regions import NONE, area_of, gap_between, join, opened, share, shared_area, without
from strakewright.members import Member
from strakewright.shop.framepieces import Section, bevels_along, grain_of, removal, section_of
from strakewright.shop.inside import Inside, lines_at
from strakewright.shop.notches import (
    BESIDE,
    WIDE,
    half_breadth_of,
    limber_ring,
    mirrored_ring,
    notch_ring,
    open_above,
    through,
)
from strakewright.shop.rawpieces import LEAST, SPLINTER, Bench, FrameSpec, Raw, raw_pieces

GRAIN_LIMIT = np.arctan(1 / 12)
STOUT = 0.4  # share of a piece that must be thicker than a third of the moulded depth
THIN = 0.01  # mm, tolerance of finished rings
CLEAR = 6.0  # mm between a limber and a joint


def saw_frame(
    name: str, station: float, spec: FrameSpec, inside: Inside, members: Sequence[Member]
) -> tuple[SawnFrame | None, list[Finding]]:
    """One frame with port, starboard and centre pieces; None where there is no room for one."""
    lines = lines_at(inside, station)
    if not lines:
        return None, [_no_frame(name, station, "the planking leaves no room")]
    ahead, astern = removal(lines, spec.sided)
    way = 1 if ahead >= astern else -1
    bench = Bench(name, station, spec, inside, tuple(members), way)
    here = section_of(station, lines)
    raws, halves = raw_pieces(bench, here)
    pieces, findings = _finished(bench, raws, here, halves)
    if not pieces:
        return None, [_no_frame(name, station, "members fill the section")]
    corners = [Corner("keel", lines[0].flat[0]), *(Corner(line.upper, line.flat[-1]) for line in lines)]
    frame = SawnFrame(
        name,
        station,
        "aft" if way > 0 else "forward",
        spec.joint,
        tuple(pieces),
        tuple(corners),
        {line.panel: line.flat[:: max(1, len(line.flat) // 80)] for line in lines},
        max(ahead, astern),
        None,
    )
    return frame, findings


def _no_frame(name: str, station: float, why: str) -> Finding:
    return Finding(
        "frame-no-room",
        "note",
        name,
        f"no sawn frame at x {station:.0f}: {why}",
        "Let the stem and its backers carry the planking there, or move the frame aft",
    )


# -- notches, limbers, finished pieces ---------------------------------------------------------------


def _finished(
    bench: Bench, raws: list[Raw], here: Section, halves: dict[str, tuple[HalfLap, ...]]
) -> tuple[list[FramePiece], list[Finding]]:
    pieces: list[FramePiece] = []
    findings: list[Finding] = []
    limbers = _limbers(bench, raws, here)
    drained = ("floor", here.lines[0].panel) if len(here.lines) > 1 else ()
    for raw in raws:
        notches = _notches(bench, raw)
        wet = limbers if raw.kind in drained else []
        piece = _piece(bench, raw, notches, wet)
        if piece is None:
            continue
        if raw.kind in halves:
            half_way = [notch_ring_of(bench, n.member, sum(raw.span) / 2) for n in notches]
            middle = without(raw.middle, [*(r for rings in half_way for r in rings), *wet])
            piece = replace(piece, halves=halves[raw.kind], middle=middle)
        doubled = any(r.kind in ("floor", "backer") for r in raws)
        findings += _told(piece, bench, raw, doubled)
        pieces += [piece] if raw.whole else [piece, _twin(piece)]
    return pieces, findings


def _notches(bench: Bench, raw: Raw) -> list[Notch]:
    """Every member that passes through the piece."""
    found = []
    clear, back = bench.spec.notch_clear, _back_of(raw)
    for member in through(bench.members, raw.span):
        rings = [notch_ring(member, x, clear) for x in raw.span]
        rings = [r if len(r) else rings[1 - i] for i, r in enumerate(rings)]  # it ends within the siding
        if member.along == "sheer" and raw.strip is not None:
            rings = [open_above(r, raw.strip.line.flat) for r in rings]
        twins = [rings]
        if raw.whole and member.mirrored:
            twins.append([mirrored_ring(r) for r in rings])
        for control, other in twins:
            hits = shared_area(control, raw.big) + shared_area(other, raw.small)
            if hits < 1.0:
                continue
            cut = share(control, other)
            left = min(gap_between(_closed(ring), back) for ring in (control, other)) if len(back) > 1 else 0.0
            found.append(Notch(member.name, control, other, cut, clear, left))
    return found


def _back_of(raw: Raw) -> Floats:
    """The piece's inner edge as far as it goes."""
    lines = clip_lines(raw.inner, grow_ring(thin_ring(raw.big, 0.05, 60.0), 0.2)) if len(raw.big) else []
    return max(lines, key=len, default=NONE)


def _closed(ring: Floats) -> Floats:
    return np.concatenate([ring, ring[:1]])


def notch_ring_of(bench: Bench, member: str, x: float) -> list[Floats]:
    """A member's notch in the plane x, and its twin's."""
    found = [notch_ring(m, x, bench.spec.notch_clear) for m in bench.members if m.name == member]
    return [r for ring in found if len(ring) for r in (ring, mirrored_ring(ring))]


def _limbers(bench: Bench, raws: list[Raw], here: Section) -> list[Floats]:
    """Beside the keelson on both sides, and inboard of whatever stands at the chine; port and starboard."""
    size, low = bench.spec.limber, here.lines[0]
    if size <= 0 or len(here.lines) < 2:
        return []
    half = half_breadth_of(bench.members, here.x)
    deeper = float(bench.spec.sided * np.tan(np.abs(low.bevel).max()))
    places = [half + BESIDE if half else 0.0]
    chine = _clear_of_chine(bench, raws, low.flat) - WIDE * size / 2 - CLEAR
    if chine - places[0] > 4 * size:
        places.append(chine)
    rings = [limber_ring(low.flat, y, size, deeper) for y in places]
    return [r for ring in rings for r in (ring, mirrored_ring(ring))]


def _clear_of_chine(bench: Bench, raws: list[Raw], line: Floats) -> float:
    """Half breadth at the planking inboard of which neither member, joint nor gusset stands at the lowest chine."""
    rings = [r.big for r in raws if r.strip is not None and r.kind != raws[0].kind]
    rings += [r.big for r in raws if r.kind.startswith("gusset")]
    for m in bench.members:
        ring = notch_ring(m, bench.station, 0.0) if m.place == "inside" and m.where == "port" else NONE
        if len(ring) and float(ring[:, 0].min()) > 0.7 * float(line[-1, 0]):
            rings.append(ring)
    edge = float(line[-1, 0])
    run = line[np.linspace(0, len(line) - 1, 200).astype(int)]
    shifts = [np.array([y, z]) for y in (-6.0, 0.0, 6.0) for z in (0.0, 12.0, 24.0)]
    for ring in rings:
        taken = np.any([contains(ring, run + shift) for shift in shifts], axis=0)
        edge = float(run[taken, 0].min(initial=edge))
    return edge


def _piece(bench: Bench, raw: Raw, notches: list[Notch], limbers: list[Floats]) -> FramePiece | None:
    """The finished piece, port or whole; None when members leave nothing of it."""
    control = without(raw.big, [*(n.control for n in notches), *limbers])
    other = without(raw.small, [*(n.other for n in notches), *limbers])
    if raw.strip is None:
        control, other = opened(control, SPLINTER), opened(other, SPLINTER)
    if area_of(control) < LEAST or area_of(other) < LEAST / 4:
        return None
    if area_of(opened(control, bench.spec.moulded / 3)) < STOUT * area_of(control):
        return None
    outline = without(join([raw.headed, control, other]), [*(n.cut for n in notches), *limbers])
    outline = join([outline, control, other])
    control, other, outline = (thin_ring(ring, THIN, 60.0) for ring in (control, other, outline))
    spec, side = bench.spec, "centre" if raw.whole else "port"
    grain, run_out = (raw.grain, 0.0) if raw.strip is None or raw.whole else grain_of(raw.strip.line.flat)
    bevels = bevels_along(raw.strip.line, spec.sided, raw.way) if raw.strip else ()
    if raw.kind in ("floor", "backer"):
        low = lines_at(bench.inside, raw.span[0])[0]
        bevels = bevels_along(low, spec.sided, raw.way)
    thick = abs(raw.span[1] - raw.span[0])
    return FramePiece(
        f"{bench.name}-{raw.kind}" + ("" if raw.whole else "-P"),
        raw.kind,
        side,  # type: ignore[arg-type]
        spec.species,
        thick,
        *raw.span,
        control,
        other,
        outline,
        np.array([1.0, 0.0]) if grain is None else grain,
        run_out,
        bevels,
        tuple(notches),
        tuple(r for r in limbers if shared_area(r, raw.big) > 1.0),
    )


def _twin(piece: FramePiece) -> FramePiece:
    """The starboard piece."""
    over = np.array([-1.0, 1.0])
    return replace(
        piece,
        id=piece.id.removesuffix("-P") + "-S",
        side="starboard",
        control=mirrored_ring(piece.control),
        other=mirrored_ring(piece.other),
        outline=mirrored_ring(piece.outline),
        grain=piece.grain * over,
        bevels=tuple(replace(b, at=b.at * over) for b in piece.bevels),
        notches=tuple(
            replace(n, control=mirrored_ring(n.control), other=mirrored_ring(n.other), cut=_over(n.cut))
            for n in piece.notches
        ),
        limbers=tuple(mirrored_ring(r) for r in piece.limbers),
        halves=tuple(replace(h, ring=mirrored_ring(h.ring)) for h in piece.halves),
        middle=_over(piece.middle),
    )


def _over(ring: Floats) -> Floats:
    return mirrored_ring(ring) if len(ring) else ring


def _told(piece: FramePiece, bench: Bench, raw: Raw, doubled: bool) -> list[Finding]:
    """Notches that leave too little, and grain that runs out."""
    findings = []
    needed = bench.spec.moulded / 2
    for n in piece.notches:
        if n.left < needed - 0.05 and not (doubled and _other_carries(n, raw)):
            findings.append(
                Finding(
                    "notch-deep",
                    "warning",
                    piece.id,
                    f"the notch for {n.member} leaves {n.left:.0f} mm of {bench.spec.moulded:.0f};"
                    f" half, {needed:.0f} mm, is wanted",
                    "Mould the frames deeper, or make the member shallower",
                )
            )
    if piece.run_out > GRAIN_LIMIT:
        findings.append(
            Finding(
                "frame-grain",
                "warning",
                piece.id,
                f"the piece curves {np.degrees(piece.run_out):.0f} degrees out of its own line: its grain would run"
                " out steeper than 1 in 12",
                "Saw it from a board whose grain follows the curve, or laminate it",
            )
        )
    return findings


def _other_carries(notch: Notch, raw: Raw) -> bool:
    """At the keel the floor carries the frame, away from it the bottom piece beside the floor."""
    at_keel = bool(notch.control[:, 0].min() < 1e-6 < notch.control[:, 0].max())
    return at_keel != (raw.kind in ("floor", "backer"))
