"""Makes the piles of boards of Teasel, Corncrake and Sallow: random widths and lengths as a sawmill stacks them.

The piles are invented and seeded, so the script writes the same files again: `python sample_hulls/piles.py`.
`boards.csv` of Teasel is two boards short of the boat; `boards-enough.csv` has them.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path

import numpy as np

HERE = Path(__file__).parent
COLUMNS: tuple[str, ...] = ("id", "length", "width", "thickness", "count", "species", "grade", "price")
FOOT = 304.8


@dataclass(frozen=True)
class Pile:
    """Boards of one wood.  lengths in feet, widths in mm, thickness as written, price for a board foot."""

    mark: str
    count: int
    lengths: tuple[int, ...]
    widths: tuple[float, float]
    thickness: str
    rough_mm: float
    species: str
    grades: tuple[str, ...]
    price: float


def rows_of(pile: Pile, seed: int, unit: str) -> list[dict[str, str]]:
    """Boards of a pile, longest first as they lie, a little over their nominal length."""
    rng = np.random.default_rng(seed)
    feet = np.sort(rng.choice(pile.lengths, pile.count))[::-1]
    low, high = pile.widths
    widths = low + (high - low) * rng.beta(2.0, 2.6, pile.count)
    rows = []
    for i, (length, width) in enumerate(zip(feet, widths, strict=True), 1):
        long = length * FOOT + rng.uniform(5, 60)
        grade = str(rng.choice(pile.grades))
        cost = pile.price * (0.8 if grade == pile.grades[-1] else 1.0)
        bought = length * FOOT * width * max(pile.rough_mm, 25.4) / (FOOT * FOOT * 25.4)
        rows.append(
            {
                "id": f"{pile.mark}{i:02d}",
                "length": sized(long, unit),
                "width": sized(width, unit),
                "thickness": pile.thickness,
                "count": "1",
                "species": pile.species,
                "grade": grade,
                "price": f"{bought * cost:.2f}",
            }
        )
    return rows


def sized(mm: float, unit: str) -> str:
    """As a tape is read: whole 5 mm, or inches and eighths."""
    if unit == "mm":
        return f"{5 * round(mm / 5)}"
    whole, eighths = divmod(round(mm / 25.4 * 8), 8)
    return f"{whole}" if not eighths else f"{whole} {eighths}/8"


def write(name: str, rows: list[dict[str, str]], head: str) -> None:
    """The table with a line of remarks above it."""
    path = HERE / name
    with path.open("w", newline="", encoding="utf-8") as stream:
        stream.write(f"# {head}\n")
        table = csv.DictWriter(stream, COLUMNS, lineterminator="\n")
        table.writeheader()
        table.writerows(rows)
    print(f"{name}: {len(rows)} boards")


def teasel() -> tuple[list[dict[str, str]], list[dict[str, str]]]:
    """The pile, and the two boards it lacks.

    The 32 pieces of the side strakes are 2.6 to 3.5 m long: a wide long board takes two of them, a narrow one
    takes one, an 8 ft board none.  The pile takes 29 at most; the two boards take the other three and more.
    """
    wood, grades = "Douglas-fir", ("clear", "clear", "C")
    bought = rows_of(Pile("G", 2, (14,), (238.0, 248.0), "26", 26.0, wood, ("clear",), 6.5), 15, "mm")
    wide = rows_of(Pile("F", 12, (12, 14), (178.0, 220.0), "26", 26.0, wood, grades, 6.5), 11, "mm")
    narrow = rows_of(Pile("FN", 5, (12, 14), (112.0, 142.0), "26", 26.0, wood, grades, 6.5), 13, "mm")
    short = rows_of(Pile("FS", 6, (8,), (120.0, 200.0), "26", 26.0, wood, grades, 6.5), 14, "mm")
    ash = Pile("A", 62, (8, 10, 12), (115.0, 230.0), "14", 14.0, "white ash", ("FAS", "Selects", "1 Common"), 4.2)
    heavy = Pile("H", 28, (8, 10), (165.0, 235.0), "36", 36.0, "white ash", ("FAS", "Selects"), 5.1)
    planks = Pile("K", 28, (12,), (150.0, 235.0), "28", 28.0, "white ash", ("FAS", "Selects"), 4.8)
    rest = rows_of(ash, 12, "mm") + rows_of(heavy, 16, "mm") + rows_of(planks, 17, "mm")
    bent = Pile("AM", 28, (10, 12), (150.0, 235.0), "14", 14.0, "white ash", ("FAS", "Selects"), 4.2)  # members
    rest += rows_of(bent, 18, "mm")
    return wide + narrow + short + rest, bought


def main() -> None:
    """Write all tables."""
    pile, bought = teasel()
    head = "Invented pile. mm, as sawn; the ash was resawn from 4/4 at the mill"
    write("teasel/boards.csv", pile, head)
    write("teasel/boards-enough.csv", bought + pile, head + "; G01 and G02 were bought for this boat")
    larch = Pile("L", 60, (10, 12, 14, 16), (130.0, 260.0), "32", 32.0, "western larch", ("clear", "sound"), 3.1)
    leaves = Pile("R", 60, (8, 10, 12), (120.0, 240.0), "15", 15.0, "western larch", ("clear", "sound"), 3.1)
    oak = Pile("O", 56, (8, 10, 12), (160.0, 260.0), "36", 36.0, "white oak", ("FAS", "Selects"), 6.2)
    wide = Pile("M", 8, (14, 16), (210.0, 260.0), "32", 32.0, "western larch", ("clear", "sound"), 3.3)
    corncrake = rows_of(larch, 21, "mm") + rows_of(leaves, 22, "mm") + rows_of(oak, 23, "mm") + rows_of(wide, 24, "mm")
    bent = Pile("OM", 18, (10, 12, 14), (140.0, 230.0), "14", 14.0, "white oak", ("clear", "sound"), 5.4)  # members
    long = Pile("LM", 30, (12, 14, 16), (140.0, 240.0), "32", 32.0, "western larch", ("sound",), 3.1)
    corncrake += rows_of(bent, 24, "mm") + rows_of(long, 25, "mm")
    write("corncrake/boards.csv", corncrake, "Invented pile. mm, as sawn; the thin leaves were resawn at the mill")
    cypress = Pile("C", 24, (8, 10, 12), (140.0, 300.0), "4/4", 25.4, "baldcypress", ("clear", "1 Common"), 4.8)
    more = Pile("D", 24, (8, 10, 12), (150.0, 260.0), "4/4", 25.4, "baldcypress", ("clear", "1 Common"), 4.6)
    write(
        "sallow/boards.csv",
        rows_of(cypress, 31, "in") + rows_of(more, 32, "in"),
        "Invented pile. inches and quarters, as sawn",
    )


if __name__ == "__main__":
    main()
