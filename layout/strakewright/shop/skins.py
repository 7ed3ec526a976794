"""The surfaces that planks really lie on.

skin      mid-surface of one layer of planking: the described surface moved square to itself
depth     how far in from the described surface a skin lies, mm (negative: outside it)
ring      the skin's own borders: lines of chine, sheer and transom carried square to the skin; a border in
          the centreline plane is where the skin itself meets that plane (layers on a V-bottom differ there)

Source: derived; the centreline rule is the closed form w - d tan(deadrise) on a V-bottom.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from strakewright.arrays import Floats, frozen_array
from strakewright.errors import UnworkableError
from strakewright.geometry.crossings import curve_crossings, take
from strakewright.geometry.curves import spline_curve
from strakewright.geometry.surface import Patch, offset
from strakewright.hull import Border, Panel, SurfaceFace
from strakewright.settings import PlankingSettings

RING_STEP = 2.0  # mm between ring points: chord error 0.0005 mm where a border's radius is 1 m
RUN_ON = 150.0  # mm a border is carried past its ends to meet its neighbours on a moved skin


@dataclass(frozen=True, eq=False)
class Stretch:
    """One border of a skin, in ring order.  chart : (n, 2) mm, about RING_STEP apart, ends included."""

    border: Border
    chart: Floats

    def __post_init__(self) -> None:
        object.__setattr__(self, "chart", frozen_array(self.chart, (None, 2), self.border.name))


@dataclass(frozen=True, eq=False)
class Skin:
    """Mid-surface of one layer.  stretches : its borders, counter-clockwise in the chart."""

    panel: str
    layer: int
    depth: float
    patch: Patch
    stretches: tuple[Stretch, ...]
    lower: str
    upper: str

    def ring(self) -> Floats:
        """(n, 2) chart points of the whole border, counter-clockwise, first point not repeated."""
        return np.concatenate([s.chart[:-1] for s in self.stretches])

    def starts(self) -> list[int]:
        """Ring index at which each stretch begins."""
        return [0, *np.cumsum([len(s.chart) - 1 for s in self.stretches])[:-1].tolist()]

    def border_at(self, position: float) -> str:
        """Name of the border at a (fractional) ring index."""
        return self.stretches[max(i for i, c in enumerate(self.starts()) if c <= position)].border.name

    def stretch(self, name: str) -> Stretch:
        """The stretch of that border name; raises KeyError."""
        return {s.border.name: s for s in self.stretches}[name]


def layer_depth(settings: PlankingSettings, layer: int, surface: SurfaceFace) -> float:
    """How far in from the described surface the middle of a layer lies, mm (layer 1 against the frames)."""
    stack = settings.thicknesses
    outside_it = sum(stack[layer:]) + stack[layer - 1] / 2
    return outside_it - settings.outside_of(surface)


def skin_of(panel: Panel, settings: PlankingSettings, layer: int, surface: SurfaceFace) -> Skin:
    """The mid-surface of a layer with its own borders.

    Raises UnworkableError when the layer is so deep that its borders no longer close.
    """
    depth = layer_depth(settings, layer, surface)
    patch, stretches = moved_ring(panel, depth)
    return Skin(panel.name, layer, depth, patch, stretches, panel.lower.name, panel.upper.name)


def moved_ring(panel: Panel, depth: float) -> tuple[Patch, tuple[Stretch, ...]]:
    """The described surface moved in by `depth` mm (negative: out) and its own borders there, in ring order.

    Raises UnworkableError when the borders no longer close.
    """
    patch = offset(panel.patch, depth)
    walk = [(border, _moved(patch, border, points)) for border, points in panel.ring()]
    closed = _closed([points for _, points in walk], panel.name)
    return patch, tuple(Stretch(b, p) for (b, _), p in zip(walk, closed, strict=True) if len(p) > 1)


def _moved(patch: Patch, border: Border, points: Floats) -> Floats:
    """A border in ring direction on the moved patch, run on at both ends."""
    fine = _run_on(fine_points(points, RING_STEP), RUN_ON)
    return _onto_centreline(patch, fine) if border.centreline else fine


def fine_points(points: Floats, step: float) -> Floats:
    """Points of the smooth curve through (n, 2) chart points, about `step` mm apart, ends kept."""
    curve = spline_curve(points)
    return curve.at(np.linspace(0.0, curve.end, max(4, int(np.ceil(curve.end / step)) + 1)))


def _run_on(points: Floats, length: float) -> Floats:
    steps = np.arange(1, int(length / RING_STEP) + 1)[:, None] * RING_STEP
    head = points[0] - points[min(3, len(points) - 1)]
    tail = points[-1] - points[-min(4, len(points))]
    head, tail = head / np.linalg.norm(head), tail / np.linalg.norm(tail)
    return np.concatenate([(points[0] + steps * head)[::-1], points, points[-1] + steps * tail])


def _onto_centreline(patch: Patch, points: Floats) -> Floats:
    """Newton along the curve's own square direction until y = 0."""
    tangent = np.gradient(points, axis=0)
    square = np.stack([-tangent[:, 1], tangent[:, 0]], axis=-1)
    square /= np.linalg.norm(square, axis=-1, keepdims=True)
    moved = points.copy()
    for _ in range(12):
        r, r_p, r_q = patch.jet1(moved)
        slope = r_p[:, 1] * square[:, 0] + r_q[:, 1] * square[:, 1]
        slope = np.where(np.abs(slope) < 1e-6, np.inf, slope)
        step = np.clip(r[:, 1] / slope, -20.0, 20.0)
        moved = moved - step[:, None] * square
        if np.abs(step).max() < 1e-9:
            break
    return moved


def _closed(curves: list[Floats], panel: str) -> list[Floats]:
    """Cut run-on border curves where neighbours in the ring cross; a border that shrinks away is dropped."""
    count = len(curves)
    corners = [_corner(curves[i], curves[(i + 1) % count]) for i in range(count)]
    cut = []
    for i, curve in enumerate(curves):
        before, after = corners[i - 1], corners[i]
        if before is None or after is None:
            raise UnworkableError(
                f"the borders of panel {panel!r} do not meet on the middle of the planking",
                where=f"[[planking]] panel {panel!r}",
                fix="Check the thickness, or the panel's corner in the mesh",
            )
        if after[0] <= before[1]:
            raise UnworkableError(
                f"a border of panel {panel!r} is shorter than the planking is thick",
                where=f"[[planking]] panel {panel!r}",
                fix="Use thinner planking, or a hull whose border is longer there",
            )
        cut.append(take(curve, before[1], after[0]))
    return [np.concatenate([c[:-1], cut[(i + 1) % count][:1]]) for i, c in enumerate(cut)]


def _corner(first: Floats, second: Floats) -> tuple[float, float] | None:
    """Fractional indices where the end of one border meets the start of the next, nearest the old corner."""
    reach = int(RUN_ON / RING_STEP)
    found = curve_crossings(first, second)
    if not found:
        return None
    old = (len(first) - 1 - reach, reach)
    return min(found, key=lambda c: abs(c[0] - old[0]) + abs(c[1] - old[1]))
