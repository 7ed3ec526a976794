"""Set-up of the boat upside down: where every frame stands on the strongback, and how its place is proved.

strongback    straight level ladder frame whose top lies at one height of the boat, h_ref
height        of a mark above the strongback: h_ref - z, for the boat stands on her sheer
leg           from the cross spall down to the strongback, the same for every frame
fixed points  two nails on the strongback's centreline, at its ends; a tape from each of them to a mark must read
              the same to port and to starboard

Looking forward with the boat inverted PORT is on your RIGHT: the mirror of what one is used to.
Source: derived; heights of strongback and spalls: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from strakewright.arrays import Floats
from strakewright.errors import Finding
from strakewright.frames import SawnFrame, SetUp, SetUpRow, Transom

UNDER_SHEER = 60.0  # mm the cross spall lies below the lowest sheer
CLEAR = 100.0  # mm at least between the highest sheer and the strongback
NOISE = 0.05  # mm a height may be off without moving the strongback
ROUND = 10.0  # mm the strongback's height is rounded up to


def set_up(
    frames: Sequence[SawnFrame], transoms: Sequence[Transom], spall_z: float | None, length: float
) -> tuple[SetUp, tuple[SawnFrame, ...], list[Finding]]:
    """The set-up sheet, and the frames with their cross spalls.

    spall_z : height all cross spalls lie at, None = just under the lowest sheer
    length : of the hull, mm; the strongback is as long
    """
    tops = [float(f.corner("sheer")[1]) for f in frames if _has(f, "sheer")]
    tops += [float(t.inside.corners["sheer"][4]) for t in transoms if "sheer" in t.inside.corners]
    h_ref = float(np.ceil((max(tops) + CLEAR - NOISE) / ROUND) * ROUND)
    level = spall_z if spall_z is not None else float(np.floor(min(tops) - UNDER_SHEER))
    braced = tuple(replace(f, spall=_spall(f, level)) for f in frames)
    points = (0.0, length)
    rows = [_frame_row(f, h_ref, points) for f in braced] + [_transom_row(t, h_ref, points) for t in transoms]
    rows.sort(key=lambda row: min(row.at.values()))
    return SetUp(h_ref, points, level, tuple(rows)), braced, _told(braced, level)


def _has(frame: SawnFrame, name: str) -> bool:
    return any(c.name == name for c in frame.corners)


def _spall(frame: SawnFrame, level: float) -> tuple[float, float] | None:
    """Height, and length between the frame's outer edges; None where the frame has no side at that height."""
    side = frame.lines.get("side")
    if side is None or not side[0, 1] + 30.0 < level < side[-1, 1]:
        return None
    return level, 2 * float(np.interp(level, side[:, 1], side[:, 0]))


def _frame_row(frame: SawnFrame, h_ref: float, points: tuple[float, float]) -> SetUpRow:
    marks = {c.name: np.array([frame.station, *c.at]) for c in frame.corners}
    leg = None if frame.spall is None else h_ref - frame.spall[0]
    return _row(frame.name, frame.control_faces, marks, h_ref, points, (leg, frame.spall and frame.spall[1]))


def _transom_row(transom: Transom, h_ref: float, points: tuple[float, float]) -> SetUpRow:
    marks = {name: at[2:] for name, at in transom.inside.corners.items()}
    faces = "aft" if transom.name.startswith("bow") else "forward"
    return _row(transom.name, faces, marks, h_ref, points, (None, None))


def _row(
    name: str,
    faces: str,
    marks: dict[str, Floats],
    h_ref: float,
    points: tuple[float, float],
    spall: tuple[float | None, float | None],
) -> SetUpRow:
    nails = [np.array([x, 0.0, h_ref]) for x in points]
    return SetUpRow(
        name,
        faces,  # type: ignore[arg-type]
        {m: float(at[0]) for m, at in marks.items()},
        {m: h_ref - float(at[2]) for m, at in marks.items()},
        {m: abs(float(at[1])) for m, at in marks.items()},
        {
            m: (float(np.linalg.norm(at - nails[0])), float(np.linalg.norm(at - nails[1])))
            for m, at in marks.items()
            if m != "keel"
        },
        *spall,
    )


def _told(frames: Sequence[SawnFrame], level: float) -> list[Finding]:
    without = [f.name for f in frames if f.spall is None]
    if not without:
        return []
    return [
        Finding(
            "spall-misses",
            "note",
            ", ".join(without),
            f"at height z {level:.0f} these frames have no sides to fasten a cross spall to",
            "Set them up from their keel and sheer marks, or set [frames] spall_z",
        )
    ]
