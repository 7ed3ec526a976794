"""members.json: every member as plain numbers and words.

`members`: list of
  id, name, along, where (port: a mirrored twin is cut; centre), place, species, sided, moulded
  section   corners [[x, y, z] ...] of the finished section at every station of `run`, counter-clockwise from ahead
  blank     width, depth (dressing allowance included, plies' own allowance not), outer, across, deep at every station
  bearings  on, edge (corner number it starts from), bevel_deg at every station
  bend      radius_flat, radius_edge (null: straight), twist_max_deg_per_m, thickness_over_radius, strength_factor,
            stress_mpa, edge_strain, strain (both bends together, at the worst place);  other_way: the same with the
            plies laid the other way
  plies     number (1 = innermost), thickness, width, length, joints, parts
  bevels    rows: name, run, x, bevel_deg, width, turn_deg
  end_cuts  of ends at a transom: end, on, angle_deg (between run and transom: 90 = square), face_deg and side_deg (from
            square, over the outer face, + = upper edge longer, and over the side, + = inner face longer)
  scarf     where it is scarfed on to another member: to, end, x, length, tapered; null without
  glue      spacing, positions, order, face_g, batches {plies, clamps, glue_g, minutes}; null for a solid member
  former    springback_factor, lines [{kind, words, closed, points}]; null for a member bent in place
`sawn`: list of id, name, where, species, thickness, outline, corner, along, up, parts
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict

import numpy as np

from strakewright.drawn import Drawn
from strakewright.members import Bend, Clamping, EndCut, Member, Sawn
from strakewright.write.labels import Label
from strakewright.write.records import Record, document, plain

FINE = 4  # decimals of points


def members_document(members: Iterable[Member], sawn: Iterable[Sawn]) -> Record:
    """The whole file."""
    return document("members", {"members": [_member(m) for m in members], "sawn": [_sawn(s) for s in sawn]})


def member_labels(members: Iterable[Member], sawn: Iterable[Sawn]) -> dict[str, Label]:
    """What is written on every piece: plies run forward; sawn pieces have no arrow."""
    sides = {"P": "PORT", "S": "STBD"}
    found = {}
    for m in members:
        count = len(m.plies)
        for p in m.parts:
            side = sides[p.id[-1]] if m.where == "port" else ""
            found[p.id] = Label(side, "inside", (1.0, 0.0), f"{m.name}, {count} plies" if count > 1 else m.name)
    for s in sawn:
        for p in s.parts:
            found[p.id] = Label(sides[p.id[-1]] if s.where == "port" else "", "inside", None, s.name)
    return found


def _member(m: Member) -> Record:
    swept, blank = m.swept, m.swept.blank
    return {
        "id": m.parts[0].id.rsplit("-", 2 if m.where == "port" else 1)[0] if m.parts else m.name,
        "name": m.name,
        "along": m.along,
        "where": m.where,
        "place": m.place,
        "species": m.species,
        "sided": m.sided,
        "moulded": m.moulded,
        "glued": m.glued,
        "plies_lie": m.plies_lie,
        "run": plain(swept.run, FINE),
        "section": plain(swept.corners, FINE),
        "blank": {
            "width": blank.width,
            "depth": blank.depth,
            "outer": plain(blank.outer, FINE),
            "across": plain(blank.across, 6),
            "deep": plain(blank.deep, 6),
        },
        "bearings": [
            {"on": b.on, "edge": b.edge, "bevel_deg": plain(np.degrees(b.bevel), FINE)} for b in swept.bearings
        ],
        "bend": _bend(m.bend),
        "other_way": _bend(m.other_way),
        "plies": [
            {
                "number": p.number,
                "thickness": p.thickness,
                "width": p.width,
                "length": p.length,
                "joints": list(p.joints),
                "parts": list(p.parts),
            }
            for p in m.plies
        ],
        "bevels": [
            {
                "name": r.name,
                "run": r.run,
                "x": r.x,
                "bevel_deg": [float(np.degrees(b)) for b in r.bevels],
                "width": list(r.widths),
                "turn_deg": float(np.degrees(r.turn)),
            }
            for r in m.rows
        ],
        "glue": _glue(m.clamping),
        "end_cuts": [_end_cut(c) for c in m.cuts],
        "scarf": None if m.scarf is None else asdict(m.scarf),
        "former": None if m.former is None else {"springback_factor": m.springback_factor, **_drawn(m.former)},
    }


def _end_cut(cut: EndCut) -> Record:
    return {
        "end": cut.end,
        "on": cut.on,
        "angle_deg": float(np.degrees(cut.angle)),
        "face_deg": float(np.degrees(cut.face)),
        "side_deg": float(np.degrees(cut.side)),
    }


def _bend(b: Bend) -> Record:
    return {
        "radius_flat": b.flat,
        "radius_edge": b.edge,
        "twist_max_deg_per_m": float(np.degrees(b.twist) * 1000.0),
        "thickness_over_radius": b.ratio,
        "strength_factor": b.factor,
        "stress_mpa": b.stress,
        "edge_strain": b.edge_strain,
        "strain": b.strain,
        "tightest_at": b.at,
    }


def _glue(plan: Clamping | None) -> Record | None:
    if plan is None:
        return None
    return {
        "spacing": plan.spacing,
        "positions": list(plan.positions),
        "order": list(plan.order),
        "face_g": list(plan.face_g),
        "batches": [
            {"plies": list(b.plies), "clamps": b.clamps, "glue_g": b.glue_g, "minutes": b.minutes} for b in plan.batches
        ],
    }


def _drawn(pattern: Drawn) -> Record:
    return {
        "id": pattern.id,
        "lines": [
            {"kind": line.kind, "words": line.words, "closed": line.closed, "points": plain(line.points, FINE)}
            for line in pattern.lines
        ],
    }


def _sawn(s: Sawn) -> Record:
    return {
        "name": s.name,
        "where": s.where,
        "species": s.species,
        "thickness": s.thickness,
        "outline": plain(s.outline, FINE),
        "corner": plain(s.corner, FINE),
        "along": plain(s.along, 6),
        "up": plain(s.up, 6),
        "parts": [p.id for p in s.parts],
    }
