"""What the user is told, and where: messages and progress on stderr, JSON alone on stdout."""

from __future__ import annotations

import json
import os
import sys
import tempfile
import traceback
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

if TYPE_CHECKING:
    from strakewright.errors import Check, Finding, StrakewrightError

Watch = Callable[[str, float, float], None]


class Result(Protocol):
    """What a finished command has to say."""

    @property
    def findings(self) -> tuple[Finding, ...]: ...
    @property
    def checks(self) -> tuple[Check, ...]: ...
    @property
    def status(self) -> int: ...
    def summary(self) -> Mapping[str, Any]: ...


INTERRUPTED = 130
"""Exit status after Ctrl-C."""
_MOST_FAULTS = 20
_MOST_FINDINGS = 12


def line(text: str = "") -> None:
    """One line on stderr, whatever its encoding can hold."""
    stream = sys.stderr
    encoding = getattr(stream, "encoding", None) or "utf-8"
    print(text.encode(encoding, "backslashreplace").decode(encoding), file=stream)


def faults(error: StrakewrightError) -> None:
    """Every fault of an error, one line each."""
    everything = [error, *getattr(error, "also", ())]
    for fault in everything[:_MOST_FAULTS]:
        line(_one_line(str(fault)))
    if len(everything) > _MOST_FAULTS:
        line(f"... and {len(everything) - _MOST_FAULTS} more faults")


def wrong_line(error: Exception) -> None:
    """A command line that cannot be: what is wrong, and where help is."""
    format_message = getattr(error, "format_message", None)
    message = _one_line(format_message() if format_message else str(error))
    context = getattr(error, "ctx", None)
    command = context.command_path if context else "strakewright"
    line(f"{command}: {message.rstrip('.')}. See {command} --help")


def defect(trouble: BaseException) -> None:
    """An inner failure: a short message, the trace in a log that can be sent."""
    handle, path = tempfile.mkstemp(prefix="strakewright-", suffix=".log")
    with os.fdopen(handle, "w", encoding="utf-8", errors="backslashreplace") as log:
        log.write("".join(traceback.format_exception(trouble)))
    said = _one_line(str(trouble)) or type(trouble).__name__
    line(f"This is a defect of strakewright, not of your files: {said}")
    line(f"Nothing was written. The details are in {path}")


def as_json(record: Mapping[str, Any]) -> None:
    """The machine-readable result, alone on stdout."""
    print(json.dumps(record, indent=1, allow_nan=False))


def understood(lines: Sequence[str]) -> None:
    """What a command has understood, one fact a line."""
    for text in lines:
        line(_one_line(text))


def findings(found: Sequence[Finding]) -> None:
    """Findings, the gravest first; many of one kind are cut short."""
    for level, heading in (("blocking", "Cannot be done as asked"), ("warning", "Warnings"), ("note", "Notes")):
        some = [finding for finding in found if finding.level == level]
        if some:
            line(f"{heading}:")
        for finding in some[:_MOST_FINDINGS]:
            fix = f". {finding.fix}" if finding.fix else ""
            line(_one_line(f"  {finding.subject}: {finding.what}{fix} [{finding.code}]"))
        if len(some) > _MOST_FINDINGS:
            line(f"  ... and {len(some) - _MOST_FINDINGS} more")


def checks(proved: Sequence[Check]) -> None:
    """How many checks hold, and every one that does not."""
    if not proved:
        return
    failed = [check for check in proved if not check.holds]
    for check in failed[:_MOST_FINDINGS]:
        line(f"  does not hold: {check.name} is {check.value:.4g} {check.unit}, limit {check.limit:.4g}")
    line(f"Checks: {len(proved) - len(failed)} of {len(proved)} hold")


def result(done: Result, out: Path, json: bool) -> int:
    """The end of a command that wrote a folder; returns its exit status."""
    if json:
        as_json(done.summary())
        return done.status
    findings(done.findings)
    checks(done.checks)
    told = {0: "", INTERRUPTED: ": what was best when it was interrupted"}
    line(f"Wrote {out}{told.get(done.status, ': not everything is as asked, see above')}")
    return done.status


@contextmanager
def progress() -> Iterator[Watch]:
    """A watch for the engine that draws a bar on stderr when somebody sits there, and nothing otherwise."""
    if not sys.stderr.isatty():
        yield lambda stage, figure, done: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("reading", total=1.0)

        def watch(stage: str, figure: float, done: float) -> None:
            shown = f"{stage} {figure:.4g}" if figure else stage
            bar.update(task, description=shown, completed=done)

        yield watch


def _one_line(text: str) -> str:
    """Text from a file name or a library on one line, without control characters."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split(" ")).rstrip()
