"""What may stand in a boat file: every key, what it takes and within which bounds.

key       a name to the left of an equals sign;  table : a [header] with its keys
later     keys and words that later parts bring: known, named, and refused with "not yet"

Bounds in mm and degrees. Those of spacing, margins, thickness, width, angle and courses are the program's
contract; the others are common practice, no source: wide enough for any boat of 2 to 20 m.
"""

from __future__ import annotations

import itertools
import re
from pathlib import Path
from typing import Annotated, Any, Literal, cast

from pydantic import BaseModel, BeforeValidator, ConfigDict, ValidationInfo

from strakewright.errors import InputError
from strakewright.read.names import nearest
from strakewright.tables import species, species_names
from strakewright.units import SPOKEN, parse_length

UNITS = ("mm", "cm", "m", "in", "ft")
AXES = ("+x", "-x", "+y", "-y", "+z", "-z")


def length(low: float, high: float) -> BeforeValidator:
    """A length of the contract's notations, in mm, from low to high."""

    def read(value: object, info: ValidationInfo) -> float:
        unit = _context(info)["unit"]
        mm = parse_length(value, unit or "mm")
        if unit is not None and not low <= mm <= high:  # without a unit the bounds mean nothing
            fix = f"Write a length from {low:g} to {high:g} mm; numbers without a unit are in {SPOKEN[unit]}"
            raise InputError(f"{value!r} is {mm:g} mm, outside {low:g} to {high:g} mm", fix=fix)
        return mm

    return BeforeValidator(read)


def number(low: float, high: float, unit: str) -> BeforeValidator:
    """A plain number from low to high."""

    def read(value: object) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
            fix = f"Write a number from {low:g} to {high:g} ({unit})"
            raise InputError(f"{shown(value)} is not a number from {low:g} to {high:g}", fix=fix)
        return float(value)

    return BeforeValidator(read)


def whole(low: int, high: int) -> BeforeValidator:
    """A whole number from low to high."""

    def read(value: object) -> int:
        if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
            fix = f"Write a whole number from {low} to {high}"
            raise InputError(f"{shown(value)} is not a whole number from {low} to {high}", fix=fix)
        return value

    return BeforeValidator(read)


def choice(*words: str, later: tuple[str, ...] = ()) -> BeforeValidator:
    """One of a few words."""

    def read(value: object) -> str:
        if isinstance(value, str) and value in words:
            return value
        allowed = " or ".join(f'"{word}"' for word in words)
        if value in later:
            raise InputError(f"{shown(value)} is not yet built", fix=f"Write {allowed}")
        raise InputError(f"{shown(value)} is not allowed", fix=f"Write {allowed}")

    return BeforeValidator(read)


def shown(value: object) -> str:
    """A value as it stands in the file, cut short."""
    text = {True: "true", False: "false"}[value] if isinstance(value, bool) else repr(value)
    return text if len(text) <= 40 else f"{text[:37]}..."


def _context(info: ValidationInfo) -> dict[str, Any]:
    """The unit of bare numbers (None: not known) and the folder of the boat file."""
    return cast(dict[str, Any], info.context)


def _read_switch(value: object) -> bool:
    if not isinstance(value, bool):
        raise InputError(f"{shown(value)} is neither true nor false", fix="Write true or false, without quotes")
    return value


def _read_name(value: object) -> str:
    if not isinstance(value, str) or not value.strip() or not value.isprintable() or len(value) > 80:
        raise InputError(f"{shown(value)} is not a name", fix="Write one line of text, up to 80 characters")
    return value.strip()


def _read_wood(value: object) -> str:
    if not isinstance(value, str):
        raise InputError(f"{shown(value)} is not a wood", fix='Write its name, as "white ash"')
    try:
        return species(value).name
    except KeyError:
        best = species(nearest(value, species_names())).name
        raise InputError(f"{shown(value)} is no wood of the table", fix=f'The nearest is "{best}"') from None


def _read_panel(value: object) -> str:
    if isinstance(value, str) and re.fullmatch(r"side|bottom|bilge[1-9][0-9]?", value):
        return value
    fix = 'Write "side", "bottom" or "bilge1", "bilge2" ... (counted from the keel up)'
    raise InputError(f"{shown(value)} is no name of a panel", fix=fix)


def _read_file(value: object, info: ValidationInfo) -> Path:
    if not isinstance(value, str) or not value.strip() or not value.isprintable():
        raise InputError(f"{shown(value)} is no name of a file", fix='Write the name in quotes, as "hull.ply"')
    path: Path = _context(info)["folder"] / value
    try:
        sound, folder = path.is_file(), path.is_dir()
    except OSError:
        sound, folder = False, False
    if not sound:
        why = "is a folder" if folder else "does not exist"
        raise InputError(f"{shown(value)} {why} in {path.parent}", fix="Names count from the boat file's folder")
    return path


def _read_stations(value: object, info: ValidationInfo) -> tuple[float, ...]:
    if not isinstance(value, list) or not 1 <= len(value) <= 500:
        fix = "Write the x of each frame in brackets, aft to forward, as [600, 1200]"
        raise InputError(f"{shown(value)} is no list of frames", fix=fix)
    named = [v for v in value if isinstance(v, str) and v.strip().lower().startswith("sta")]
    if named:
        fix = "Tables of offsets are not yet read; write the x of each frame"
        raise InputError(f"{shown(named[0])} names a station of a table, which is not yet built", fix=fix)
    unit = _context(info)["unit"]
    stations = tuple(parse_length(v, unit or "mm") for v in value)
    if unit is None:  # their order means nothing yet
        return stations
    for before, after in itertools.pairwise(stations):
        if after <= before:
            fix = "Write the frames from aft to forward, each once"
            raise InputError(f"{after:g} mm comes after {before:g} mm", fix=fix)
    if stations[0] < 0 or stations[-1] > 100_000:
        fix = "x is 0 at the aftmost point of the hull and grows forward"
        raise InputError(f"{stations[0]:g} to {stations[-1]:g} mm is off any hull", fix=fix)
    return stations


Switch = Annotated[bool, BeforeValidator(_read_switch)]
Name = Annotated[str, BeforeValidator(_read_name)]
Wood = Annotated[str, BeforeValidator(_read_wood)]
PanelName = Annotated[str, BeforeValidator(_read_panel)]
File = Annotated[Path, BeforeValidator(_read_file)]
Stations = Annotated[tuple[float, ...], BeforeValidator(_read_stations)]
Axis = Annotated[str, choice(*AXES)]
UnitName = Annotated[Literal["mm", "cm", "m", "in", "ft"], choice(*UNITS)]
Clearance = Annotated[float, length(0, 200)]
Tail = Annotated[float, length(0, 1000)]
Trim = Annotated[float, length(0, 200)]
Width = Annotated[float, length(10, 1000)]
Joint = Annotated[Literal["scarf", "none"], choice("scarf", "none", later=("butt",))]


class Table(BaseModel):
    """A table of the boat file.  A key left out stays unset: its default stands in `settings`."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class BoatTable(Table):
    name: Name
    units: UnitName


class HullTable(Table):
    mesh: File
    mesh_units: UnitName | None = None
    forward: Axis | None = None
    up: Axis | None = None
    half: Switch | None = None
    crease_deg: Annotated[float, number(2, 120, "degrees")] | None = None
    surface: Annotated[str, choice("outside", "middle", "inside")] | None = None


class FramesTable(Table):
    at: Stations | None = None
    spacing: Annotated[float, length(50, 10_000)] | None = None


class PlankingTable(Table):
    panel: PanelName
    pattern: Annotated[Literal["strakes", "herringbone"], choice("strakes", "herringbone", later=("cross",))]
    thickness: Annotated[float, length(1, 200)]
    layers: Annotated[int, whole(1, 6)] | None = None
    courses: Annotated[int, whole(1, 500)] | None = None
    max_width: Width | None = None
    start: Annotated[str, choice("sheer", "chine", "keel")] | None = None
    lining: Annotated[str, choice("parallel", "even")] | None = None
    width: Width | None = None
    angle_deg: Annotated[float, number(15, 90, "degrees")] | None = None
    tail_forward: Tail | None = None
    tail_aft: Tail | None = None
    tail_keel: Tail | None = None
    trim_sheer: Trim | None = None
    trim_chine: Trim | None = None
    fair_allow: Annotated[float, length(0, 10)] | None = None
    glue_line: Annotated[float, length(0, 3)] | None = None
    cut: Annotated[str, choice("spiled", later=("straight",))] | None = None
    species: Wood | None = None
    scarf_slope: Annotated[float, number(4, 30, "length over thickness")] | None = None
    joint: Joint | None = None
    quality: Annotated[str, choice("show", "sound", "hidden")] | None = None


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


class ShopTable(Table):
    species: Wood | None = None


class JointsTable(Table):
    kind: Joint | None = None


class BackboneTable(Table):
    stem_end: Annotated[str, choice("cap", "lap", later=("rabbet",))] | None = None
    stem_face_min: Annotated[float, length(0, 500)] | None = None


class BoatFile(Table):
    boat: BoatTable
    hull: HullTable
    frames: FramesTable = FramesTable()
    planking: tuple[PlankingTable, ...]
    stock: StockTable
    shop: ShopTable = ShopTable()
    joints: JointsTable = JointsTable()
    backbone: BackboneTable = BackboneTable()


TABLES: dict[str, type[Table]] = {
    "boat": BoatTable,
    "hull": HullTable,
    "frames": FramesTable,
    "planking": PlankingTable,
    "stock": StockTable,
    "shop": ShopTable,
    "joints": JointsTable,
    "backbone": BackboneTable,
}

LATER: dict[str, frozenset[str]] = {
    "": frozenset({"chine", "sheathing", "transom", "member", "machine", "species"}),
    "hull": frozenset({"offsets", "chine", "skin_in_lines", "bow", "measure_from"}),
    "frames": frozenset({"sided", "moulded", "joint", "limber", "notch_clear", "spall_z"}),
    "planking": frozenset(
        {
            "bevel_on",
            "square_gap",
            "spare_shutter",
            "min_end_width",
            "stagger_bays",
            "stagger_min",
            "start_at",
            "layer",
        }
    ),
    "stock": frozenset({"resaw", "resaw_kerf", "run_out"}),
    "backbone": frozenset({"half_siding", "keel_flat", "keelson_sided", "min_bearing"}),
}

EXAMPLES: dict[str, str] = {
    "boat": '[boat] with name = "..." and units = "mm"',
    "hull": '[hull] with mesh = "hull.ply"',
    "planking": '[[planking]] for each panel, with panel = "side" and so on',
    "stock": '[stock] with boards = "boards.csv"',
    "name": 'name = "Example"',
    "units": 'units = "mm", or "cm", "m", "in", "ft"',
    "mesh": 'mesh = "hull.ply"',
    "panel": 'panel = "side"',
    "pattern": 'pattern = "strakes" or "herringbone"',
    "thickness": "thickness = 19",
    "boards": 'boards = "boards.csv"',
}
