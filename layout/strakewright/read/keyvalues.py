"""What a key of a boat file may hold: readers of lengths, numbers, words, woods and files, with their bounds.

Bounds in mm and degrees. Those of spacing, margins, thickness, width, angle and courses are the program's
contract; the others are common practice, no source: wide enough for any boat of 2 to 20 m.
"""

from __future__ import annotations

import itertools
import re
from pathlib import Path
from typing import Annotated, Any, Literal, cast

from pydantic import BeforeValidator, ValidationInfo

from strakewright.errors import InputError
from strakewright.read.names import nearest
from strakewright.tables import species, species_names
from strakewright.units import SPOKEN, parse_cloth, parse_length, parse_mass

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


def pair(low: tuple[float, float], high: tuple[float, float], example: str) -> BeforeValidator:
    """Two lengths in brackets, in mm, each from its low to its high."""

    def read(value: object, info: ValidationInfo) -> tuple[float, float]:
        if not isinstance(value, list) or len(value) != 2:
            raise InputError(f"{shown(value)} is no pair of lengths", fix=f"Write two in brackets, as {example}")
        unit = _context(info)["unit"]
        first, second = (parse_length(v, unit or "mm") for v in value)
        for mm, least, most in ((first, low[0], high[0]), (second, low[1], high[1])):
            if unit is not None and not least <= mm <= most:
                raise InputError(f"{mm:g} mm is outside {least:g} to {most:g} mm", fix=f"Write it as {example}")
        return first, second

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


def _read_flat(value: object, info: ValidationInfo) -> tuple[tuple[float, float], ...]:
    """One width, or widths at stations: [[600, 44], [4800, 20]]."""
    unit = _context(info)["unit"] or "mm"
    fix = "Write keel_flat = 44, or widths at places along the boat: [[600, 44], [4800, 20]]"
    rows = value if isinstance(value, list) else [[0, value]]
    if not rows or not all(isinstance(row, list) and len(row) == 2 for row in rows):
        raise InputError(f"{shown(value)} is no width of a flat", fix=fix)
    found = tuple((parse_length(x, unit), parse_length(w, unit)) for x, w in rows)
    if any(b[0] <= a[0] for a, b in itertools.pairwise(found)) or not all(0 <= w <= 500 for _, w in found):
        raise InputError(f"{shown(value)}: places from aft to forward, widths from 0 to 500 mm", fix=fix)
    return found


def _read_frame(value: object) -> str:
    if not isinstance(value, str) or not re.fullmatch(r"[A-Za-z0-9_. -]{1,40}", value):
        raise InputError(f"{shown(value)} is no name of a frame", fix='Write it as it stands on the papers: "F4"')
    station = _station_named(value)
    return value.strip() if station is None else f"sta{station}"


def read_wood(value: object) -> str:
    """The trade name of a wood of the table by any of its names; raises InputError naming the nearest."""
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


def _read_stations(value: object, info: ValidationInfo) -> tuple[float | str, ...]:
    if not isinstance(value, list) or not 1 <= len(value) <= 500:
        fix = 'Write the x of each frame in brackets, aft to forward, as [600, 1200], or stations as ["sta 3"]'
        raise InputError(f"{shown(value)} is no list of frames", fix=fix)
    unit = _context(info)["unit"]
    frames = tuple(_frame_place(v, unit or "mm") for v in value)
    stations = [x for x in frames if isinstance(x, float)]
    if unit is None or not stations:  # their order means nothing yet
        return frames
    for before, after in itertools.pairwise(stations):
        if after <= before:
            fix = "Write the frames from aft to forward, each once"
            raise InputError(f"{after:g} mm comes after {before:g} mm", fix=fix)
    if stations[0] < 0 or stations[-1] > 100_000:
        fix = "x is 0 at the aftmost point of the hull and grows forward"
        raise InputError(f"{stations[0]:g} to {stations[-1]:g} mm is off any hull", fix=fix)
    return frames


def _frame_place(value: object, unit: str) -> float | str:
    """x of a frame, or the station of a table it stands at ("sta 3" gives "3")."""
    station = _station_named(value)
    return parse_length(value, unit) if station is None else station


def _station_named(value: object) -> str | None:
    """The station that "sta 3" or "station 3" means: "3".  None for anything else."""
    if not isinstance(value, str):
        return None
    named = re.fullmatch(r"\s*sta(?:tion)?\.?\s+(\S.{0,19}?)\s*", value, re.IGNORECASE)
    return named[1] if named else None


def mass(low: float, high: float) -> BeforeValidator:
    """A weight in kg, from low to high."""

    def read(value: object) -> float:
        return _between(parse_mass(value), low, high, value, "kg")

    return BeforeValidator(read)


def cloth(low: float, high: float) -> BeforeValidator:
    """Weight of cloth in g/m2, from low to high."""

    def read(value: object) -> float:
        return _between(parse_cloth(value), low, high, value, "g/m2")

    return BeforeValidator(read)


def _between(got: float, low: float, high: float, value: object, unit: str) -> float:
    if low <= got <= high:
        return got
    fix = f"Write a weight from {low:g} to {high:g} {unit}"
    raise InputError(f"{shown(value)} is {got:g} {unit}, outside {low:g} to {high:g}", fix=fix)


def _read_place(value: object, info: ValidationInfo) -> tuple[float, float, float]:
    if not isinstance(value, list) or len(value) != 3:
        fix = "Write x, y and z in brackets: forward of the aftmost point, to port, above the base line"
        raise InputError(f"{shown(value)} is no place aboard", fix=fix)
    unit = _context(info)["unit"]
    x, y, z = (parse_length(v, unit or "mm") for v in value)
    return x, y, z


def _read_air(value: object) -> tuple[float, float]:
    numbers = isinstance(value, list) and all(isinstance(v, int | float) and not isinstance(v, bool) for v in value)
    if not numbers or len(cast(list[float], value)) != 2:
        raise InputError(f"{shown(value)} is no air", fix="Write degrees Celsius and % humidity, as [20, 65]")
    warm, damp = cast(list[float], value)
    if not (-2 <= warm <= 132 and 5 <= damp <= 95):
        fix = "Moisture by the air holds from -1 to 132 degrees and 5 to 95 % humidity"
        raise InputError(f"{shown(value)} is outside the table of moistures", fix=fix)
    return float(warm), float(damp)


def _read_panels(value: object) -> tuple[str, ...]:
    if not isinstance(value, list) or not value:
        raise InputError(f"{shown(value)} is no list of panels", fix='Write ["bottom", "side"]')
    return tuple(_read_panel(v) for v in value)


Place = Annotated[tuple[float, float, float], BeforeValidator(_read_place)]
Air = Annotated[tuple[float, float], BeforeValidator(_read_air)]
Panels = Annotated[tuple[str, ...], BeforeValidator(_read_panels)]
Switch = Annotated[bool, BeforeValidator(_read_switch)]
Name = Annotated[str, BeforeValidator(_read_name)]
KeelFlat = Annotated[tuple[tuple[float, float], ...], BeforeValidator(_read_flat)]
FrameName = Annotated[str, BeforeValidator(_read_frame)]
Wood = Annotated[str, BeforeValidator(read_wood)]
PanelName = Annotated[str, BeforeValidator(_read_panel)]
File = Annotated[Path, BeforeValidator(_read_file)]
Stations = Annotated[tuple[float | str, ...], BeforeValidator(_read_stations)]
Axis = Annotated[str, choice(*AXES)]
UnitName = Annotated[Literal["mm", "cm", "m", "in", "ft"], choice(*UNITS)]
Clearance = Annotated[float, length(0, 200)]
Tail = Annotated[float, length(0, 1000)]
Trim = Annotated[float, length(0, 200)]
Width = Annotated[float, length(10, 1000)]
Joint = Annotated[Literal["scarf", "butt", "none"], choice("scarf", "butt", "none")]
