"""Skins and members of exact hulls for the tests of members, and sticks of known bend."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from tests.acceptance.yard import settings_of
from tests.exact_meshes import Mesh

from strakewright.arrays import Floats
from strakewright.errors import Finding
from strakewright.loft.hulls import loft_hull
from strakewright.members import Bearing, Blank, Member, Swept
from strakewright.settings import BackboneSettings, BoatSettings, ChineSettings, MemberSettings, PlankingSettings
from strakewright.shop.inside import inside_of
from strakewright.shop.membering import Around, asked, members_of
from strakewright.shop.runs import edges
from strakewright.shop.swept import Skins
from strakewright.triangles import TriangleMesh

SIDE = PlankingSettings(panel="side", pattern="strakes", thickness=19.0, courses=4, start="sheer")
BOTTOM = PlankingSettings(panel="bottom", pattern="herringbone", thickness=9.5, layers=2, width=100.0)
NO_LOG, NO_KEELSON = ChineSettings(), BackboneSettings()


def skins_of(mesh: Mesh, *planking: PlankingSettings) -> Skins:
    """Both faces of the planking of an exact hull whose lines are to the outside."""
    boat = settings_of(planking)
    hull = loft_hull(TriangleMesh(*mesh), boat.hull, boat.name)
    return Skins.of(hull, inside_of(hull, planking), planking)


def members(
    skins: Skins,
    *wanted: MemberSettings,
    chine: ChineSettings = NO_LOG,
    backbone: BackboneSettings = NO_KEELSON,
    longest: float = 4000.0,
    boat: BoatSettings | None = None,
    seams: Mapping[str, Floats] | None = None,
) -> tuple[dict[str, Member], list[Finding]]:
    """Members by name, frames every 500 mm."""
    base = boat or settings_of((BOTTOM, SIDE))
    base = replace(base, members=wanted, chine=chine, backbone=backbone)
    frames = tuple((f"F{k}", 500.0 * k) for k in range(1, 12))
    around = Around(skins, base, frames, lambda _wood, _t: longest, seams or {})
    made, findings = members_of(around, asked(base, edges(skins.hull)))
    return {m.name: m for m in made}, findings


def stick(points: Floats, across: Floats, deep: Floats, width: float, depth: float) -> Swept:
    """A square stick: points (n, 3) of the middle of its outer face, unit vectors across and deep."""
    run = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))])
    half = width / 2 * across
    ring = np.stack([points - half, points - half + depth * deep, points + half + depth * deep, points + half], axis=1)
    return Swept(run, ring, Blank(points, across, deep, width, depth), (Bearing("side", 3, 0 * run),))


def ring_stick(radius: float, turn: float, width: float, depth: float, n: int = 121) -> Swept:
    """Bent round a circle in the x-z plane; `radius` of its outer face, concave side in."""
    a = np.linspace(0.0, turn, n)
    out = np.stack([np.sin(a), np.zeros(n), -np.cos(a)], axis=-1)
    return stick(radius * out, np.tile([0.0, 1.0, 0.0], (n, 1)), -out, width, depth)


def helix_stick(radius: float, climb: float, turn: float, width: float, depth: float, n: int = 241) -> Swept:
    """Laid round a cylinder about z, rising `climb` mm a radian; its outer face on the cylinder."""
    a = np.linspace(0.0, turn, n)
    out = np.stack([np.cos(a), np.sin(a), np.zeros(n)], axis=-1)
    points = radius * out + np.stack([np.zeros(n), np.zeros(n), climb * a], axis=-1)
    way = np.stack([-radius * np.sin(a), radius * np.cos(a), np.full(n, climb)], axis=-1) / np.hypot(radius, climb)
    return stick(points, np.cross(way, out), -out, width, depth)
