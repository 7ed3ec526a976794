"""The lines drawing: profile, half-breadth plan and body plan, with what fairing has moved, and curvature plots.

profile        the boat from the side, bow to the right;  half-breadth plan : from above, below the profile
body plan      sections seen from the ends, after body to the left, fore body to the right
diagonals      planes through the centreline, sloping down and out; drawn in their own plane below the half-breadths
comb           curvature plot: hairs as long as the line bends, on the side it bends away from; smooth hairs, fair line

Full lines are the boat's own lines, dashed ones waterlines, buttocks and diagonals, thin ones (dotted in SVG) the grid.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from strakewright.arrays import Floats
from strakewright.geometry.curves import arc_length, drawn_through, without_repeats
from strakewright.geometry.planecuts import CutMesh, cut_mesh
from strakewright.hull import Hull
from strakewright.offsets import LinesPlan, Move
from strakewright.write.paper import PaperFile
from strakewright.write.pen import Pen, Role
from strakewright.write.svg import SvgPen
from strakewright.write.wordplaces import name_tips

SHEET = (420.0, 297.0)  # mm, ISO 216 A3
_MARGIN, _GAP = 12.0, 9.0
_ASIDE = 20.0  # mm right of the long views, for names of waterlines
_WORD = 3.4  # mm: the size of the book's reading pages
_WORTH = 0.5  # mm: smaller moves are not marked
_HAIRS = 91
_STRAIGHT = 0.5  # mm on the sheet: a line that never leaves the horizontal has no curvature plot
_CUTS = 4
_LARGEST = 2.5  # scale of the body plan over that of the others
_SLOPED = 0.45  # diagonals are drawn flatter than they are, for room
X, Y, Z = np.eye(3)


@dataclass(frozen=True, eq=False)
class View:
    """Where a view lies on the sheet: boat mm (across, up) -> sheet mm.  flip : across runs to the left"""

    at: tuple[float, float]
    scale: float
    zero: tuple[float, float] = (0.0, 0.0)
    flip: bool = False

    def place(self, across: Floats, up: Floats) -> Floats:
        """(n, 2) mm on the sheet."""
        sign = -1.0 if self.flip else 1.0
        return np.stack(
            [
                self.at[0] + sign * (across - self.zero[0]) * self.scale,
                self.at[1] + (up - self.zero[1]) * self.scale,
            ],
            axis=-1,
        )


@dataclass(frozen=True, eq=False)
class _Boat:
    """What is drawn: the hull's panels cut by planes, and sizes.  low, high : (3,) mm"""

    hull: Hull
    plan: LinesPlan
    meshes: tuple[CutMesh, ...]
    low: Floats
    high: Floats

    def cut(self, normal: Floats, level: float) -> list[Floats]:
        return [line for mesh in self.meshes for line in mesh.cut(normal, level)]


def write_lines(folder: Path, hull: Hull, plan: LinesPlan, revision: str) -> None:
    """lines.svg and lines.pdf into a folder."""
    boat = _boat(hull, plan)
    pen = SvgPen(weight=0.35)
    _sheet(pen, boat, revision)
    pen.write(folder / "lines.svg", title=f"{hull.name}: lines")
    paper = PaperFile(folder / "lines.pdf", f"{hull.name}: lines")
    _sheet(paper.page(*SHEET), boat, revision)
    paper.save()


def draw_lines(pen: Pen, hull: Hull, plan: LinesPlan, width: float) -> None:
    """Profile, half-breadths and diagonals within `width` mm, without title, for a page of the book."""
    boat = _boat(hull, plan)
    _long_views(pen, boat, width, lines_height(hull, width))


def draw_sections(pen: Pen, hull: Hull, plan: LinesPlan, width: float, height: float) -> None:
    """The body plan within width x height mm, for a page of the book."""
    boat = _boat(hull, plan)
    low = min(float(boat.low[2]), 0.0)
    high, half = float(boat.high[2]) - low, float(boat.high[1])
    scale = min((height - 5.0 * _WORD) / high, (width - 24.0) / (2 * half))
    _body_plan(pen, boat, View((width / 2, _WORD), scale, (0.0, low)))


def lines_height(hull: Hull, width: float) -> float:
    """Height mm that profile, half-breadths and diagonals take in `width` mm."""
    points = _corners(hull)
    deep, fixed = _deep(points)
    return deep * _scale(points, width) + fixed


def lines_width(hull: Hull, width: float, height: float) -> float:
    """The largest width mm, up to `width`, in which they are no higher than `height`."""
    points = _corners(hull)
    deep, fixed = _deep(points)
    return min(width, _ASIDE + float(np.ptp(points[:, 0])) * (height - fixed) / deep)


def _corners(hull: Hull) -> Floats:
    return np.concatenate([p.in_space(b) for p in hull.panels for b, _ in p.ring()])


def _deep(points: Floats) -> tuple[float, float]:
    """mm of the boat that lie one above the other in the long views, and mm of the page between them."""
    depth = float(points[:, 2].max()) - min(float(points[:, 2].min()), 0.0)
    return depth + 1.75 * float(points[:, 1].max()), 5 * _GAP


def _boat(hull: Hull, plan: LinesPlan) -> _Boat:
    rings = [np.concatenate([points[:-1] for _, points in p.ring()]) for p in hull.panels]
    meshes = tuple(cut_mesh(p.patch, ring) for p, ring in zip(hull.panels, rings, strict=True))
    points = np.concatenate([p.patch.at(ring) for p, ring in zip(hull.panels, rings, strict=True)])
    return _Boat(hull, plan, meshes, points.min(axis=0), points.max(axis=0))


def _scale(points: Floats, width: float) -> float:
    """The longest view fits the width; so do the half-breadths and, below them, the body plan at its own scale."""
    return (width - _ASIDE) / float(np.ptp(points[:, 0]))


def _sheet(pen: Pen, boat: _Boat, revision: str) -> None:
    width, height = SHEET
    frame = np.array([[6.0, 6.0], [width - 6, 6.0], [width - 6, height - 6], [6.0, height - 6]])
    pen.polyline(frame, closed=True, role=Role.BOARD)
    inner = width - 2 * _MARGIN
    scale = _scale(np.stack([boat.low, boat.high]), inner)
    words = (
        f"{boat.hull.name}  LINES TO {boat.hull.surface.upper()} OF PLANKING  1 : {1 / scale:.1f}, body plan larger"
        f"  rev {revision}",
        "Rounded offsets: no outline from this table is better than 1 to 3 mm. Moves over"
        f" {_WORTH:g} mm are marked, in mm, + up or out.",
    )
    for k, line in enumerate(words):
        _words(pen, _MARGIN, height - 12.0 - 6.5 * k, line, 5.0 - 1.2 * k)
    _views(_Shifted(pen, (_MARGIN, 0.0)), boat, inner, height - 24.0, _LARGEST)


@dataclass(frozen=True)
class _Shifted:
    """The same pen with (0, 0) elsewhere."""

    pen: Pen
    by: tuple[float, float]

    def polyline(self, points: Floats, *, closed: bool, role: Role) -> None:
        self.pen.polyline(points + self.by, closed=closed, role=role)

    def circle(self, centre: Floats, radius: float, role: Role) -> None:
        self.pen.circle(centre + self.by, radius, role)

    def text(self, at: Floats, words: str, *, height: float, turn: float, anchor: str, role: Role) -> None:
        self.pen.text(at + self.by, words, height=height, turn=turn, anchor=anchor, role=role)  # type: ignore[arg-type]

    def area(self, ring: Floats, hatch: object, role: Role) -> None:
        self.pen.area(ring + self.by, hatch, role)  # type: ignore[arg-type]


def _words(pen: Pen, x: float, y: float, words: str, height: float = _WORD) -> None:
    pen.text(np.array([x, y]), words, height=height, turn=0.0, anchor="left", role=Role.LABEL)


def _views(pen: Pen, boat: _Boat, width: float, top: float, body: float) -> None:
    """Profile above, half-breadths and diagonals below, and the body plan, up to `body` times larger, at the foot."""
    scale, foot = _long_views(pen, boat, width, top)
    low = min(float(boat.low[2]), 0.0)
    depth = float(boat.high[2]) - low
    larger = scale * min(body, max((foot - _MARGIN - 3.0 * _WORD) / (depth * scale), 0.5))
    _body_plan(pen, boat, View((width / 2, foot - 3.0 * _WORD - depth * larger), larger, (0.0, low)))


def _long_views(pen: Pen, boat: _Boat, width: float, top: float) -> tuple[float, float]:
    """Profile, half-breadths and diagonals from `top` down; their scale, and where they end on the sheet."""
    scale = _scale(np.stack([boat.low, boat.high]), width)
    base = top - _GAP - float(boat.high[2] - min(boat.low[2], 0.0)) * scale
    side = View((0.0, base), scale, (float(boat.low[0]), min(float(boat.low[2]), 0.0)))
    above = View((0.0, base - 2 * _GAP), scale, (float(boat.low[0]), 0.0))
    _profile(pen, boat, side)
    _half_breadths(pen, boat, above)
    _marks(pen, boat, side, above)
    return scale, above.at[1] - 1.75 * float(boat.high[1]) * scale - 2 * _GAP


def _levels(low: float, high: float) -> Floats:
    """Round levels strictly between two heights, `_CUTS` or so."""
    step = max(50.0, 50.0 * round((high - low) / (_CUTS + 1) / 50.0))
    return np.arange(np.ceil((low + 1.0) / step) * step, high - 1.0, step)


def _down(view: View, line: Floats) -> Floats:
    """Half-breadths hang below the centreline of the half-breadth plan."""
    return view.place(line[:, 0], -line[:, 1])


def _profile(pen: Pen, boat: _Boat, view: View) -> None:
    low, high = boat.low, boat.high
    for z in (0.0, *_levels(low[2], high[2])):
        ends = view.place(np.array([low[0], high[0]]), np.array([z, z]))
        pen.polyline(ends, closed=False, role=Role.CHECK)
        _words(pen, float(ends[1, 0]) + 4.0, float(ends[1, 1]), f"WL {z:.0f}" if z else "base")
    _stations(pen, boat, view, (float(low[2]), float(high[2])), words=True)
    for y in _levels(0.0, high[1]):
        for line in boat.cut(Y, float(y)):
            pen.polyline(view.place(line[:, 0], line[:, 2]), closed=False, role=Role.SCRIBE)
    for line in _own_lines(boat):
        pen.polyline(view.place(line[:, 0], line[:, 2]), closed=False, role=Role.CUT_OUTSIDE)
    for name, line in boat.plan.lines:
        _comb(pen, view.place(line[:, 0], line[:, 2]), name)


def _own_lines(boat: _Boat) -> Iterator[Floats]:
    """Every border of every panel, in space."""
    for panel in boat.hull.panels:
        for border, _ in panel.ring():
            yield panel.in_space(border)


def _half_breadths(pen: Pen, boat: _Boat, view: View) -> None:
    low, high = boat.low, boat.high
    centre = view.place(np.array([low[0], high[0]]), np.zeros(2))
    pen.polyline(centre, closed=False, role=Role.BOARD)
    _stations(pen, boat, view, (-float(high[1]), 0.0), words=False)
    for z in _levels(low[2], high[2]):
        for line in boat.cut(Z, float(z)):
            pen.polyline(_down(view, line), closed=False, role=Role.SCRIBE)
    for line in _own_lines(boat):
        pen.polyline(_down(view, line), closed=False, role=Role.CUT_OUTSIDE)
    for name, line in boat.plan.lines:
        _comb(pen, _down(view, line), name)
    _diagonals(pen, boat, View((view.at[0], view.at[1] - float(high[1]) * view.scale - _GAP), view.scale, view.zero))


def _diagonal_planes(boat: _Boat) -> Iterator[tuple[str, float]]:
    """Name and height on the centreline of planes that slope 45 degrees down and out."""
    depth = float(boat.high[2] - boat.low[2])
    for k, share in enumerate((0.45, 0.8), 1):
        yield f"D{k}", float(boat.low[2]) + share * depth


def _diagonals(pen: Pen, boat: _Boat, view: View) -> None:
    """Diagonals in their own plane: distance out along the slope below their centreline."""
    normal, low = (Y + Z) / np.sqrt(2.0), view.at[1]
    for name, z in _diagonal_planes(boat):
        cuts = boat.cut(normal, z / np.sqrt(2.0))
        drawn = [view.place(line[:, 0], -_SLOPED * line[:, 1] * np.sqrt(2.0)) for line in cuts]
        for placed in drawn:
            pen.polyline(placed, closed=False, role=Role.SCRIBE)
            low = min(low, float(placed[:, 1].min()))
        if drawn:
            ends = (placed[int(np.argmax(placed[:, 0]))] for placed in drawn)
            foremost = max(ends, key=lambda p: float(p[0]))
            _words(pen, float(foremost[0]) + 2.0, float(foremost[1]) + 0.7 * _WORD, name)
    _words(pen, view.at[0], low - 1.5 * _WORD, f"D1, D2: diagonals, out along the slope, drawn x {_SLOPED:g}")


def _stations(pen: Pen, boat: _Boat, view: View, reach: tuple[float, float], *, words: bool) -> None:
    for name, x in boat.plan.stations:
        ends = view.place(np.array([x, x]), np.array(reach))
        pen.polyline(ends, closed=False, role=Role.CHECK)
        if words:
            at = np.array([ends[1, 0], ends[1, 1] + _WORD])
            pen.text(at, name, height=_WORD, turn=0.0, anchor="middle", role=Role.LABEL)


def _body_plan(pen: Pen, boat: _Boat, view: View) -> None:
    """Sections at all stations; those abaft the widest place to the left, the others to the right."""
    low, high = boat.low, boat.high
    half = float(high[1])
    for z in (0.0, *_levels(low[2], high[2])):
        pen.polyline(view.place(np.array([-half, half]), np.array([z, z])), closed=False, role=Role.CHECK)
    for y in (0.0, *_levels(0.0, half)):
        for side in (-y, y):
            up = np.array([low[2], high[2]])
            pen.polyline(view.place(np.array([side, side]), up), closed=False, role=Role.CHECK)
    for name, z in _diagonal_planes(boat):
        foot = max(z - half, float(low[2]))
        for sign in (-1.0, 1.0):
            trace = view.place(np.array([0.0, sign * (z - foot)]), np.array([z, foot]))
            pen.polyline(trace, closed=False, role=Role.SCRIBE)
        head = view.place(np.array([0.0]), np.array([z]))[0]
        _words(pen, float(head[0]) + 0.5, float(head[1]) + 1.5, name)
    middle = 0.5 * float(low[0] + high[0])
    tips: dict[float, list[tuple[str, Floats]]] = {-1.0: [], 1.0: []}
    for name, x in boat.plan.stations:
        sign = -1.0 if x < middle else 1.0
        cuts = boat.cut(X, x)
        for line in cuts:
            pen.polyline(view.place(sign * line[:, 1], line[:, 2]), closed=False, role=Role.CUT_OUTSIDE)
        if cuts:
            top = max((line[int(np.argmax(line[:, 2]))] for line in cuts), key=lambda p: float(p[2]))
            tips[sign].append((name, view.place(np.array([sign * top[1]]), np.array([top[2]]))[0]))
    top = float(view.place(np.zeros(1), high[2:])[0, 1])
    row = max(top - _WORD, *(float(tip[1]) for named in tips.values() for _, tip in named)) + 2.0 * _WORD
    reach = max(half * view.scale + 4.0 * _WORD, 30.0)
    for sign, named in tips.items():
        name_tips(pen, named, (view.at[0] + min(sign * reach, 0.0), view.at[0] + max(sign * reach, 0.0)), row, _WORD)


def _comb(pen: Pen, line: Floats, name: str) -> None:
    """Hairs square to a line on the sheet, as long as it bends (1/60 of its length for the sharpest ordinary bend)."""
    fine = without_repeats(line)
    if np.ptp(fine[:, 1]) < _STRAIGHT:
        return
    along = arc_length(fine)
    curve = drawn_through(along, fine)
    at = np.linspace(0.0, along[-1], _HAIRS)
    feet, way, bend = (np.asarray(curve(at, nu=k)) for k in (0, 1, 2))
    speed = np.linalg.norm(way, axis=1, keepdims=True)
    turn = (way[:, 0] * bend[:, 1] - way[:, 1] * bend[:, 0]) / speed[:, 0] ** 3
    tall = np.clip(turn / max(float(np.quantile(np.abs(turn), 0.9)), 1e-12), -2.0, 2.0) * along[-1] / 60.0
    tips = feet + tall[:, None] * np.stack([way[:, 1], -way[:, 0]], axis=1) / speed
    for foot, tip in zip(feet[::3], tips[::3], strict=True):
        pen.polyline(np.stack([foot, tip]), closed=False, role=Role.LABEL)
    pen.polyline(tips, closed=False, role=Role.LABEL)
    at_word, up = (float(v) for v in feet[_HAIRS // 4])
    _words(pen, at_word, up + 0.8 * _WORD, name)


def _marks(pen: Pen, boat: _Boat, side: View, above: View) -> None:
    """A ring and a figure at every cell that fairing moved by more than `_WORTH` mm."""
    stations = dict(boat.plan.stations)
    lines = dict(boat.plan.lines)
    for move in boat.plan.moves:
        name = move.row.split()[-1]
        if abs(move.by) < _WORTH or move.station not in stations or name not in lines:
            continue
        at = _spot(move, lines[name], stations[move.station], side, above)
        pen.circle(at, 0.9, Role.CUT_OUTSIDE)
        _words(pen, float(at[0]) + 1.2, float(at[1]) - 0.8 * _WORD, f"{move.by:+.1f}")


def _spot(move: Move, line: Floats, x: float, side: View, above: View) -> Floats:
    k = int(np.argmin(np.abs(line[:, 0] - x)))
    if move.row.startswith("height"):
        return np.asarray(side.place(line[k : k + 1, 0], line[k : k + 1, 2])[0])
    return np.asarray(_down(above, line[k : k + 1])[0])
