"""Cells that do not fit: which, how far off, what the neighbours suggest, and the slip that may have made them.

slip      a foot, an inch or an eighth too much or too little, inches and eighths swapped, one figure wrong, two
          figures swapped
tested    rows of six cells and more, each against its own fair line; the fairness of the table's other rows says how
          rough a line of this boat may be, which is what finds slips at the end stations

Nothing is changed here.  Method: mean-shift likelihood, see `fairing`; threshold from invented tables (see the bench).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from strakewright.arrays import Floats
from strakewright.errors import InputError
from strakewright.loft.fairing import EXACT, ShiftProfile, mean_shifts, shift_profile
from strakewright.offsets import OffsetTable, Row, Suspect
from strakewright.units import MM_PER_UNIT, parse_cell, parse_eighths, print_eighths

LIKELY = 22.0  # twice the log likelihood gained
FEWEST, MOST = 6, 12
ENOUGH = 3  # other rows that together say how rough a line of this boat is
STEEP = 1.5  # slope from which a row is followed by its own length
_INCH = float(MM_PER_UNIT["in"])


@dataclass(frozen=True, eq=False)
class _Tested:
    row: Row
    at: list[int]
    profile: ShiftProfile


def positions(table: OffsetTable, line: str) -> list[float | None]:
    """x of each station as the table has it for a line, mm; its own where it has one."""
    common, own = table.row("position", ""), table.row("position", line)
    cells = [
        (own.cells[k] if own else None) or (common.cells[k] if common else None) for k in range(len(table.stations))
    ]
    return [None if cell is None else cell.mm for cell in cells]


def suspects(table: OffsetTable) -> tuple[Suspect, ...]:
    """Every cell more likely a slip than a bend, the surest first.  Cells found are left out before looking on."""
    found: list[Suspect] = []
    out: set[tuple[str, int]] = set()
    while len(found) < MOST:
        worst = _worst(table, out)
        if worst is None:
            return tuple(found)
        suspect, at = worst
        found.append(suspect)
        out.add((suspect.row, at))
    return tuple(found)


def _worst(table: OffsetTable, out: set[tuple[str, int]]) -> tuple[Suspect, int] | None:
    tested = list(_tested(table, out))
    best: tuple[float, int, int, float, float] | None = None
    for n, t in enumerate(tested):
        others = [o.profile.fairest for o in tested if o is not t and o.row.view != "position"]
        gains, off = mean_shifts(t.profile, float(np.median(others)) if len(others) >= ENOUGH else None)
        k = int(np.argmax(gains))
        if gains[k] > LIKELY and (best is None or gains[k] > best[0]):
            best = (float(gains[k]), n, k, float(off[k]), float(mean_shifts(t.profile, None)[0][k]))
    if best is None:
        return None
    gain, n, k, off_by, alone = best
    row, station = tested[n].row, tested[n].at[k]
    cell = row.cells[station]
    assert cell is not None
    suggested = cell.mm - off_by
    slip = likely_slip(cell.text, suggested, row.step)
    by = "its own row" if alone > LIKELY else "the other rows"
    name = table.stations[station]
    return Suspect(row.name, name, cell.mm, suggested, gain, slip, by), station  # type: ignore[arg-type]


def _tested(table: OffsetTable, out: set[tuple[str, int]]) -> Iterator[_Tested]:
    xs = [x for row in table.rows for x in positions(table, row.line) if x is not None]
    length = max(np.ptp(xs), 1.0) if xs else 1.0
    for row in table.rows:
        if row.view == "position":
            continue
        along = positions(table, row.line)
        at = [k for k, c in enumerate(row.cells) if c is not None and along[k] is not None and (row.name, k) not in out]
        if len(at) < FEWEST or row.step <= EXACT:
            continue
        at.sort(key=lambda k: along[k] or 0.0)
        x = np.array([along[k] for k in at], dtype=np.float64)
        v = np.array([row.cells[k].mm for k in at])  # type: ignore[union-attr]
        if (np.diff(x) <= 0).any():
            continue
        yield _Tested(row, at, shift_profile(_run(x, v), v, row.step, float(length)))


def _run(x: Floats, v: Floats) -> Floats:
    """Distance along a row: by station, or along the line itself where it stands steep (stems)."""
    slope = np.abs(np.diff(v) / np.diff(x))
    if slope.max() < STEEP:
        return x
    return np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x), np.diff(v)))])


def likely_slip(text: str, suggested: float, step: float) -> str:
    """The slip that takes what the neighbours suggest to what is written, in words.

    suggested, step : mm

    >>> likely_slip("2-3-4", 28.5 * 25.4, 3.175)
    'inches and eighths swapped? 2-4-3 would be 3.2 mm from the suggestion'
    """
    best: tuple[int, int, str, str] | None = None
    nearest = np.inf
    for rank, words, other in _other_readings(text):
        try:
            mm = parse_eighths(other) if re.fullmatch(r"\d+-\d+-\d+[+-]?", other) else parse_cell(other, "mm")
        except InputError:
            continue
        away = abs(mm - suggested)
        key = (round(away / max(2.0 * step, 2.0)), rank, words, other)
        if best is None or key[:2] < best[:2]:
            best = (*key[:2], words, other)
            nearest = away
    if best is None or nearest > max(6.0 * step, 6.0):
        return f"no simple slip; the neighbours suggest {_said(text, suggested)}"
    return f"{best[2]}? {best[3]} would be {nearest:.1f} mm from the suggestion"


def _said(text: str, mm: float) -> str:
    return print_eighths(mm) if re.fullmatch(r"\d+-\d+-\d+[+-]?", text) and mm >= 0 else f"{mm:.0f} mm"


def _other_readings(text: str) -> Iterator[tuple[int, str, str]]:
    """Rank, words and text of every other reading that one slip explains."""
    eighths = re.fullmatch(r"(\d+)-(\d+)-(\d+)([+-]?)", text)
    if eighths:
        f, i, e, sign = int(eighths[1]), int(eighths[2]), int(eighths[3]), eighths[4]
        for d in (1, -1):
            yield 0, "a foot too many" if d < 0 else "a foot too few", f"{f + d}-{i}-{e}{sign}"
            yield 1, "an inch too many" if d < 0 else "an inch too few", f"{f}-{i + d}-{e}{sign}"
        yield 0, "inches and eighths swapped", f"{f}-{e}-{i}{sign}"
        yield 1, "feet and inches swapped", f"{i}-{f}-{e}{sign}"
    digits = [k for k, c in enumerate(text) if c.isdigit()]
    for a, b in pairwise(digits):
        if b == a + 1 and text[a] != text[b]:
            yield 2, "two figures swapped", text[:a] + text[b] + text[a] + text[b + 1 :]
    for k in digits:
        for figure in "0123456789":
            if figure != text[k]:
                yield 3, "one figure wrong", text[:k] + figure + text[k + 1 :]
