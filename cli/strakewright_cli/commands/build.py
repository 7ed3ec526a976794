"""`build`: the main job."""

from __future__ import annotations

from strakewright_cli import options, say


def build(
    boat: options.Boat,
    *,
    out: options.Out,
    seconds: options.Seconds = None,
    rounds: options.Rounds = None,
    seed: options.Seed = 0,
    lining: options.Lining = None,
    json: options.Json = False,
) -> int:
    """The main job: from hull to cutting sheets."""
    bounds = options.search_bounds(seconds, rounds)
    from strakewright import job

    with say.progress() as watch:
        done = job.build_files(boat, out, job.BuildOptions(*bounds, seed), watch, lining)
    if not json:
        say.understood(job.stock_lines(done.record))
    return say.result(done, out, json)
