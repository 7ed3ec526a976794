"""`whatif`: what one rule more or less would save, measured by nesting again with the same work.

as asked    the parts as they stand;  every other row changes one thing
looser      a change that leaves every plan of the job as asked sound: it can only save
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
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
    interrupted: bool = False


@dataclass(frozen=True, eq=False)
class Case:
    """A job with one thing changed.  looser : every plan of the job as asked is one of this too;  else the other way"""

    change: str
    job: NestJob
    looser: bool


def changes(job: NestJob) -> Iterator[Case]:
    """The job as asked, then with one thing changed at a time."""
    rules = job.rules
    yield Case("as asked", job, True)
    tight = rules.spacing / 2
    if tight:
        yield Case(
            f"spacing {rules.spacing:g} -> {tight:g} mm", replace(job, rules=replace(rules, spacing=tight)), True
        )
    for by in (-rules.max_skew_deg, 2.0):
        if by:
            words = f"skew {rules.max_skew_deg:g} -> {rules.max_skew_deg + by:g} deg"
            yield Case(words, _turned(job, by), by > 0)
    if not all(p.may_flip for p in job.parts):
        flipped = tuple(replace(p, may_flip=True) for p in job.parts)
        yield Case("every part may be turned over", replace(job, parts=flipped), True)
    yield from _joints(job)
    if rules.by_stage:
        yield Case("boards of every stage sawn at once", replace(job, rules=replace(rules, by_stage=None)), True)
    if rules.resaw_kerf is not None:
        yield Case("nothing resawn", replace(job, rules=replace(rules, resaw_kerf=None)), False)


def _turned(job: NestJob, by: float) -> NestJob:
    """Every part may turn so much more (or less), those with a limit of their own too."""
    own = (None if p.max_skew_deg is None else max(p.max_skew_deg + by, 0.0) for p in job.parts)
    parts = tuple(replace(p, max_skew_deg=limit) for p, limit in zip(job.parts, own, strict=True))
    return replace(job, parts=parts, rules=replace(job.rules, max_skew_deg=job.rules.max_skew_deg + by))


def _joints(job: NestJob) -> Iterator[Case]:
    """Where planks come with other splits: the usual ones only, and those with one joint more."""
    if not job.choices:
        return
    yield Case("usual splits only", _split(job, [0] * len(job.choices)), False)
    more = [
        next((k for k, o in enumerate(c.options) if len(o.parts) > len(c.options[0].parts)), 0) for c in job.choices
    ]
    if any(more):
        yield Case(f"one more joint in {sum(map(bool, more))} planks", _split(job, more), False)


def _split(job: NestJob, taken: Sequence[int]) -> NestJob:
    """The job with every choice made."""
    keep = {p for c, k in zip(job.choices, taken, strict=True) for p in c.options[k].parts}
    out = {p for c in job.choices for o in c.options for p in o.parts} - keep
    return replace(job, parts=tuple(p for p in job.parts if p.id not in out), choices=())


def outcome(change: str, job: NestJob, search: Search) -> Outcome:
    """Nest a job and measure it."""
    plan = nest(job.parts, job.boards, job.rules, search, choices=job.choices)
    used = {q.board for q in plan.placements}
    feet = sum(board_feet(b) for b in job.boards if b.id in used)
    return Outcome(change, plan.gross_m2, plan.net_m2, feet, len(plan.unplaced), plan.boards_used, plan.interrupted)


def no_worse(rows: Sequence[Outcome], looser: Sequence[bool]) -> list[Outcome]:
    """Outcomes that use what is known: a plan under tighter rules is one of the job as asked, and that one of every
    looser job, so that chance in the search makes no freedom look dear.  The first row is the job as asked."""

    def rank(row: Outcome) -> tuple[float, float]:
        return row.left, row.net_m2

    best = min((row for row, free in zip(rows, looser, strict=True) if not free), key=rank, default=rows[0])
    asked = replace(min(rows[0], best, key=rank), change=rows[0].change)
    return [
        replace(min(row, asked, key=rank), change=row.change) if free else row
        for row, free in zip(rows, looser, strict=True)
    ]


def whatif_files(parts: Path, boards: Path, out: Path, options: BuildOptions, watch: Watch) -> Written:
    """whatif.json: every change with what it saves; each row has the seconds or rounds to itself."""
    may_replace(out)
    job = read_nest(parts, boards, options.unit, options.dressing)
    search = Search(options.seconds, options.rounds, options.seed)
    cases = list(changes(job))
    rows = []
    for n, case in enumerate(cases):
        watch(case.change, 0.0, n / len(cases))
        row = outcome(case.change, case.job, search)
        if row.interrupted:  # measured with less work than the others: not to be compared with them
            break
        rows.append(row)
    if not rows:
        raise KeyboardInterrupt
    stopped = len(rows) < len(cases)
    rows = no_worse(rows, [case.looser for case in cases[: len(rows)]])
    record = [_row(row, rows[0]) for row in rows]
    summary = summary_document((), job.findings, {"whatif": record})
    with fresh_folder(out) as folder:
        write_json(folder / "whatif.json", document("whatif", {"rows": record}))
        write_json(folder / "summary.json", summary)
    return Written((), job.findings, summary, stopped)


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
    for n, row in enumerate(done.record["whatif"]):
        left = f", {row['parts_left']} parts left over" if row["parts_left"] else ""
        lines.append(
            f"{row['change']}: {row['gross_m2']:.2f} m2, {row['boards']} boards{_saved(row) if n else ''}{left}"
        )
    return lines


def _saved(row: dict[str, Any]) -> str:
    feet = row["saves_board_feet"]
    if feet is None:
        return ""
    if abs(feet) < 0.05:
        return ", no difference found"
    return f", saves {feet:.1f} board feet" if feet > 0 else f", takes {-feet:.1f} board feet more"
