"""Keys of a boat file that do not go together, or that need each other.

fault     one thing wrong: the key, what was read, what to write instead
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from strakewright.machine import CLEAR, MachineSettings
from strakewright.read.boatkeys import EXAMPLES, BoatFile
from strakewright.read.tablekeys import MESH_KEYS, TableKeys
from strakewright.read.tomllines import Path as KeyPath

_GRADES = ("width_transom", "width_midship", "width_stem")
_STRAKE_KEYS = (
    *("courses", "max_width", "start", "lining", "scarf_slope", "cut", "min_end_width", "spare_shutter"),
    *("stagger_bays", "stagger_min", "joint_sides", *_GRADES),
)
_DIAGONAL_KEYS = ("width", "angle_deg", "tail_keel", "start_at", "staves_from")
_STRANGERS = {
    "strakes": _DIAGONAL_KEYS,
    "herringbone": _STRAKE_KEYS,
    "cross": (*_STRAKE_KEYS, "angle_deg", "staves_from"),
}
_STARTS = {"side": ("sheer", "chine", "keel"), "bottom": ("keel", "chine"), "bilge": ("chine",)}


@dataclass(frozen=True)
class Fault:
    """path : the key in the file, table first;  what is wrong with it;  fix : what to write"""

    path: KeyPath
    what: str
    fix: str


def contradictions(data: dict[str, Any]) -> Iterator[Fault]:
    """Keys that do not go together; says nothing about values that are wrong in themselves."""
    frames, hull, planking = data.get("frames"), data.get("hull"), data.get("planking")
    if isinstance(frames, dict) and ("at" in frames) == ("spacing" in frames):
        fault = (("spacing",), "both at and spacing") if "at" in frames else ((), "says no place of a frame")
        yield Fault(("frames", *fault[0]), fault[1], "Write at = [600, 1200] or spacing = 600")
    if isinstance(hull, dict) and _axis(hull, "forward", "+x") == _axis(hull, "up", "+z"):
        yield Fault(("hull", "up" if "up" in hull else "forward"), "up and forward are the same axis", "Turn one")
    if isinstance(hull, dict):
        yield from _source_faults(hull, data)
    yield from _moisture_faults(data.get("moisture"))
    member = data.get("member")
    if isinstance(member, list):
        yield from _member_faults([(n, table) for n, table in enumerate(member) if isinstance(table, dict)])
    backbone = data.get("backbone")
    if isinstance(backbone, dict) and backbone.get("stem_end") == "rabbet" and "half_siding" not in backbone:
        fix = "Write half_siding, half the width of the stem at the rabbet line"
        yield Fault(("backbone", "stem_end"), "a rabbet needs the siding of the stem", fix)
    if isinstance(planking, list):
        tables = [(n, table) for n, table in enumerate(planking) if isinstance(table, dict)]
        yield from _same_panel_twice(tables)
        for n, table in tables:
            yield from _layer_faults(("planking", n), table)
        yield from _shifted_faults(data.get("joints"), [table for _, table in tables])
        if not planking:
            yield Fault(("planking",), "is empty", f"Write {EXAMPLES['planking']}")


def _shifted_faults(joints: Any, tables: list[dict[str, Any]]) -> Iterator[Fault]:
    """Further splits are offered as pairs: they do not go with sides that are joined unlike."""
    if not isinstance(joints, dict) or not joints.get("alternatives"):
        return
    rows = [row for table in tables for row in (table, *_rows(table.get("layer")))]
    if any(row.get("joint_sides") == "shifted" for row in rows):
        fix = 'Write alternatives = 0, or joint_sides = "alike"'
        yield Fault(("joints", "alternatives"), 'does not go with joint_sides = "shifted"', fix)


def _rows(layers: Any) -> list[dict[str, Any]]:
    return [row for row in layers if isinstance(row, dict)] if isinstance(layers, list) else []


def _source_faults(hull: dict[str, Any], data: dict[str, Any]) -> Iterator[Fault]:
    """A hull comes from a mesh or from a table of offsets; keys of the one mean nothing to the other."""
    if ("mesh" in hull) == ("offsets" in hull):
        what = "both mesh and offsets" if "mesh" in hull else "is missing"
        yield Fault(("hull", "mesh"), what, 'Write mesh = "hull.ply", or offsets = "offsets.csv"')
        return
    table = "offsets" in hull
    other = "a mesh" if table else "a table of offsets"
    strangers = MESH_KEYS if table else [k for k in TableKeys.model_fields if k != "offsets"]
    for key in strangers:
        if key in hull:
            yield Fault(("hull", key), f"belongs to {other}", "Take it out")
    if not table and "correct" in data:
        yield Fault(("correct",), f"belongs to {other}", "Take it out")


def _moisture_faults(table: Any) -> Iterator[Fault]:
    if isinstance(table, dict):
        for key in ("shop", "service"):
            if key in table and f"{key}_air" in table:
                yield Fault(("moisture", f"{key}_air"), f"both {key} and {key}_air", "Write one of the two")


def machine_faults(boat: BoatFile, machine: MachineSettings | None) -> Iterator[Fault]:
    """A spacing that the cutter does not go through; keys of a router that is not there."""
    if machine is None or boat.machine is None:
        return
    spacing = boat.stock.spacing
    if spacing is not None and spacing < machine.spacing - 1e-9:
        router = machine.cutting == "router"
        why = f"a cutter of {machine.cutter:g} mm and {CLEAR:g} mm to spare" if router else "a saw"
        fix = f'Write spacing = "{machine.spacing:g} mm" or more, or leave it out'
        yield Fault(("stock", "spacing"), f"{spacing:g} mm between parts is too little for {why}", fix)
    if machine.cutting != "router":
        for key in ("bed", "cutter", "tabs"):
            if getattr(boat.machine, key) is not None:
                fix = f'Take it out, or write cutting = "router" instead of "{machine.cutting}"'
                yield Fault(("machine", key), "belongs to a router", fix)


def _member_faults(tables: list[tuple[int, dict[str, Any]]]) -> Iterator[Fault]:
    """Members of one name, of two minds about their plies, or without length."""
    seen: set[str] = set()
    for n, table in tables:
        path: KeyPath = ("member", n)
        name = str(table.get("name")).lower()
        if name in seen:
            yield Fault((*path, "name"), f'"{name}" is there twice', "Give each member its own name")
        seen.add(name)
        if "plies" in table and "ply" in table:
            yield Fault((*path, "ply"), "both plies and ply", "Write plies = 5 or ply = 6, one of the two")
        homes = {"skeg": ("keel",), "breasthook": ("sheer",), "knee": ("sheer", "keel")}.get(str(table.get("shape")))
        if homes and table.get("along") not in homes:
            words = " or ".join(f'along = "{home}"' for home in homes)
            yield Fault((*path, "along"), f"no place of a {table['shape']}", f"Write {words}")
        if table.get("glued") == "on former" and table.get("plies") == 1:
            fix = 'Write plies = 2 or more, or glued = "in place"'
            yield Fault((*path, "plies"), "a single ply bent on a former returns to straight", fix)


def _axis(hull: dict[str, Any], key: str, usual: str) -> str:
    return str(hull.get(key, usual)).lstrip("+-")


def _same_panel_twice(tables: list[tuple[int, dict[str, Any]]]) -> Iterator[Fault]:
    seen: set[str] = set()
    for n, table in tables:
        panel = table.get("panel")
        if isinstance(panel, str) and panel in seen:
            yield Fault(("planking", n, "panel"), f'"{panel}" is planked twice', "Give each panel one [[planking]]")
        seen.add(str(panel))


def _layer_faults(path: KeyPath, table: dict[str, Any]) -> Iterator[Fault]:
    """Faults of one [[planking]], layer by layer where layers differ; what a layer leaves out its panel says."""
    layers = table.get("layer")
    if not isinstance(layers, list) or not all(isinstance(each, dict) for each in layers):
        yield from _needed(path, table)
        yield from _pattern_faults(path, table, table)
        return
    if not 1 <= len(layers) <= 6:
        yield Fault((*path, "layer"), f"{len(layers)} layers", "Write [[planking.layer]] once for each, 1 to 6 times")
    if "layers" in table and table["layers"] != len(layers):
        fix = f"Take layers out: there are {len(layers)} [[planking.layer]]"
        yield Fault((*path, "layers"), "is not the number of the layers below it", fix)
    shared = {key: value for key, value in table.items() if key not in ("layer", "layers")}
    for n, each in enumerate(layers):
        own = shared | each
        if "pattern" in each and each["pattern"] != shared.get("pattern"):  # the panel's other keys serve its pattern
            strangers = _STRANGERS.get(str(each["pattern"]), ())
            own = {key: value for key, value in own.items() if key in each or key not in strangers}
        yield from _needed((*path, "layer", n), own)
        yield from _pattern_faults((*path, "layer", n), own, each)


def _needed(path: KeyPath, table: dict[str, Any]) -> Iterator[Fault]:
    for key in ("pattern", "thickness"):
        if key not in table:
            yield Fault((*path, key), "is missing", f"Write {EXAMPLES[key]}")


def _pattern_faults(path: KeyPath, table: dict[str, Any], written: dict[str, Any]) -> Iterator[Fault]:
    """Keys that belong to the other pattern, or that the pattern needs.  written : what stands there itself"""
    pattern = table.get("pattern")
    if pattern == "strakes":
        yield from _widths_of_strakes(path, table)
        yield from _wrong_start(path, table)
    if pattern in ("herringbone", "cross") and "width" not in table:
        yield Fault(path, f"{pattern} needs a width", "Write width = 100, the width of each plank")
    strangers = _STRANGERS.get(str(pattern), ())
    for key in (key for key in strangers if key in written):
        other = "herringbone" if key in _DIAGONAL_KEYS else "strakes"
        yield Fault((*path, key), f"belongs to {other}, not to {pattern}", "Take it out, or change the pattern")


def _widths_of_strakes(path: KeyPath, table: dict[str, Any]) -> Iterator[Fault]:
    """One way to say how wide strakes are: their number, their largest width, or three widths along them."""
    if table.get("cut") == "straight" and table.get("lining", "parallel") != "parallel":
        yield Fault((*path, "cut"), "strips are of one width", 'Write lining = "parallel", or cut = "spiled"')
    if table.get("lining") == "graded":
        for key in _GRADES:
            if key not in table:
                yield Fault((*path, key), "is missing", f"Write {key} = 80: graded courses want all three widths")
        for key in ("courses", "max_width"):
            if key in table:
                yield Fault((*path, key), "belongs to other linings", "Graded widths say how many courses there are")
        return
    for key in _GRADES:
        if key in table:
            yield Fault((*path, key), 'belongs to lining = "graded"', "Take it out, or change the lining")
    if ("courses" in table) == ("max_width" in table):
        fault = (("max_width",), "both courses and max_width") if "courses" in table else ((), "no width of strakes")
        yield Fault((*path, *fault[0]), fault[1], "Write courses = 9 or max_width = 95, one of the two")


def _wrong_start(path: KeyPath, table: dict[str, Any]) -> Iterator[Fault]:
    allowed = starts(str(table.get("panel")))
    start = table.get("start")
    if allowed and start in {"sheer", "chine", "keel"} - set(allowed):
        words = " or ".join(f'"{word}"' for word in allowed)
        yield Fault((*path, "start"), f'the panel "{table["panel"]}" does not reach the {start}', f"Write {words}")


def starts(panel: str) -> tuple[str, ...]:
    """Where course 1 may lie on a panel, the usual place first."""
    return _STARTS.get("bilge" if panel.startswith("bilge") else panel, ())
