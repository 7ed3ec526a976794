"""Frames, transoms and the set-up sheet of a whole boat, with everything to cut and draw of them.

Nothing is made that is not asked for: frames where [frames] gives `sided` or `moulded`, transoms where there is a
[transom] table.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from strakewright.errors import Finding
from strakewright.frames import Framing, SawnFrame, Spall, Transom
from strakewright.hull import Hull
from strakewright.job.planked import Frames
from strakewright.members import Member
from strakewright.parts import Part
from strakewright.settings import BoatSettings
from strakewright.shop.framebodies import frame_bodies
from strakewright.shop.frameparts import part_of, pattern_of
from strakewright.shop.frames import saw_frame
from strakewright.shop.inside import Inside, inside_depth, inside_of
from strakewright.shop.rawpieces import FrameSpec
from strakewright.shop.setup import set_up
from strakewright.shop.spalls import spall_of, spall_part
from strakewright.shop.transomparts import transom_body, transom_parts, transom_pattern
from strakewright.shop.transoms import Plate, TransomSpec, make_transom, transom_plates


@dataclass(frozen=True, eq=False)
class Framed:
    """framing : what was made;  bodies : in their places;  findings : what is worth telling"""

    framing: Framing = field(default_factory=Framing)
    findings: tuple[Finding, ...] = ()


def frame_hull(boat: BoatSettings, hull: Hull, frames: Frames, members: Sequence[Member] = ()) -> Framed:
    """All frames and transoms that the boat file asks for.  members : what passes through them"""
    if not boat.frames.sawn and boat.transom is None:
        return Framed()
    inside = inside_of(hull, boat.planking)
    sawn, findings = _sawn(boat, inside, frames, members)
    transoms, told = _transoms(boat, hull, inside)
    findings += told
    sheet = None
    if sawn:
        sheet, sawn, told = set_up(sawn, [t for t, _ in transoms], boat.frames.spall_z, hull.length)
        findings += told
    spall = sheet.spall_z if sheet else None
    spalls = _spalls(boat, sawn)
    framing = Framing(
        sawn,
        tuple(t for t, _ in transoms),
        sheet,
        (*_parts(sawn, transoms, spall), *(p for p in map(spall_part, spalls) if p is not None)),
        (*(pattern_of(f) for f in sawn), *(transom_pattern(t) for t, _ in transoms)),
        (*frame_bodies(sawn), *(transom_body(t, plate) for t, plate in transoms)),
        spalls,
    )
    return Framed(framing, tuple(findings))


def _sawn(
    boat: BoatSettings, inside: Inside, frames: Frames, members: Sequence[Member]
) -> tuple[tuple[SawnFrame, ...], list[Finding]]:
    if not boat.frames.sawn:
        return (), []
    asked = boat.frames
    spec = FrameSpec(
        joint=asked.joint, limber=asked.limber, notch_clear=asked.notch_clear, species=asked.species or boat.species
    )
    if asked.sided is not None:
        spec = replace(spec, sided=asked.sided)
    if asked.moulded is not None:
        spec = replace(spec, moulded=asked.moulded)
    made = [saw_frame(name, x, spec, inside, members) for name, x in frames]
    return tuple(f for f, _ in made if f is not None), [told for _, some in made for told in some]


def _transoms(boat: BoatSettings, hull: Hull, inside: Inside) -> tuple[list[tuple[Transom, Plate]], list[Finding]]:
    asked = boat.transom
    if asked is None:
        return [], []
    spec = TransomSpec(
        asked.sided,
        asked.doubling,
        asked.motor_height,
        asked.motor_width,
        asked.face,
        asked.species or boat.species,
        asked.well_bridge,
    )
    found: list[tuple[Transom, Plate]] = []
    findings: list[Finding] = []
    plates = transom_plates(hull)
    if not plates:
        findings.append(
            Finding("no-transom", "warning", "[transom]", "the hull ends in points: it has no transom", "Take it out")
        )
    for name, (plate, off) in plates.items():
        transom, told = make_transom(name, plate, off, spec, inside)
        findings += told
        if transom is not None:
            found.append((transom, plate))
    return found, findings


def _parts(
    frames: Sequence[SawnFrame], transoms: Sequence[tuple[Transom, Plate]], spall: float | None
) -> tuple[Part, ...]:
    pieces = tuple(part_of(piece, spall if f.spall else None) for f in frames for piece in f.pieces)
    return pieces + tuple(part for t, _ in transoms for part in transom_parts(t))


def _spalls(boat: BoatSettings, frames: Sequence[SawnFrame]) -> tuple[Spall, ...]:
    """Cross spalls, from the pile where the boat file says how thick."""
    asked = boat.frames
    cut = None if asked.spall_sided is None else (asked.spall_sided, asked.spall_species or boat.species)
    made = (spall_of(f, asked.spall_moulded, cut) for f in frames)
    return tuple(s for s in made if s is not None)


def framing_figures(framing: Framing, boat: BoatSettings) -> dict[str, Any]:
    """Frames, transoms and strongback in figures; empty lists where none are asked for.

    deduction : panel -> least and most thickness of planking in the frame's plane, t / cos(bevel), mm
    standing : bevels that ask for wood on the far face, which the cut line holds;  least_left : mm behind a notch
    sheer_check : mm by which height above the strongback and height in the lines miss h_ref together, at worst
    """
    depths = {p.panel: inside_depth(p, boat.hull.surface) for p in boat.planking}
    sheet = framing.set_up
    return {
        "lines_are_to": boat.hull.surface,
        "frames": [_frame_figures(f, depths) for f in framing.frames],
        "transoms": [
            {
                "id": t.name,
                "rake_deg": float(np.degrees(t.rake)),
                "radius": t.radius,
                "off": t.off,
                "boards": sum(b.kind == "board" for b in t.boards),
                "bevel_max_deg": float(np.degrees(max(abs(b.angle) for b in t.bevels))),
            }
            for t in framing.transoms
        ],
        "strongback": None
        if sheet is None
        else {
            "h_ref": sheet.h_ref,
            "spall_z": sheet.spall_z,
            "leg": sheet.h_ref - sheet.spall_z,
            "sheer_check": _sheer_check(framing),
        },
    }


def _frame_figures(frame: SawnFrame, depths: dict[str, float]) -> dict[str, Any]:
    bevels = [b for p in frame.pieces if p.side != "starboard" for b in p.bevels]
    lefts = [n.left for p in frame.pieces for n in p.notches]
    return {
        "id": frame.name,
        "x": frame.station,
        "big_face": frame.control_faces,
        "pieces": len(frame.pieces),
        "bevel_max_deg": float(np.degrees(max((abs(b.angle) for b in bevels), default=0.0))),
        "standing": sum(b.angle < 0 and not b.square for b in bevels),
        "deduction": {
            p.kind: [depths[p.kind] / float(np.cos(f([abs(b.angle) for b in p.bevels]))) for f in (min, max)]
            for p in frame.pieces
            if p.side != "starboard" and p.kind in depths and p.bevels
        },
        "notches": sum(len(p.notches) for p in frame.pieces),
        "least_left": min(lefts, default=None),
        "limbers": sum(len(p.limbers) for p in frame.pieces if p.kind not in ("floor", "backer")),
    }


def _sheer_check(framing: Framing) -> float:
    """Every sheer mark, frames and transoms alike: its height above the strongback and its z make h_ref."""
    sheet = framing.set_up
    assert sheet is not None
    z = {f.name: float(f.corner("sheer")[1]) for f in framing.frames}
    z |= {t.name: float(t.inside.corners["sheer"][4]) for t in framing.transoms if "sheer" in t.inside.corners}
    return max(
        (abs(row.heights["sheer"] + z[row.name] - sheet.h_ref) for row in sheet.rows if "sheer" in row.heights),
        default=0.0,
    )
