"""`tally`: a sheet to fill in at the mill."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from strakewright_cli import say

Folder = Annotated[
    Path, typer.Argument(metavar="FOLDER", help="Where to put tally.csv and tally.html.", show_default=False)
]
Rows = Annotated[int, typer.Option("--rows", metavar="N", min=1, max=1000, help="Rows of the page to print.")]


def tally(folder: Folder, *, rows: Rows = 24) -> int:
    """Write a table to fill in with tape and pencil."""
    from strakewright import job

    job.tally_files(folder, rows)
    say.line(f"Wrote {folder}: print tally.html, type what you measure into tally.csv")
    return 0
