"""Formers: what plies are bent on when they are not bent in place, tighter than wanted because they open again.

former       cut to the concave face of the first ply
springback   n equal plies, glued while bent, open when released: 1/R = (1/R_former)(1 - 1/n^2); so the former's bend
             is n^2 / (n^2 - 1) times the wanted one, point by point, and then integrated along its length.  Derived
             (composite beam of elastic layers, rigid glue); the small-bend form, loss of rise = rise / n^2, is an old
             shop rule.  Species, glue and grain move it: bend a test piece and set `springback_factor`
run-out      RUN_OUT mm of straight past each end, so that the ends of the plies are held (common practice)
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from strakewright.arrays import Floats
from strakewright.drawn import Drawn, DrawnLine
from strakewright.errors import InputError
from strakewright.geometry.bends import from_bend
from strakewright.geometry.curves import thin
from strakewright.geometry.drawn import interpolant
from strakewright.members import Swept
from strakewright.shop.bending import Curve, curve_in

RUN_OUT = 100.0
BODY = 120.0  # mm of wood below the lowest point of the curve
HOLE, HOLE_IN = 40.0, 55.0  # mm across a clamp hole, and its middle from the former's edge
CORNERS = 32


def closing(count: int, factor: float, where: str) -> float:
    """What the wanted bend is multiplied by.  Raises InputError for a single ply: it returns to straight.

    >>> round(1 / closing(4, 1.0, ""), 6), round(1 / closing(2, 1.0, ""), 6), 15 / 16
    (0.9375, 0.75, 0.9375)
    """
    if count < 2:
        raise InputError(
            "a single ply bent on a former returns to straight when it is released",
            where=f"{where} plies".strip(),
            fix='Write plies = 2 or more, or glued = "in place"',
        )
    return 1.0 + factor / (count**2 - 1)


@dataclass(frozen=True, eq=False)
class Formed:
    """The former's curve and the curve it is to spring back to, both (n, 2) mm, their middles laid on each other, the
    concave side down;  run : (n,) mm along them."""

    run: Floats
    former: Floats
    finished: Floats
    former_way: Floats


def formed(swept: Swept, count: int, factor: float, where: str) -> Formed:
    """Both curves of a member's concave face."""
    blank = swept.blank
    curve = curve_in(blank, 0.0, blank.depth)
    wanted = _even(curve)
    share = closing(count, factor, where)
    finished, way = from_bend(*wanted)
    former, former_way = from_bend(wanted[0], share * wanted[1])
    finished, _ = _levelled(finished, way)
    former, tilt = _levelled(former, former_way)
    return Formed(wanted[0], former, finished, -(former_way - tilt))


def _even(curve: Curve) -> tuple[Floats, Floats]:
    """The bend at even stations."""
    run = np.linspace(0.0, curve.length, len(curve.run))
    return run, np.asarray(interpolant(curve.run, curve.flat)(run))


def _levelled(points: Floats, way: Floats) -> tuple[Floats, float]:
    """Middle of the run at the origin with its direction along x, concave side down."""
    i = len(points) // 2
    tilt = float(way[i])
    c, s = np.cos(tilt), np.sin(tilt)
    turned = (points - points[i]) @ np.array([[c, -s], [s, c]])
    return turned * np.array([1.0, -1.0]), tilt


CAUTION = "A bent stack holds a great deal of force: brace the former, keep clear, never let go half way."


def former_pattern(
    name: str, shape: Formed, clamps: tuple[float, ...], marks: list[tuple[str, float]], plies: tuple[int, float]
) -> Drawn:
    """The former full size: edge with run-out, finished face, clamp holes, frame marks.

    clamps : mm along the run;  marks : name and place along the run of lines to carry over
    plies : how many, and the springback factor
    """
    edge = _run_out(shape)
    low = float(edge[:, 1].min()) - BODY
    ring = np.concatenate([edge, [[edge[-1, 0], low], [edge[0, 0], low]]])
    at = interpolant(shape.run, shape.former)
    way = interpolant(shape.run, shape.former_way)
    lines = [
        DrawnLine(thin(ring, 0.02, 50.0), "cut", closed=True, words=f"former of {name}: saw here"),
        DrawnLine(thin(shape.finished, 0.02, 50.0), "scribe", words="concave face when released"),
        DrawnLine(np.array([[edge[0, 0], low], [edge[-1, 0], low]]), "reference", words="base"),
    ]
    for number, s in enumerate(clamps, 1):
        lines.append(DrawnLine(_hole(at(s), float(way(s))), "clamp hole", closed=True, words=str(number)))
    for word, s in marks:
        square = np.array([np.sin(way(s)), -np.cos(way(s))])
        lines.append(DrawnLine(np.stack([at(s), at(s) + 35.0 * square]), "scribe", words=word))
    spots = (
        ("A", edge[0]),
        ("B", edge[-1]),
        ("C", np.array([edge[0, 0], low])),
        ("D", np.asarray(at(shape.run[-1] / 2))),
    )
    count, factor = plies
    notes = (
        f"{count} plies. The bend is {closing(count, factor, ''):.4f} of the wanted one: springback 1/n2 x {factor:g}.",
        "A rule of thumb: bend a test piece of the same plies first, measure how far it opens, set springback_factor.",
        f"{RUN_OUT:.0f} mm straight past each end; holes {HOLE:.0f} mm, numbered from aft, tighten from the middle.",
        CAUTION,
    )
    title = f"Former of {name}: concave face of ply 1, closed in for springback"
    return Drawn(f"{name}-former", title, tuple(lines), notes, spots)


def _run_out(shape: Formed) -> Floats:
    ends = []
    for i, sign in ((0, -1.0), (-1, 1.0)):
        way = float(shape.former_way[i])
        ends.append(shape.former[i] + sign * RUN_OUT * np.array([np.cos(way), np.sin(way)]))
    return np.concatenate([ends[:1], shape.former, ends[1:]])


def _hole(at: Floats, way: float) -> Floats:
    middle = at + HOLE_IN * np.array([np.sin(way), -np.cos(way)])
    turn = np.linspace(0.0, 2 * np.pi, CORNERS, endpoint=False)
    return np.asarray(middle + HOLE / 2 * np.stack([np.cos(turn), np.sin(turn)], axis=-1))
