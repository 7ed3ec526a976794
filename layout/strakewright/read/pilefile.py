"""pile.toml: what a mill says it has, when it names no single boards.

[[pile]]
species   = "white ash"
thickness = "5/4"                 # quarters, or a rough size
width     = ["6 in", "12 in"]     # random between
length    = ["8 ft", "16 ft"]     # in whole feet
price     = 8.5                   # of a board foot, if known
knots     = 0                     # to the square metre of clear wood
"""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

from strakewright.errors import InputError
from strakewright.lumber import Pile
from strakewright.measure import quarters
from strakewright.read.names import nearest
from strakewright.read.textfile import text_of
from strakewright.tables import dressed_quarters
from strakewright.units import parse_length, parse_quarters

QUARTERS = re.compile(r"\d+/\d+")
KEYS = ("species", "thickness", "width", "length", "price", "knots", "step", "end_trim", "skip")


def read_piles(path: Path) -> tuple[Pile, ...]:
    """Every pile of the file;  raises InputError naming the pile and the key."""
    try:
        record = tomllib.loads(text_of(path, "list of piles"))
    except tomllib.TOMLDecodeError as trouble:
        what = f"it cannot be read as TOML: {trouble}"
        raise InputError(
            what, where=path.name, fix='Write key = value, one to a line, as species = "white ash"'
        ) from None
    rows = record.get("pile")
    if not isinstance(rows, list) or not rows or set(record) - {"pile"}:
        raise InputError("not a list of piles", where=path.name, fix="Write [[pile]] for each wood, and nothing else")
    return tuple(_pile(row, f"{path.name}: [[pile]] {n + 1}") for n, row in enumerate(rows))


def _pile(row: dict[str, Any], where: str) -> Pile:
    for key in row:
        if key not in KEYS:
            raise InputError(f"{key} is not known", where=where, fix=f'Did you mean "{nearest(key, KEYS)}"?')
    species, thickness = row.get("species"), row.get("thickness")
    if not isinstance(species, str) or not species:
        raise InputError("species is missing", where=where, fix='Write species = "white ash"')
    rough = parse_quarters(thickness) if isinstance(thickness, str) else None
    if rough is None and isinstance(thickness, str) and QUARTERS.fullmatch(thickness.strip()):
        known = ", ".join(quarters(q) for q in sorted(dressed_quarters()))
        raise InputError(f"thickness is {thickness!r}", where=where, fix=f"Write quarters, {known}, or a size in mm")
    skip = _length(row, "skip", where, (0.0, 20.0), 1.5)
    dressed = dressed_quarters().get(rough) if rough is not None else None
    rough = _length(row, "thickness", where, (1.0, 200.0), None) if rough is None else rough
    return Pile(
        species,
        rough - 2 * skip if dressed is None else dressed,
        rough,
        _range(row, "width", where, (10.0, 1000.0)),
        _range(row, "length", where, (300.0, 30_000.0)),
        _length(row, "step", where, (1.0, 5000.0), 304.8),
        _length(row, "end_trim", where, (0.0, 140.0), 50.0),
        _number(row, "knots", where, 0.0, 100.0) or 0.0,
        _number(row, "price", where, 0.0, 1e6),
    )


def _length(row: dict[str, Any], key: str, where: str, limits: tuple[float, float], default: float | None) -> float:
    if key not in row and default is not None:
        return default
    return _within(row.get(key), f"{where} {key}", limits)


def _within(value: object, where: str, limits: tuple[float, float]) -> float:
    try:
        mm = parse_length(value, "mm")
    except InputError as fault:
        raise InputError(fault.what, where=where, fix=fault.fix) from None
    if not limits[0] <= mm <= limits[1]:
        bare = '; bare numbers are in mm, write "6 in" for inches' if isinstance(value, int | float) else ""
        raise InputError(f"{mm:g} mm", where=where, fix=f"Write {limits[0]:g} to {limits[1]:g} mm{bare}")
    return mm


def _range(row: dict[str, Any], key: str, where: str, limits: tuple[float, float]) -> tuple[float, float]:
    pair = row.get(key)
    if not isinstance(pair, list) or len(pair) != 2:
        raise InputError(f"{key} is no pair", where=where, fix=f'Write {key} = ["6 in", "12 in"]: least and greatest')
    low, high = (_within(v, f"{where} {key}", limits) for v in pair)
    if low > high:
        raise InputError(f"{key} falls from {low:g} to {high:g} mm", where=where, fix="Write the least first")
    return low, high


def _number(row: dict[str, Any], key: str, where: str, low: float, high: float) -> float | None:
    value = row.get(key)
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
        fix = f"Write a plain number from {low:g} to {high:.0f}, with a decimal point and no quotes"
        raise InputError(f"{key} is {value!r:.40}", where=where, fix=fix)
    return float(value)
