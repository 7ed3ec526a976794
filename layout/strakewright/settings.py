"""The boat file as frozen types: what the builder asked for, lengths in mm, angles in degrees where the
name says `_deg`.  `read.boatfile` makes these; every later room takes only the one it needs.

frames    stations at which permanent frames stand
planking  how one panel is covered: pattern, layers, widths, tails and trims
members   long pieces along edges and lines of the hull, and how they are bent and glued
stock     the rack of boards and the clearances of cutting
sheathing cloth and resin over the planking;  wood : what the builder knows better of a species
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from strakewright.lumber import Dressing
from strakewright.machine import MachineSettings, PaperSettings
from strakewright.offsets import Correction
from strakewright.outfit import Outfit, WoodSettings

Pattern = Literal["strakes", "herringbone", "cross"]
Lining = Literal["parallel", "even", "straight", "graded"]
Surface = Literal["outside", "middle", "inside"]
PanelKind = Literal["straight", "developable", "lofted"]


@dataclass(frozen=True)
class TableSettings:
    """How a table of offsets is to be taken.  mm, degrees.

    offsets : the CSV;  unit : of its bare numbers (None = the boat file's)
    stations_from : the end at which its positions begin to count
    base_line : height of the table's base line above z = 0;  half_siding : half of keel and stem at the rabbet
    bow : how the sides end forward;  *_rake_deg : from plumb, + = the top leans outwards; None = by the table's ends
    transom_radius : in plan, None = flat;  panels : (panel, kind) as asked;  tolerance : mm a cell may be moved
    locked, allowed : (row, station) of cells that keep their value, or may move further;  knuckles : (line, station)
    measure_from : where x of frames counts from;  corrections : cells the builder has changed
    """

    offsets: Path
    unit: str | None = None
    stations_from: Literal["stern", "bow"] = "stern"
    base_line: float = 0.0
    half_siding: float | None = None
    bow: Literal["stem", "transom"] = "stem"
    transom_rake_deg: float | None = None
    bow_rake_deg: float | None = None
    transom_radius: float | None = None
    panels: tuple[tuple[str, PanelKind], ...] = ()
    fair: bool = True
    tolerance: float = 4.0
    locked: tuple[tuple[str, str], ...] = ()
    allowed: tuple[tuple[str, str], ...] = ()
    knuckles: tuple[tuple[str, str], ...] = ()
    measure_from: Literal["aft", "station 0"] = "aft"
    corrections: tuple[Correction, ...] = ()

    def kind_of(self, panel: str) -> PanelKind | None:
        """The surface asked for a panel, if any."""
        return dict(self.panels).get(panel)


@dataclass(frozen=True)
class HullSettings:
    """Where the shape comes from and how its file lies.

    forward, up : "+x" ... "-z", the file's axes;  mesh_scale : mm per file unit
    surface : the face of the planking that the shape describes;  table : instead of a mesh
    skin_in_lines : whether lines to the outside are to the sheathing, not to bare wood
    chine : lines of points in the file's axes and unit that part the skin;  groups : names of the mesh's groups for
    each panel from the keel up;  ignore : names of groups left out
    """

    mesh: Path | None
    mesh_units: str
    mesh_scale: float
    forward: str = "+x"
    up: str = "+z"
    half: bool = False
    crease_deg: float = 15.0
    surface: Surface = "outside"
    skin_in_lines: bool = False
    chine: tuple[tuple[tuple[float, float, float], ...], ...] = ()
    groups: tuple[tuple[str, ...], ...] = ()
    ignore: tuple[str, ...] = ()
    table: TableSettings | None = None

    @property
    def measure_from(self) -> str:
        """Where x of frames counts from."""
        return self.table.measure_from if self.table else "aft"


@dataclass(frozen=True)
class FrameSettings:
    """at : x of each frame, or a station of the table as "sta 3"; or spacing (first frame one spacing from x = 0).

    sided, moulded : of sawn frames, mm; with both left out frames are stations only and nothing is sawn
    joint : of a frame's pieces;  limber : size of drain holes (0 = none);  notch_clear : mm on the sides of notches
    spall_z : height of the cross spalls above the base line, None = just under the lowest sheer
    spall_sided, spall_moulded, spall_species : of cross spalls cut from the pile; sided None = of rough stuff, listed
    species : of sawn frames, None = the shop's
    where : "boat.toml:11" for messages"""

    at: tuple[float | str, ...] | None = None
    spacing: float | None = None
    sided: float | None = None
    moulded: float | None = None
    joint: Literal["lap", "half lap", "gusset"] = "lap"
    limber: float = 20.0
    notch_clear: float = 0.5
    spall_z: float | None = None
    spall_sided: float | None = None
    spall_moulded: float = 90.0
    spall_species: str | None = None
    species: str | None = None
    where: str = ""

    @property
    def sawn(self) -> bool:
        """Whether frames are made, not only marked."""
        return self.sided is not None or self.moulded is not None


@dataclass(frozen=True)
class PlankingSettings:
    """How one panel is planked.  mm.  `where` is "boat.toml:31" for messages.

    courses or max_width (strakes); width and angle_deg (herringbone); width (cross)
    lining : "parallel" = seams at constant distance from `start`, run out at the far border;
             "even" = equal shares of the girth at every station; "straight" = seams as nearly geodesics as the
             widths allow; "graded" = widths given at transom, midship and stem, the last course takes the rest
    width_transom, width_midship, width_stem : of graded courses;  min_end_width : of any course at its ends
    spare_shutter : left on each side of the last course
    fair_allow : left on each plank's thickness for fairing (0.5 for inner layers);  glue_line : off each long edge
    stagger_bays, stagger_min : bays and mm between joints of neighbours, None = by the kind of joint;
    joint_sides : starboard joined as port is, or in other bays;
    alternatives : further lawful splits of each joined course that the nesting may choose from
    square_gap : gap up to which a seam is left square;  bevel_on : whether the edge hung next takes the whole fold;
    None = strips cut straight next, others both
    start_at : name of the frame at which the first seam of diagonals leaves the keel; None = half way;
    staves_from : name of the frame from which on planks steepen to staves; None = where bend or twist ask for it
    start_x, staves_x : x of these, once the frames are known
    stave_bend, stave_shear : t / R and t x twist past which diagonals steepen forward, from the wood's limits
    sheathed : mm of cloth and resin outside the wood that the lines count as part of the boat
    each : settings of every layer, innermost first, when they differ;  stack : their thicknesses
    """

    panel: str
    pattern: Pattern
    thickness: float
    where: str = ""
    layers: int = 1
    courses: int | None = None
    max_width: float | None = None
    start: Literal["sheer", "chine", "keel"] | None = None
    lining: Lining = "parallel"
    width_transom: float | None = None
    width_midship: float | None = None
    width_stem: float | None = None
    min_end_width: float = 20.0
    spare_shutter: float = 18.0
    width: float | None = None
    angle_deg: float = 45.0
    tail_forward: float = 60.0
    tail_aft: float = 25.0
    tail_keel: float = 30.0
    trim_sheer: float = 5.0
    trim_chine: float = 12.0
    fair_allow: float = 1.0
    glue_line: float = 0.1
    square_gap: float = 0.3
    bevel_on: Literal["both", "next"] | None = None
    cut: Literal["spiled", "straight"] = "spiled"
    species: str = "white ash"
    scarf_slope: float = 8.0
    joint: Literal["scarf", "butt", "none"] = "scarf"
    stagger_bays: int | None = None
    stagger_min: float | None = None
    joint_sides: Literal["alike", "shifted"] = "alike"
    alternatives: int = 0
    quality: Literal["show", "sound", "hidden"] | None = None
    stage: int | None = None
    match: bool = False
    start_at: str | None = None
    start_x: float | None = None
    staves_from: str | None = None
    staves_x: float | None = None
    stave_bend: float = 1 / 100
    stave_shear: float = 0.005
    sheathed: float = 0.0
    stack: tuple[float, ...] = ()
    each: tuple[PlankingSettings, ...] = ()

    @property
    def thicknesses(self) -> tuple[float, ...]:
        """Of every layer, innermost first, mm."""
        return self.stack or (self.thickness,) * self.layers

    @property
    def total(self) -> float:
        """Thickness of all layers, mm."""
        return sum(self.thicknesses)

    def layer(self, number: int) -> PlankingSettings:
        """What one layer is planked by; 1 lies against the frames."""
        return self.each[number - 1] if self.each else self

    def outside_of(self, surface: Surface) -> float:
        """How much of the planking lies outside the surface that the lines describe, mm; negative where a sheathing
        counted in the lines lies over it."""
        return {"outside": -self.sheathed, "middle": self.total / 2, "inside": self.total}[surface]


@dataclass(frozen=True)
class StockSettings(Dressing):
    """boards : CSV or JSON;  dressing and trim are taken off by the reader.

    resaw : thick boards may be sawn into leaves for thin parts, each cut takes `resaw_kerf`
    run_out : 1 in so many, the steepest a part may run to the grain, None = not asked
    by_stage : no board holds parts of two stages, so that boards of later stages stay whole
    """

    boards: Path
    spacing: float = 8.0
    edge_margin: float = 6.0
    defect_margin: float = 6.0
    max_skew_deg: float = 3.0
    min_offcut: float = 600.0
    resaw: bool = False
    resaw_kerf: float = 2.0
    run_out: float | None = None
    by_stage: bool = False
    objective: Literal["gross", "net", "boards", "price"] = "net"


@dataclass(frozen=True)
class BackboneSettings:
    """stem_end : how hood ends finish; "cap" = cut to a transverse land;  stem_face_min : width of the inner
    stem's forward face the land must leave.

    half_siding : half the width of the land that the cap is glued to, None = as stem_face_min leaves it
    keelson_sided, keelson_moulded : size of a keelson, None = no keelson (moulded: half of sided)
    min_bearing : mm of face that planking wants on each side of keelson and logs
    keel_flat : (x, mm) of the flat planed along the keel for the shoe, None = no flat
    """

    stem_end: Literal["cap", "lap", "rabbet"] = "cap"
    stem_face_min: float = 16.0
    half_siding: float | None = None
    keelson_sided: float | None = None
    keelson_moulded: float | None = None
    keelson_plies: int | None = None
    min_bearing: float = 30.0
    keel_flat: tuple[tuple[float, float], ...] | None = None


@dataclass(frozen=True)
class ChineSettings:
    """joint : of side and bottom, lapped until the corner opens past lap_limit_deg and by forward_joint from there on,
    or mitred all along

    log : depth of the chine log square to its blank's outer face, None = no log;  log_land : width of the face
    it gives each panel;  log_turn : blank's outer face square to the bisector of the corner, or flat on the side."""

    joint: Literal["lap", "mitre"] = "lap"
    lap_limit_deg: float = 145.0
    forward_joint: Literal["mitre", "butt"] = "mitre"
    log: float | None = None
    log_land: float = 30.0
    log_turn: Literal["bisector", "side"] = "bisector"
    log_plies: int | None = None
    log_species: str | None = None


@dataclass(frozen=True)
class MemberSettings:
    """One member.  mm.  `where` is "boat.toml:31" for messages.

    along : "keel", "stem", "keel+stem", "chine" (or "chine1" ...), "sheer", or "bottom@0.33" (share of the girth
        from the panel's lower edge)
    sided : breadth along what it bears on;  moulded : depth away from it (a skeg's: its depth at the after end)
    face : which side of the planking it lies on;  aft, forward : x of its ends, None = as far as it goes
    plies or ply : how many, or how thick; None = by the tightest bend
    """

    name: str
    along: str
    sided: float
    moulded: float
    where: str = ""
    shape: Literal["run", "skeg", "breasthook", "knee"] = "run"
    face: Literal["inside", "outside"] = "inside"
    aft: float | None = None
    forward: float | None = None
    plies: int | None = None
    ply: float | None = None
    plies_lie: Literal["to side", "to bottom"] | None = None
    glued: Literal["in place", "on former"] = "in place"
    springback_factor: float = 1.0
    species: str = "white ash"


@dataclass(frozen=True)
class TransomSettings:
    """sided, doubling : thickness, and of the doubling where the motor hangs, mm
    motor_height : from the keel's outside up to the motor's clamps, along the transom; None = no motor
    motor_width : of the cut-out;  face : the one whose line is drawn solid
    well_bridge : breadth of transom left across the top, so that the motor looks through a well opening; None = open"""

    sided: float = 25.0
    doubling: float = 19.0
    motor_height: float | None = None
    motor_width: float = 400.0
    well_bridge: float | None = None
    species: str | None = None
    face: Literal["inside", "outside"] = "inside"


@dataclass(frozen=True)
class SheathingSettings:
    """Cloth and resin over the planking; the table stands only where she is sheathed.

    cloth : g/m2 of one layer;  thickness : mm of the whole sheathing, off the lines;  corner_radius : mm, of chine
    and keel under the cloth;  roll : mm, width of the cloth;  lap : mm over a cut edge;  corner_lap : mm round a
    corner;  panels : None = every panel;  waste : share of resin
    """

    cloth: float = 203.0
    thickness: float = 0.5
    corner_radius: float = 5.0
    layers: int = 1
    roll: float = 1270.0
    lap: float = 50.0
    corner_lap: float = 50.0
    panels: tuple[str, ...] | None = None
    fill_coats: int = 3
    waste: float = 0.15

    def over(self, panel: str) -> bool:
        """Whether it covers a panel."""
        return self.panels is None or panel in self.panels


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
    machine: MachineSettings | None = None
    paper: PaperSettings = field(default_factory=PaperSettings)
    sheathing: SheathingSettings | None = None
    transom: TransomSettings | None = None
    woods: tuple[WoodSettings, ...] = ()
    outfit: Outfit = field(default_factory=Outfit)
    chine: ChineSettings = ChineSettings()
    members: tuple[MemberSettings, ...] = ()

    def own_wood(self, name: str) -> WoodSettings:
        """What the boat file says of a wood by its trade name; all None where it says nothing."""
        return {wood.name: wood for wood in self.woods}.get(name, WoodSettings(name))


@dataclass(frozen=True)
class LiningChoice:
    """One layer's seams and joints as taken back from a lining.json; None = as the boat file says.

    width : of each course (herringbone, or strakes of one width);  joints : course -> x of each joint, mm;
    starboard : the same for courses whose joints are shifted to starboard
    """

    panel: str
    layer: int
    lining: Lining | None = None
    start: Literal["sheer", "chine", "keel"] | None = None
    courses: int | None = None
    width: float | None = None
    joints: tuple[tuple[int, tuple[float, ...]], ...] = ()
    starboard: tuple[tuple[int, tuple[float, ...]], ...] = ()
