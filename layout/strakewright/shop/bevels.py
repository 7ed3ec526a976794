"""How every edge and end of a plank is cut through its thickness.

bevel     angle in the plane square to the edge, from square to the face; + = the inside face is the narrower
fold      angle between two neighbouring planks; half of it is planed off each edge
land      flat at the stem that the cap is glued to: hood ends are cut square to the centreline plane there
lap       chine joint: the bottom runs over the side's lower edge;  mitre : both edges cut to the same plane
butt      chine joint: the side's lower edge is square, the bottom's edge takes the whole fold
rabbet    groove in the stem: hood ends are cut square to their face and stand in it
shift     how far the finished edge lies outside (+) or inside (-) the net edge at mid-thickness, mm

Source: derived (solid geometry of planes through an edge); closed forms for wedge, V-bottom and chine:
DEVELOPERS.md, "Trade rules in the code".
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from strakewright.arrays import Floats
from strakewright.geometry.surface import Patch, foot_points, normal_curvature
from strakewright.hull import Hull, Panel
from strakewright.settings import BackboneSettings, ChineSettings, PlankingSettings
from strakewright.shop.shapes import Run

STEEPEST = np.radians(85.0)
BUTT_FROM = np.radians(120.0)  # a corner sharper than this is mitred where a butt is asked for
ATHWART = 0.5  # share of y in an end's direction above which it is a flat bow, not a stem
X, Y = np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0])


@dataclass(frozen=True, eq=False)
class Cut:
    """bevel : (n,) radians;  shift : (n,) mm;  fold : (n,) radians, of a seam."""

    bevel: Floats
    shift: Floats
    fold: Floats | None = None


@dataclass(frozen=True, eq=False)
class Corner:
    """A chine.

    points : (n, 3) of the described surface, aft to forward;  theta : (n,) angle inside the boat between the panels
    below, above : total planking thickness and how much of it lies outside the described surface
    mitre_from : x forward of which the joint is `forward` (inf: lapped all along, -inf: mitred all along)
    """

    name: str
    points: Floats
    theta: Floats
    below: tuple[float, float]
    above: tuple[float, float]
    mitre_from: float
    forward: Literal["mitre", "butt"] = "mitre"


@dataclass(frozen=True, eq=False)
class Surroundings:
    """What the planks of one boat meet: chines by name, the planes of its transoms, how the stem is finished."""

    corners: dict[str, Corner]
    transoms: dict[str, Floats]
    backbone: BackboneSettings


def surroundings(
    hull: Hull, planking: tuple[PlankingSettings, ...], backbone: BackboneSettings, chine: ChineSettings | None = None
) -> Surroundings:
    """Chine angles and transom planes of a hull."""
    thick = {p.panel: _thickness(p, hull) for p in planking}
    corners = {}
    for below, above in zip(hull.panels[:-1], hull.panels[1:], strict=True):
        corner = _corner(below, above, thick, chine or ChineSettings())
        corners[corner.name] = corner
    return Surroundings(corners, _transom_planes(hull), backbone)


def _thickness(p: PlankingSettings, hull: Hull) -> tuple[float, float]:
    return p.total, p.outside_of(hull.surface)


def _corner(below: Panel, above: Panel, thick: dict[str, tuple[float, float]], chine: ChineSettings) -> Corner:
    points = below.in_space(below.upper)
    n_below = below.patch.normal(below.upper.chart)
    start = _resampled(above.lower.chart, len(points))
    n_above = above.patch.normal(foot_points(above.patch, points, start))
    theta = np.pi - np.arccos(np.clip((n_below * n_above).sum(axis=-1), -1.0, 1.0))
    limit = np.radians(chine.lap_limit_deg)
    mitre_from = -np.inf if chine.joint == "mitre" else _first_over(points[:, 0], theta, limit)
    square = (0.0, 0.0)
    return Corner(
        below.upper.name,
        points,
        theta,
        thick.get(below.name, square),
        thick.get(above.name, square),
        mitre_from,
        chine.forward_joint,
    )


def _first_over(x: Floats, theta: Floats, limit: float) -> float:
    """Aftmost x where the chine opens past the limit of a lap; inf when it never does."""
    over = np.nonzero(theta > limit)[0]
    if not len(over):
        return np.inf
    i = int(over[0])
    if i == 0:
        return float(x[0])
    part = (limit - theta[i - 1]) / (theta[i] - theta[i - 1])
    return float(x[i - 1] + part * (x[i] - x[i - 1]))


def _resampled(points: Floats, n: int) -> Floats:
    run = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=-1))])
    at = np.linspace(0.0, run[-1], n)
    return np.stack([np.interp(at, run, points[:, k]) for k in (0, 1)], axis=-1)


def _transom_planes(hull: Hull) -> dict[str, Floats]:
    """Unit normal of the plane through each transom's border points (both sides of the boat)."""
    planes = {}
    for name, way in (("transom", -1.0), ("bow transom", 1.0)):
        points = [p.in_space(b) for p in hull.panels for b in (p.aft, p.forward) if b is not None and b.name == name]
        if points:
            half = np.concatenate(points)
            both = np.concatenate([half, half * np.array([1.0, -1.0, 1.0])])
            _, _, axes = np.linalg.svd(both - both.mean(axis=0), full_matrices=False)
            normal = axes[2]
            planes[name] = normal if normal[0] * way > 0 else -normal
    return planes


@dataclass(frozen=True, eq=False)
class Edge:
    """Frame of axes along a run: tangent, plank's outward normal, and the way out of the plank in its face."""

    tangent: Floats
    normal: Floats
    away: Floats


def edge_frame(patch: Patch, run: Run, up: int) -> Edge:
    """(n, 3) unit vectors at every point of a run."""
    tangent = np.gradient(run.space, axis=0)
    tangent /= np.linalg.norm(tangent, axis=-1, keepdims=True)
    normal = patch.normal(run.chart)
    away = -up * np.cross(tangent, normal)
    return Edge(tangent, normal, away / np.linalg.norm(away, axis=-1, keepdims=True))


def plane_bevel(edge: Edge, lying: Floats) -> Floats:
    """Bevel of a cut that holds the edge and the direction `lying` ((3,) or (n, 3))."""
    lean, through = (lying * edge.away).sum(axis=-1), (lying * edge.normal).sum(axis=-1)
    sign = np.where(through < 0, -1.0, 1.0)
    return np.asarray(np.clip(np.arctan2(sign * lean, sign * through), -STEEPEST, STEEPEST))


def curvature_across(patch: Patch, chart: Floats, way: Floats) -> Floats:
    """Normal curvature in the direction `way` (n, 3), + = the surface bends towards the inside."""
    _, r_p, r_q = patch.jet1(chart)
    return normal_curvature(patch, chart, chart_direction(r_p, r_q, way))


def chart_direction(r_p: Floats, r_q: Floats, way: Floats) -> Floats:
    """(n, 2) chart vectors whose image is the tangent direction `way` (n, 3)."""
    e, f, g = (r_p * r_p).sum(-1), (r_p * r_q).sum(-1), (r_q * r_q).sum(-1)
    a, b = (way * r_p).sum(-1), (way * r_q).sum(-1)
    det = e * g - f * f
    return np.stack([(g * a - f * b) / det, (e * b - f * a) / det], axis=-1)


def border_cut(run: Run, edge: Edge, around: Surroundings, depth: float, total: tuple[float, float]) -> Cut:
    """Bevel and shift where a run lies on a border of the panel.

    depth : of this layer's middle below the outside of all planking;  total : thickness of all layers of this
    panel, and how much of it lies outside the described surface
    """
    still = np.zeros(len(run.chart))
    if run.name == "keel":
        return Cut(plane_bevel(edge, np.cross(edge.tangent, Y)), still)
    if run.name in around.transoms:
        return Cut(plane_bevel(edge, np.cross(edge.tangent, around.transoms[run.name])), still)
    if run.name == "stem":
        return _hood_end(run, edge, around.backbone, depth, total)
    return Cut(still, still)


def _hood_end(run: Run, edge: Edge, backbone: BackboneSettings, depth: float, total: tuple[float, float]) -> Cut:
    """Cap: cut to a land square to the centreline plane.  Where the border lies on the centreline the land is
    cut back until the planking's inside stands half the inner stem's face off it; else it passes through the
    border on the outside."""
    still = np.zeros(len(run.chart))
    on_centreline = np.abs(run.space[:, 1]).max() < 1e-3
    if backbone.stem_end == "lap" and on_centreline:
        return Cut(plane_bevel(edge, np.cross(edge.tangent, Y)), still)
    if np.abs(edge.tangent @ Y).mean() > ATHWART:  # a flat bow: the end runs across the boat
        return Cut(plane_bevel(edge, np.cross(edge.tangent, X)), still)
    bevel = plane_bevel(edge, np.broadcast_to(Y, edge.tangent.shape))
    if backbone.stem_end == "rabbet":
        return Cut(still, _to_rabbet(bevel, backbone, depth) if on_centreline else still)
    if not on_centreline:
        return Cut(bevel, -(depth - total[1]) * np.tan(bevel))
    half_angle = np.clip(-bevel, np.radians(3.0), np.radians(87.0))
    inside = (total[0] - depth) / np.cos(half_angle)
    if backbone.half_siding is not None:  # the land's half width is given: the stem keeps what the planking leaves
        face = np.maximum(backbone.half_siding - total[0] / np.cos(half_angle), 0.0)
        return Cut(bevel, -(face + inside) / np.sin(half_angle))
    return Cut(bevel, -(backbone.stem_face_min / 2 + inside) / np.sin(half_angle))


def _to_rabbet(bevel: Floats, backbone: BackboneSettings, depth: float) -> Floats:
    """How far an end that is square to the face is moved so that the planking's outside stops at the rabbet line."""
    half_angle = np.clip(-bevel, np.radians(3.0), np.radians(87.0))
    siding = backbone.half_siding if backbone.half_siding is not None else backbone.stem_face_min / 2
    return np.asarray(-(siding - depth * np.cos(half_angle)) / np.sin(half_angle))


def chine_cut(run: Run, corner: Corner, depth: float, is_above: bool, mitred: bool) -> Cut:
    """Lap, mitre or butt at the chine: u(s) = distance of the cut from the outer corner at depth s, straight in s."""
    theta = np.interp(run.space[:, 0], corner.points[:, 0], corner.theta)
    sin, cos = np.sin(theta), np.cos(theta)
    mine, other = (corner.above, corner.below) if is_above else (corner.below, corner.above)
    if mitred and corner.forward == "butt" and np.isfinite(corner.mitre_from) and theta.min() > BUTT_FROM:
        side, bottom = (mine, other) if is_above else (other, mine)
        inside = (bottom[0] + side[0] * cos) / sin  # the side is square on the inner corner, the bottom takes the fold
        slope, start = (0.0 * theta, inside) if is_above else (-sin / cos, inside / cos)
    elif mitred:
        slope, start = (other[0] + mine[0] * cos) / (mine[0] * sin), 0.0 * theta
    elif is_above:
        slope, start = cos / sin, other[0] / sin
    else:
        slope, start = cos / sin, 0.0 * theta
    outer_corner = (other[1] + mine[1] * cos) / sin
    return Cut(np.arctan(slope), -(start + slope * depth - outer_corner))
