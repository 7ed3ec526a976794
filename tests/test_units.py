"""Lengths in every notation of the boat file, printed and read back."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from strakewright.errors import InputError
from strakewright.units import (
    MM_PER_UNIT,
    parse_cell,
    parse_eighths,
    parse_length,
    parse_quarters,
    print_eighths,
    print_mm,
    print_tape,
)

# Expected values: 1 in = 25.4 mm exactly (ISO 31-1), arithmetic by hand.
NOTATIONS = [
    ("19 mm", 19.0),
    ("19mm", 19.0),
    ("1.9 cm", 19.0),
    ("0.6 m", 600.0),
    (".5 in", 12.7),
    ("3/4 in", 19.05),
    ("5/4 in", 31.75),
    ("5 1/2 in", 139.7),
    ("5-1/2 in", 139.7),
    ("5½ in", 139.7),
    ('5 1/2"', 139.7),
    ("5 1/2 inches", 139.7),
    ("16 ft 3 in", 4953.0),
    ("16 ft", 4876.8),
    ("16.25 ft", 4953.0),
    ("16'-3", 4953.0),
    ("16'-3\"", 4953.0),
    ("16’ 3”", 4953.0),
    ("5' 2 1/2\"", 1587.5),
    ("5 ft 2 1/2 in", 1587.5),
    ("5 feet, 2 1/2 inches", 1587.5),
    ("0'-0 1/2\"", 12.7),
    ("-5 mm", -5.0),
    ("−1' 6\"", -457.2),
    ("  16   FT  3  IN ", 4953.0),
]


@pytest.mark.parametrize(("text", "mm"), NOTATIONS)
def test_text_with_a_unit(text: str, mm: float) -> None:
    assert parse_length(text, "mm") == mm
    assert parse_cell(text, "ft") == mm


@pytest.mark.parametrize(("unit", "mm"), [("mm", 2.5), ("cm", 25.0), ("m", 2500.0), ("in", 63.5), ("ft", 762.0)])
def test_a_number_is_in_the_given_unit(unit: str, mm: float) -> None:
    assert parse_length(2.5, unit) == mm
    assert parse_cell("2.5", unit) == parse_cell("2 1/2", unit) == mm


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "not a length"),
        ("thick", "not a length"),
        ("19", "without a unit"),
        ("19 yd", "unit that is not known"),
        ("1,5 mm", "decimal point"),
        ("2-3-4", "feet-inches-eighths"),
        ("5 ft 14 in", "12 or more inches"),
        ("3/0 in", "fraction that cannot be"),
        ("5 7/4 in", "fraction that cannot be"),
        ("99999999 m", "ten kilometres"),
        ("9" * 5000 + " mm", "not a length"),
        ("nan mm", "not a length"),
        ("5 5 in", "not a length"),
    ],
)
def test_refused_text_says_what_was_read_and_what_is_allowed(text: str, why: str) -> None:
    with pytest.raises(InputError, match=why) as refused:
        parse_length(text, "mm")
    assert text[:30] in refused.value.what
    assert "16 ft 3 in" in refused.value.fix


@pytest.mark.parametrize("value", [True, None, [1], {"a": 1}, float("nan"), float("inf"), 1e300])
def test_refused_values_of_other_kinds(value: object) -> None:
    with pytest.raises(InputError):
        parse_length(value, "mm")


# 10-2-2 = 122 1/4 in, 2-3-4 = 27 1/2 in, as old tables print them; + and - are a sixteenth (common practice).
@pytest.mark.parametrize(
    ("text", "sixteenths"),
    [("10-2-2", 1956), ("2-3-4", 440), ("2-3-4+", 441), ("2-3-4-", 439), ("0-0-0", 0)],
)
def test_feet_inches_eighths(text: str, sixteenths: int) -> None:
    assert parse_eighths(text) == float(Fraction(sixteenths, 16) * Fraction(127, 5))


@pytest.mark.parametrize("text", ["2-3", "2-12-0", "2-3-8", "2-3-4++", "a-b-c", "2 ft 3 in", ""])
def test_refused_eighths(text: str) -> None:
    with pytest.raises(InputError):
        parse_eighths(text)


def test_eighths_carry_over() -> None:
    """0-11-7.9 is nearest to 0-11-8, which is written 1-0-0."""
    assert print_eighths((11 + 7.99 / 8) * 25.4) == "1-0-0"
    with pytest.raises(ValueError, match="below zero"):
        print_eighths(-5.0)


@pytest.mark.parametrize(("text", "mm"), [("4/4", 25.4), ("5/4", 31.75), ("16/4", 101.6), ("3/8", None), ("1", None)])
def test_quarters(text: str, mm: float | None) -> None:
    assert parse_quarters(text) == mm


@given(st.integers(-(10**6), 10**6))
def test_every_half_millimetre_is_printed_and_read_back(halves: int) -> None:
    assert parse_length(print_mm(halves / 2), "in") == halves / 2


@given(st.integers(-(10**6), 10**6))
def test_every_32nd_of_an_inch_is_printed_and_read_back(parts: int) -> None:
    mm = float(Fraction(parts, 32) * Fraction(127, 5))
    assert parse_length(print_tape(mm), "mm") == mm


@given(st.integers(0, 10**6))
def test_every_sixteenth_is_printed_in_eighths_and_read_back(parts: int) -> None:
    mm = float(Fraction(parts, 16) * Fraction(127, 5))
    assert parse_eighths(print_eighths(mm)) == mm


@given(st.floats(-1e4, 1e4), st.sampled_from(sorted(MM_PER_UNIT)))
def test_a_number_of_millimetres_comes_through_unchanged(value: float, unit: str) -> None:
    assert parse_length(value, "mm") == value
    assert parse_length(value, unit) == pytest.approx(value * float(MM_PER_UNIT[unit]), rel=1e-15, abs=1e-300)


@given(st.floats(-1e6, 1e6))
def test_printing_is_within_half_a_step(mm: float) -> None:
    assert abs(parse_length(print_mm(mm), "mm") - mm) <= 0.25 + 1e-9
    assert abs(parse_length(print_tape(mm), "mm") - mm) <= 25.4 / 64 + 1e-9
