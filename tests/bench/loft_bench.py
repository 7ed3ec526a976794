"""How many slips are found, how many sound cells are doubted, and how much fairing helps: on invented tables.

    python -m tests.bench.loft_bench [TABLES]

Every table has five rows (`invented_tables`) rounded to 1/8 in.  Slips: 9.5 and 12.7 mm (3/8, 4/8 in), and 25.4 mm to a
foot.  Found means: the very cell is named first.  Fairing is held against the cubic spline through the rounded cells.
"""

from __future__ import annotations

import sys

import numpy as np
from scipy.interpolate import CubicSpline

from strakewright.arrays import Floats
from strakewright.geometry.drawn import interpolant
from strakewright.loft.fairing import faired
from strakewright.loft.misprints import suspects
from strakewright.offsets import Cell, OffsetTable, Row
from tests.bench.invented_tables import INCH, ROWS, invented_lines, rounded

STEP = INCH / 8
SMALL = (3 * STEP, 4 * STEP)
LARGE = (INCH, 1.5 * INCH, 2 * INCH, 3 * INCH, 12 * INCH)
SIZES = (9, 11, 13, 17, 21)


def tabled(x: Floats, rows: dict[str, Floats]) -> OffsetTable:
    """Rows as a table of offsets."""
    names = tuple(str(k) for k in range(len(x)))
    made = [Row("position", "", tuple(Cell(f"{v:.6f}", float(v)) for v in x), 1e-6, "decimals")]
    for name, values in rows.items():
        view, line = name.split()
        cells = tuple(Cell("0-0-0", float(v)) for v in values)
        made.append(Row(view, line, cells, STEP, "eighths"))  # type: ignore[arg-type]
    return OffsetTable("invented", names, tuple(made))


def trial(rng: np.random.Generator, n: int, sizes: tuple[float, ...], at_end: bool) -> tuple[bool, bool]:
    """One table: (the slip was named first, some sound cell was doubted)."""
    length, lines = invented_lines(rng)
    x = np.linspace(0.0, 1.0, n) * length
    rows = {name: rounded(lines[name](x / length), STEP) for name in ROWS}
    row = ROWS[int(rng.integers(len(ROWS)))]
    at = int(rng.choice([0, n - 1])) if at_end else int(rng.integers(1, n - 1))
    if sizes:
        rows[row][at] += float(rng.choice(sizes)) * float(rng.choice([-1.0, 1.0]))
    found = suspects(tabled(x, rows))
    true = (row, str(at))
    right = bool(sizes) and bool(found) and (found[0].row, found[0].station) == true
    return right, any((s.row, s.station) != true or not sizes for s in found)


def rate(n: int, sizes: tuple[float, ...], at_end: bool, tables: int, seed: int = 7) -> tuple[float, float]:
    """Shares of tables in which the slip was named, and in which a sound cell was doubted."""
    rng = np.random.default_rng(seed + n)
    results = np.array([trial(rng, n, sizes, at_end) for _ in range(tables)], dtype=np.float64)
    return float(results[:, 0].mean()), float(results[:, 1].mean())


def fairing_errors(n: int, tables: int, seed: int = 11) -> Floats:
    """(2, 2) root-mean-square over rows: largest error mm and curvature error 1/m, of fairing and of a cubic."""
    rng = np.random.default_rng(seed + n)
    fine = np.linspace(0.02, 0.98, 401)
    rows = []
    for _ in range(tables):
        length, lines = invented_lines(rng)
        x = np.linspace(0.0, 1.0, n) * length
        for name in ROWS:
            values, at = rounded(lines[name](x / length), STEP), fine * length
            true = lines[name](fine)
            bend = interpolant(at, true)(at, nu=2)
            fair, plain = interpolant(x, faired(x, values, STEP)), CubicSpline(x, values)
            rows.append(
                [[np.abs(c(at) - true).max(), 1000 * np.sqrt(np.mean((c(at, 2) - bend) ** 2))] for c in (fair, plain)]
            )
    return np.asarray(np.sqrt(np.mean(np.square(rows), axis=0)))


def main(tables: int) -> None:
    print("| stations | clean tables doubted | slips >= 25 mm | 9-13 mm | >= 25 mm at an end | sound cells doubted |")
    print("|---|---|---|---|---|---|")
    for n in SIZES:
        clean = rate(n, (), False, tables)[1]
        large, small, end = (rate(n, s, e, tables) for s, e in ((LARGE, False), (SMALL, False), (LARGE, True)))
        doubted = max(large[1], small[1], end[1])
        shown = [f"{100 * v:.1f} %" for v in (clean, large[0], small[0], end[0], doubted)]
        print(f"| {n} | {' | '.join(shown)} |", flush=True)
    print("| stations | largest error mm, faired / cubic | curvature error 1/m, faired / cubic | ratio |")
    print("|---|---|---|---|")
    for n in SIZES:
        (far, bend), (cubic, plain) = fairing_errors(n, max(40, tables // 10))
        print(f"| {n} | {far:.2f} / {cubic:.2f} | {bend:.4f} / {plain:.4f} | {bend / plain:.2f} |", flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 400)
