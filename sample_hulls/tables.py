"""Makes the tables of offsets of the samples: Teasel in feet-inches-eighths with one misprint, Dunlin in millimetres.

    python sample_hulls/tables.py

Both boats are invented.  Lines are quintics hung on points, as in `make`; a half-siding is put between keel and stem,
and the transom's ends are cut by one raked plane, so that the tables say what a builder's own would.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import numpy as np
from make import TEASEL, Floats, line
from scipy.interpolate import BSpline
from scipy.optimize import brentq

HERE = Path(__file__).parent
INCH = 25.4
NAMES = ("rabbet", "chine", "sheer")

# Dunlin: 4.3 m rowing skiff for a ferry landing, both panels bent from sheet; lines in mm, from the keel up
DUNLIN = (
    [(60, 0, 96), (900, 0, 40), (1800, 0, 12), (2600, 0, 12), (3300, 0, 60), (3820, 0, 150), (4060, 0, 330)],
    [
        (40, 410, 150),
        (900, 470, 118),
        (1800, 500, 104),
        (2600, 470, 116),
        (3300, 320, 168),
        (3820, 150, 236),
        (4060, 0, 330),
    ],
    [
        (0, 520, 470),
        (900, 600, 420),
        (1800, 640, 400),
        (2600, 620, 412),
        (3400, 450, 470),
        (4000, 205, 540),
        (4300, 0, 600),
    ],
)


def eighths(mm: float) -> str:
    """Feet-inches-eighths to the nearest eighth."""
    n = round(Fraction(mm) / Fraction(127, 40))
    return f"{n // 96}-{n // 8 % 12}-{n % 8}"


def at_x(curve: BSpline, x: float) -> Floats:
    """(3,) where a line passes x."""
    u = brentq(lambda s: float(curve(s)[0]) - x, 0.0, 1.0)
    return np.asarray(curve(u))


def sided(point: Floats, half: float, widest: float) -> Floats:
    """The point with the half-siding put in: keel and stem stand off the centreline, the widest place stays."""
    return np.array([point[0], half + point[1] * (1.0 - half / widest), point[2]])


def on_transom(curve: BSpline, foot: Floats, rake: float) -> Floats:
    """(3,) where a line meets the plane that leans aft by `rake` (x per z) through the keel's end."""

    def off(u: float) -> float:
        x, _, z = curve(u, extrapolate=True)
        return float(x - foot[0] + rake * (z - foot[2]))

    return np.asarray(curve(brentq(off, -0.1, 0.3), extrapolate=True))


def columns(
    lines: tuple[list[tuple[float, float, float]], ...], step: float, half: float, rake: float
) -> dict[str, list[Floats | None]]:
    """Points of every line by station, bow to stern: stem, stations every `step` from the stem head, transom."""
    curves = [line(points) for points in lines]
    head = float(curves[-1](1.0)[0])
    foot = np.asarray(curves[0](0.0))
    inner = np.arange(head - step, step * 0.4, -step)
    table: dict[str, list[Floats | None]] = {}
    for name, curve in zip(NAMES, curves, strict=True):
        widest = float(curve(np.linspace(0, 1, 500))[:, 1].max()) or 1.0
        end = float(curve(1.0)[0])
        rows = [at_x(curve, x) if x < end - 30.0 else None for x in inner]
        ends = np.asarray(curve(1.0)), on_transom(curve, foot, rake)
        table[name] = [None if p is None else sided(p, half, widest) for p in (ends[0], *rows, ends[1])]
    return table


def written(
    table: dict[str, list[Floats | None]], head: float, base: float, show: Callable[[float], str], bow: bool
) -> list[list[str]]:
    """Rows of text: positions of stations, of the ends line by line, heights and half-breadths."""
    count = len(table["sheer"])
    names = ["stem", *(str(k) for k in range(1, count - 1)), "transom"]
    place = (lambda x: head - x) if bow else (lambda x: x)
    shared = ["", *(show(place(p[0])) for p in table["sheer"][1:-1] if p is not None), ""]
    rows = [["station", *names], ["position", *shared]]
    for name in NAMES:
        ends = (table[name][0], table[name][-1])
        rows.append([f"position {name}", show(place(ends[0][0])), *[""] * (count - 2), show(place(ends[1][0]))])  # type: ignore[index]
    for view, axis in (("height", 2), ("half-breadth", 1)):
        for name in reversed(NAMES):
            if name == "rabbet" and view == "half-breadth":
                continue
            rows.append(
                [
                    f"{view} {name}",
                    *("" if p is None else show(p[axis] + (base if axis == 2 else 0.0)) for p in table[name]),
                ]
            )
    return rows


def save(path: Path, rows: list[list[str]], notes: list[str]) -> None:
    """The table as CSV, its notes as comments."""
    lines = [f"# {note}" for note in notes] + [",".join(row) for row in rows]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    print(f"{path.name}: {len(rows) - 1} rows")


def main() -> None:
    teasel = columns(TEASEL, 22 * INCH, 1.25 * INCH, np.tan(np.radians(12.0)))
    rows = written(teasel, 5850.0, 6 * INCH, eighths, bow=True)
    slip = next(row for row in rows if row[0] == "half-breadth chine")
    f, _, e = slip[6].split("-")
    slip[6] = f"{f}-5-{e}"  # the misprint, station 5: one figure wrong
    notes = [
        "Teasel, 5.85 m tender for a shellfish lease: invented. Feet-inches-eighths to the outside of the planking.",
        "Stations from the stem head aft; base line 6 in below the keel; half-siding 1 1/4 in.",
        "One cell is misprinted on purpose.",
    ]
    save(HERE / "teasel" / "offsets.csv", rows, notes)
    dunlin = columns(DUNLIN, 400.0, 18.0, np.tan(np.radians(14.0)))
    notes = [
        "Dunlin, 4.3 m rowing skiff: invented. Millimetres to the outside of the planking, stations from the stem head."
    ]
    (HERE / "dunlin").mkdir(exist_ok=True)
    save(HERE / "dunlin" / "offsets.csv", written(dunlin, 4300.0, 0.0, lambda v: f"{v:.0f}", bow=True), notes)


if __name__ == "__main__":
    main()
