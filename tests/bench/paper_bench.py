"""How long the papers of a boat take: patterns, plots, staffs and book, and a plank on 60 tiles.

Run by hand: OMP_NUM_THREADS=1 python -m tests.bench.paper_bench [sample_hulls/teasel/boat.toml]
Seconds are of one processor (time.process_time).
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from strakewright.job.building import BuildOptions, build
from strakewright.job.inputs import load
from strakewright.job.papers import begin_book, facts_of, write_book
from strakewright.job.patterning import pattern_groups, patterns_proved, write_patterns
from strakewright.plan import Placement
from strakewright.write.bookhtml import write_book_html
from strakewright.write.bookpdf import write_book_pdf
from strakewright.write.pen import Role, placed
from strakewright.write.sheets import sheets_of
from strakewright.write.shopbook import book_of
from strakewright.write.tiles import A4, write_tiles
from strakewright.write.windows import StrokePen


def timed(name: str, work: Callable[[], object]) -> None:
    start = time.process_time()
    said = work()
    note = f"  ({said})" if isinstance(said, int) else ""
    print(f"| {name} | {time.process_time() - start:.2f} s{note} |")


def main(boat: Path) -> None:
    done = build(load(boat), BuildOptions(seconds=0.0), lambda *_: None)
    sheets = sheets_of(done.plan, done.parts, done.inputs.boards)
    print(f"| {done.inputs.boat.name}, {len(done.planks)} planks | processor |\n|---|---|")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        timed("patterns, plots, staffs", lambda: write_patterns(done, folder / "alone", "r"))
        book = book_of(facts_of(done, sheets, "r", done.checks))
        timed("book.pdf (pages)", lambda: write_book_pdf(folder / "book.pdf", book))
        timed("book.html", lambda: write_book_html(folder / "book.html", book))
        (folder / "all").mkdir()
        timed("patterns, read back", lambda: patterns_proved(done, folder / "all", "r") and None)
        timed("book", lambda: write_book(done, folder, begin_book(done, sheets, "r"), done.checks))
        timed("planks on A4 (tiles)", lambda: sixty_tiles(pattern_groups(done, "r")[0], folder / "tiles.pdf"))


def sixty_tiles(blocks: list, path: Path) -> int:  # type: ignore[type-arg]
    """As many patterns, one above the other, as it takes to fill 60 sheets."""
    pen, foot = StrokePen(), 0.0
    for block in blocks:
        block.draw(placed(pen, Placement("", "", 0.0, foot)))
        foot += block.height
        if foot * block.width / float(np.prod(A4.window)) > 60:
            break
    pen.polyline(np.array([[0.0, 0.0], [0.0, foot]]), closed=False, role=Role.CHECK)
    return write_tiles(path, pen.strokes, "bench", A4)


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "sample_hulls/teasel/boat.toml"))
