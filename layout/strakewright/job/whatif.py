"""`whatif`: what one rule more or less would save, measured by nesting again with the same work.

as asked    the parts as they stand;  every other row changes one thing
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from strakewright.job.building import BuildOptions
from strakewright.job.outputs import Written
from strakewright.job.planked import Watch
from strakewright.measure import board_feet
from strakewright.nest.engine import Search, nest
from strakewright.read.nestfiles import NestJob, read_nest
from strakewright.write.folder import fresh_folder, may_replace
from strakewright.write.records import document, summary_document, write_json


@dataclass(frozen=True)
class Outcome:
    """One row: what was changed, m2 of wood, board feet, parts left over, boards."""

    change: str
    gross_m2: float
    net_m2: float
    feet: float
    left: int
    boards: int


def changes(job: NestJob) -> Iterator[tuple[str, NestJob]]:
    """The job as asked, then with one thing changed at a time."""
    rules = job.rules
    yield "as asked", job
    tight = rules.spacing / 2
    yield f"spacing {rules.spacing:g} -> {tight:g} mm", replace(job, rules=replace(rules, spacing=tight))
    for skew in (0.0, rules.max_skew_deg + 2.0):
        turned = tuple(replace(p, max_skew_deg=None) for p in job.parts)
        words = f"skew {rules.max_skew_deg:g} -> {skew:g} deg"
        yield words, replace(job, parts=turned, rules=replace(rules, max_skew_deg=skew))
    if not all(p.may_flip for p in job.parts):
        yield "every part may be turned over", replace(job, parts=tuple(replace(p, may_flip=True) for p in job.parts))
    if job.choices:
        usual = {p for c in job.choices for p in c.options[0].parts}
        other = {p for c in job.choices for o in c.options for p in o.parts} - usual
        kept = tuple(p for p in job.parts if p.id not in other)
        yield "usual splits only", replace(job, parts=kept, choices=())
    if rules.by_stage:
        yield "boards of every stage sawn at once", replace(job, rules=replace(rules, by_stage=None))
    if rules.resaw_kerf is not None:
        yield "nothing resawn", replace(job, rules=replace(rules, resaw_kerf=None))


def outcome(change: str, job: NestJob, search: Search) -> Outcome:
    """Nest a job and measure it."""
    plan = nest(job.parts, job.boards, job.rules, search, choices=job.choices)
    used = {q.board for q in plan.placements}
    feet = sum(board_feet(b) for b in job.boards if b.id in used)
    return Outcome(change, plan.gross_m2, plan.net_m2, feet, len(plan.unplaced), plan.boards_used)


def whatif_files(parts: Path, boards: Path, out: Path, options: BuildOptions, watch: Watch) -> Written:
    """whatif.json: every change with what it saves; each row has the seconds or rounds to itself."""
    may_replace(out)
    job = read_nest(parts, boards)
    search = Search(options.seconds, options.rounds, options.seed)
    cases = list(changes(job))
    rows = []
    for n, (change, case) in enumerate(cases):
        watch(change, 0.0, n / len(cases))
        rows.append(outcome(change, case, search))
    record = [_row(row, rows[0]) for row in rows]
    summary = summary_document((), job.findings, {"whatif": record})
    with fresh_folder(out) as folder:
        write_json(folder / "whatif.json", document("whatif", {"rows": record}))
        write_json(folder / "summary.json", summary)
    return Written((), job.findings, summary)


def _row(row: Outcome, base: Outcome) -> dict[str, Any]:
    return {
        "change": row.change,
        "gross_m2": row.gross_m2,
        "net_m2": row.net_m2,
        "board_feet": row.feet,
        "boards": row.boards,
        "parts_left": row.left,
        "saves_m2": base.gross_m2 - row.gross_m2 if row.left == base.left else None,
        "saves_board_feet": base.feet - row.feet if row.left == base.left else None,
    }


def whatif_lines(done: Written) -> list[str]:
    """The rows in words."""
    lines = []
    for row in done.record["whatif"]:
        saved = "" if row["saves_m2"] is None else f", saves {row['saves_board_feet']:.1f} board feet"
        left = f", {row['parts_left']} parts left over" if row["parts_left"] else ""
        lines.append(f"{row['change']}: {row['gross_m2']:.2f} m2, {row['boards']} boards{saved}{left}")
    return lines
