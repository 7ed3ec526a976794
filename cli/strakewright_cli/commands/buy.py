"""`buy`: what to order for a list of parts."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from strakewright_cli import options, say

Parts = Annotated[Path, typer.Argument(metavar="PARTS", help="parts.json", show_default=False)]
Pile = Annotated[
    Path,
    typer.Argument(metavar="PILE", help="A priced list (.csv, .json) or a kind of pile (.toml).", show_default=False),
]
Piles = Annotated[int, typer.Option("--piles", metavar="N", min=3, max=10_000, help="Piles to draw of a kind.")]


def buy(
    parts: Parts,
    pile: Pile,
    *,
    out: options.Out,
    piles: Piles = 20,
    seconds: options.Seconds = None,
    rounds: options.Rounds = None,
    seed: options.Seed = 0,
    units: options.BoardUnit = "mm",
    end_trim: options.EndTrim = 50.0,
    skip: options.Skip = 1.5,
    measured: options.Measured = "rough",
    json: options.Json = False,
) -> int:
    """Say what wood to buy off a list or a kind of pile."""
    bounds, taken = options.search_bounds(seconds, rounds), options.dressing(end_trim, skip, measured)
    from strakewright import job

    with say.progress() as watch:
        done = job.buy_files(parts, pile, out, job.BuildOptions(*bounds, seed, units, taken), piles, watch)
    if not json:
        say.understood([*job.order_lines(done), *job.stock_lines(done.record)])
    return say.result(done, out, json)
