"""What may stand in a boat file: every table and its keys.

key       a name to the left of an equals sign;  table : a [header] with its keys
later     keys and words that later parts bring: known, named, and refused with "not yet"
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict

from strakewright.read.hullkeys import ChineLines, GroupNames, PanelGroups
from strakewright.read.keyvalues import (
    Axis,
    Clearance,
    File,
    FrameName,
    Joint,
    KeelFlat,
    Name,
    PanelName,
    Stations,
    Switch,
    Tail,
    Trim,
    UnitName,
    Width,
    Wood,
    choice,
    length,
    number,
    whole,
)
from strakewright.read.machinekeys import MACHINE_TABLES, MachineTable, PaperTable
from strakewright.read.memberkeys import ChineTable, MemberTable
from strakewright.read.outfitkeys import (
    OUTFIT_TABLES,
    CapacityTable,
    FasteningTable,
    GlueTable,
    ItemTable,
    MoistureTable,
    PricesTable,
    SheathingTable,
    WaterTable,
    Woods,
)
from strakewright.read.tablekeys import CorrectTable, TableKeys


class Table(BaseModel):
    """A table of the boat file.  A key left out stays unset: its default stands in `settings`."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class BoatTable(Table):
    name: Name
    units: UnitName


class HullTable(TableKeys):
    mesh: File | None = None
    mesh_units: UnitName | None = None
    forward: Axis | None = None
    up: Axis | None = None
    half: Switch | None = None
    crease_deg: Annotated[float, number(2, 120, "degrees")] | None = None
    surface: Annotated[str, choice("outside", "middle", "inside")] | None = None
    skin_in_lines: Switch | None = None
    chine: ChineLines | None = None
    groups: PanelGroups | None = None
    ignore: GroupNames | None = None


class FramesTable(Table):
    at: Stations | None = None
    spacing: Annotated[float, length(50, 10_000)] | None = None
    sided: Annotated[float, length(8, 200)] | None = None
    moulded: Annotated[float, length(15, 500)] | None = None
    joint: Annotated[str, choice("lap", "half lap", "gusset")] | None = None
    limber: Annotated[float, length(0, 60)] | None = None
    notch_clear: Annotated[float, length(0, 5)] | None = None
    spall_z: Annotated[float, length(-5_000, 10_000)] | None = None
    spall_sided: Annotated[float, length(6, 100)] | None = None
    spall_moulded: Annotated[float, length(30, 300)] | None = None
    spall_species: Wood | None = None
    species: Wood | None = None


class TransomTable(Table):
    sided: Annotated[float, length(6, 200)] | None = None
    doubling: Annotated[float, length(0, 100)] | None = None
    motor_height: Annotated[float, length(150, 1_500)] | None = None
    motor_width: Annotated[float, length(100, 2_000)] | None = None
    well_bridge: Annotated[float, length(40, 600)] | None = None
    species: Wood | None = None
    face: Annotated[str, choice("inside", "outside")] | None = None


class LayerTable(Table):
    """One layer of a panel, [[planking.layer]]: what it leaves out is as its panel says."""

    pattern: Annotated[Literal["strakes", "herringbone", "cross"], choice("strakes", "herringbone", "cross")] | None = (
        None
    )
    thickness: Annotated[float, length(1, 200)] | None = None
    courses: Annotated[int, whole(1, 500)] | None = None
    max_width: Width | None = None
    start: Annotated[str, choice("sheer", "chine", "keel")] | None = None
    lining: Annotated[str, choice("parallel", "even", "straight", "graded")] | None = None
    width_transom: Width | None = None
    width_midship: Width | None = None
    width_stem: Width | None = None
    min_end_width: Annotated[float, length(0, 300)] | None = None
    spare_shutter: Annotated[float, length(0, 100)] | None = None
    width: Width | None = None
    angle_deg: Annotated[float, number(15, 90, "degrees")] | None = None
    tail_forward: Tail | None = None
    tail_aft: Tail | None = None
    tail_keel: Tail | None = None
    trim_sheer: Trim | None = None
    trim_chine: Trim | None = None
    fair_allow: Annotated[float, length(0, 10)] | None = None
    glue_line: Annotated[float, length(0, 3)] | None = None
    square_gap: Annotated[float, length(0, 5)] | None = None
    bevel_on: Annotated[str, choice("both", "next")] | None = None
    cut: Annotated[str, choice("spiled", "straight")] | None = None
    species: Wood | None = None
    scarf_slope: Annotated[float, number(4, 30, "length over thickness")] | None = None
    joint: Joint | None = None
    stagger_bays: Annotated[int, whole(0, 12)] | None = None
    stagger_min: Annotated[float, length(0, 5000)] | None = None
    joint_sides: Annotated[str, choice("alike", "shifted")] | None = None
    quality: Annotated[str, choice("show", "sound", "hidden")] | None = None
    stage: Annotated[int, whole(0, 99)] | None = None
    match: Switch | None = None
    start_at: FrameName | None = None
    staves_from: FrameName | None = None


class PlankingTable(LayerTable):
    panel: PanelName
    layers: Annotated[int, whole(1, 6)] | None = None
    layer: tuple[LayerTable, ...] | None = None


class StockTable(Table):
    boards: File
    spacing: Clearance | None = None
    edge_margin: Clearance | None = None
    defect_margin: Clearance | None = None
    max_skew_deg: Annotated[float, number(0, 20, "degrees")] | None = None
    min_offcut: Annotated[float, length(0, 30_000)] | None = None
    end_trim: Annotated[float, length(0, 1000)] | None = None
    skip: Annotated[float, length(0, 20)] | None = None
    measured: Annotated[str, choice("rough", "dressed")] | None = None
    objective: Annotated[str, choice("gross", "net", "boards", "price")] | None = None
    resaw: Switch | None = None
    resaw_kerf: Annotated[float, length(0, 10)] | None = None
    run_out: Annotated[float, number(2, 100, "length over rise")] | None = None
    by_stage: Switch | None = None


class ShopTable(Table):
    species: Wood | None = None


class JointsTable(Table):
    kind: Joint | None = None
    alternatives: Annotated[int, whole(0, 6)] | None = None


class BackboneTable(Table):
    stem_end: Annotated[str, choice("cap", "lap", "rabbet")] | None = None
    stem_face_min: Annotated[float, length(0, 500)] | None = None
    half_siding: Annotated[float, length(5, 500)] | None = None
    keelson_sided: Annotated[float, length(15, 500)] | None = None
    keelson_moulded: Annotated[float, length(10, 500)] | None = None
    keelson_plies: Annotated[int, whole(1, 60)] | None = None
    min_bearing: Annotated[float, length(5, 300)] | None = None
    keel_flat: KeelFlat | None = None


class BoatFile(Table):
    boat: BoatTable
    hull: HullTable
    frames: FramesTable = FramesTable()
    planking: tuple[PlankingTable, ...]
    stock: StockTable
    shop: ShopTable = ShopTable()
    joints: JointsTable = JointsTable()
    backbone: BackboneTable = BackboneTable()
    chine: ChineTable = ChineTable()
    member: tuple[MemberTable, ...] = ()
    machine: MachineTable | None = None
    paper: PaperTable = PaperTable()
    sheathing: SheathingTable | None = None
    transom: TransomTable | None = None
    species: Woods = {}
    item: tuple[ItemTable, ...] = ()
    afloat: WaterTable = WaterTable()
    capacity: CapacityTable | None = None
    moisture: MoistureTable = MoistureTable()
    glue: GlueTable = GlueTable()
    fastenings: FasteningTable = FasteningTable()
    prices: PricesTable = PricesTable()
    correct: tuple[CorrectTable, ...] = ()


TABLES: dict[str, type[BaseModel]] = {
    "boat": BoatTable,
    "hull": HullTable,
    "frames": FramesTable,
    "planking": PlankingTable,
    "stock": StockTable,
    "shop": ShopTable,
    "joints": JointsTable,
    "backbone": BackboneTable,
    "transom": TransomTable,
    "chine": ChineTable,
    "member": MemberTable,
    "correct": CorrectTable,
    **MACHINE_TABLES,
    **OUTFIT_TABLES,
}

LISTS = ("planking", "item", "member", "correct")
"""Tables written in double brackets."""

LATER: dict[str, frozenset[str]] = {}

EXAMPLES: dict[str, str] = {
    "boat": '[boat] with name = "..." and units = "mm"',
    "hull": '[hull] with mesh = "hull.ply", or offsets = "offsets.csv"',
    "planking": '[[planking]] for each panel, with panel = "side" and so on',
    "stock": '[stock] with boards = "boards.csv"',
    "name": 'name = "Example"',
    "units": 'units = "mm", or "cm", "m", "in", "ft"',
    "mesh": 'mesh = "hull.ply"',
    "panel": 'panel = "side"',
    "pattern": 'pattern = "strakes", "herringbone" or "cross"',
    "thickness": "thickness = 19",
    "boards": 'boards = "boards.csv"',
    "member": '[[member]] with name = "clamp", along = "sheer", sided = 45 and moulded = 20',
    "along": 'along = "keel", "stem", "keel+stem", "chine", "sheer" or "bottom@0.33"',
    "sided": "sided = 45",
    "moulded": "moulded = 20",
    "row": 'row = "height chine"',
    "station": 'station = "4"',
    "value": 'value = "1-2-3"',
    "reason": 'reason = "a foot too many"',
    "item": '[[item]] with name = "motor", weight = "45 kg" and at = [0, 0, 600]',
    "weight": 'weight = "45 kg"',
    "at": "at = [0, 0, 600]: x, y, z",
}
