"""`nest`: any parts onto any boards."""

from __future__ import annotations

from strakewright_cli import options, say


def nest(
    parts: options.Parts,
    boards: options.Boards,
    *,
    out: options.Out,
    seconds: options.Seconds = None,
    rounds: options.Rounds = None,
    seed: options.Seed = 0,
    units: options.BoardUnit = "mm",
    end_trim: options.EndTrim = 50.0,
    skip: options.Skip = 1.5,
    measured: options.Measured = "rough",
    json: options.Json = False,
) -> int:
    """Place any parts on any boards."""
    bounds, taken = options.search_bounds(seconds, rounds), options.dressing(end_trim, skip, measured)
    from strakewright import job

    with say.progress() as watch:
        done = job.nest_files(parts, boards, out, job.BuildOptions(*bounds, seed, units, taken), watch)
    if not json:
        say.understood(job.stock_lines(done.record))
    return say.result(done, out, json)
