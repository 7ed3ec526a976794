"""`unroll`: any surface mesh to flat panels."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from strakewright_cli import options, say

Mesh = Annotated[Path, typer.Argument(metavar="MESH", help="STL, OBJ, PLY, OFF, GLB or 3MF.", show_default=False)]

ByGroups = Annotated[
    bool, typer.Option("--by-groups", help="Each group or named object of the file is one panel, whatever its folds.")
]


def unroll(
    mesh: Mesh,
    *,
    out: options.Out,
    units: options.Unit = "mm",
    crease_deg: options.CreaseDeg = 15.0,
    by_groups: ByGroups = False,
    json: options.Json = False,
) -> int:
    """Lay any surface mesh flat, with a strain figure for each panel."""
    from strakewright import job

    with say.progress() as watch:
        done = job.unroll_files(mesh, out, job.UnrollOptions(units, crease_deg, by_groups), watch)
    return say.result(done, out, json)
