"""The whole path, from files to files, one module a command.

inputs    a boat file with everything it names, read
building  hull -> planks -> parts -> plan, with proof; pure, nothing written
outputs   the folder that a build becomes
asked     what `check` says it understood
unrolled  a free-standing mesh laid flat;  nested : anybody's parts on anybody's boards
"""

from __future__ import annotations

from strakewright.job.asked import CheckReport, check
from strakewright.job.building import Build, BuildOptions, build
from strakewright.job.inputs import Inputs, load
from strakewright.job.nested import nest_files
from strakewright.job.outputs import Written, build_files, write_all
from strakewright.job.unrolled import unroll_files

__all__ = [
    "Build",
    "BuildOptions",
    "CheckReport",
    "Inputs",
    "Written",
    "build",
    "build_files",
    "check",
    "load",
    "nest_files",
    "unroll_files",
    "write_all",
]
