"""Curves on plain graphs, for the book and as a picture file: form, sectional areas, righting arms.

graph     axes with round figures, and one or more curves told apart by the dash of their lines
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from strakewright.arrays import Floats
from strakewright.floating import Watered
from strakewright.plan import Placement
from strakewright.write.book import FIGURE, Picture
from strakewright.write.pen import Anchor, Pen, Role, placed
from strakewright.write.svg import SvgPen

WIDE, HIGH = 236.0, 92.0
_LEFT, _FOOT, _TICK = 24.0, 16.0, 1.6
_ROLES = (Role.CUT_OUTSIDE, Role.SCRIBE, Role.CHECK, Role.BOARD)
_STEPS = np.array([1.0, 2.0, 2.5, 5.0, 10.0])


@dataclass(frozen=True, eq=False)
class Curve:
    """name at its end;  points : (n, 2) in the graph's own units"""

    name: str
    points: Floats


@dataclass(frozen=True, eq=False)
class Graph:
    """across, up : what the axes hold, with units;  title : above"""

    title: str
    across: str
    up: str
    curves: tuple[Curve, ...]


def graphs_of(water: Watered) -> tuple[Graph, ...]:
    """All that can be drawn of how she floats."""
    found = [_form(water)]
    if len(water.areas):
        areas = Curve("", water.areas * np.array([1e-3, 1e-6]))
        found.append(Graph("Sectional areas as she lies", "m forward", "m2", (areas,)))
    curve = water.righting
    if curve is not None and len(curve.points) > 1:
        points = np.array([[np.rad2deg(p.heel), p.arm] for p in curve.points])
        end = f"ends where {curve.through} meets the water" if curve.floods_at is not None else "to 90 degrees"
        title = f"Righting arms: {end}"
        found.append(Graph(title, "degrees of heel", "mm", (Curve("", points),)))
    return tuple(found)


def _form(water: Watered) -> Graph:
    rows = water.table
    top = rows[-1]
    parts = (
        ("displacement", [r.displacement / top.displacement for r in rows], f"{top.displacement:.0f} kg"),
        ("waterplane", [r.waterplane / top.waterplane for r in rows], f"{top.waterplane / 1e6:.2f} m2"),
        ("wetted area", [r.wetted / top.wetted for r in rows], f"{top.wetted / 1e6:.2f} m2"),
        ("KM", [r.km / max(r.km for r in rows) for r in rows], f"{max(r.km for r in rows):.0f} mm"),
    )
    draughts = [r.draught for r in rows]
    curves = tuple(Curve(f"{name} (100 = {most})", _pairs(np.array(v) * 100, draughts)) for name, v, most in parts)
    return Graph("Curves of form, fresh water", "per cent of the figure named", "mm draught", curves)


def _pairs(x: Floats, y: Sequence[float]) -> Floats:
    return np.column_stack([x, y])


def picture_of(graph: Graph) -> Picture:
    """The graph for a page of the book."""
    key = 2.0 * FIGURE * sum(bool(c.name) for c in graph.curves)
    return Picture(WIDE, HIGH + key, lambda pen: draw_graph(pen, graph), graph.title)


def write_graphs(path: Path, water: Watered, boat: str) -> None:
    """curves.svg: every graph one under the other."""
    pen, foot = SvgPen(weight=0.5), 0.0
    for graph in graphs_of(water):
        picture = picture_of(graph)
        foot -= picture.height + 6.0 * FIGURE
        lifted = placed(pen, Placement("", "", 0.0, foot))
        draw_graph(lifted, graph)
        above = np.array([0.0, picture.height + 6.0])
        lifted.text(above, graph.title, height=FIGURE, turn=0, anchor="left", role=Role.LABEL)
    pen.write(path, title=f"{boat}: curves of form and stability")


def draw_graph(pen: Pen, graph: Graph) -> None:
    """Axes, figures, curves, and a key of the curves above them."""
    every = np.concatenate([c.points for c in graph.curves])
    low, high = np.minimum(every.min(axis=0), 0.0), every.max(axis=0)
    low = np.where(-low < 0.005 * (high - low), 0.0, low)  # too little to be seen: no room below the axis for it
    x, y = (_ticks(float(a), float(b)) for a, b in zip(low, high, strict=True))
    scale = np.array([(WIDE - _LEFT - 6) / (x[-1] - x[0]), (HIGH - _FOOT - 14) / (y[-1] - y[0])])
    origin = np.array([_LEFT, _FOOT])

    def on_page(points: Floats) -> Floats:
        return np.asarray((points - np.array([x[0], y[0]])) * scale + origin)

    _draw_axes(pen, (x, y), on_page, graph)
    for n, curve in enumerate(graph.curves):
        role = _ROLES[n % len(_ROLES)]
        pen.polyline(on_page(curve.points), closed=False, role=role)
        if curve.name:
            at = np.array([_LEFT, HIGH + 2.0 + 2.0 * FIGURE * n])
            pen.polyline(at + np.array([[0.0, 0.0], [18.0, 0.0]]), closed=False, role=role)
            _say(pen, at + np.array([22.0, 0.0]), curve.name, "left")


def _draw_axes(pen: Pen, ticks: tuple[Floats, Floats], on_page: Callable[[Floats], Floats], graph: Graph) -> None:
    x, y = ticks
    frame = np.array([[x[0], y[-1]], [x[0], y[0]], [x[-1], y[0]]])
    pen.polyline(on_page(frame), closed=False, role=Role.BOARD)
    for value in x:
        at = on_page(np.array([[value, y[0]]]))[0]
        pen.polyline(np.array([at, at - [0, _TICK]]), closed=False, role=Role.BOARD)
        _say(pen, at - [0, 5.0], f"{value:g}", "middle")
    for value in y:
        at = on_page(np.array([[x[0], value]]))[0]
        pen.polyline(np.array([at, at - [_TICK, 0]]), closed=False, role=Role.BOARD)
        _say(pen, at - [3.0, 0], f"{value:g}", "right")
    _say(pen, np.array([WIDE, 4.0]), graph.across, "right")
    _say(pen, np.array([2.0, HIGH - 7.0]), graph.up, "left")


def _say(pen: Pen, at: Floats, words: str, anchor: Anchor) -> None:
    pen.text(np.asarray(at, dtype=np.float64), words, height=0.7 * FIGURE, turn=0, anchor=anchor, role=Role.LABEL)


def _ticks(low: float, high: float) -> Floats:
    """Four to eight round figures that span from low to high.

    >>> _ticks(0.0, 347.0).tolist()
    [0.0, 50.0, 100.0, 150.0, 200.0, 250.0, 300.0, 350.0]
    """
    span = max(high - low, 1e-9)
    power = 10.0 ** np.floor(np.log10(span / 4))
    step = float(power * _STEPS[np.searchsorted(_STEPS, span / 8 / power)])
    first, last = np.floor(low / step + 1e-9), np.ceil(high / step - 1e-9)
    return np.asarray(np.arange(first, last + 1) * step)
