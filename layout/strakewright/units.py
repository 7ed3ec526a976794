"""Lengths as builders write them, and as they read them off a tape.

tape inches   feet, inches and a fraction in halves down to 32nds: 5' 2 1/2"
eighths       feet-inches-eighths of the tables of offsets: 2-3-4 = 2 ft 3 4/8 in; a trailing + or - is one
              sixteenth more or less (common practice)
quarters      rough thickness in quarter inches: 5/4 = 1 1/4 in before dressing

Everything is reckoned in exact fractions (1 in = 25.4 mm exactly, ISO 31-1) and turned into a float once, at
the end, so that what is printed is read back as the same number.
"""

from __future__ import annotations

import math
import re
from fractions import Fraction
from typing import Literal, TypeAlias

from strakewright.errors import InputError

Unit: TypeAlias = Literal["mm", "cm", "m", "in", "ft"]

MM_PER_UNIT: dict[str, Fraction] = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": Fraction(127, 5),
    "ft": Fraction(1524, 5),
}
POUND = Fraction(45359237, 100_000_000)  # kg, exact by the yard and pound agreement of 1959
KG_PER_UNIT = {"kg": Fraction(1), "g": Fraction(1, 1000), "lb": POUND, "lbs": POUND, "oz": POUND / 16}
GRAMS_PER_OUNCE_YARD = POUND / 16 * 1000 / (Fraction(9144, 10_000) ** 2)  # 33.906 g/m2
SPOKEN = {"mm": "mm", "cm": "cm", "m": "m", "in": "inches", "ft": "feet"}
INCH = MM_PER_UNIT["in"]
LONGEST = 1e7  # mm: ten kilometres; anything beyond is a slip of the pen

_SPELLINGS = {
    "in": ("in", "in.", "inch", "inches", '"'),
    "ft": ("ft", "ft.", "foot", "feet", "'"),
    "mm": ("mm",),
    "cm": ("cm",),
    "m": ("m",),
}
_UNIT_OF = {spelling: unit for unit, all_ in _SPELLINGS.items() for spelling in all_}
_VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_CURLY = str.maketrans({"′": "'", "’": "'", "‘": "'", "″": '"', "”": '"', "“": '"', "−": "-", "\u00a0": " "})

# One number: 12.5, 3/4, or 5 1/2 (5-1/2 is the same, and so is 5½).
_N = r"\d{1,12}"
_NUMBER = rf"(?:{_N}[ -]{_N}/{_N}|{_N}/{_N}|{_N}\.\d{{0,30}}|\.\d{{1,30}}|{_N})"
_SINGLE = re.compile(rf"({_NUMBER}) ?([a-z]+\.?|'|\")", re.IGNORECASE)
_FEET_INCHES = re.compile(
    rf"({_N}) ?(?:ft\.?|foot|feet|')(?: ?[-,] ?| )?({_NUMBER}) ?(?:in\.?|inch|inches|\")?", re.IGNORECASE
)
_EIGHTHS = re.compile(rf"({_N})-({_N})-({_N})([+-]?)")
_QUARTERS = re.compile(r"(\d{1,3})/4")

ALLOWED = "'19 mm', '1.9 cm', '0.6 m', '3/4 in', '5 1/2 in' or '16 ft 3 in'"


def parse_length(value: object, unit: str) -> float:
    """A length of a boat file in mm: a number in `unit`, or text that names its unit.

    raises InputError saying what was read and what is allowed

    >>> parse_length(19, "mm"), parse_length("5 1/2 in", "mm"), parse_length("16'-3", "mm")
    (19.0, 139.7, 4953.0)
    """
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise _refused(value, "is not a length", unit)
    if isinstance(value, str):
        return _in_mm(_length_text(value, unit), value, unit)
    if isinstance(value, float) and not math.isfinite(value):
        raise _refused(value, "is not a finite number", unit)
    return _in_mm(Fraction(str(value)) * MM_PER_UNIT[unit], value, unit)


def parse_cell(text: str, unit: str) -> float:
    """A length of a table in mm: a bare number (also 5 1/2) is in `unit`; text may name its own unit.

    >>> parse_cell("5 1/2", "in"), parse_cell("96 in", "mm")
    (139.7, 2438.4)
    """
    plain = _tidy(text)
    sign, bare = (-1, plain[1:].lstrip()) if plain.startswith("-") else (1, plain)
    if re.fullmatch(_NUMBER, bare):
        return _in_mm(sign * _number(bare, text, unit) * MM_PER_UNIT[unit], text, unit)
    return _in_mm(_length_text(text, unit), text, unit)


def parse_eighths(text: str) -> float:
    """Feet-inches-eighths in mm; a trailing + or - is a sixteenth of an inch more or less.

    >>> parse_eighths("10-2-2"), parse_eighths("2-3-4+") / 25.4
    (3105.15, 27.5625)
    """
    found = _EIGHTHS.fullmatch(_tidy(text).replace(" ", ""))
    if not found:
        raise InputError(f"{text!r} is not feet-inches-eighths", fix="Write 2-3-4, 2-3-4+ or 2-3-4-")
    feet, inches, eighths = (int(found[i]) for i in (1, 2, 3))
    if inches > 11 or eighths > 7:
        raise InputError(f"{text!r} has more than 11 inches or 7 eighths", fix="Carry over: 0-11-8 is 1-0-0")
    sixteenths = {"+": 1, "-": -1, "": 0}[found[4]]
    return _in_mm((12 * feet + inches + Fraction(2 * eighths + sixteenths, 16)) * INCH, text, "in")


def parse_quarters(text: str) -> float | None:
    """Nominal rough thickness in mm when the text is in quarters ("5/4"), else None.

    >>> parse_quarters("5/4"), parse_quarters("27 mm")
    (31.75, None)
    """
    found = _QUARTERS.fullmatch(_tidy(text).replace(" ", ""))
    return float(Fraction(int(found[1]), 4) * INCH) if found else None


def print_mm(mm: float) -> str:
    """To the nearest half millimetre, ties to the even half.

    >>> print_mm(139.7), print_mm(19.0), print_mm(-0.1)
    ('139.5 mm', '19 mm', '0 mm')
    """
    halves = round(Fraction(mm) * 2)
    return f"{'-' if halves < 0 else ''}{abs(halves) // 2}{'.5' if halves % 2 else ''} mm"


def print_tape(mm: float) -> str:
    """Feet, inches and a fraction to the nearest 1/32 in, as on the tape.

    >>> print_tape(1587.5), print_tape(19.05), print_tape(4876.8)
    ('5\\' 2 1/2"', '3/4"', '16\\' 0"')
    """
    parts = round(Fraction(mm) / INCH * 32)
    sign, whole, rest = "-" if parts < 0 else "", abs(parts) // 32, abs(parts) % 32
    feet, inches = divmod(whole, 12)
    fraction = str(Fraction(rest, 32)) if rest else ""
    shown = " ".join(word for word in (str(inches) if inches or not rest else "", fraction) if word)
    return f"{sign}{feet}' {shown}\"" if feet else f'{sign}{shown}"'


def print_eighths(mm: float) -> str:
    """Feet-inches-eighths to the nearest sixteenth; raises ValueError below zero.

    >>> print_eighths(27.5 * 25.4), print_eighths(0.0)
    ('2-3-4', '0-0-0')
    """
    sixteenths = round(Fraction(mm) / INCH * 16)
    if sixteenths < 0:
        raise ValueError(f"{mm} mm is below zero: the notation has no sign")
    eighths, plus = divmod(sixteenths, 2)
    return f"{eighths // 96}-{eighths // 8 % 12}-{eighths % 8}{'+' if plus else ''}"


def parse_mass(value: object) -> float:
    """A weight in kg: a number in kg, or text with its unit (kg, g, lb, oz avoirdupois).

    >>> parse_mass(12), parse_mass("500 g"), round(parse_mass("100 lb"), 3)
    (12.0, 0.5, 45.359)
    """
    return _measured(value, KG_PER_UNIT, "weight", "Write a number in kg, or text with a unit: '45 kg', '100 lb'")


def parse_cloth(value: object) -> float:
    """Weight of cloth in g/m2: a number in g/m2, or ounces to the square yard as "6 oz".

    >>> round(parse_cloth("6 oz"), 1), parse_cloth(200)
    (203.4, 200.0)
    """
    fix = "Write a number in g/m2, or ounces to the square yard: '6 oz'"
    return _measured(value, {"g/m2": Fraction(1), "oz": GRAMS_PER_OUNCE_YARD}, "weight of cloth", fix)


def _measured(value: object, units: dict[str, Fraction], what: str, fix: str) -> float:
    """A number as it is, or text of a number and one of the units."""
    if isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value):
        return float(value)
    found = (
        re.fullmatch(rf"({_NUMBER}) ?([a-z/0-9]+)\.?", _tidy(value), re.IGNORECASE) if isinstance(value, str) else None
    )
    if found is None or found[2].lower() not in units:
        raise InputError(f"{repr(value)[:40]} is not a {what}", fix=fix)
    return float(_number(found[1], str(value), "mm") * units[found[2].lower()])


def _tidy(text: str) -> str:
    """Straight quotes, vulgar fractions spelled out, single spaces."""
    plain = text.translate(_CURLY)
    for sign, spelled in _VULGAR.items():
        plain = plain.replace(sign, f" {spelled}")
    return " ".join(plain.split())


def _length_text(text: str, unit: str) -> Fraction:
    """Exact mm of a length that names its unit."""
    plain = _tidy(text)
    sign, plain = (-1, plain[1:].lstrip()) if plain.startswith("-") else (1, plain)
    single = _SINGLE.fullmatch(plain)
    if single and single[2].lower() in _UNIT_OF:
        named = _UNIT_OF[single[2].lower()]
        return sign * _number(single[1], text, unit) * MM_PER_UNIT[named]
    both = _FEET_INCHES.fullmatch(plain)
    if both:
        inches = _number(both[2], text, unit)
        if inches >= 12:
            raise _refused(text, "has 12 or more inches after the feet", unit)
        return sign * (12 * int(both[1]) + inches) * INCH
    raise _refused(text, _why_not(plain, single), unit)


def _why_not(plain: str, single: re.Match[str] | None) -> str:
    """What is wrong with a text that is no length."""
    if single:
        return f"has a unit that is not known ({single[2]!r})"
    if _EIGHTHS.fullmatch(plain):
        return "is in feet-inches-eighths, which only tables of offsets use"
    if re.fullmatch(_NUMBER, plain):
        return "is text without a unit"
    if re.match(r"\d+,\d", plain):
        return "is not a length (a decimal point, not a comma)"
    return "is not a length"


def _number(text: str, whole: str, unit: str) -> Fraction:
    """Exact value of one number: 12.5, 3/4 or 5 1/2."""
    ahead, _, fraction = text.replace("-", " ").rpartition(" ")
    if "/" not in fraction:
        return Fraction(fraction)
    top, bottom = (int(n) for n in fraction.split("/"))
    if bottom == 0 or (ahead and top >= bottom):
        raise _refused(whole, "has a fraction that cannot be", unit)
    return int(ahead or 0) + Fraction(top, bottom)


def _in_mm(mm: Fraction, value: object, unit: str) -> float:
    if abs(mm) > LONGEST:
        raise _refused(value, "is longer than ten kilometres", unit)
    return float(mm)


def _refused(value: object, why: str, unit: str) -> InputError:
    shown = repr(value) if len(repr(value)) <= 40 else f"{repr(value)[:37]}..."
    return InputError(f"{shown} {why}", fix=f"Write a number in {SPOKEN[unit]}, or text with a unit: {ALLOWED}")
