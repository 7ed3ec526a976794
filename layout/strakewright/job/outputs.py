"""The folder that a build becomes."""

from __future__ import annotations

import hashlib
import time
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from strakewright.errors import Check, Finding
from strakewright.job.beside import beside
from strakewright.job.building import Build, BuildOptions, build, status_of
from strakewright.job.headline import headline, lining_record
from strakewright.job.inputs import load
from strakewright.job.papers import begin_book, write_book, write_tickets
from strakewright.job.patterning import patterns_proved
from strakewright.job.planked import Watch
from strakewright.job.sheeting import prepared, sheets_proved
from strakewright.lumber import Board
from strakewright.offsets import TableSource
from strakewright.parts import Part
from strakewright.triangles import TriangleMesh
from strakewright.write.bodies import bodies_of
from strakewright.write.folder import fresh_folder, may_replace
from strakewright.write.framerecords import frames_document
from strakewright.write.glb import write_glb
from strakewright.write.graphs import write_graphs
from strakewright.write.linesplan import write_lines
from strakewright.write.memberrecords import members_document
from strakewright.write.offsetrecords import offsets_document, table_note, write_tables
from strakewright.write.overview import write_overview
from strakewright.write.reckonrecords import hydrostatics_document, weights_document, write_shopping
from strakewright.write.records import (
    boards_document,
    lining_document,
    panels_document,
    parts_document,
    plan_document,
    planks_document,
    summary_document,
    times_document,
    write_json,
)
from strakewright.write.sheets import Sheet, Title, sheets_of
from strakewright.write.view import write_view

INTERRUPTED = 130  # exit status of a search stopped by the user: the best plan so far is written


@dataclass(frozen=True, eq=False)
class Written:
    """What a command has put in its folder.  record : summary.json as written;  interrupted : with Ctrl-C."""

    checks: tuple[Check, ...]
    findings: tuple[Finding, ...]
    record: Mapping[str, Any]
    interrupted: bool = False

    @property
    def status(self) -> int:
        return INTERRUPTED if self.interrupted else status_of(self.checks, self.findings)

    def summary(self) -> Mapping[str, Any]:
        """The machine-readable result: what stands in summary.json."""
        return self.record


class Stopwatch:
    """Passes on what is being done, and keeps the wall time of every stage."""

    def __init__(self, watch: Watch) -> None:
        self._watch, self._stage, self._since = watch, "reading", time.monotonic()
        self.seconds: dict[str, float] = {}

    def __call__(self, stage: str, figure: float, done: float) -> None:
        if stage != self._stage:
            self._close()
            self._stage = stage
        self._watch(stage, figure, done)

    def _close(self) -> None:
        now = time.monotonic()
        self.seconds[self._stage] = self.seconds.get(self._stage, 0.0) + now - self._since
        self._since = now

    def stop(self) -> dict[str, float]:
        """Wall time of every stage so far, seconds."""
        self._close()
        return self.seconds


def build_files(boat: Path, out: Path, options: BuildOptions, watch: Watch, lining: Path | None = None) -> Written:
    """The command `build`: read, work out, prove, write, prove the sheets.  Replaces `out` as one step."""
    may_replace(out)
    clock = Stopwatch(watch)
    done = build(load(boat, lining), options, clock)
    clock("writing", 0.0, 0.0)
    with fresh_folder(out) as folder:
        written = write_all(done, folder)
        write_json(folder / "times.json", times_document(clock.stop()))
    return written


def write_all(done: Build, folder: Path) -> Written:
    """Every file of a build into an empty folder; the sheets are read back and compared with the plan."""
    stem = Title(done.inputs.boat.name, revision(done), table_note(done.hull.lines))
    sheets = sheets_of(done.plan, done.parts, done.inputs.boards)
    bodies = bodies_of(done.planks, {p.part: p.board for p in done.plan.placements}) + done.bodies
    with beside(lambda: _beside_the_sheets(done, folder, sheets, stem.revision)) as papers:
        write_view(folder / "view.html", bodies, done.inputs.boat.name, done.parts)
        write_glb(folder / "hull.glb", bodies, done.inputs.boat.name)
        ready = prepared(done, sheets)
        checks, findings = sheets_proved(done, folder, ready, stem)
        write_tickets(done, folder, ready, stem.revision)
        book = begin_book(done, sheets, stem.revision)
    on_paper, faults = papers.value or ((), ())
    checks, findings = (*done.checks, *checks, *on_paper), (*done.findings, *findings, *faults)
    write_book(done, folder, book, checks, findings)
    record = summary_document(checks, findings, headline(done, stem.revision))
    write_json(folder / "summary.json", record)
    return Written(checks, findings, record, done.plan.interrupted)


def _beside_the_sheets(
    done: Build, folder: Path, sheets: tuple[Sheet, ...], rev: str
) -> tuple[tuple[Check, ...], tuple[Finding, ...]]:
    """Records, pictures and patterns; returns what reading the patterns back has shown."""
    write_json(folder / "planks.json", planks_document(done.planks))
    write_json(folder / "parts.json", parts_document((*done.parts, *done.spare_parts), done.rules, done.choices))
    write_json(folder / "boards.json", boards_document(done.inputs.boards))
    write_json(folder / "nest.json", plan_document(done.plan))
    write_json(folder / "panels.json", panels_document(done.hull))
    write_json(folder / "lining.json", lining_document(lining_record(done)))
    if done.framing.frames or done.framing.transoms:
        write_json(folder / "frames.json", frames_document(done.framing))
    if done.backbone.parts:
        write_json(folder / "members.json", members_document(done.backbone.members, done.backbone.sawn))
    if done.hull.lines is not None:
        (folder / "lines").mkdir()
        write_json(folder / "offsets.json", offsets_document(done.hull.lines))
        write_tables(folder / "lines", done.hull.lines)
        write_lines(folder / "lines", done.hull, done.hull.lines, rev)
    boat = done.inputs.boat.name
    if done.reckoned is not None:
        write_json(folder / "weights.json", weights_document(done.reckoned))
        write_json(folder / "hydrostatics.json", hydrostatics_document(done.reckoned))
        write_shopping(folder / "shopping.csv", done.reckoned)
        write_graphs(folder / "curves.svg", done.reckoned.afloat, boat)
    write_overview(folder / "boards.svg", sheets, boat)
    return patterns_proved(done, folder, rev)


def _shape_bytes(shape: TriangleMesh | TableSource) -> bytes:
    if isinstance(shape, TableSource):
        return "".join(f"{row.name}/{station}={cell.text};" for row, station, cell in shape.table.cells()).encode()
    return np.ascontiguousarray(shape.vertices).tobytes()


def revision(done: Build) -> str:
    """Eight letters that change when any input changes: the same on every paper of one build."""
    return letters_of([done.inputs.boat.path.read_bytes(), _shape_bytes(done.inputs.shape)], done.inputs.boards)


def letters_of(inputs: Iterable[bytes], pieces: Iterable[Board | Part]) -> str:
    """Eight letters that change with any byte of the inputs, or with a board or part."""
    digest = hashlib.sha256(b"".join(inputs))
    for piece in pieces:
        digest.update(f"{piece.id} {piece.thickness} {piece.species}".encode())
        digest.update(np.ascontiguousarray(piece.outline).tobytes())
    return digest.hexdigest()[:8]
