"""The sheet to take to the mill: a table to fill in with tape and pencil, as a file and as a page to print.

tally     one row a board: length, width at both ends, thickness, crook, grade, what mars it
crook     how far a long edge bows off a line stretched from end to end
"""

from __future__ import annotations

from html import escape
from pathlib import Path

COLUMNS = (
    "id", "length", "width", "width_end", "thickness", "crook", "species", "grade", "price", "defects", "note",
)  # fmt: skip
HOW = (
    "length: end to end, tape along the middle",
    "width, width_end: at the end the tape starts from, and at the other; of waney boards on the narrower face",
    'thickness: rough, or in quarters ("5/4")',
    "crook: lay the hollow edge down; greatest gap between a string along it and the edge",
    'defects: kind, along, across, size; the next after a semicolon: "knot 1200 40 25; check 0 80 220x6"',
    "along and across are measured from the corner where the tape starts, to the middle of the defect",
    "price: of the board; or name the column price_bf, and write the price of a board foot",
    "kinds: knot, sound knot, pin knot, check, split, wane, stain, sapwood, pith",
)
HEAD = "Mill: ____________________ &nbsp; Date: ______________ &nbsp; Unit of bare numbers: mm / in &nbsp; Page: ____"
EXAMPLE = ("A1", "12 ft", "7 1/2 in", "7 in", "5/4", "6 mm", "white ash", "1 Common", "", "knot 900 60 25", "")


def template_csv(example: bool = True) -> str:
    """The table: header, an example row that is commented out, and how to measure, as comments."""
    lines = [",".join(COLUMNS), *(f"# {text}" for text in HOW)]
    return "\n".join([*lines, *(["# " + ",".join(EXAMPLE)] if example else [])]) + "\n"


def template_page(rows: int) -> str:
    """A page to print, with room for so many boards."""
    head = "".join(f"<th>{escape(name.replace('_', ' '))}</th>" for name in COLUMNS)
    empty = "<tr>" + "<td>&nbsp;</td>" * len(COLUMNS) + "</tr>\n"
    how = "".join(f"<li>{escape(text)}</li>" for text in HOW)
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8"><title>Tally</title><style>'
        "body{font:13px sans-serif}table{border-collapse:collapse;width:100%}th,td{border:1px solid #000;height:9mm}"
        "th{height:auto;text-align:left;padding:1mm}th:nth-child(1){width:7%}th:nth-child(10){width:28%}"
        "th:nth-child(11){width:12%}thead{display:table-header-group}tr{break-inside:avoid}"
        "@page{size:landscape;margin:10mm}"
        f"</style></head><body><h1>Tally</h1><p>{HEAD}</p><ul>{how}</ul><table><thead><tr>{head}</tr></thead>\n"
        f"<tbody>{empty * rows}</tbody></table></body></html>\n"
    )


def write_tally(folder: Path, rows: int) -> None:
    """tally.csv and tally.html"""
    (folder / "tally.csv").write_text(template_csv(), encoding="utf-8", newline="\n")
    (folder / "tally.html").write_text(template_page(rows), encoding="utf-8", newline="\n")
