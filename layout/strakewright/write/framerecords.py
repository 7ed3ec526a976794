"""frames.json: frames, transoms and the set-up sheet as plain numbers and words.

Rings and points of frames are [y, z] in the station plane, those of transoms [u, v] in the transom's own face (u to
port, v up along the rake from the keel's outside).  Angles in degrees.  `mm` throughout.
"""

from __future__ import annotations

import numpy as np

from strakewright.frames import BevelAt, FramePiece, Framing, SawnFrame, SetUp, Spall, Transom, TransomFace
from strakewright.write.labels import Label
from strakewright.write.records import Record, document, plain

LOOKING = "looking forward, boat inverted: PORT is on your RIGHT"


def frames_document(framing: Framing) -> Record:
    """The whole file."""
    body = {
        "frames": [_frame(f) for f in framing.frames],
        "transoms": [_transom(t) for t in framing.transoms],
        "spalls": [_spall(s) for s in framing.spalls],
        "set_up": _set_up(framing.set_up) if framing.set_up else None,
    }
    return document("frames", body)


def frame_labels(framing: Framing) -> dict[str, Label]:
    """What is written on every part: which face lies up, and no arrow, for frames stand athwart the boat."""
    sides = {"port": "PORT", "starboard": "STBD", "centre": ""}
    found = {
        p.id: Label(sides[p.side], "inside", None, f"{p.kind}, {p.control_faces.upper()} face up")
        for f in framing.frames
        for p in f.pieces
    }
    found |= {s.id: Label("", "inside", None, f"cross spall of {s.frame}, comes off again") for s in framing.spalls}
    boards = {b.id: Label("", "inside", None, f"{t.name} {b.kind}") for t in framing.transoms for b in t.boards}
    return found | boards


def _spall(spall: Spall) -> Record:
    return {
        "id": spall.id,
        "frame": spall.frame,
        "outline": plain(spall.ring, 4),
        "thickness": spall.thickness,
        "species": spall.species,
    }


def _frame(frame: SawnFrame) -> Record:
    return {
        "id": frame.name,
        "x": frame.station,
        "control_face": frame.control_faces,
        "joint": frame.joint,
        "removal_mm2": plain(frame.removal, 1),
        "corners": {c.name: plain(c.at, 4) for c in frame.corners},
        "inside_of_planking": {panel: plain(line, 4) for panel, line in frame.lines.items()},
        "spall": None if frame.spall is None else {"z": frame.spall[0], "length": plain(frame.spall[1], 3)},
        "pieces": [_piece(p) for p in frame.pieces],
    }


def _piece(piece: FramePiece) -> Record:
    return {
        "id": piece.id,
        "kind": piece.kind,
        "side": piece.side,
        "species": piece.species,
        "thickness": piece.thickness,
        "control_face": piece.control_faces,
        "x_control": piece.x_control,
        "x_other": piece.x_other,
        "grain": plain(piece.grain, 6),
        "run_out_deg": float(np.degrees(piece.run_out)),
        "control": plain(piece.control, 4),
        "other": plain(piece.other, 4),
        "outline": plain(piece.outline, 4),
        "bevels": [_bevel(b) for b in piece.bevels],
        "notches": [
            {
                "member": n.member,
                "control": plain(n.control, 4),
                "other": plain(n.other, 4),
                "cut": plain(n.cut, 4),
                "clear": n.clear,
                "left": plain(n.left, 3),
            }
            for n in piece.notches
        ],
        "limbers": [plain(r, 4) for r in piece.limbers],
        "half_laps": [{"face": h.face, "ring": plain(h.ring, 4)} for h in piece.halves],
    }


def _bevel(bevel: BevelAt) -> Record:
    return {
        "place": bevel.name,
        "at": plain(bevel.at, 4),
        "bevel_deg": float(np.degrees(bevel.angle)),
        "square": bevel.square,
    }


def _transom(transom: Transom) -> Record:
    return {
        "id": transom.name,
        "rake_deg": float(np.degrees(transom.rake)),
        "radius": plain(transom.radius, 3),
        "off": plain(transom.off, 4),
        "thickness": transom.thickness,
        "species": transom.species,
        "inside": _face(transom.inside),
        "outside": _face(transom.outside),
        "outline": plain(transom.ring, 4),
        "cut_out": plain(transom.cut_out, 4),
        "opening": None if transom.cut_out is None else transom.opening,
        "doubling": plain(transom.doubling, 4),
        "doubling_thickness": transom.doubling_thickness,
        "boards": [{"id": b.id, "kind": b.kind, "outline": plain(b.ring, 4)} for b in transom.boards],
        "bevels": [_bevel(b) for b in transom.bevels],
    }


def _face(face: TransomFace) -> Record:
    corners = {name: {"flat": plain(at[:2], 4), "space": plain(at[2:], 4)} for name, at in face.corners.items()}
    return {"outline": plain(face.outline[::8], 4), "corners": corners}


def _set_up(sheet: SetUp) -> Record:
    return {
        "looking": LOOKING,
        "h_ref": sheet.h_ref,
        "fixed_points_x": list(sheet.points),
        "spall_z": sheet.spall_z,
        "rows": [
            {
                "id": row.name,
                "control_face": row.control_faces,
                "leg": plain(row.leg, 3),
                "spall": plain(row.spall, 3),
                "marks": {
                    name: {
                        "from_after_end": plain(row.at[name], 3),
                        "height": plain(row.heights[name], 3),
                        "half_breadth": plain(row.half_breadths[name], 3),
                        "diagonals": plain(row.diagonals.get(name), 3),
                    }
                    for name in row.heights
                },
            }
            for row in sheet.rows
        ],
    }
