"""The boat file as frozen types: what the builder asked for, lengths in mm, angles in degrees where the
name says `_deg`.  `read.boatfile` makes these; every later room takes only the one it needs.

frames    stations at which permanent frames stand
planking  how one panel is covered: pattern, layers, widths, tails and trims
stock     the rack of boards and the clearances of cutting
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

Pattern = Literal["strakes", "herringbone"]


@dataclass(frozen=True)
class HullSettings:
    """Where the shape comes from and how its file lies.

    forward, up : "+x" ... "-z", the file's axes;  mesh_scale : mm per file unit
    surface : the face of the planking that the shape describes
    """

    mesh: Path
    mesh_units: str
    mesh_scale: float
    forward: str = "+x"
    up: str = "+z"
    half: bool = False
    crease_deg: float = 15.0
    surface: Literal["outside", "middle", "inside"] = "outside"


@dataclass(frozen=True)
class FrameSettings:
    """at : x of each frame, aft to forward; or spacing between frames (first frame one spacing from x = 0).

    where : "boat.toml:11" for messages"""

    at: tuple[float, ...] | None = None
    spacing: float | None = None
    where: str = ""


@dataclass(frozen=True)
class PlankingSettings:
    """How one panel is planked.  mm.  `where` is "boat.toml:31" for messages.

    courses or max_width (strakes); width and angle_deg (herringbone)
    lining : "parallel" = seams at constant distance from `start`, run out at the far border;
             "even" = equal shares of the girth at every station
    fair_allow : left on each plank's thickness for fairing (0.5 for inner layers);  glue_line : off each long edge
    """

    panel: str
    pattern: Pattern
    thickness: float
    where: str = ""
    layers: int = 1
    courses: int | None = None
    max_width: float | None = None
    start: Literal["sheer", "chine", "keel"] | None = None
    lining: Literal["parallel", "even"] = "parallel"
    width: float | None = None
    angle_deg: float = 45.0
    tail_forward: float = 60.0
    tail_aft: float = 25.0
    tail_keel: float = 30.0
    trim_sheer: float = 5.0
    trim_chine: float = 12.0
    fair_allow: float = 1.0
    glue_line: float = 0.1
    cut: Literal["spiled"] = "spiled"
    species: str = "white ash"
    scarf_slope: float = 8.0
    joint: Literal["scarf", "none"] = "scarf"
    quality: Literal["show", "sound", "hidden"] | None = None


@dataclass(frozen=True)
class StockSettings:
    """boards : CSV or JSON;  dressing and trim are taken off by the reader."""

    boards: Path
    spacing: float = 8.0
    edge_margin: float = 6.0
    defect_margin: float = 6.0
    max_skew_deg: float = 3.0
    min_offcut: float = 600.0
    end_trim: float = 50.0
    skip: float = 1.5
    measured: Literal["rough", "dressed"] = "rough"
    objective: Literal["gross", "net", "boards", "price"] = "net"


@dataclass(frozen=True)
class BackboneSettings:
    """stem_end : how hood ends finish; "cap" = cut to a transverse land;  stem_face_min : width of the inner
    stem's forward face the land must leave."""

    stem_end: Literal["cap", "lap"] = "cap"
    stem_face_min: float = 16.0


@dataclass(frozen=True)
class BoatSettings:
    """The whole boat file.  units : what the builder writes in;  path : the file itself."""

    path: Path
    name: str
    units: Literal["mm", "cm", "m", "in", "ft"]
    hull: HullSettings
    frames: FrameSettings
    planking: tuple[PlankingSettings, ...]
    stock: StockSettings
    species: str
    backbone: BackboneSettings = BackboneSettings()


@dataclass(frozen=True)
class LiningChoice:
    """One layer's seams and joints as taken back from a lining.json; None = as the boat file says.

    width : of each course (herringbone, or strakes of one width);  joints : course -> x of each joint, mm
    """

    panel: str
    layer: int
    lining: Literal["parallel", "even"] | None = None
    start: Literal["sheer", "chine", "keel"] | None = None
    courses: int | None = None
    width: float | None = None
    joints: tuple[tuple[int, tuple[float, ...]], ...] = ()
