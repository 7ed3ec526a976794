"""`recut`: parts spoiled or changed, out of what is left."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from strakewright_cli import options, say

Plan = Annotated[Path, typer.Argument(metavar="DIR", help="Folder of the plan that is being cut.", show_default=False)]
Spoiled = Annotated[
    list[str] | None, typer.Option("--spoiled", metavar="PART", help="A part cut and lost; may be repeated.")
]
Changed = Annotated[
    Path | None, typer.Option("--changed", metavar="FILE", help="A parts.json that replaces parts of the same names.")
]
Uncut = Annotated[
    list[str] | None, typer.Option("--uncut", metavar="BOARD", help="A board not sawn yet; may be repeated.")
]
More = Annotated[
    Path | None, typer.Option("--more", metavar="FILE", help="Further boards, .csv or .json, bought since.")
]


def recut(
    plan: Plan,
    *,
    out: options.Out,
    spoiled: Spoiled = None,
    changed: Changed = None,
    uncut: Uncut = None,
    more: More = None,
    seconds: options.Seconds = None,
    rounds: options.Rounds = None,
    seed: options.Seed = 0,
    units: options.BoardUnit = "mm",
    end_trim: options.EndTrim = 50.0,
    skip: options.Skip = 1.5,
    measured: options.Measured = "rough",
    json: options.Json = False,
) -> int:
    """Lay spoiled or changed parts on what is left."""
    bounds, taken = options.search_bounds(seconds, rounds), options.dressing(end_trim, skip, measured)
    from strakewright import job

    what = job.Recut(tuple(spoiled or ()), changed, tuple(uncut or ()), more)
    with say.progress() as watch:
        done = job.recut_files(plan, what, out, job.BuildOptions(*bounds, seed, units, taken), watch)
    if not json:
        say.understood([*job.board_lines(done.record), *job.stock_lines(done.record)])
    return say.result(done, out, json)
