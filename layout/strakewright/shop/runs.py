"""The lines that members follow, and smooth frames along them.

line      where a member goes: an edge of the hull, or a share of a panel's girth, on one of the planking's faces
station   a place along a member where its section is worked out, STEP mm apart
frame     at a station: the way on (forward or up), and the plane square to it

Lines of the centreline (keel, stem, both as one) are faired over the corner where they meet: plies cannot follow a
knuckle, so the bend is spread over FAIRING mm to each side and the finished face is planed out of the blank.
Source: derived.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from strakewright.arrays import Bools, Floats
from strakewright.errors import InputError
from strakewright.geometry.curves import arc_length, drawn_through, without_repeats
from strakewright.geometry.drawn import interpolant
from strakewright.geometry.sections import section
from strakewright.geometry.surface import Patch
from strakewright.hull import Border, Hull, Panel

STEP = 25.0
FAIRING = 120.0
KNUCKLE = np.radians(1.5)
BROADEST_STEM = 150.0  # mm half
GIRTH_STATIONS = 41
FINE = 801


@dataclass(frozen=True, eq=False)
class Line:
    """points : (n, 3) mm, aft to forward (or up);  panel : (n,) number of the panel that each point lies on;
    chart : (n, 2) of it there."""

    points: Floats
    panel: Floats
    chart: Floats

    @property
    def run(self) -> Floats:
        """(n,) mm from the after end."""
        return arc_length(self.points)


def frames_along(points: Floats) -> tuple[Floats, Floats]:
    """(n,) true run and (n, 3) unit tangents of the smooth curve through (n, 3) points."""
    u = arc_length(points)
    curve = drawn_through(u, points)
    nodes, weights = np.polynomial.legendre.leggauss(5)
    half = 0.5 * np.diff(u)[:, None]
    inner = curve(0.5 * (u[1:] + u[:-1])[:, None] + half * nodes, nu=1)
    run = np.concatenate([[0.0], np.cumsum((np.linalg.norm(inner, axis=-1) * half * weights).sum(axis=1))])
    tangent = curve(u, nu=1)
    return run, np.asarray(tangent / np.linalg.norm(tangent, axis=-1, keepdims=True))


def evenly(line: Line, step: float = STEP) -> Line:
    """The same line with points `step` mm apart."""
    run = line.run
    keep = np.concatenate([[True], np.diff(run) > 1e-6])
    count = max(8, int(np.ceil(run[-1] / step)) + 1)
    at = np.linspace(0.0, run[-1], count)
    nearest = np.abs(run[keep][:, None] - at).argmin(axis=0)
    return Line(
        np.asarray(interpolant(run[keep], line.points[keep])(at)),
        line.panel[keep][nearest],
        np.stack([np.interp(at, run[keep], line.chart[keep, k]) for k in (0, 1)], axis=-1),
    )


# -- edges of the hull -----------------------------------------------------------------------------


def edge_line(hull: Hull, along: str, where: str) -> Line:
    """The line of an edge on the described surface.  Raises InputError when the hull has no such edge."""
    pieces = []
    for name in along.split("+"):
        found = [piece for number, panel in enumerate(hull.panels) for piece in _borders(panel, number, name)]
        if not found:
            raise InputError(
                f"this hull has no {name}",
                where=f"{where} along".strip(),
                fix=f"Its edges are {', '.join(edges(hull))}",
            )
        pieces += found if name == "stem" else found[:1]
    points = np.concatenate([p.points for p in pieces])
    keep = np.concatenate([[True], np.linalg.norm(np.diff(points, axis=0), axis=1) > 1e-6])
    panel, chart = (np.concatenate([getattr(p, key) for p in pieces])[keep] for key in ("panel", "chart"))
    return Line(points[keep], panel, chart)


def edges(hull: Hull) -> list[str]:
    """Names of all edges a member may follow, from the keel up."""
    names: list[str] = []
    for panel in hull.panels:
        for border, _ in panel.ring():
            if border.name not in names and "transom" not in border.name:
                names.append(border.name)
    return names


def _borders(panel: Panel, number: int, name: str) -> list[Line]:
    found = [b for b in _sides(panel) if b.name == name or (name == "chine" and b.name == "chine1")]
    found = [b for b in found if b.name != "stem" or not _athwart(panel.in_space(b))]
    return [Line(panel.in_space(b), np.full(len(b.chart), float(number)), b.chart) for b in found]


def _athwart(points: Floats) -> bool:
    """Whether a forward end stands off the centreline: a flat bow has no stem."""
    return bool(np.abs(points[:, 1]).max() > BROADEST_STEM)


def _sides(panel: Panel) -> list[Border]:
    return [b for b in (panel.lower, panel.upper, panel.aft, panel.forward) if b is not None]


# -- lines inside a panel --------------------------------------------------------------------------


def girth_line(hull: Hull, along: str, where: str, clear: float) -> Line:
    """The line at a share of a panel's girth, measured in station planes from its lower edge up.

    along : "bottom@0.33";  clear : it runs where it is at least this far (mm) from both edges
    Raises InputError for an unknown panel or where there is no room.
    """
    name, share = along.split("@")
    panels = {p.name: i for i, p in enumerate(hull.panels)}
    if name not in panels:
        fix = f"Its panels are, from the keel up: {', '.join(panels)}"
        raise InputError(f"this hull has no panel {name!r}", where=f"{where} along".strip(), fix=fix)
    panel = hull.panels[panels[name]]
    ring = np.concatenate([points[:-1] for _, points in panel.ring()])
    edge = panel.in_space(panel.lower)[:, 0], panel.in_space(panel.upper)[:, 0]
    low, high = max(e[0] for e in edge), min(e[-1] for e in edge)
    chart, fits = _at_share(panel.patch, ring, np.linspace(low + 1.0, high - 1.0, GIRTH_STATIONS), float(share), clear)
    room = np.flatnonzero(fits)
    if len(room) < 8:
        raise InputError(
            f"no room for a member {clear:.0f} mm clear of the edges of panel {name!r}",
            where=f"{where} along".strip(),
            fix="Take a share nearer to the middle, or a narrower member",
        )
    inner = chart[room]
    u = arc_length(inner)
    fine = np.asarray(interpolant(u, inner)(np.linspace(0.0, u[-1], FINE)))
    return Line(panel.patch.at(fine), np.full(FINE, float(panels[name])), fine)


def _at_share(patch: Patch, ring: Floats, stations: Floats, share: float, clear: float) -> tuple[Floats, Bools]:
    chart, fits = np.zeros((len(stations), 2)), np.zeros(len(stations), dtype=bool)
    for i, x in enumerate(stations):
        for piece in section(patch, ring, x)[:1]:
            girth = arc_length(patch.at(piece))
            at = share * girth[-1]
            chart[i] = [np.interp(at, girth, piece[:, k]) for k in (0, 1)]
            fits[i] = min(at, girth[-1] - at) >= clear
    return chart, fits


# -- fairing ---------------------------------------------------------------------------------------


def faired(points: Floats) -> Floats:
    """A centreline curve with its knuckles spread over FAIRING mm to each side; a smooth curve stays as it is.

    points : (n, 3) mm, y = 0, evenly spaced.  The direction is averaged along the run and integrated again; the end
    is brought back to its place by an even shear.
    """
    points = without_repeats(points)
    legs = np.diff(points, axis=0)
    angle = np.unwrap(np.arctan2(legs[:, 2], legs[:, 0]))
    turns = np.abs(np.diff(angle))
    if len(turns) < 3 or turns.max() < max(KNUCKLE, 4.0 * float(np.median(turns))):
        return points
    size = np.linalg.norm(legs, axis=1)
    middle = np.cumsum(size) - size / 2
    apart = (middle[:, None] - middle) / FAIRING
    weight = np.where(np.abs(apart) < 1.0, 1.0 - np.abs(apart), 0.0) * size
    soft = (weight @ angle) / weight.sum(axis=1)
    share = np.clip((np.abs(middle - middle[int(turns.argmax())]) - 2 * FAIRING) / FAIRING, 0.0, 1.0)
    angle = share * angle + (1.0 - share) * soft
    steps = size[:, None] * np.stack([np.cos(angle), np.zeros_like(angle), np.sin(angle)], axis=-1)
    fair = points[0] + np.concatenate([np.zeros((1, 3)), np.cumsum(steps, axis=0)])
    miss = points[-1] - fair[-1]
    return np.asarray(fair + np.linspace(0.0, 1.0, len(fair))[:, None] * miss)
