"""Where the lines end: on the half-siding of stem and post, on the stem's profile, on a transom.

post      an end where the sides come together
transom   an end cut by a face, flat or curved in plan, plumb or raked
forefoot  where the rabbet turns up into the stem; the lowest chine ends there, and with it the bottom

Method: derived.  A chine that is not tabled up to the stem is run on by its own bend to the half-siding, and the rabbet
is taken through its end; where it never gets there it ends on the profile.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import brentq

from strakewright.arrays import Floats
from strakewright.errors import Finding, InputError
from strakewright.geometry.ruled import Edge
from strakewright.loft.lines import Line, Lines
from strakewright.loft.seating import Face, beside_centre, transom_face
from strakewright.settings import TableSettings
from strakewright.units import print_mm

AFT, FORWARD = -1, 1
RUN_ON = 900.0  # mm a line may be carried past its last station
SNAP = 4.0  # mm: an end so near to where it must be is put there
_NOTABLE = 25.0  # mm that a chine's end may miss the fair run of the rabbet
_FLAT = 3.0  # mm by which the ends may miss a flat transom


@dataclass(frozen=True, eq=False)
class End:
    """kind : "post" or "transom";  face : f = 0 on it"""

    kind: str
    face: Face


@dataclass(frozen=True, eq=False)
class ClosedLine:
    """A line with the places u, mm along its curve, between which it bounds planking."""

    line: Line
    aft: float
    forward: float

    def edge(self, before: float = 0.0, after: float = 0.0) -> Edge:
        whole = self.line.edge()
        return Edge(whole.spline, self.aft, self.forward, before, after)

    def points(self, count: int) -> Floats:
        """(count, 3) mm, aft to forward."""
        return self.edge().at(np.linspace(self.aft, self.forward, count))


@dataclass(frozen=True, eq=False)
class ClosedLines:
    """edges : from the keel up;  ends : aft and forward;  profile : the rabbet up to the sheer, or None"""

    edges: tuple[ClosedLine, ...]
    aft: End
    forward: End
    profile: Line | None
    findings: tuple[Finding, ...]


def close_ends(lines: Lines, settings: TableSettings) -> ClosedLines:
    """All lines ended.  Raises InputError when a line cannot be brought to where it must end."""
    findings: list[Finding] = []
    edges = list(lines.edges)
    profile = None
    kinds = {AFT: _kind(lines, settings, AFT), FORWARD: _kind(lines, settings, FORWARD)}
    for way, kind in kinds.items():
        if kind == "post":
            edges, found = _at_post(edges, way, lines.half_siding, findings)
            profile = found if way == FORWARD else profile
    ends = {way: _end(edges, kind, way, lines.half_siding, settings, findings) for way, kind in kinds.items()}
    closed = tuple(ClosedLine(e, _reaches(e, ends[AFT], AFT), _reaches(e, ends[FORWARD], FORWARD)) for e in edges)
    return ClosedLines(closed, ends[AFT], ends[FORWARD], profile, tuple(findings))


def _kind(lines: Lines, settings: TableSettings, way: int) -> str:
    sheer = lines.edges[-1].nodes
    end = sheer[-1 if way == FORWARD else 0, 1]
    if way == FORWARD:
        return "post" if settings.bow == "stem" else "transom"
    return "post" if end <= max(lines.half_siding + SNAP, 0.03 * sheer[:, 1].max()) else "transom"


def _at_post(edges: list[Line], way: int, half: float, findings: list[Finding]) -> tuple[list[Line], Line | None]:
    """Every line brought to the post; and the profile, when there is a rabbet."""
    facing = [_faced(e, way) for e in edges]
    facing[-1] = _run_to_siding(facing[-1], half, findings)
    has_rabbet = facing[0].name in ("rabbet", "keel")
    profile = _with_end(facing[0], facing[-1].nodes[-1]) if has_rabbet else None
    for k in range(1 if has_rabbet else 0, len(facing) - 1):
        facing[k] = _chine_to_post(facing[k], profile, half, findings)
    if profile is not None and len(facing) > 2:
        facing[0] = _cut_at(facing[0], facing[1].nodes[-1])
    back = [_faced(e, way) for e in facing]
    return back, _faced(profile, way) if profile is not None else None


def _faced(line: Line, way: int) -> Line:
    """The line seen so that the end in question is its last; the same call turns it back."""
    if way == FORWARD:
        return line
    return Line(line.name, line.nodes[::-1] * np.array([-1.0, 1.0, 1.0]), line.stations[::-1])


def _with_end(line: Line, point: Floats) -> Line:
    """The line up to a further point, unless it is there already."""
    if np.linalg.norm(line.nodes[-1] - point) < SNAP:
        return replace(line, nodes=np.concatenate([line.nodes[:-1], point[None]]))
    return Line(line.name, np.concatenate([line.nodes, point[None]]), (*line.stations, ""))


def _cut_at(line: Line, point: Floats) -> Line:
    """The line up to a point of it, later nodes left out."""
    stay = np.flatnonzero((line.nodes[:, 0] < point[0] - SNAP) | (line.nodes[:, 2] < point[2] - 5 * SNAP))
    before = line.nodes[stay]
    near = np.linalg.norm(before - point, axis=1) > SNAP
    kept = stay[near]
    stations = tuple(line.stations[k] for k in kept)
    return Line(line.name, np.concatenate([line.nodes[kept], point[None]]), (*stations, ""))


def _run_to_siding(line: Line, half: float, findings: list[Finding]) -> Line:
    """The line up to where its half-breadth is that of the post."""
    last = line.nodes[-1]
    if last[1] <= half + SNAP:
        return replace(line, nodes=np.concatenate([line.nodes[:-1], [[last[0], half, last[2]]]]))
    edge = line.edge(0.0, RUN_ON)
    u = np.linspace(edge.last, edge.last + RUN_ON, 601)
    under = np.flatnonzero(edge.at(u)[:, 1] <= half)
    if not len(under):
        raise InputError(
            f"the {line.name} stands {last[1]:.0f} mm off the centreline at its end and does not close on the stem"
            f" within {RUN_ON:.0f} mm",
            where=f"line {line.name!r}",
            fix='Give its end on the stem in the table, or write bow = "transom"',
        )
    exact = float(brentq(lambda s: float(edge.at(np.array(s))[1]) - half, float(u[under[0] - 1]), float(u[under[0]])))
    point = edge.at(np.array(exact))
    point[1] = half
    findings.append(_ran_on(line, point, exact - edge.last))
    return _with_end(line, point)


def _ran_on(line: Line, point: Floats, by: float) -> Finding:
    return Finding(
        "line-run-on",
        "note",
        line.name,
        f"not tabled up to its end: run on by {print_mm(by)} to x {point[0]:.0f}, y {point[1]:.1f}, z {point[2]:.0f}",
        "Give its end in a column of its own if you know it",
    )


def _chine_to_post(line: Line, profile: Line | None, half: float, findings: list[Finding]) -> Line:
    """The chine up to the post: where its own bend takes it to the half-siding, else where it meets the profile."""
    found: list[Finding] = []
    try:
        closed = _run_to_siding(line, half, found)
    except InputError:
        if profile is None:
            raise
        return _onto_profile(line, profile, half, findings)
    findings += found
    if profile is not None and found:
        rail = profile.edge()
        stem, point = rail.at(np.linspace(rail.first, rail.last, 801)), closed.nodes[-1]
        off = float(np.linalg.norm((stem - point)[:, [0, 2]], axis=1).min())
        if off > _NOTABLE:
            findings.append(_off_profile(line, point, off))
    return closed


def _off_profile(line: Line, point: Floats, off: float) -> Finding:
    return Finding(
        "forefoot-disagrees",
        "warning",
        line.name,
        f"it closes on the stem at x {point[0]:.0f}, z {point[2]:.0f}, which is {off:.0f} mm off the fair run of the"
        " rabbet up to the stem head; the rabbet is bent to pass through it",
        "Give the chine's end on the stem, and the rabbet's points on the stem, in columns of their own",
    )


def _onto_profile(line: Line, profile: Line, half: float, findings: list[Finding]) -> Line:
    """The line ended where its heights, run on straight, meet the rabbet's profile."""
    edge, rail = line.edge(0.0, RUN_ON), profile.edge()
    end, way, _ = edge.jet(np.array(edge.last))
    stem = rail.at(np.linspace(rail.first, rail.last, 4001))
    above = stem[:, 2] - (end[2] + (stem[:, 0] - end[0]) * way[2] / max(float(way[0]), 1e-3))
    ahead = stem[:, 0] > end[0]
    meets = np.flatnonzero(ahead[1:] & (above[1:] >= 0) & (above[:-1] < 0))
    if not len(meets):
        raise InputError(
            f"the {line.name} meets neither the stem's half-siding nor the rabbet's profile",
            where=f"line {line.name!r}",
            fix="Give its end on the stem in a column of its own",
        )
    point = stem[int(meets[0]) + 1]
    point[1] = half
    findings.append(_ran_on(line, point, float(np.linalg.norm(point - end))))
    return _with_end(line, point)


def _end(edges: list[Line], kind: str, way: int, half: float, settings: TableSettings, findings: list[Finding]) -> End:
    if kind == "post":
        return End(kind, beside_centre(half))
    nodes = np.array([e.nodes[-1 if way == FORWARD else 0] for e in edges])
    radius = settings.transom_radius if way == AFT else None
    rake = settings.transom_rake_deg if way == AFT else settings.bow_rake_deg
    bulge = _bulge(nodes[:, 1], radius)
    reach = nodes[:, 0] + way * bulge  # where the middle of the transom would be at that height
    if rake is not None:
        lean = way * math.tan(math.radians(rake))
        return End(kind, transom_face(way, float(reach[0] - lean * nodes[0, 2]), lean, radius))
    if np.ptp(nodes[:, 2]) < 1.0 or np.ptp(reach) < 0.5:
        return End(kind, transom_face(way, float(way * (way * reach).max()), 0.0, radius))
    lean, at = np.polyfit(nodes[:, 2], reach, 1)
    off = float(np.abs(lean * nodes[:, 2] + at - reach).max())
    if off > _FLAT and radius is not None:  # the table gives one plumb station: the curve passes through the keel's end
        return End(kind, transom_face(way, float(reach[0]), 0.0, radius))
    if off > _FLAT:
        findings.append(_not_flat(off))
    return End(kind, transom_face(way, float(at), float(lean), radius))


def _bulge(y: Floats, radius: float | None) -> Floats:
    return np.zeros_like(y) if radius is None else radius - np.sqrt(np.maximum(radius**2 - y**2, 0.0))


def _not_flat(off: float) -> Finding:
    return Finding(
        "transom-not-flat",
        "warning",
        "transom",
        f"the lines end up to {off:.1f} mm off a flat transom",
        "Give transom_radius if it is curved in plan, or correct the ends",
    )


def _reaches(line: Line, end: End, way: int) -> float:
    """u at which a line passes through the face of an end."""
    edge = line.edge()
    last = edge.last if way == FORWARD else 0.0
    if end.kind == "post":
        return last
    long = Edge(edge.spline, 0.0, edge.last, RUN_ON, RUN_ON)

    def off(u: float) -> float:
        return float(end.face(long.at(np.array(u)))[0])

    if abs(off(last)) < 1e-7:
        return last
    far = last + way * RUN_ON if off(last) < 0 else last - way * 0.5 * edge.last
    if off(last) * off(far) > 0:
        raise InputError(
            f"the {line.name} does not reach the transom", where=f"line {line.name!r}", fix="Check transom_rake_deg"
        )
    return float(brentq(off, min(last, far), max(last, far), xtol=1e-9))
