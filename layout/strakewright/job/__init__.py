"""The whole path, from files to files, one module a command.

inputs    a boat file with everything it names, read
building  hull -> planks -> parts -> plan, with proof; pure, nothing written
outputs   the folder that a build becomes
asked     what `check` says it understood
tallying, buying, recutting, whatif : the sheet for the mill, orders, parts out of what is left, what a rule costs
unrolled  a free-standing mesh laid flat;  nested : anybody's parts on anybody's boards
"""

from __future__ import annotations

from strakewright.job.asked import CheckReport, check
from strakewright.job.building import Build, BuildOptions, build
from strakewright.job.buying import buy_files, order_lines
from strakewright.job.inputs import Inputs, load
from strakewright.job.nested import nest_files
from strakewright.job.outputs import Written, build_files, write_all
from strakewright.job.recutting import Recut, recut_files
from strakewright.job.tallying import tally_files
from strakewright.job.telling import board_lines, stock_lines
from strakewright.job.unrolled import UnrollOptions, unroll_files
from strakewright.job.whatif import whatif_files, whatif_lines
from strakewright.lumber import Dressing

__all__ = [
    "Build",
    "BuildOptions",
    "CheckReport",
    "Dressing",
    "Inputs",
    "Recut",
    "UnrollOptions",
    "Written",
    "board_lines",
    "build",
    "build_files",
    "buy_files",
    "check",
    "load",
    "nest_files",
    "order_lines",
    "recut_files",
    "stock_lines",
    "tally_files",
    "unroll_files",
    "whatif_files",
    "whatif_lines",
    "write_all",
]
