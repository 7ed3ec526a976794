"""What became of the table of offsets, as files: the corrected table in both notations, and offsets.json.

corrected   the cells where the faired lines pass, to the nearest sixteenth of an inch or tenth of a millimetre
echo        the table as it was read, every cell in both notations: for the builder to hold against his own
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from strakewright.offsets import LinesPlan, OffsetTable, Row
from strakewright.units import print_eighths

NOTE = "Rounded offsets: no flat outline made from this table is better than 1 to 3 mm."


def table_note(plan: LinesPlan | None) -> str:
    """What stands on every paper of a boat from a table of offsets; nothing for one from a mesh."""
    return NOTE if plan is not None else ""


def write_tables(folder: Path, plan: LinesPlan) -> None:
    """offsets-corrected-ft-in-8ths.csv and offsets-corrected-mm.csv into a folder."""
    for name, show in (("ft-in-8ths", in_eighths), ("mm", in_mm)):
        rows = corrected_rows(plan, show)
        notes = [f"# Corrected table of offsets, {name}. {NOTE}"]
        text = "\n".join([*notes, *(",".join(row) for row in rows)]) + "\n"
        (folder / f"offsets-corrected-{name}.csv").write_text(text, encoding="utf-8", newline="\n")


def corrected_rows(plan: LinesPlan, show: Callable[[float], str]) -> list[list[str]]:
    """The corrected table as text, rows of lines; read back it gives the same boat to its rounding."""
    moved = {(m.row, m.station): m.faired for m in plan.moves}
    rows = [["station", *plan.table.stations]]
    for row in plan.table.rows:
        cells = [
            "" if cell is None else show(moved.get((row.name, station), cell.mm))
            for station, cell in zip(plan.table.stations, row.cells, strict=True)
        ]
        rows.append([row.name, *cells])
    return rows


def in_eighths(mm: float) -> str:
    """Feet-inches-eighths; below the base line, which the notation cannot say, millimetres.

    >>> in_eighths(673.1), in_eighths(-12.0)
    ('2-2-4', '-12.0 mm')
    """
    return print_eighths(mm) if mm >= 0 else f"{mm:.1f} mm"


def in_mm(mm: float) -> str:
    """Tenths of a millimetre.

    >>> in_mm(673.1)
    '673.1 mm'
    """
    return f"{mm:.1f} mm"


def echo_lines(table: OffsetTable) -> list[str]:
    """The table as read, row by row: cell as written = feet-inches-eighths = mm."""
    told = [f"Table of offsets {table.source}: {len(table.rows)} rows, {len(table.stations)} stations"]
    for row in table.rows:
        told.append(f"{row.name} (rounded to {row.step:.3g} mm):")
        told += [f"  station {s}: {_echo(row, k)}" for k, s in enumerate(table.stations) if row.cells[k] is not None]
    return told


def _echo(row: Row, k: int) -> str:
    cell = row.cells[k]
    assert cell is not None
    return f"{cell.text!r} = {in_eighths(cell.mm)} = {in_mm(cell.mm)}"


def offsets_document(plan: LinesPlan) -> Mapping[str, Any]:
    """offsets.json: the table as built from, corrections, suspects, every move."""
    return {
        "format": "strakewright/offsets@1",
        "units": "mm",
        "stations": [{"name": name, "x": x} for name, x in plan.stations],
        "rows": [
            {
                "row": row.name,
                "step": row.step,
                "cells": {
                    s: {"text": c.text, "mm": c.mm}
                    for s, c in zip(plan.table.stations, row.cells, strict=True)
                    if c is not None
                },
            }
            for row in plan.table.rows
        ],
        "corrections": [
            {"row": c.row, "station": c.station, "was": c.was, "value": c.mm, "text": c.text, "reason": c.reason}
            for c in plan.corrections
        ],
        "suspects": [
            {
                "row": s.row,
                "station": s.station,
                "written": s.written,
                "suggested": s.suggested,
                "off": s.off,
                "slip": s.slip,
                "found_by": s.found_by,
            }
            for s in plan.suspects
        ],
        "moves": [
            {
                "row": m.row,
                "station": m.station,
                "tabled": m.tabled,
                "faired": m.faired,
                "move": m.by,
                "tabled_text": in_eighths(m.tabled),
                "faired_text": in_eighths(m.faired),
                "locked": m.locked,
                "allowed": m.allowed,
            }
            for m in plan.moves
        ],
        "tolerance": plan.tolerance,
        "lines": [{"name": name, "points": points.tolist()} for name, points in plan.lines],
        "note": NOTE,
    }
