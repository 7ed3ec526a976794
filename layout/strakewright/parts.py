"""Pieces of wood to be cut.

part      a flat piece: outline as it lies on the board with its marked face up
plank     one piece of a strake or diagonal, with everything needed to cut, mark and hang it
margin    a stretch of a plank's ring: a long edge (`first`, `second`) or an end, and what it meets
mark      a line or point to scribe on the inside face
bevel     angle of an edge in the plane square to that edge, from square to the face;
          + = the inside face is the narrower
tail      wood left past the trim line of an end, reckoned from the longer face
choice    one thing that can be had in more than one way (a course cut in two here or there), each way an option with
          its own parts; exactly one option is placed
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from strakewright.arrays import Floats, frozen_array

Side = Literal["port", "starboard", "both"]
FaceUp = Literal["inside", "outside"]
Meets = Literal["keel", "chine", "stem", "transom", "scarf", "butt", "sheer", "seam"]
MarkKind = Literal["frame", "frame_side", "trim", "joint", "screw", "level", "tick"]


@dataclass(frozen=True, eq=False)
class Mark:
    """points : (n, 2) mm in the flat axes of the piece that carries it."""

    kind: MarkKind
    name: str
    points: Floats

    def __post_init__(self) -> None:
        object.__setattr__(self, "points", frozen_array(self.points, (None, 2), f"mark {self.name!r}"))


@dataclass(frozen=True, eq=False)
class Part:
    """A flat piece to place on a board.

    outline : (n, 2) mm, counter-clockwise, first point not repeated, x along the grain
    thickness : mm the board must finish at or above;  stage : wave of cutting, 0 = any
    max_skew_deg : own limit, None = the rule's;  quality : what it may hold, see `lumber.TAKES`, None = no defect
    match : lies on one board with its mate, book-matched where that is resawn
    """

    id: str
    outline: Floats
    thickness: float
    species: str
    may_flip: bool = False
    marks: tuple[Mark, ...] = ()
    mate: str | None = None
    max_skew_deg: float | None = None
    quality: str | None = None
    stage: int | None = None
    match: bool = False

    def __post_init__(self) -> None:
        object.__setattr__(self, "outline", frozen_array(self.outline, (None, 2), f"part {self.id!r}"))


@dataclass(frozen=True)
class Option:
    """One way of a choice.

    parts : ids of its parts, all of them among the parts of the job
    cost : m2 of board that this way must save over one of cost 0 to be worth taking (work, looks, stagger)
    note : the difference in words, for the builder
    """

    parts: tuple[str, ...]
    cost: float = 0.0
    note: str = ""


@dataclass(frozen=True)
class Choice:
    """Exactly one of `options` is placed; the first is the one taken when nobody chooses.

    A part may stand in several options of one choice, never in two choices; parts in no choice are always placed.
    """

    id: str
    options: tuple[Option, ...]


@dataclass(frozen=True, eq=False)
class Margin:
    """A stretch of a plank's ring.

    meets : what lies there;  neighbour : id of the piece there, or None
    border : name of the panel border (keel, chine1, sheer ...) when the stretch lies on it, else None
    seam : (n, 3) mm in space at mid-thickness;  flat : (n, 2) the same points in the flat
    fitted : (n, 2) where the finished edge lies at mid-thickness (equal to flat unless a joint moves it)
    bevel : (n,) radians;  tail : mm left past the finished end (0 for long edges)
    """

    meets: Meets
    neighbour: str | None
    border: str | None
    seam: Floats
    flat: Floats
    fitted: Floats
    bevel: Floats
    tail: float = 0.0

    def __post_init__(self) -> None:
        n = len(self.flat)
        for name, width in (("seam", 3), ("flat", 2), ("fitted", 2)):
            object.__setattr__(self, name, frozen_array(getattr(self, name), (n, width), f"margin {name}"))
        object.__setattr__(self, "bevel", frozen_array(self.bevel, (n,), "margin bevel"))


@dataclass(frozen=True)
class Fit:
    """Will the wood take the shape?  None where a figure has no meaning (straight: no radius).

    worst_x, worst_at : x of the place that decides, and the same by its frames;  cures : what would help, in words;
    backs_out : refused as a flat plank only, hollowing its back cures it
    bend_radius_min mm · twist_max rad per mm · edge_set mm of sag · strains as fractions · hollow mm
    """

    bend_radius_min: float | None
    twist_max: float
    edge_set: float
    strain_max: float
    strain_total: float
    hollow: float
    verdict: Literal["easy", "firm", "refused"]
    reason: str
    worst_x: float | None = None
    worst_at: str = ""
    cures: tuple[str, ...] = ()
    backs_out: bool = False


@dataclass(frozen=True, eq=False)
class Plank:
    """One plank, in its own flat axes (contract: strakes x forward, y to sheer; diagonals x keel to
    chine, y forward).  Rings are (n, 2) mm, counter-clockwise, first point not repeated."""

    id: str
    side: Side
    panel: str
    layer: int
    course: int
    piece: int
    mate: str | None
    thickness: float
    cut_thickness: float
    species: str
    net_outline: Floats
    fitted_outline: Floats
    face_inside: Floats
    face_outside: Floats
    outline: Floats
    face_up: FaceUp
    cut: Literal["spiled", "straight"]
    first: Margin
    second: Margin
    ends: tuple[Margin, ...]
    marks: tuple[Mark, ...]
    fit: Fit
    extra: dict[str, object] = field(default_factory=dict)

    @property
    def on_port(self) -> bool:
        """Whether it hangs on the port side, wholly or in part: one of every pair, and all that have no mate."""
        return self.side != "starboard"

    @property
    def stands_for(self) -> bool:
        """Whether it is drawn and told of: one of every pair, and all that have no mate, on either side."""
        return self.on_port or self.mate is None

    def __post_init__(self) -> None:
        for name in ("net_outline", "fitted_outline", "face_inside", "face_outside", "outline"):
            ring = frozen_array(getattr(self, name), (None, 2), f"plank {self.id!r} {name}")
            object.__setattr__(self, name, ring)
