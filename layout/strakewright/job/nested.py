"""Anybody's parts on anybody's boards: the command `nest`."""

from __future__ import annotations

from pathlib import Path

from strakewright.errors import UnworkableError
from strakewright.job.building import BuildOptions
from strakewright.job.headline import stock_figures
from strakewright.job.missing import missing_wood
from strakewright.job.outputs import Stopwatch, Written, letters_of
from strakewright.job.planked import Watch
from strakewright.job.telling import by_board, reasons, uncompiled
from strakewright.nest.engine import Search, nest
from strakewright.proof.readback import read_back
from strakewright.proof.referee import judge
from strakewright.read.nestfiles import NestJob, read_nest
from strakewright.write.bookpdf import A4, write_book_pdf
from strakewright.write.folder import fresh_folder, may_replace
from strakewright.write.records import (
    boards_document,
    part_record,
    parts_document,
    plain,
    plan_document,
    summary_document,
    times_document,
    write_json,
)
from strakewright.write.sheets import Title, sheets_of, write_sheets
from strakewright.write.tickets import Shop, tickets_of


def nest_files(parts: Path, boards: Path, out: Path, options: BuildOptions, watch: Watch) -> Written:
    """Read parts and boards, place them, judge the plan, write sheets and nest.json."""
    may_replace(out)
    return nest_job(read_nest(parts, boards, options.unit, options.dressing), parts.stem, out, options, watch)


def nest_job(job: NestJob, title: str, out: Path, options: BuildOptions, watch: Watch) -> Written:
    """Place what has been read, judge the plan, write sheets and nest.json."""
    clock = Stopwatch(watch)
    clock("boards", 0.0, 0.0)
    search = Search(options.seconds, options.rounds, options.seed)
    plan = nest(job.parts, job.boards, job.rules, search, clock, job.choices)
    if job.parts and not plan.placements:
        said = "; ".join(
            [*reasons(plan), *(f"{f.subject}: {f.what}. {f.fix}" for f in job.findings if f.level != "note")]
        )
        raise UnworkableError("no part fits any board", where=title, fix=f"{said}. Add boards")
    clock("writing", 0.0, 0.0)
    checks, faults = judge(job.parts, job.boards, job.rules, plan, job.choices)
    missing = missing_wood(job.parts, job.boards, job.rules, plan)
    revision = letters_of([repr(job.rules).encode()], (*job.parts, *job.boards))
    with fresh_folder(out) as folder:
        sheets = sheets_of(plan, job.parts, job.boards)
        (folder / "sheets").mkdir()
        files = write_sheets(folder / "sheets", sheets, Title(title, revision), job.rules, {})
        tickets = tickets_of(title, revision, sheets, Shop(job.rules))
        write_book_pdf(folder / "tickets.pdf", tickets, A4.upright)
        again, differ = read_back({(s.board.id, s.leaf): files[s.name] for s in sheets}, job.parts, plan)
        _documents(folder, job)
        write_json(folder / "nest.json", plan_document(plan))
        checks, findings = (*checks, *again), (*job.findings, *uncompiled(), *faults, *missing, *differ)
        asked = {*plan.unplaced, *(q.part for q in plan.placements)}
        stock = stock_figures(tuple(p for p in job.parts if p.id in asked), job.boards, plan)
        headline = {"revision": revision, "stock": stock, "parts_on_boards": by_board(plan)}
        record = summary_document(checks, findings, headline)
        write_json(folder / "summary.json", record)
        write_json(folder / "times.json", times_document(clock.stop()))
    return Written(checks, findings, record, plan.interrupted)


def _documents(folder: Path, job: NestJob) -> None:
    cut = {"cut_already": [plain(part_record(p)) for p in job.cut]} if job.cut else {}
    write_json(folder / "parts.json", {**parts_document(job.parts, job.rules, job.choices), **cut})
    write_json(folder / "boards.json", boards_document(job.boards))
