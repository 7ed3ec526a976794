"""A first boat to start from: boat file, table of boards and hull."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

from strakewright.errors import UsageError
from strakewright_cli.starter.hull import Skiff, ply_bytes, skiff_mesh

TEXTS = ("boat.toml", "boards.csv")


def write_starter(folder: Path) -> None:
    """Write the starter files into a folder that is absent or empty;  raises UsageError for any other."""
    fix = "Name a folder that is absent or empty"
    if folder.exists() and not folder.is_dir():
        raise UsageError(f"{folder} is a file", fix=fix)
    if folder.is_dir() and any(folder.iterdir()):
        raise UsageError(f"{folder} is not empty", fix=fix)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name in TEXTS:
            folder.joinpath(name).write_bytes(files(__name__).joinpath(name).read_bytes())
        folder.joinpath("hull.ply").write_bytes(ply_bytes(*skiff_mesh(Skiff())))
    except OSError as trouble:
        raise UsageError(f"{folder} cannot be written ({trouble.strerror})", fix="Name another folder") from None
