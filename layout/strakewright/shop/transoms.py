"""The transom: its plane or bend, true shape of both faces, boards, doubling, motor cut-out.

rake      lean of the transom from upright, about a line athwart the boat
bend      of a curved transom: about a raked line in the centreline plane; laid flat it keeps its lengths
inside    the face towards the boat: usually the larger, since sides close in and the rake adds t tan(rake) below
pattern   the union of both faces, so that bevels only take wood off
cut-out   where the motor hangs: its lower edge at the motor's height above the keel, along the transom
well      the same closed above by a bridge of the transom: the motor stands in a well and looks through the opening
doubling  second thickness where the motor's clamps press

Source: plane and circle through the hull's border by least squares; derived.  Breadth of boards, of the cut-out and
of the doubling: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from strakewright.arrays import Floats
from strakewright.errors import Finding
from strakewright.frames import BevelAt, Transom, TransomBoard, TransomFace
from strakewright.geometry.curves import arc_length
from strakewright.geometry.outlines import thin_ring
from strakewright.geometry.regions import area_of, beyond, join, share, shrunk, without
from strakewright.hull import Hull
from strakewright.shop.inside import InnerLine, Inside, lines_on

CURVED = 15.0  # mm of bend below which a transom is flat
ROUGH = 2.0  # mm the hull's border may lie off a plane or a bend without a word
PAST = 200.0  # mm planking is followed past the transom
BOARD = 190.0  # mm, widest board a transom is planked up of
STAVE = 190.0  # mm, widest stave of a doubling
BESIDE_MOTOR = 60.0  # mm of doubling on either side of the cut-out
SET_BACK = 15.0  # mm between doubling and planking
SQUARE_BELOW = 0.3  # mm over the thickness
CORNER = 40.0  # mm, radius of the corners of a well opening
LOW_WELL = 120.0  # mm, a well opening lower than that passes no motor: common practice, no source


@dataclass(frozen=True)
class TransomSpec:
    """What the boat file asks.  motor_height : from the keel's outside to the cut-out, along the transom, or None
    motor_width : of the cut-out;  well_bridge : left above a well opening, None = open to the top"""

    sided: float = 25.0
    doubling: float = 19.0
    motor_height: float | None = None
    motor_width: float = 400.0
    face: Literal["inside", "outside"] = "inside"
    species: str = "white ash"
    well_bridge: float | None = None


@dataclass(frozen=True, eq=False)
class Plate:
    """The outside of a transom and everything parallel to it; a `Face` at `inset` mm into the boat.

    foot : (3,) the keel's outside;  up : (3,) along the rake;  out : (3,) unit normal away from the boat
    bend : 1/mm, + = the sides lie further out than the middle, 0 = flat
    """

    foot: Floats
    up: Floats
    out: Floats
    bend: float
    inset: float = 0.0

    def level(self, points: Floats) -> Floats:
        s, _, u = self._axes(points)
        if self.bend == 0.0:
            return np.asarray(s + self.inset)
        radius = 1.0 / self.bend
        sign = np.sign(radius)
        near = radius - sign * np.hypot(s - radius, u) + self.inset
        past = sign * (s - radius)  # beyond the bend's axis: the far side of the cylinder is no transom
        return np.asarray(np.where(past > 0, radius + sign * past, near))

    def normal(self, points: Floats) -> Floats:
        if self.bend == 0.0:
            return np.broadcast_to(self.out, points.shape)
        s, _, u = self._axes(points)
        radius = 1.0 / self.bend
        away = -np.sign(radius) * ((s - radius)[:, None] * self.out + u[:, None] * np.array([0.0, 1.0, 0.0]))
        return np.asarray(away / np.linalg.norm(away, axis=1, keepdims=True))

    def flat(self, points: Floats) -> Floats:
        s, v, u = self._axes(points)
        if self.bend == 0.0:
            return np.column_stack([u, v])
        radius = 1.0 / self.bend
        here = abs(radius + self.inset)
        return np.column_stack([here * np.arctan2(u, np.abs(s - radius)), v])

    def in_space(self, flat: Floats) -> Floats:
        """(n, 3) points of the face from (n, 2) u, v."""
        u, v = flat.T
        if self.bend == 0.0:
            s, y = np.full(len(u), -self.inset), u
        else:
            radius = 1.0 / self.bend
            here = abs(radius + self.inset)
            s = radius - np.sign(radius) * here * np.cos(u / here)
            y = here * np.sin(u / here)
        return np.asarray(self.foot + v[:, None] * self.up + s[:, None] * self.out + y[:, None] * [0.0, 1.0, 0.0])

    def bulge(self, athwart: Floats) -> Floats:
        """mm the outside stands away from the boat at a distance off the centreline, against its middle."""
        if self.bend == 0.0:
            return np.zeros_like(athwart)
        radius = 1.0 / self.bend
        return np.asarray(radius - np.sign(radius) * np.sqrt(radius**2 - athwart**2))

    def at(self, inset: float) -> Plate:
        """The parallel face."""
        return Plate(self.foot, self.up, self.out, self.bend, inset)

    def _axes(self, points: Floats) -> tuple[Floats, Floats, Floats]:
        away = points - self.foot
        return away @ self.out, away @ self.up, away[:, 1]


def transom_plates(hull: Hull) -> dict[str, tuple[Plate, float]]:
    """Outside of every transom the hull has, and how far (mm) its border lies off it."""
    found = {}
    for name, way in (("transom", -1.0), ("bow transom", 1.0)):
        rows = [p.in_space(b) for p in hull.panels for b in (p.aft, p.forward) if b is not None and b.name == name]
        if rows:
            found[name] = _plate(rows, way)
    return found


def _plate(rows: list[Floats], way: float) -> tuple[Plate, float]:
    points = np.concatenate([_evenly(r) for r in rows])
    columns = np.column_stack([np.ones(len(points)), points[:, 2], points[:, 1] ** 2])
    level, lean, bow = np.linalg.lstsq(columns, points[:, 0], rcond=None)[0]
    if abs(bow) * float(points[:, 1].max()) ** 2 < CURVED:
        level, lean = np.linalg.lstsq(columns[:, :2], points[:, 0], rcond=None)[0]
        bow = 0.0
    bend = 2.0 * bow * way / float(np.hypot(lean, 1.0))
    if bend:
        level, lean, bend = _circle(points, way, (level, lean, bend))
    up = np.array([lean, 0.0, 1.0]) / np.hypot(lean, 1.0)
    out = way * np.array([1.0, 0.0, -lean]) / np.hypot(lean, 1.0)
    z = float(points[:, 2].min())
    plate = Plate(np.array([level + lean * z, 0.0, z]), up, out, bend)
    return plate, float(np.abs(plate.level(points)).max())


def _circle(points: Floats, way: float, start: tuple[float, float, float]) -> tuple[float, float, float]:
    """Level, lean and bend of the raked cylinder through points (n, 3), by Gauss-Newton from near ones:
    x = level + lean z + way sqrt(1 + lean^2) k y^2 / (1 + sqrt(1 - k^2 y^2))."""
    x, y, z = points.T
    level, lean, bend = start
    for _ in range(12):
        root, steep = np.sqrt(np.maximum(1 - (bend * y) ** 2, 1e-6)), np.hypot(lean, 1.0)
        sag = bend * y**2 / (1 + root)
        slopes = [np.ones(len(y)), z + way * lean / steep * sag, way * steep * y**2 / (root * (1 + root))]
        left = x - level - lean * z - way * steep * sag
        step, _, _, _ = np.linalg.lstsq(np.column_stack(slopes), left, rcond=None)
        level, lean, bend = level + float(step[0]), lean + float(step[1]), bend + float(step[2])
    return level, lean, bend


def _evenly(points: Floats) -> Floats:
    run = arc_length(points)
    at = np.linspace(0.0, float(run[-1]), 60)
    return np.stack([np.interp(at, run, c) for c in points.T], axis=1)


def make_transom(
    name: str, plate: Plate, off: float, spec: TransomSpec, inside: Inside
) -> tuple[Transom | None, list[Finding]]:
    """One transom; None where the planking leaves nothing of it."""
    near, far = (lines_on(inside, plate.at(x), PAST) for x in (spec.sided, 0.0))
    if not near or not far:
        return None, []
    inner, outer = _face(near, plate.at(spec.sided)), _face(far, plate)
    ring = join([_whole(inner.outline), _whole(outer.outline)])
    motor = spec.motor_height if name == "transom" else None
    cut_out, doubling = _motor(ring, motor, spec)
    boards = [*_boards(name, ring, spec), *(_staves(name, doubling, spec) if doubling is not None else ())]
    made = Transom(
        name,
        float(np.arctan2(plate.up[0] * np.sign(plate.out[0]), plate.up[2])),
        -1.0 / plate.bend if plate.bend else None,
        off,
        spec.sided,
        spec.species,
        inner,
        outer,
        ring,
        cut_out,
        doubling,
        spec.doubling if doubling is not None else 0.0,
        tuple(boards),
        _bevels(near, spec.sided),
        spec.face,
        spec.well_bridge if cut_out is not None else None,
    )
    return made, [*_told(made, motor), *_well_told(made, motor, spec.well_bridge)]


def _face(lines: tuple[InnerLine, ...], plate: Plate) -> TransomFace:
    outline = np.concatenate([line.flat for line in lines])
    bevel = np.concatenate([line.bevel for line in lines])
    corners = {"keel": _mark(plate, lines[0], 0)} | {line.upper: _mark(plate, line, -1) for line in lines}
    return TransomFace(outline, bevel, corners)


def _mark(plate: Plate, line: InnerLine, at: int) -> Floats:
    return np.concatenate([line.flat[at], line.space[at]])


def _whole(outline: Floats) -> Floats:
    """Both halves, straight across from sheer to sheer."""
    apart = np.concatenate([[True], np.linalg.norm(np.diff(outline, axis=0), axis=1) > 1e-6])
    port = outline[apart]
    return join([np.concatenate([(port * [-1.0, 1.0])[::-1], port])])


def _motor(ring: Floats, height: float | None, spec: TransomSpec) -> tuple[Floats | None, Floats | None]:
    """Cut-out (None where the transom is no higher than the motor wants) and doubling."""
    if height is None:
        return None, None
    half, top = spec.motor_width / 2, float(ring[:, 1].max())
    box = np.array([[-half, height], [half, height], [half, top + 50.0], [-half, top + 50.0]])
    if spec.well_bridge is not None:
        box = _window(half, height, top - spec.well_bridge)
    cut = share(box, ring) if len(box) and height < top - 1.0 else None
    wide = half + BESIDE_MOTOR
    plate = np.array([[-wide, -1e4], [wide, -1e4], [wide, min(height, top)], [-wide, min(height, top)]])
    doubling = share(plate, shrunk(ring, SET_BACK)) if spec.doubling > 0 else None
    return cut, doubling if doubling is not None and len(doubling) else None


def _window(half: float, low: float, high: float) -> Floats:
    """A well opening with round corners, empty where the bridge leaves it no height."""
    if high - low < LOW_WELL:
        return np.empty((0, 2))
    r = min(CORNER, half, (high - low) / 2)
    turn = np.linspace(0.0, np.pi / 2, 9)
    arc = r * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    quarter = np.array([[0.0, 1.0], [-1.0, 0.0]])
    corners = [[half - r, high - r], [r - half, high - r], [r - half, low + r], [half - r, low + r]]
    return np.concatenate([np.array(c) + arc @ np.linalg.matrix_power(quarter, k) for k, c in enumerate(corners)])


def _boards(name: str, ring: Floats, spec: TransomSpec) -> list[TransomBoard]:
    """Boards athwart the boat, of one breadth, lowest first."""
    low, high = float(ring[:, 1].min()), float(ring[:, 1].max())
    count = max(1, int(np.ceil((high - low) / BOARD)))
    edges = np.linspace(low, high, count + 1)
    boards = []
    for i in range(count):
        piece = beyond(ring, np.array([0.0, edges[i]]), np.array([0.0, 1.0])) if i else ring
        if i < count - 1:
            piece = beyond(piece, np.array([0.0, edges[i + 1]]), np.array([0.0, -1.0]))
        if area_of(piece) > 1.0:
            boards.append(TransomBoard(f"{_stem(name)}-{i + 1}", "board", spec.sided, piece))
    return boards


def _staves(name: str, doubling: Floats, spec: TransomSpec) -> list[TransomBoard]:
    """The doubling's staves, grain up and down, from starboard to port."""
    low, high = float(doubling[:, 0].min()), float(doubling[:, 0].max())
    count = max(1, int(np.ceil((high - low) / STAVE)))
    edges = np.linspace(low, high, count + 1)
    staves = []
    for i in range(count):
        piece = beyond(doubling, np.array([edges[i], 0.0]), np.array([1.0, 0.0])) if i else doubling
        if i < count - 1:
            piece = beyond(piece, np.array([edges[i + 1], 0.0]), np.array([-1.0, 0.0]))
        staves.append(TransomBoard(f"{_stem(name)}-D{i + 1}", "doubling", spec.doubling, piece))
    return staves


def _stem(name: str) -> str:
    return "BT" if name.startswith("bow") else "T"


def _bevels(lines: tuple[InnerLine, ...], thickness: float) -> tuple[BevelAt, ...]:
    """At the ends and the middle of every panel's edge, along the inside face."""
    found = []
    for line in lines:
        run = arc_length(line.flat)
        for name, share_of in ((line.lower, 0.0), (f"middle of {line.panel}", 0.5), (line.upper, 1.0)):
            at = share_of * float(run[-1])
            u, v, angle = (float(np.interp(at, run, c)) for c in (*line.flat.T, line.bevel))
            square = bool(thickness * abs(np.tan(angle)) < SQUARE_BELOW)
            found.append(BevelAt(f"{line.panel}: {name}", np.array([u, v]), angle, square))
    return tuple(found)


def _told(made: Transom, motor: float | None) -> list[Finding]:
    findings = []
    if made.off > ROUGH:
        shape = "a flat transom" if made.radius is None else "a transom bent to one radius"
        findings.append(
            Finding(
                "transom-off",
                "warning",
                made.name,
                f"the hull's end lies up to {made.off:.1f} mm off {shape}",
                "Leave that much more on its edges, and fair planking and transom together",
            )
        )
    top = float(made.ring[:, 1].max())
    if motor is not None and motor > top + 1.0:
        findings.append(
            Finding(
                "motor-high",
                "warning",
                made.name,
                f"the motor wants its clamps {motor:.0f} mm above the keel; the transom ends at {top:.0f}",
                "Build the transom up in the middle, or take a motor with a shorter shaft",
            )
        )
    return findings


def _well_told(made: Transom, motor: float | None, bridge: float | None) -> list[Finding]:
    top = float(made.ring[:, 1].max())
    if motor is None or bridge is None or top - bridge - motor >= LOW_WELL:
        return []
    return [
        Finding(
            "well-low",
            "warning",
            made.name,
            f"a bridge of {bridge:.0f} mm leaves a well opening {max(top - bridge - motor, 0.0):.0f} mm high under a"
            f" top at {top:.0f}: none is cut",
            "Make well_bridge smaller, or leave it out for an open cut-out",
        )
    ]


def whole_faces(made: Transom) -> tuple[Floats, Floats]:
    """Rings of the finished inside and outside face, cut-out taken out.

    One ring has no holes: a well opening is joined to the top by a saw cut, in the 3-D look only."""
    cut = [made.cut_out] if made.cut_out is not None else []
    if made.cut_out is not None and made.bridge is not None:
        high = float(made.cut_out[:, 1].max()) - 1.0
        cut.append(np.array([[-0.25, high], [0.25, high], [0.25, high + 1e4], [-0.25, high + 1e4]]))
    inside, outside = (thin_ring(_whole(f.outline), 0.02) for f in (made.inside, made.outside))
    return without(inside, cut), without(outside, cut)
