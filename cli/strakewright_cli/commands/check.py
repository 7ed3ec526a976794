"""`check`: read everything, say what was understood."""

from __future__ import annotations

from strakewright_cli import options, say


def check(boat: options.Boat, json: options.Json = False, table: options.Table = False) -> int:
    """Read a boat file and say what was understood; writes nothing."""
    from strakewright import job

    report = job.check(boat)
    if table:
        say.understood(report.table())
    if json:
        say.as_json(report.summary())
    else:
        say.understood(report.lines())
        say.findings(report.findings)
    return report.status
