"""Arguments and options that commands share."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal, TypeAlias

import typer

if TYPE_CHECKING:
    from strakewright.job import Dressing


def _show_version(wanted: bool) -> None:
    if wanted:
        from strakewright import __version__

        typer.echo(f"strakewright {__version__}")
        raise typer.Exit


def _finite(value: float | None) -> float | None:
    if value is not None and not math.isfinite(value):
        raise typer.BadParameter(f"{value} is not a finite number.")
    return value


Version: TypeAlias = Annotated[
    bool, typer.Option("--version", callback=_show_version, is_eager=True, help="Show the version and leave.")
]
Boat: TypeAlias = Annotated[Path, typer.Argument(metavar="BOAT", help="The boat file (TOML).", show_default=False)]
Parts = Annotated[Path, typer.Argument(metavar="PARTS", help="parts.json", show_default=False)]
Boards = Annotated[Path, typer.Argument(metavar="BOARDS", help="boards.json or boards.csv", show_default=False)]
Out: TypeAlias = Annotated[
    Path,
    typer.Option(
        "--out",
        metavar="DIR",
        help="Folder for the result: absent, empty, or an earlier result, which is replaced whole.",
        show_default=False,
    ),
]
Seconds: TypeAlias = Annotated[
    float | None,
    typer.Option(
        "--seconds",
        metavar="N",
        min=0.0,
        max=86_400.0,
        callback=_finite,
        help="Time to search for a better use of the boards (10); 0 takes the first plan.",
        show_default=False,
    ),
]
Rounds: TypeAlias = Annotated[
    int | None,
    typer.Option(
        "--rounds",
        metavar="N",
        min=0,
        max=10_000_000,
        help="Rounds of search in place of seconds: the same files every time.",
        show_default=False,
    ),
]
Seed: TypeAlias = Annotated[
    int, typer.Option("--seed", metavar="N", min=0, max=2**31 - 1, help="Starting number of the search.")
]
Lining: TypeAlias = Annotated[
    Path | None,
    typer.Option("--lining", metavar="FILE", help="Take seams and joints from a lining.json.", show_default=False),
]
Table: TypeAlias = Annotated[
    bool, typer.Option("--table", help="Echo the table of offsets, every cell in both notations.")
]
Json: TypeAlias = Annotated[
    bool, typer.Option("--json", help="Put the machine-readable result, alone, on standard output.")
]
Unit: TypeAlias = Annotated[
    Literal["mm", "cm", "m", "in", "ft"], typer.Option("--units", help="Unit of the mesh file.")
]
BoardUnit: TypeAlias = Annotated[
    Literal["mm", "cm", "m", "in", "ft"],
    typer.Option("--units", help="Unit of bare numbers in a table of boards (.csv)."),
]


def _length(text: str | float) -> float:
    from strakewright.errors import InputError
    from strakewright.units import parse_cell

    try:
        mm = parse_cell(str(text), "mm")
    except InputError as fault:
        raise typer.BadParameter(f"{fault.what}. {fault.fix}") from None
    if not 0 <= mm <= 1000:
        raise typer.BadParameter(f"{mm:g} mm is outside 0 to 1000 mm.")
    return mm


EndTrim: TypeAlias = Annotated[
    float,
    typer.Option(
        "--end-trim", metavar="LENGTH", parser=_length, help='Off each end of a board of a table, as 50 or "2 in".'
    ),
]
Skip: TypeAlias = Annotated[
    float, typer.Option("--skip", metavar="LENGTH", parser=_length, help="Off each face of such a board in planing.")
]
Measured: TypeAlias = Annotated[
    Literal["rough", "dressed"], typer.Option("--measured", help="What the thicknesses of a table are.")
]
CreaseDeg: TypeAlias = Annotated[
    float,
    typer.Option(
        "--crease-deg",
        metavar="DEG",
        min=2.0,
        max=120.0,
        callback=_finite,
        help="Sharper folds than this part one panel from the next.",
    ),
]


def search_bounds(seconds: float | None, rounds: int | None) -> tuple[float | None, int | None]:
    """Seconds and rounds as the engine wants them: one of the two, ten seconds when neither is given."""
    if seconds is not None and rounds is not None:
        raise typer.BadParameter("--seconds and --rounds exclude each other.")
    return (10.0 if seconds is None and rounds is None else seconds), rounds


def dressing(end_trim: float, skip: float, measured: Literal["rough", "dressed"]) -> Dressing:
    """What comes off the boards of a table, as its readers want it."""
    from strakewright import job

    return job.Dressing(end_trim=end_trim, skip=skip, measured=measured)
