"""`new`: a first boat to start from."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from strakewright_cli import say

Folder = Annotated[Path, typer.Argument(metavar="FOLDER", help="Folder to make; absent or empty.", show_default=False)]


def new(folder: Folder) -> int:
    """Write a first boat to start from: boat file, boards and hull."""
    from strakewright_cli.starter import write_starter

    write_starter(folder)
    say.line(f"Wrote boat.toml, boards.csv and hull.ply in {folder}")
    say.line(f"Next: strakewright build {folder / 'boat.toml'} --out {folder / 'result'}")
    return 0
