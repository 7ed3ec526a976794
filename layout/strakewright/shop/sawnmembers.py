"""Members sawn to shape from flat stock: skeg, breasthook, quarter knees, stern knee.

skeg         fin under the keel: its upper edge follows the planking's outside, its lower edge is straight from the
             depth asked for at its after end to nothing
breasthook   ties the two sheers at the bow; two halves with the grain along each arm, joined on the centreline
knee         ties the sheer (quarter knee) or the keel (stern knee) to the inside of the transom; both arms are as long
throat       the hollow edge: half an arm deep at the middle; grain runs from toe to toe

Inner pieces lie inside the planking, and inside a member that runs along the same edge.  Source: derived; proportions
are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from strakewright.arrays import Floats
from strakewright.drawn import Drawn, DrawnLine
from strakewright.errors import InputError
from strakewright.geometry.outlines import as_ccw, thin_ring
from strakewright.members import Member, Sawn
from strakewright.parts import Part
from strakewright.settings import MemberSettings
from strakewright.shop.plies import slug
from strakewright.shop.runs import edge_line
from strakewright.shop.swept import Skins, unit
from strakewright.shop.transoms import transom_plates
from strakewright.tables import species

NIB = 12.0  # mm of depth at which a skeg ends
THROAT = 0.5  # of an arm, depth of the throat's middle from the corner
POINTS = 41
SQUARE = np.radians(0.5)  # bevel that is not worth setting a saw for
Y = np.array([0.0, 1.0, 0.0])


@dataclass(frozen=True, eq=False)
class Plane:
    """Where a flat piece lies: corner (3,) mm, along and up (3,) unit vectors square to each other."""

    corner: Floats
    along: Floats
    up: Floats

    def flat(self, points: Floats) -> Floats:
        """(n, 2) of (n, 3) points near the plane."""
        away = points - self.corner
        return np.stack([away @ self.along, away @ self.up], axis=-1)


def sawn_members(
    skins: Skins, wanted: Sequence[MemberSettings], members: Sequence[Member], transom: float
) -> tuple[Sawn, ...]:
    """Every piece asked for.  members : what they lie against;  transom : its thickness mm

    Raises InputError for a piece that has no place on this hull.
    """
    makers = {"skeg": _skeg, "breasthook": _breasthook, "knee": _knee}
    return tuple(makers[ask.shape](skins, ask, members, transom) for ask in wanted if ask.shape != "run")


# -- skeg ------------------------------------------------------------------------------------------


def _skeg(skins: Skins, ask: MemberSettings, members: Sequence[Member], _transom: float) -> Sawn:
    keel = _along_keel(skins, ask)
    shoe = [m for m in members if m.place == "outside" and m.along.startswith("keel")]
    for m in shoe:
        keel = keel - np.array([0.0, 0.0, m.moulded])
    aft = ask.aft if ask.aft is not None else float(keel[0, 0])
    forward = ask.forward if ask.forward is not None else aft + 12.0 * ask.moulded
    x = np.linspace(aft, min(forward, float(keel[-1, 0])), 161)
    top = np.interp(x, keel[:, 0], keel[:, 2])
    low = top[0] - ask.moulded + (x - x[0]) / (x[-1] - x[0]) * (top[-1] - (top[0] - ask.moulded))
    deep = top - low >= NIB
    if deep.sum() < 8:
        raise InputError(
            f"{ask.name} has no depth", where=f"{ask.where} [[member]]".strip(), fix="Give it more moulded depth"
        )
    last = int(np.flatnonzero(deep)[-1])
    x, top, low = x[: last + 1], top[: last + 1], low[: last + 1]
    plane = Plane(np.array([x[0], 0.0, low[0]]), np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, 1.0]))
    upper = np.stack([x - x[0], top - low[0]], axis=-1)
    lower = np.stack([x - x[0], low - low[0]], axis=-1)
    ring = np.concatenate([lower[[0, -1]], upper[::-1]])
    return _sawn(ask, "centre", ring, plane, ("upper edge fits the planking's outside: scribe it in place",))


def _along_keel(skins: Skins, ask: MemberSettings) -> Floats:
    """(n, 3) outside of the planking on the centreline."""
    line = edge_line(skins.hull, "keel", ask.where)
    return np.asarray(skins.outer[0].at(line.chart) * np.array([1.0, 0.0, 1.0]))


# -- breasthook and knees --------------------------------------------------------------------------


def _inner_sheer(skins: Skins, ask: MemberSettings, members: Sequence[Member]) -> Floats:
    """(n, 3) inside of planking at the sheer, or of the clamp along it, aft to forward."""
    for m in members:
        if m.along == "sheer" and m.place == "inside":
            corners, deep = m.swept.corners, m.swept.blank.deep
            high = corners[..., 2] + 1e-3 * (corners * deep[:, None]).sum(axis=-1)
            inner = ((corners - m.swept.blank.outer[:, None]) * deep[:, None]).sum(axis=-1)
            best = np.argmax(high + 10.0 * inner, axis=1)
            return np.asarray(corners[np.arange(len(corners)), best])
    line = edge_line(skins.hull, "sheer", ask.where)
    return skins.inner[-1].at(line.chart)


def _breasthook(skins: Skins, ask: MemberSettings, members: Sequence[Member], _transom: float) -> Sawn:
    sheer = _inner_sheer(skins, ask, members)
    stem = max((m.swept.blank.width / 2 for m in members if "stem" in m.along and m.place == "inside"), default=1.0)
    sheer = sheer[sheer[:, 1] >= stem - 1e-6]
    if len(sheer) < 4 or sheer[-1, 1] > 4.0 * stem + 150.0:
        raise InputError(
            f"{ask.name}: the sheers do not meet at the bow",
            where=f"{ask.where} [[member]]".strip(),
            fix='Use shape = "knee" at a flat bow',
        )
    back = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(sheer[::-1], axis=0), axis=1))])
    arm = sheer[::-1][back <= ask.moulded]
    ahead = arm[0] * np.array([1.0, 0.0, 1.0])
    behind = arm[-1] * np.array([1.0, 0.0, 1.0])
    plane = Plane(ahead, unit(behind - ahead), Y)
    edge = plane.flat(arm)
    share = np.linspace(0.0, 1.0, POINTS)[:, None]
    middle = np.array([THROAT * edge[-1, 0], 0.0])
    throat = (
        (1 - share) ** 2 * edge[-1]
        + 2 * share * (1 - share) * np.array([middle[0], edge[-1, 1] / 2])
        + share**2 * middle
    )
    ring = np.concatenate([[[0.0, 0.0]], edge, throat[1:]])
    slopes = _side_slopes(skins, ask, arm[[0, -1]], np.cross(plane.along, plane.up))
    words = (
        f"side: {_edge_words(slopes[0])} at the stem, {_edge_words(slopes[1])} at the toe; two halves, glued on the"
        " centreline",
    )
    return _sawn(ask, "port", ring, plane, words)


def _knee(skins: Skins, ask: MemberSettings, members: Sequence[Member], transom: float) -> Sawn:
    plates = transom_plates(skins.hull)
    if not plates:
        raise InputError(
            f"{ask.name}: this hull has no transom", where=f"{ask.where} [[member]]".strip(), fix="Leave it out"
        )
    bow = ask.aft is not None and ask.aft > skins.hull.length / 2
    plate, _ = plates["bow transom" if bow and "bow transom" in plates else next(iter(plates))]
    plate = replace(plate, inset=transom)
    quarter = ask.along == "sheer"
    line = _inner_sheer(skins, ask, members) if quarter else _inner_keel(skins, ask, members)
    line = line if not bow else line[::-1]
    over = plate.level(line)
    inside = np.flatnonzero(over < 0)
    if not len(inside):
        raise InputError(f"{ask.name} has no place", where=f"{ask.where} [[member]]".strip(), fix="Leave it out")
    first = int(inside[0])
    corner = line[first]
    if first:
        share = over[first - 1] / (over[first - 1] - over[first])
        corner = line[first - 1] + share * (line[first] - line[first - 1])
    run = line[min(first + 8, len(line) - 1)] - corner
    other = -Y if quarter else plate.up
    along = unit(run)
    up = unit(other - (other @ along) * along)
    ends = [ask.moulded * along, ask.moulded * unit(other)]
    plane = Plane(corner, along, up)
    a, b = plane.flat(corner + np.array(ends))
    share = np.linspace(0.0, 1.0, POINTS)[:, None]
    pull = THROAT * (a + b) / 2
    throat = (1 - share) ** 2 * a + 2 * share * (1 - share) * pull + share**2 * b
    ring = np.concatenate([[[0.0, 0.0]], throat])
    words: tuple[str, ...] = ("edges square: it meets keelson and transom on the centreline", "grain from toe to toe")
    if quarter:
        normal = np.cross(along, up)
        slopes = _side_slopes(skins, ask, corner + np.array([[0.0, 0.0, 0.0], ends[0]]), normal)
        behind = _slope(plate.normal(corner[None])[0], normal)
        words = (
            f"edge on the side: {_edge_words(slopes[0])} at the corner, {_edge_words(slopes[1])} at the toe",
            f"edge on the transom: {_edge_words(behind)}",
            "grain from toe to toe",
        )
    return _sawn(ask, "port" if quarter else "centre", ring, plane, words)


def _slope(outward: Floats, normal: Floats) -> float:
    """Bevel (radians) of an edge that lies on a face with that outward normal, + = the upper face is the smaller.
    normal : (3,) of the piece's plane, either way"""
    up = normal * (1.0 if normal[2] >= 0 else -1.0)
    return float(np.arcsin(np.clip(outward @ up / np.linalg.norm(up), -1.0, 1.0)))


def _side_slopes(skins: Skins, ask: MemberSettings, points: Floats, normal: Floats) -> list[float]:
    """Bevels to the inside of the planking at the places of the sheer nearest to (n, 3) points; a clamp's inside lies
    square to the same."""
    line = edge_line(skins.hull, "sheer", ask.where)
    space = skins.inner[-1].at(line.chart)
    nearest = np.linalg.norm(space[None] - points[:, None], axis=-1).argmin(axis=1)
    return [_slope(n, normal) for n in skins.inner[-1].normal(line.chart[nearest])]


def _edge_words(slope: float) -> str:
    """A bevel as said on the pattern.

    >>> _edge_words(np.radians(-10.0)), _edge_words(0.001)
    ('10.0 degrees, upper face larger', 'square')
    """
    if abs(slope) < SQUARE:
        return "square"
    return f"{abs(np.degrees(slope)):.1f} degrees, upper face {'smaller' if slope > 0 else 'larger'}"


def _inner_keel(skins: Skins, ask: MemberSettings, members: Sequence[Member]) -> Floats:
    """(n, 3) top of the keelson, or inside of the planking on the centreline."""
    for m in members:
        if m.along.startswith("keel") and m.place == "inside":
            b = m.swept.blank
            return np.asarray(b.outer + b.depth * b.deep)
    line = edge_line(skins.hull, "keel", ask.where)
    return np.asarray(skins.inner[0].at(line.chart) * np.array([1.0, 0.0, 1.0]))


# -- the piece -------------------------------------------------------------------------------------


def _sawn(ask: MemberSettings, where: str, ring: Floats, plane: Plane, words: tuple[str, ...]) -> Sawn:
    wood = species(ask.species).name
    name = slug(ask.name)
    ring = as_ccw(thin_ring(ring, 0.05, 50.0))
    along = _toe_to_toe(ring) if ask.shape in ("knee", "breasthook") else 0.0
    flat = _turned(ring, -along)
    tags = ("-P", "-S") if where == "port" else ("",)
    parts = tuple(
        Part(
            id=f"{name}{tag}",
            outline=np.round(flat if tag != "-S" else as_ccw(flat * [1.0, -1.0] + [0.0, np.ptp(flat[:, 1])]), 3),
            thickness=ask.sided,
            species=wood,
            mate=f"{name}{'-S' if tag == '-P' else '-P'}" if tag else None,
            quality="sound",
            stage=1,
        )
        for tag in tags
    )
    pattern = Drawn(
        name,
        f"{ask.name}: {ask.sided:g} mm {wood}" + (", PORT; turn over for STARBOARD" if where == "port" else ""),
        (DrawnLine(flat, "cut", closed=True, words=ask.name),),
        words,
        (("A", flat[0]), ("B", flat[len(flat) // 2])),
    )
    return Sawn(
        name=ask.name,
        where="port" if where == "port" else "centre",
        species=wood,
        thickness=ask.sided,
        outline=ring,
        corner=plane.corner,
        along=plane.along,
        up=plane.up,
        parts=parts,
        pattern=pattern,
        bevels=words,
        place="outside" if ask.shape == "skeg" else "inside",
    )


def _toe_to_toe(ring: Floats) -> float:
    """Direction of the longest diagonal, radians: the way the grain should run."""
    far = np.linalg.norm(ring[:, None] - ring[None], axis=-1)
    i, j = np.unravel_index(int(far.argmax()), far.shape)
    return float(np.arctan2(*(ring[j] - ring[i])[::-1]))


def _turned(ring: Floats, angle: float) -> Floats:
    c, s = np.cos(angle), np.sin(angle)
    turned = ring @ np.array([[c, s], [-s, c]])
    return np.asarray(turned - turned.min(axis=0))
