"""`tally`: the sheet to take to the mill."""

from __future__ import annotations

from pathlib import Path

from strakewright.errors import UsageError
from strakewright.write.tallysheet import write_tally


def tally_files(folder: Path, rows: int) -> None:
    """tally.csv and tally.html in a folder that has neither;  raises UsageError"""
    for name in ("tally.csv", "tally.html"):
        if (folder / name).exists():
            raise UsageError(f"{name} is there already", where=str(folder), fix="Name another folder")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        write_tally(folder, rows)
    except OSError as trouble:
        raise UsageError(f"cannot be written ({trouble.strerror})", where=str(folder)) from None
