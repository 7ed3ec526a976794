"""`tally`: the sheet to take to the mill."""

from __future__ import annotations

from pathlib import Path

from strakewright.errors import UsageError
from strakewright.write.tallysheet import write_tally

FILES = (".csv", ".html", ".toml", ".json")
"""Endings of files; a folder of such a name would be a mistake."""


def tally_files(folder: Path, rows: int) -> None:
    """tally.csv and tally.html in a folder that has neither;  raises UsageError"""
    if folder.suffix.lower() in FILES:
        raise UsageError("is the name of a file; a folder is made", where=str(folder), fix=f"Write tally {folder.stem}")
    for name in ("tally.csv", "tally.html"):
        if (folder / name).exists():
            raise UsageError(f"{name} is there already", where=str(folder), fix="Name another folder")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        write_tally(folder, rows)
    except OSError as trouble:
        raise UsageError(f"cannot be written ({trouble.strerror})", where=str(folder)) from None
