"""Proof that the planks make the boat, worked out again from the planks as they will be cut.

seam        neighbours must list the same points, as long in the flat as in space
girth       round a station, the widths of all planks of a layer must add up to the skin's own girth
area        flat planks of a layer against the area of the skin
border      round the panel one plank begins where another ends: with seams that are one line the planks of a layer
            then cover it once, without gap or overlap
mirror      port and starboard must be the same numbers; a plank over the keel is its own mirror image; where joints are
            shifted to starboard, said so, the whole courses must be each other's mirror image

Everything here is measured on the finished planks (flat rings, marks, seams); nothing is taken from the room that
made them.  The girths and areas they are held against come from the skins by another route (`sections`).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import shapely

from strakewright.arrays import Floats
from strakewright.errors import Check, at_most
from strakewright.parts import Margin, Plank

SEAM_LENGTH = 0.05
SEAM_GAP = 1e-6
GIRTH = 0.3
AREA_PERMILLE = 0.5
BORDER = 0.1

Course = tuple[str, int, int]
"""Panel, layer and number of a course."""


@dataclass(frozen=True, eq=False)
class LayerTruth:
    """What a layer must add up to.  girths : frame name -> mm round the skin (port);  area : mm2 (port)
    shifted : courses whose pieces have no mates, since they are joined in other places to starboard"""

    panel: str
    layer: int
    girths: dict[str, float]
    area: float
    shifted: tuple[int, ...] = ()


def closure(planks: Iterable[Plank], truths: Iterable[LayerTruth]) -> tuple[Check, ...]:
    """Every check of fit, over all planks."""
    planks, truths = list(planks), list(truths)
    shifted = {(t.panel, t.layer, course) for t in truths for course in t.shifted}
    by_layer: dict[tuple[str, int], list[Plank]] = defaultdict(list)
    for plank in planks:
        if plank.on_port:
            by_layer[plank.panel, plank.layer].append(plank)
    checks = [_seam_lengths(planks), _shared_seams(planks), _rings(planks), _mirror(planks, shifted)]
    if shifted:
        checks.append(_whole_courses(planks, shifted))
    for truth in truths:
        mine = by_layer[truth.panel, truth.layer]
        label = f"{truth.panel} layer {truth.layer}"
        checks += _covered(label, mine, truth)
        if truth.shifted:
            there = [p for p in planks if (p.panel, p.layer) == (truth.panel, truth.layer) and p.side != "port"]
            checks += _covered(f"{label} starboard", there, truth)
    return tuple(checks)


def _covered(label: str, planks: list[Plank], truth: LayerTruth) -> list[Check]:
    """Whether the planks of one side make up the skin."""
    return [_girths(label, planks, truth.girths), _area(label, planks, truth.area), _border(label, planks)]


def _margins(plank: Plank) -> tuple[Margin, ...]:
    return (plank.first, plank.second, *plank.ends)


def _run(points: Floats) -> float:
    return float(np.linalg.norm(np.diff(points, axis=0), axis=-1).sum())


def _seam_lengths(planks: list[Plank]) -> Check:
    """Seams keep their length in the flat; other margins do so but for the strain of laying the plank flat."""
    worst = 0.0
    for p in planks:
        for m in _margins(p):
            strain = 0.0 if m.meets == "seam" else p.fit.strain_max
            worst = max(worst, abs(_run(m.seam) - _run(m.flat)) - strain * _run(m.seam))
    return at_most("edge length in the flat against the boat", max(worst, 0.0), SEAM_LENGTH, "mm")


def _shared_seams(planks: list[Plank]) -> Check:
    """Every listed seam point of a plank lies on the line of a plank of another course, and some of an edge's are
    listed by the plank it names as its neighbour too: the seams of neighbours are one line."""
    worst = 0.0
    for side, sign in (("port", 1.0), ("starboard", -1.0)):
        layers: dict[tuple[str, int], list[_Seam]] = defaultdict(list)
        for p in (p for p in planks if p.side in (side, "both")):
            for edge in (e for e in _margins(p) if e.meets == "seam"):
                here = edge.seam if p.side == side else edge.seam[sign * edge.seam[:, 1] >= -1e-6]
                if len(here):
                    layers[p.panel, p.layer].append(_Seam(p.id, p.course, edge.neighbour, here))
        worst = max([worst, *(_loneliest(seams) for seams in layers.values())])
    return at_most("seam points shared by neighbours", worst, SEAM_GAP, "mm")


@dataclass(frozen=True, eq=False)
class _Seam:
    """A stretch of a plank's ring on a seam.  points : (n, 3) mm"""

    plank: str
    course: int
    neighbour: str | None
    points: Floats

    def near(self, other: _Seam) -> bool:
        """Whether the boxes of both come within a millimetre."""
        low = np.maximum(self.points.min(axis=0), other.points.min(axis=0))
        high = np.minimum(self.points.max(axis=0), other.points.max(axis=0))
        return bool((low <= high + 1.0).all())


def _loneliest(seams: list[_Seam]) -> float:
    """Largest distance from a point to the lines of other courses, or from an edge to the neighbour it names."""
    worst = 0.0
    for mine in seams:
        beside = [s for s in seams if s.course != mine.course and mine.near(s)]
        if not beside:
            return float("inf")
        gaps = [np.linalg.norm(mine.points[:, None] - s.points[None], axis=-1) for s in beside]
        apart = np.min([g.min(axis=1) for g in gaps], axis=0)
        alone = apart > SEAM_GAP  # corners of joints, which the other course may list a hair along its line
        worst = max(worst, float(apart[~alone].max(initial=0.0)))
        if alone.any():
            worst = max(worst, _off_lines([mine.points[alone]], [s.points for s in beside]))
        named = [float(g.min()) for g, s in zip(gaps, beside, strict=True) if s.plank == mine.neighbour]
        worst = max(worst, min(named, default=float("inf")))
    return worst


def _rings(planks: list[Plank]) -> Check:
    """Edges and ends together make the whole ring: perimeters agree."""
    worst = 0.0
    for p in planks:
        ring = _run(np.concatenate([p.net_outline, p.net_outline[:1]]))
        worst = max(worst, abs(ring - sum(_run(m.flat) for m in _margins(p))))
    return at_most("edges and ends make the ring", worst, 0.01, "mm")


def _mirror(planks: list[Plank], shifted: set[Course]) -> Check:
    by_id = {p.id: p for p in planks}
    worst = 0.0
    for p in planks:
        if p.side == "both":
            worst = max(worst, _lopsided(p.outline))
            continue
        if p.mate is None and (p.panel, p.layer, p.course) in shifted:
            continue
        mate = by_id.get(p.mate or "")
        if mate is None or mate.net_outline.shape != p.net_outline.shape or mate.face_up == p.face_up:
            worst = float("inf")
            continue
        flat = float(np.abs(mate.outline - p.outline).max())
        space = float(np.abs(mate.first.seam * [1, -1, 1] - p.first.seam).max())
        worst = max(worst, flat, space)
    return at_most("mirror pairs", worst, 1e-9, "mm")


def _whole_courses(planks: list[Plank], shifted: set[Course]) -> Check:
    """Rims of whole courses whose joints are shifted, the joints left out, against the other side's, both ways."""
    worst = 0.0
    for course in sorted(shifted):
        mine = [p for p in planks if (p.panel, p.layer, p.course) == course]
        port, starboard = (_rim(mine, side) for side in ("port", "starboard"))
        if not port or not starboard:
            worst = float("inf")
            continue
        over = [run * [1.0, -1.0, 1.0] for run in starboard]
        worst = max(worst, _off_lines(port, over), _off_lines(over, port))
    return at_most("courses joined unlike are whole alike", worst, SEAM_LENGTH, "mm")


def _rim(planks: list[Plank], side: str) -> list[Floats]:
    return [m.seam for p in planks if p.side == side for m in _margins(p) if m.meets not in ("scarf", "butt")]


def _off_lines(rows: list[Floats], lines: list[Floats]) -> float:
    """Largest distance from a point of `rows` to the nearest of `lines`."""
    spots, starts = np.concatenate(rows)[:, None], np.concatenate([line[:-1] for line in lines])
    ways = np.concatenate([np.diff(line, axis=0) for line in lines])
    share = ((spots - starts) * ways).sum(axis=-1) / np.maximum((ways**2).sum(axis=-1), 1e-12)
    gaps = spots - starts - np.clip(share, 0.0, 1.0)[..., None] * ways
    return float(np.linalg.norm(gaps, axis=-1).min(axis=1).max())


def _lopsided(ring: Floats) -> float:
    """How far a ring is from its own mirror image across the middle of its length."""
    over = np.array([-1.0, 1.0]) * ring + [ring[:, 0].min() + ring[:, 0].max(), 0.0]
    return float(np.linalg.norm(ring[:, None] - over[None], axis=-1).min(axis=1).max())


def _girths(label: str, planks: list[Plank], girths: dict[str, float]) -> Check:
    worst = 0.0
    for frame, girth in girths.items():
        parts = [_width(p, m.points) for p in planks for m in p.marks if m.kind == "frame" and m.name == frame]
        worst = max(worst, abs(sum(parts) - girth))
    return at_most(f"widths round each frame add up to the girth, {label}", worst, GIRTH, "mm")


def _width(plank: Plank, mark: Floats) -> float:
    """Length of a mark inside the net plank; of one that runs over the keel the half."""
    share = 0.5 if plank.side == "both" else 1.0
    return share * float(shapely.LineString(mark).intersection(shapely.Polygon(plank.net_outline).buffer(1e-6)).length)


def _area(label: str, planks: list[Plank], area: float) -> Check:
    flat = sum(shapely.Polygon(p.net_outline).area * (0.5 if p.side == "both" else 1.0) for p in planks)
    return at_most(
        f"flat planks against the skin's area, {label}", 1000 * abs(flat / area - 1), AREA_PERMILLE, "permille"
    )


def _border(label: str, planks: list[Plank]) -> Check:
    """Largest distance from where a plank's stretch of the border ends to where the nearest other stretch does."""
    stretches = [m.seam[[0, -1]] for p in planks for m in _margins(p) if m.border is not None]
    worst = float("inf")
    if len(stretches) > 1:
        ends, mine = np.concatenate(stretches), np.arange(2 * len(stretches)) // 2
        gaps = np.linalg.norm(ends[:, None] - ends[None], axis=-1)
        gaps[mine[:, None] == mine[None]] = np.inf
        worst = float(gaps.min(axis=1).max())
    return at_most(f"planks follow one another round the border, {label}", worst, BORDER, "mm")
