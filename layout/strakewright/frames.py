"""Sawn frames, the transom, and how they are set up.

frame         rib across the boat at a station, sawn of pieces:  side, bilge and bottom pieces, floor, gussets
control face  the face of a piece that lies in a plane set out on the strongback; the pattern is laid on it
other face    the far face;  bevelling takes the wood between the two lines
floor         crosspiece over the keel that joins the two halves;  backer: the floor of a frame in the forefoot, a
              block that fills the V behind the stem
siding        thickness of a piece;  moulded : its depth, seen in the pattern
notch         where a member passes: one line on each face, cut square to what both share, then pared to both lines
limber        hollow at the planking through which bilge water drains
cross spall   temporary brace from side to side at a level height

All rings and points are (y, z) mm in the station plane: y to port, z up.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from strakewright.arrays import Floats, frozen_array
from strakewright.drawn import Drawn
from strakewright.parts import Part
from strakewright.solids import Body

PieceSide = Literal["port", "starboard", "centre"]
FacesTo = Literal["aft", "forward"]
OVER = np.array([-1.0, 1.0])


@dataclass(frozen=True, eq=False)
class BevelAt:
    """One bevel to set a saw to.  at : (2,) on the control line;  angle : radians in the plane square to the edge,
    from square to the face, + = the other face is the smaller (wood comes off);  square : below what is worth it"""

    name: str
    at: Floats
    angle: float
    square: bool

    def __post_init__(self) -> None:
        object.__setattr__(self, "at", frozen_array(self.at, (2,), "bevel place"))


@dataclass(frozen=True, eq=False)
class Notch:
    """A member's way through a piece.  control, other : its outline on each face;  cut : what both share
    left : depth of wood left behind it, mm;  bearing : clearance there is 0, on the sides `clear` mm"""

    member: str
    control: Floats
    other: Floats
    cut: Floats
    clear: float
    left: float

    def __post_init__(self) -> None:
        for name in ("control", "other", "cut"):
            object.__setattr__(self, name, frozen_array(getattr(self, name), (None, 2), f"notch {name}"))


@dataclass(frozen=True, eq=False)
class HalfLap:
    """ring : where two pieces cross;  face : the face it is cut down from, half the siding deep"""

    ring: Floats
    face: Literal["control", "other"]

    def __post_init__(self) -> None:
        object.__setattr__(self, "ring", frozen_array(self.ring, (None, 2), "half lap"))


@dataclass(frozen=True, eq=False)
class FramePiece:
    """One piece of a frame.

    kind : "side", "bilge1", "bottom", "floor", "backer", "gusset"
    x_control, x_other : planes of its faces;  control, other : finished rings there, notches and limbers out
    outline : ring to cut from the board, which holds both faces (with the head's tail and notches as first cut)
    halves : half laps;  middle : finished ring half way through, for a piece that has them, else empty
    grain : (2,) unit vector along the grain;  run_out : radians, largest slope of the piece's middle line to it
    """

    id: str
    kind: str
    side: PieceSide
    species: str
    thickness: float
    x_control: float
    x_other: float
    control: Floats
    other: Floats
    outline: Floats
    grain: Floats
    run_out: float
    bevels: tuple[BevelAt, ...] = ()
    notches: tuple[Notch, ...] = ()
    limbers: tuple[Floats, ...] = ()
    halves: tuple[HalfLap, ...] = ()
    middle: Floats = field(default_factory=lambda: np.empty((0, 2)))

    def __post_init__(self) -> None:
        for name in ("control", "other", "outline", "middle"):
            object.__setattr__(self, name, frozen_array(getattr(self, name), (None, 2), f"{self.id} {name}"))
        object.__setattr__(self, "grain", frozen_array(self.grain, (2,), f"{self.id} grain"))
        object.__setattr__(self, "limbers", tuple(frozen_array(r, (None, 2), "limber") for r in self.limbers))

    @property
    def control_faces(self) -> FacesTo:
        """Which way the control face looks."""
        return "aft" if self.x_other > self.x_control else "forward"


@dataclass(frozen=True, eq=False)
class Corner:
    """A named mark on the control line: keel, chine, sheer.  at : (2,) port side"""

    name: str
    at: Floats

    def __post_init__(self) -> None:
        object.__setattr__(self, "at", frozen_array(self.at, (2,), self.name))


@dataclass(frozen=True, eq=False)
class SawnFrame:
    """One frame.  control_faces : which way the face on the station line looks (the big face of its wide pieces)

    corners : on the station plane, keel up;  removal : mm2 of wood that bevelling takes, summed along the outline
    lines : panel -> (n, 2) inside of planking at the station, port, for drawing
    spall : height of the cross spall (z) and its length between the outer edges of the frame, or None
    """

    name: str
    station: float
    control_faces: FacesTo
    joint: str
    pieces: tuple[FramePiece, ...]
    corners: tuple[Corner, ...]
    lines: dict[str, Floats]
    removal: float
    spall: tuple[float, float] | None

    def corner(self, name: str) -> Floats:
        """(2,) the mark of that name; raises KeyError."""
        return {c.name: c.at for c in self.corners}[name]


@dataclass(frozen=True, eq=False)
class Spall:
    """Cross spall of one frame.  ring : in the station plane, its upper edge at the height of all spalls, its ends
    on the frame's outer edges;  thickness, species : None where it is cut of rough stuff and not from the pile"""

    id: str
    frame: str
    ring: Floats
    thickness: float | None = None
    species: str | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "ring", frozen_array(self.ring, (None, 2), self.id))

    @property
    def lengths(self) -> tuple[float, float]:
        """Of its upper and its lower edge, mm."""
        z = self.ring[:, 1]
        upper, lower = (float(np.ptp(self.ring[np.abs(z - edge) < 1e-6, 0])) for edge in (z.max(), z.min()))
        return upper, lower


@dataclass(frozen=True, eq=False)
class SetUpRow:
    """One frame or transom on the strongback, boat inverted; heights above the strongback (h_ref - z), all mm.

    at : mark -> distance from the strongback's after end (the same for all marks of a frame)
    heights, half_breadths : mark -> height, and half breadth to either side;  marks: keel, chines, sheer
    control_faces : which way the face on those marks looks
    leg : from the cross spall to the strongback, None without a spall;  spall : its length, or None
    diagonals : mark -> distance from the after and from the forward fixed point, the same to port and starboard
    """

    name: str
    control_faces: FacesTo
    at: dict[str, float]
    heights: dict[str, float]
    half_breadths: dict[str, float]
    diagonals: dict[str, tuple[float, float]]
    leg: float | None
    spall: float | None


@dataclass(frozen=True, eq=False)
class SetUp:
    """The set-up sheet.  h_ref : z of the strongback's top;  points : x of the two fixed points on its centreline,
    which are its ends (stations are taped from the after one);  spall_z : height of all cross spalls"""

    h_ref: float
    points: tuple[float, float]
    spall_z: float
    rows: tuple[SetUpRow, ...]


@dataclass(frozen=True, eq=False)
class TransomFace:
    """One face of a transom, laid flat: u to port, v up along the rake from the keel's outside, mm.

    outline : (n, 2) port half from the centreline to the sheer;  bevel : (n,) radians of the planking there, from
    square, + = the face away from the boat is the smaller;  corners : marks by name, each (u, v, x, y, z)
    """

    outline: Floats
    bevel: Floats
    corners: dict[str, Floats]

    def __post_init__(self) -> None:
        object.__setattr__(self, "outline", frozen_array(self.outline, (None, 2), "transom outline"))
        object.__setattr__(self, "bevel", frozen_array(self.bevel, (len(self.outline),), "transom bevel"))


@dataclass(frozen=True, eq=False)
class TransomBoard:
    """A piece the transom is built up of.  ring : (n, 2) in u, v;  kind : "board" or "doubling" """

    id: str
    kind: Literal["board", "doubling"]
    thickness: float
    ring: Floats

    def __post_init__(self) -> None:
        object.__setattr__(self, "ring", frozen_array(self.ring, (None, 2), self.id))


@dataclass(frozen=True, eq=False)
class Transom:
    """One transom.  name : "transom" or "bow transom"

    rake : radians from upright, + = the top leans away from the boat;  radius : mm of its bend across the boat
    measured at its outside, + = it bulges away from the boat, None when flat;  off : mm the hull's border lies off
    inside, outside : its faces;  ring : the pattern, both halves, which holds both faces, before the cut-out
    cut_out, doubling : rings or None;  bevels : along the inside face, port;  control : face drawn solid
    bridge : mm of the transom left above the cut-out, which is then a well opening;  None = open to the top
    """

    name: str
    rake: float
    radius: float | None
    off: float
    thickness: float
    species: str
    inside: TransomFace
    outside: TransomFace
    ring: Floats
    cut_out: Floats | None
    doubling: Floats | None
    doubling_thickness: float
    boards: tuple[TransomBoard, ...]
    bevels: tuple[BevelAt, ...]
    control: Literal["inside", "outside"] = "inside"
    bridge: float | None = None

    @property
    def opening(self) -> str:
        """What the builder calls the opening for the motor."""
        return "motor cut-out" if self.bridge is None else "well opening"


@dataclass(frozen=True, eq=False)
class Framing:
    """All frames, transoms, and the set-up sheet; parts to cut and patterns to draw."""

    frames: tuple[SawnFrame, ...] = ()
    transoms: tuple[Transom, ...] = ()
    set_up: SetUp | None = None
    parts: tuple[Part, ...] = ()
    patterns: tuple[Drawn, ...] = ()
    bodies: tuple[Body, ...] = ()
    spalls: tuple[Spall, ...] = ()
