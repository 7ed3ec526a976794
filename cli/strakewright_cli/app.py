"""The command line: parse, call, say.  This is the only room that knows Typer.

Exit status: 0 done, 1 done but something cannot be had as asked, 2 wrong command line, 3 bad input, 4 sound input
without an answer, 5 a defect of ours, 130 interrupted.  Nobody ever sees a traceback: it goes to a log.
"""

from __future__ import annotations

import contextlib
import logging
import os
import sys
import warnings
from collections.abc import Sequence

import typer

from strakewright_cli import options, say
from strakewright_cli.commands.build import build
from strakewright_cli.commands.buy import buy
from strakewright_cli.commands.check import check
from strakewright_cli.commands.nest import nest
from strakewright_cli.commands.new import new
from strakewright_cli.commands.recut import recut
from strakewright_cli.commands.tally import tally
from strakewright_cli.commands.unroll import unroll
from strakewright_cli.commands.whatif import whatif

app = typer.Typer(
    name="strakewright",
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)
for command in (new, check, build, unroll, nest, tally, buy, recut, whatif):
    app.command()(command)

# Typer carries its own copy of click or imports it, by its version: the base of all wrong command lines.
_WRONG_LINE = next(base for base in typer.BadParameter.__mro__ if base.__name__ == "ClickException")
_INTERRUPTED = 130


@app.callback()
def strakewright(version: options.Version = False) -> None:
    """Planking layout for hard-chine boats in solid timber: a hull in, cut-ready sheets out."""


def run(arguments: Sequence[str]) -> int:
    """One command line; returns its exit status and never raises."""
    try:
        status = app(args=list(arguments), prog_name="strakewright", standalone_mode=False)
        sys.stdout.flush()
    except (KeyboardInterrupt, typer.Abort):
        status = _INTERRUPTED
    except BrokenPipeError:
        _let_go_of_stdout()
        return 0
    except Exception as trouble:
        return _told(trouble)
    if status == _INTERRUPTED:  # newer versions of typer turn the interrupt into this status themselves
        say.line("interrupted")
    return status if isinstance(status, int) else 0


def main() -> None:
    """Entry point of the installed command."""
    warnings.simplefilter("ignore")  # they speak to programmers, and so do the logs of libraries
    logging.disable()
    _keep_stdout_ours()
    sys.exit(run(sys.argv[1:]))


def _keep_stdout_ours() -> None:
    """Let only what we print reach standard output: a library of ours writes remarks there by itself, amid the JSON."""
    with contextlib.suppress(OSError, ValueError, AttributeError):
        ours, nowhere = os.dup(sys.stdout.fileno()), os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, 1)
        os.close(nowhere)
        sys.stdout = os.fdopen(ours, "w", encoding=sys.stdout.encoding, errors=sys.stdout.errors, closefd=True)


def _told(trouble: Exception) -> int:
    """Say what went wrong and return the exit status for it."""
    from strakewright.errors import DefectError, StrakewrightError

    if isinstance(trouble, _WRONG_LINE):
        say.wrong_line(trouble)
        return 2
    if isinstance(trouble, StrakewrightError) and not isinstance(trouble, DefectError):
        say.faults(trouble)
        return trouble.status
    say.defect(trouble)
    return DefectError.status


def _let_go_of_stdout() -> None:
    """Whoever read our output has gone: keep Python from complaining when it closes."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
