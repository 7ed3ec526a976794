"""`whatif`: what one rule more or less would save."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from strakewright_cli import options, say

Parts = Annotated[Path, typer.Argument(metavar="PARTS", help="parts.json", show_default=False)]
Boards = Annotated[Path, typer.Argument(metavar="BOARDS", help="boards.json or boards.csv", show_default=False)]


def whatif(
    parts: Parts,
    boards: Boards,
    *,
    out: options.Out,
    seconds: options.Seconds = None,
    rounds: options.Rounds = None,
    seed: options.Seed = 0,
    json: options.Json = False,
) -> int:
    """Measure what one rule more or less would save."""
    bounds = options.search_bounds(seconds, rounds)
    from strakewright import job

    with say.progress() as watch:
        done = job.whatif_files(parts, boards, out, job.BuildOptions(*bounds, seed), watch)
    if not json:
        say.understood(job.whatif_lines(done))
    return say.result(done, out, json)
