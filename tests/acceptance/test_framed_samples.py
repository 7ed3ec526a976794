"""Frames of the sample boats with members through them: as solids they have nothing in common.

Every frame is sawn with pared notches; its solid is cut with each member's by an independent library (manifold3d).
What is left over may be a shaving of a tenth of a millimetre over a notch's face; without notches it is thousands of
times as much.  Sallow always, the others with STRAKEWRIGHT_SAMPLES=all.
"""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import trimesh

from strakewright.frames import FramePiece
from strakewright.job.backboned import backbone_of
from strakewright.job.building import frames_of
from strakewright.job.framing import frame_hull, framing_figures
from strakewright.job.inputs import hull_of, load
from strakewright.members import Member
from strakewright.proof.framing import judge_frames
from strakewright.settings import BoatSettings, ChineSettings, MemberSettings
from strakewright.shop.framebodies import piece_body

SAMPLES = Path(__file__).parents[2] / "sample_hulls"
LONG = pytest.mark.skipif(os.environ.get("STRAKEWRIGHT_SAMPLES") != "all", reason="set STRAKEWRIGHT_SAMPLES=all")
SHAVING = 100.0  # mm3 of one piece and one member: 0.1 mm over 32 x 30
BATTENS = (
    MemberSettings("battenA", "bottom@0.33", 30.0, 18.0),
    MemberSettings("battenB", "bottom@0.66", 30.0, 18.0),
)
STEM = MemberSettings("stem", "stem", 60.0, 60.0)
CASES = [
    ("sallow/boat.toml", 20.0, (MemberSettings("clamp", "sheer", 35.0, 20.0),)),
    pytest.param(
        "teasel/boat-enough.toml", 25.0, (MemberSettings("clamp", "sheer", 45.0, 25.0), *BATTENS, STEM), marks=LONG
    ),
    pytest.param("dunlin/boat.toml", 20.0, (MemberSettings("clamp", "sheer", 35.0, 18.0),), marks=LONG),
    pytest.param("corncrake/boat.toml", 30.0, (MemberSettings("clamp", "sheer", 45.0, 25.0), STEM), marks=LONG),
]


def membered(boat: BoatSettings, log: float, members: tuple[MemberSettings, ...]) -> BoatSettings:
    back = replace(boat.backbone, keelson_sided=70.0, keelson_moulded=30.0)
    frames = boat.frames if boat.frames.sided else replace(boat.frames, sided=25.0, moulded=80.0)  # Dunlin's are moulds
    return replace(boat, frames=frames, backbone=back, chine=ChineSettings(log=log), members=members)


def solid(member: Member) -> trimesh.Trimesh:
    """Quads from station to station, two lids; turned outwards whichever way its corners run."""
    corners = member.swept.corners
    n, k, _ = corners.shape
    i, j = np.meshgrid(np.arange(n - 1), np.arange(k), indexing="ij")
    a, b = i * k + j, i * k + (j + 1) % k
    walls = np.concatenate([np.stack([a, b, b + k], -1).reshape(-1, 3), np.stack([a, b + k, a + k], -1).reshape(-1, 3)])
    ring = np.arange(k)
    after = (ring + 1) % k
    lids = [np.stack([np.full(k, n * k), after, ring], -1)]
    lids.append(np.stack([np.full(k, n * k + 1), (n - 1) * k + ring, (n - 1) * k + after], -1))
    points = np.concatenate([corners.reshape(-1, 3), corners[[0]].mean(axis=1), corners[[-1]].mean(axis=1)])
    mesh = trimesh.Trimesh(points, np.concatenate([walls, *lids]), process=False)
    if mesh.volume < 0:
        mesh.invert()
    return mesh


def common(piece: FramePiece, wood: trimesh.Trimesh) -> float:
    body = piece_body(piece)
    mesh = trimesh.Trimesh(body.vertices, body.triangles, process=False)
    assert mesh.is_watertight, piece.id
    if mesh.bounds[1, 0] < wood.bounds[0, 0] or mesh.bounds[0, 0] > wood.bounds[1, 0]:
        return 0.0
    both = trimesh.boolean.intersection([mesh, wood])
    if both.is_empty:
        return 0.0
    a, b, c = np.moveaxis(both.triangles, 1, 0)  # not `volume`: that asks for a middle, which a sliver of nothing lacks
    return float((a * np.cross(b, c)).sum() / 6.0)


@pytest.mark.parametrize(("name", "log", "members"), CASES)
def test_frames_clear_the_members(name: str, log: float, members: tuple[MemberSettings, ...]) -> None:
    inputs = load(SAMPLES / name, None)
    boat = membered(inputs.boat, log, members)
    inputs = replace(inputs, boat=boat)
    hull = hull_of(inputs)
    frames = frames_of(boat.frames, hull, boat.hull.measure_from)
    inner = [m for m in backbone_of(inputs, hull, frames, ()).members if m.place == "inside"]
    framing = frame_hull(boat, hull, frames, inner).framing
    assert all(c.holds for c in judge_frames(framing, inner))
    woods = {m.name: solid(m) for m in inner}
    pieces = [p for f in framing.frames for p in f.pieces if p.side != "starboard"]
    assert sum(len(p.notches) for p in pieces) > 2 * len(framing.frames)
    for p in pieces:
        for wood in woods.values():
            assert common(p, wood) < SHAVING, p.id
    figures = framing_figures(framing, boat)
    assert figures["strongback"]["sheer_check"] < 1e-9
    for row in figures["frames"]:
        for panel, (least, most) in row["deduction"].items():  # planking is never thinner than itself
            thick = next(s.total for s in boat.planking if s.panel == panel)
            assert thick - 1e-9 <= least <= most
    bare = frame_hull(boat, hull, frames, ()).framing
    assert sum(common(p, w) for p in bare.frames[2].pieces for w in woods.values()) > 1e4
