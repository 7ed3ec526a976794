"""Where a panel bends, twists and resists laying flat; and the body plan.

bend      t / 2 R along the planks: stretch of the outer face, from the normal curvature of the panel
twist     t x turn per length along the planks: shear of the faces, from the geodesic torsion
strain    K w2 / 8: how much shorter the middle of a plank is than its edges, from the Gaussian curvature
stroke    a cell of the map where the figure is above "easy"; crossed strokes: above "firm"
body plan sections at the frames: the after half of the boat at the left, the forward half at the right

Formulas: differential geometry of a strip on a surface, derived; see the table of limits for what easy and firm are.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from strakewright.arrays import Floats
from strakewright.geometry.outlines import clip_lines, contains, thin_line
from strakewright.geometry.sections import section
from strakewright.geometry.surface import gauss_curvature, geodesic_twist, normal_curvature
from strakewright.hull import Panel
from strakewright.settings import PlankingSettings
from strakewright.write.pen import Pen, Role
from strakewright.write.wordplaces import name_tips

CELL = 4.0  # mm on the page
FIGURE = 5.0
# easy, firm: half of t/R 1/200 and 1/100, shear of twist (limits of the verdicts); strain: common practice, no source
USUAL: Mapping[str, tuple[float, float]] = {"bend": (0.0025, 0.005), "twist": (0.002, 0.005), "strain": (0.0002, 0.001)}
_SPELLED = {
    "bend": "BEND, stretch of the outer face t / 2R",
    "twist": "TWIST, shear at the faces",
    "strain": "STRAIN of laying planks flat, K w2 / 8",
}


@dataclass(frozen=True, eq=False)
class PanelMap:
    """One figure over one panel.  ring : (n, 2) its chart, mm;  grid : (k, 2) chart points inside;  values : (k,) at
    them, fractions;  lines : frame name -> its line in the chart;  limits : easy and firm up to, fractions"""

    panel: str
    figure: str
    ring: Floats
    grid: Floats
    values: Floats
    lines: tuple[tuple[str, Floats], ...]
    step: float
    limits: tuple[float, float]

    @property
    def worst(self) -> float:
        return float(self.values.max()) if len(self.values) else 0.0

    def caption(self) -> str:
        """What is drawn, the largest figure and what strokes mean."""
        easy, firm = (100 * v for v in self.limits)
        told = f"at most {100 * self.worst:.2g} %"
        return f"{self.panel}: {_SPELLED[self.figure]}: {told}; stroke above {easy:g} %, crossed above {firm:g} %."


def maps_of(
    panel: Panel,
    settings: PlankingSettings,
    width: float,
    frames: Sequence[tuple[str, float]],
    wide: float,
    limits: Mapping[str, tuple[float, float]] = USUAL,
) -> tuple[PanelMap, ...]:
    """Bend, twist and strain of one panel in planks of the given settings.

    width : mm of a plank;  wide : mm on the page that the panel's length takes;  limits : figure -> easy and firm up
    to, as fractions, of the wood they are made of
    """
    ring = np.concatenate([points[:-1] for _, points in panel.ring()])
    low, high = ring.min(axis=0), ring.max(axis=0)
    step = CELL * float(high[0] - low[0]) / wide
    p, q = (np.arange(a + step / 2, b, step) for a, b in zip(low, high, strict=True))
    grid = np.stack(np.meshgrid(p, q, indexing="ij"), axis=-1).reshape(-1, 2)
    grid = grid[contains(ring, grid)]
    angle = np.deg2rad(settings.angle_deg) if settings.pattern != "strakes" else 0.0
    ways = [np.array([np.cos(a), np.sin(a)]) for a in ((angle, -angle) if angle and settings.layers > 1 else (angle,))]
    thick = settings.thickness
    values = {
        "bend": _worst(lambda way: thick / 2 * np.abs(normal_curvature(panel.patch, grid, way)), ways, len(grid)),
        "twist": _worst(lambda way: thick * np.abs(geodesic_twist(panel.patch, grid, way)), ways, len(grid)),
        "strain": np.abs(gauss_curvature(panel.patch, grid)) * width**2 / 8,
    }
    lines = tuple((name, line) for name, x in frames for line in section(panel.patch, ring, x)[:1])
    return tuple(PanelMap(panel.name, name, ring, grid, v, lines, step, limits[name]) for name, v in values.items())


def _worst(figure: Callable[[Floats], Floats], ways: Sequence[Floats], count: int) -> Floats:
    """The larger of both layers' figures."""
    rows = [figure(np.broadcast_to(way, (count, 2))) for way in ways]
    return np.asarray(np.max(rows, axis=0))


def draw_map(pen: Pen, drawn: PanelMap, wide: float) -> None:
    """The map with its lower left corner at (0, 8): outline, strokes, frames with their names below."""
    low = drawn.ring.min(axis=0)
    scale = wide / float(np.ptp(drawn.ring[:, 0]))

    def seen(points: Floats) -> Floats:
        return np.asarray((points - low) * scale + [0.0, 8.0])

    pen.polyline(seen(drawn.ring), closed=True, role=Role.CUT_OUTSIDE)
    for name, line in drawn.lines:
        for piece in clip_lines(line, drawn.ring):
            pen.polyline(seen(piece), closed=False, role=Role.SCRIBE)
        foot = seen(line)[int(np.argmin(line[:, 1]))]
        spot = np.array([foot[0], 3.0])
        pen.text(spot, name, height=FIGURE, turn=0, anchor="middle", role=Role.LABEL)
    half = 0.32 * CELL
    for at, value in zip(seen(drawn.grid), drawn.values, strict=True):
        strokes = int(value > drawn.limits[0]) + int(value > drawn.limits[1])
        for sign in (1.0, -1.0)[:strokes]:
            arm = np.array([half, sign * half])
            pen.polyline(np.stack([at - arm, at + arm]), closed=False, role=Role.LABEL)


def map_height(drawn: PanelMap, wide: float) -> float:
    """mm on the page."""
    return float(np.ptp(drawn.ring[:, 1])) * wide / float(np.ptp(drawn.ring[:, 0])) + 10.0


def body_sections(
    panels: Sequence[Panel], frames: Sequence[tuple[str, float]]
) -> list[tuple[str, float, list[Floats]]]:
    """Name, x and lines (n, 2) of y and z of each frame's port half, keel to sheer."""
    rings = [(panel, np.concatenate([points[:-1] for _, points in panel.ring()])) for panel in panels]
    found = []
    for name, x in frames:
        lines = [panel.patch.at(line)[:, 1:] for panel, ring in rings for line in section(panel.patch, ring, x)]
        lines = [thin_line(line, 0.2, 1e4) for line in lines]
        if lines:
            found.append((name, x, lines))
    return found


def draw_body_plan(pen: Pen, rows: Sequence[tuple[str, float, list[Floats]]], wide: float, tall: float) -> None:
    """The body plan within wide x tall mm, its lower left corner at (0, 0)."""
    every = np.concatenate([line for _, _, lines in rows for line in lines])
    middle = (rows[0][1] + rows[-1][1]) / 2
    reach, low, high = float(every[:, 0].max()), float(every[:, 1].min()), float(every[:, 1].max())
    scale = min((wide - 30.0) / (2 * reach), (tall - 18.0) / (high - low))
    centre = np.array([wide / 2, 4.0])
    tips: dict[float, list[tuple[str, Floats]]] = {-1.0: [], 1.0: []}
    for name, x, lines in rows:
        side = 1.0 if x >= middle else -1.0
        for line in lines:
            pen.polyline((line - [0.0, low]) * scale * [side, 1.0] + centre, closed=False, role=Role.CUT_OUTSIDE)
        top = max((line[int(np.argmax(line[:, 1]))] for line in lines), key=lambda p: float(p[1]))
        tips[side].append((name, np.asarray((top - [0.0, low]) * scale * [side, 1.0] + centre)))
    row = max(float(tip[1]) for named in tips.values() for _, tip in named) + 2.0 * FIGURE
    name_tips(pen, tips[-1.0], (0.0, wide / 2 - 3.0), row, FIGURE)
    name_tips(pen, tips[1.0], (wide / 2 + 3.0, wide), row, FIGURE)
    axis = np.array([[0.0, -3.0], [0.0, (high - low) * scale + 6.0]]) + centre
    pen.polyline(axis, closed=False, role=Role.BOARD)
    base = np.array([[-reach * scale - 10.0, 0.0], [reach * scale + 10.0, 0.0]]) + centre
    pen.polyline(base, closed=False, role=Role.BOARD)
