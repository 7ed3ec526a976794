"""Long members of the boat, in place and in pieces: keelson, stem, cap, logs, clamps, battens, rails.

member    a long piece that follows an edge or a line of the hull; its finished section rolls along its run
run       distance along the member, mm, from its after (or lower) end
section   the finished shape square to the run: corners in the same order at every station of the run
bearing   a face that lies against planking (or, for outer members, against the land or the planking's outside)
blank     the square-edged stick, glued up or solid, that the finished section is planed from
across, deep   the blank's own directions: along its outer face, and from the outer face into the member
ply       one layer of a laminated member; ply 1 lies against the former, or against the frames
former    what plies are bent on when they are not bent in place
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from strakewright.arrays import Floats, frozen_array
from strakewright.drawn import Drawn
from strakewright.parts import Part

Where = Literal["port", "centre"]
"""A port member has a mirror image on the other side; a centre member is whole."""
Place = Literal["inside", "outside"]


@dataclass(frozen=True, eq=False)
class Bearing:
    """A face that lies against something.

    on : what it lies against: a panel's name, or "land" (the flat that hood ends are cut to)
    edge : number of the corner it runs from; it ends at the next corner of the section
    bevel : (n,) radians from the blank's square face to this face, at every station; 0 = as the blank comes
    """

    on: str
    edge: int
    bevel: Floats

    def __post_init__(self) -> None:
        object.__setattr__(self, "bevel", frozen_array(self.bevel, (None,), f"bevel on {self.on!r}"))


@dataclass(frozen=True, eq=False)
class Blank:
    """The square-edged stick.  outer : (n, 3) middle of its outer face;  across, deep : (n, 3) unit vectors, square
    to each other;  width (across) and depth (deep) mm, the same all along, without dressing allowance."""

    outer: Floats
    across: Floats
    deep: Floats
    width: float
    depth: float

    def __post_init__(self) -> None:
        for name in ("outer", "across", "deep"):
            object.__setattr__(self, name, frozen_array(getattr(self, name), (None, 3), f"blank {name}"))


@dataclass(frozen=True, eq=False)
class Swept:
    """A member's finished shape.

    run : (n,) mm;  corners : (n, k, 3) mm, port half or whole, counter-clockwise seen from the run's forward end
    blank : what it is planed from;  bearings : its fitted faces
    """

    run: Floats
    corners: Floats
    blank: Blank
    bearings: tuple[Bearing, ...]

    def __post_init__(self) -> None:
        object.__setattr__(self, "run", frozen_array(self.run, (None,), "run"))
        object.__setattr__(self, "corners", frozen_array(self.corners, (len(self.run), None, 3), "corners"))

    @property
    def middle(self) -> Floats:
        """(n, 3) mm, mean of the corners."""
        return np.asarray(self.corners.mean(axis=1))


@dataclass(frozen=True, eq=False)
class Bend:
    """How hard the wood is bent; radii mm, None where it stays straight; strains and shares as fractions.

    flat : tightest radius flatwise;  edge : tightest radius edgewise;  twist : largest, rad per mm
    ratio : ply thickness over flat radius;  factor : share of strength left, 1 - 2000 ratio^2
    stress : MPa from bending one ply, None without a stiffness;  edge_strain : width / 2R edgewise
    strain : t / 2R flatwise and width / 2R edgewise together, where their sum is worst
    at : mm along the run where the flatwise bend is tightest
    """

    flat: float | None
    edge: float | None
    twist: float
    ratio: float
    factor: float
    stress: float | None
    edge_strain: float
    strain: float
    at: float


@dataclass(frozen=True, eq=False)
class Ply:
    """One ply (or the whole of a solid member).  length : of its own middle line, finished;  joints : mm from its
    after end to the middle of each scarf;  parts : ids of its pieces, aft first."""

    number: int
    thickness: float
    width: float
    length: float
    joints: tuple[float, ...]
    parts: tuple[str, ...]


@dataclass(frozen=True)
class EndScarf:
    """Where one member is scarfed on to another.  to : the other's name;  end : this one's end;  x, length : mm
    tapered : the face that is cut away to the feather; aft piece outside, forward piece inside, as with planks"""

    to: str
    end: Literal["aft", "forward"]
    x: float
    length: float
    tapered: Place


@dataclass(frozen=True)
class EndCut:
    """How an end is cut that meets a transom.  end : of the member, "aft" or "forward";  on : the transom's name
    angle : radians between the member's run and the transom's plane (a right angle: square)
    face, side : radians from square of the cut's line over the blank's outer face (+ = longer at the upper edge)
    and over its side (+ = longer at the face away from the planking)"""

    end: str
    on: str
    angle: float
    face: float
    side: float


@dataclass(frozen=True, eq=False)
class Batch:
    """What one person glues up in one go.  plies : first and last that are laid on (the one below is there already);
    minutes : from first glue to last clamp"""

    plies: tuple[int, int]
    clamps: int
    glue_g: float
    minutes: float


@dataclass(frozen=True, eq=False)
class Clamping:
    """spacing : mm between clamps;  positions : (n,) mm along the run;  order : clamp numbers as tightened, from the
    middle outwards (1 = aftmost);  face_g : grams of glue for each joint face, ply 1 to 2 first"""

    spacing: float
    positions: tuple[float, ...]
    order: tuple[int, ...]
    face_g: tuple[float, ...]
    batches: tuple[Batch, ...]


@dataclass(frozen=True)
class BevelRow:
    """One line of the bevel table.  name : a frame's, or "";  run : mm from the after end;  x : mm of the section's
    middle;  bevels : radians of each bearing;  widths : mm of each bearing;  turn : radians the blank has turned
    about its run since the after end"""

    name: str
    run: float
    x: float
    bevels: tuple[float, ...]
    widths: tuple[float, ...]
    turn: float


@dataclass(frozen=True, eq=False)
class Member:
    """One member with everything needed to cut, bend, glue, bevel and place it.

    sided : its breadth along what it bears on;  moulded : its depth away from that
    rows : bevels at every frame and every 300 mm
    bend : of the ply that is bent hardest;  other_way : the same wood with the plies laid the other way
    plies_lie : "to side" or "to bottom", the way they do lie;  mirrored : a twin is cut for starboard
    """

    name: str
    along: str
    where: Where
    place: Place
    species: str
    sided: float
    moulded: float
    swept: Swept
    bend: Bend
    other_way: Bend
    plies_lie: Literal["to side", "to bottom"]
    glued: Literal["in place", "on former"]
    plies: tuple[Ply, ...]
    parts: tuple[Part, ...]
    clamping: Clamping | None
    rows: tuple[BevelRow, ...] = ()
    former: Drawn | None = None
    springback_factor: float = 1.0
    scarf: EndScarf | None = None
    cuts: tuple[EndCut, ...] = ()
    figures: dict[str, float | str] = field(default_factory=dict)

    @property
    def mirrored(self) -> bool:
        return self.where == "port"


@dataclass(frozen=True, eq=False)
class Sawn:
    """A piece sawn to shape from flat stock, in place: breasthook, knee, skeg.

    place : inside the planking or outside it
    parts : to cut;  pattern : drawn full size;  corner, along, up : its plane in space, port piece or whole
    outline : (n, 2) mm in that plane, at the middle of its thickness;  bevels : words for the bench
    """

    name: str
    where: Where
    species: str
    thickness: float
    outline: Floats
    corner: Floats
    along: Floats
    up: Floats
    parts: tuple[Part, ...]
    pattern: Drawn
    bevels: tuple[str, ...] = ()
    place: Place = "inside"

    def __post_init__(self) -> None:
        object.__setattr__(self, "outline", frozen_array(self.outline, (None, 2), f"{self.name!r} outline"))
        for key in ("corner", "along", "up"):
            object.__setattr__(self, key, frozen_array(getattr(self, key), (3,), f"{self.name!r} {key}"))


def section_at(member: Member | Swept, x: float) -> Floats | None:
    """(k, 2) y, z of the member's finished section in the station plane at x; None where it does not reach it.

    Corner by corner: the point where each corner's line passes x (exact for straight members; between stations a
    cubic runs through four).  A port member's section is the port one; mirror y for starboard.
    """
    swept = member.swept if isinstance(member, Member) else member
    found = []
    for line in np.moveaxis(swept.corners, 1, 0):
        point = _crossing(swept.run, line, x)
        if point is None:
            return None
        found.append(point)
    return np.array(found)


def reach(member: Member | Swept) -> tuple[float, float]:
    """Least and greatest x (mm) at which `section_at` gives a whole section."""
    swept = member.swept if isinstance(member, Member) else member
    ends = swept.corners[[0, -1], :, 0]
    return float(ends.min(axis=0).max()), float(ends.max(axis=0).min())


def _crossing(run: Floats, line: Floats, x: float) -> Floats | None:
    over = line[:, 0] - x
    flips = np.nonzero((over[:-1] <= 0) & (over[1:] > 0) | (over[:-1] >= 0) & (over[1:] < 0))[0]
    if not len(flips):
        ends = np.nonzero(np.abs(over) < 1e-9)[0]
        return line[ends[0], 1:] if len(ends) else None
    i = int(flips[0])
    lo = max(0, min(i - 1, len(run) - 4))
    u, points = run[lo : lo + 4], line[lo : lo + 4]
    size = u[-1] - u[0]
    # the cubic through four stations, in powers of the share of the run between them
    powers = np.linalg.solve(np.vander((u - u[0]) / size, increasing=True), points)
    c = powers[:, 0].tolist()
    at = float((run[i] + (run[i + 1] - run[i]) * over[i] / (over[i] - over[i + 1]) - u[0]) / size)
    for _ in range(6):
        value = sum(k * at**n for n, k in enumerate(c)) - x
        at -= value / sum(n * k * at ** (n - 1) for n, k in enumerate(c) if n)
    return np.asarray(at ** np.arange(len(c)) @ powers[:, 1:])
