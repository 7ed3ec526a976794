"""`whatif`: what one rule more or less would save."""

from __future__ import annotations

from strakewright_cli import options, say


def whatif(
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
    """Measure what one rule more or less would save."""
    bounds, taken = options.search_bounds(seconds, rounds), options.dressing(end_trim, skip, measured)
    from strakewright import job

    with say.progress() as watch:
        done = job.whatif_files(parts, boards, out, job.BuildOptions(*bounds, seed, units, taken), watch)
    if not json:
        say.understood(job.whatif_lines(done))
    return say.result(done, out, json)
