"""`recut`: parts spoiled or changed after the first cut, out of what is left, nothing moved that is cut already.

cut already   every part of the plan on a board that has been sawn: its wood is taken, and stays where it is
uncut         boards of the plan not sawn yet: their parts may lie anew
changed       a part measured or drawn again: it replaces the one of its name
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from strakewright.arrays import Floats
from strakewright.errors import Finding, InputError
from strakewright.job.building import BuildOptions
from strakewright.job.nested import nest_job
from strakewright.job.outputs import Written
from strakewright.job.planked import Watch
from strakewright.lumber import TAKEN, Board, Defect
from strakewright.parts import Part
from strakewright.plan import Placement
from strakewright.proof.referee import lying
from strakewright.read.names import nearest
from strakewright.read.nestfiles import NestJob, read_cut, read_nest, read_parts, read_placements
from strakewright.read.stock import read_boards
from strakewright.write.folder import may_replace


@dataclass(frozen=True)
class Recut:
    """spoiled : ids of parts cut and lost;  changed : a parts.json with parts that replace those of their names
    uncut : boards not sawn yet;  more : a table or boards.json of further boards"""

    spoiled: tuple[str, ...] = ()
    changed: Path | None = None
    uncut: tuple[str, ...] = ()
    more: Path | None = None


def recut_files(folder: Path, what: Recut, out: Path, options: BuildOptions, watch: Watch) -> Written:
    """Nest again what a plan's folder still lacks, on what its boards still hold."""
    spoiled, changed, uncut = what.spoiled, what.changed, what.uncut
    may_replace(out)
    if out.resolve() == folder.resolve():
        raise InputError("the result would replace the plan it starts from", where=str(out), fix="Name another folder")
    job = read_nest(folder / "parts.json", folder / "boards.json")
    job = replace(job, cut=read_cut(folder / "parts.json"))
    puts, chosen = read_placements(folder / "nest.json")
    fresh = {} if changed is None else {p.id: p for p in read_parts(changed)[0]}
    known = {p.id for p in (*job.parts, *job.cut)}
    _known(spoiled, known, "part")
    _known(fresh, known, "part")
    _known(uncut, {b.id for b in job.boards}, "board")
    left = left_over(job, puts, chosen, (set(spoiled), fresh, set(uncut)))
    return nest_job(_with_more(left, what.more, options), "recut", out, options, watch)


def _with_more(job: NestJob, more: Path | None, options: BuildOptions) -> NestJob:
    """The job with further boards;  raises InputError where one has the name of a board of the plan"""
    if more is None:
        return job
    woods = {p.species for p in job.parts}
    boards, notes = read_boards(more, options.dressing, woods.pop() if len(woods) == 1 else "", options.unit)
    there = {b.id.casefold() for b in job.boards}
    for twice in (b.id for b in boards if b.id.casefold() in there):
        raise InputError(
            f"board {twice!r} is in the plan already", where=more.name, fix="Give new boards names of their own"
        )
    return replace(job, boards=(*job.boards, *boards), findings=(*job.findings, *notes))


def left_over(
    job: NestJob,
    puts: Sequence[Placement],
    chosen: dict[str, int],
    what: tuple[set[str], dict[str, Part], set[str]],
) -> NestJob:
    """The job that is left: parts still to be cut, boards with the wood that is gone marked as taken.

    what : parts spoiled, parts changed by name, boards not sawn yet
    raises InputError when nothing is left to do
    """
    spoiled, fresh, uncut = what
    everything = (*job.parts, *(p for p in job.cut if p.id not in {q.id for q in job.parts}))
    pieces = {p.id: p for p in everything}
    again = spoiled | set(fresh)
    sawn = [q for q in puts if q.board not in uncut]
    done = ({q.part for q in sawn} | {p.id for p in job.cut}) - again
    dropped = {p for c in job.choices for k, o in enumerate(c.options) if k != chosen.get(c.id) for p in o.parts} - {
        p for c in job.choices if c.id in chosen for p in c.options[chosen[c.id]].parts
    }
    parts = tuple(fresh.get(p.id, p) for p in everything if p.id not in done and p.id not in dropped)
    if not parts:
        raise InputError("nothing is to be cut again", where="recut", fix="Name a part with --spoiled or --changed")
    loose = {p.id for p in parts}
    parts = tuple(replace(p, match=p.match and p.mate in loose) for p in parts)
    boards = tuple(b for board in job.boards for b in remnants(board, pieces, [q for q in sawn if q.board == board.id]))
    stay = "1 part stays as it is" if len(done) == 1 else f"{len(done)} parts stay as they are"
    note = Finding("boards-cut-already", "note", "recut", f"{stay} cut", "")
    cut = tuple(p for p in everything if p.id in done)
    return NestJob(parts, boards, job.rules, (*job.findings, note), (), cut)


def remnants(board: Board, pieces: dict[str, Part], sawn: Sequence[Placement]) -> list[Board]:
    """A board with the parts sawn from it marked as taken; a resawn one as its leaves, each a board of its own."""
    if not sawn:
        return [board]
    if all(q.leaf is None for q in sawn):
        return [_opened(board, pieces, sawn)]
    count = max(*(q.leaf or 1 for q in sawn), board.leaves)
    thick = {q.leaf: pieces[q.part].thickness for q in sawn}
    found = []
    for leaf in range(1, count + 1):
        thickness = board.thickness if board.leaves > 1 else thick.get(leaf, max(thick.values()))
        own = replace(
            board, id=f"{board.id}-L{leaf}", leaves=1, thickness=thickness, rough_thickness=None, state="opened"
        )
        found.append(_opened(own, pieces, [q for q in sawn if q.leaf == leaf]))
    return found


def _opened(board: Board, pieces: dict[str, Part], sawn: Sequence[Placement]) -> Board:
    gone = [Defect(TAKEN, _ring(pieces[q.part], q), q.part) for q in sawn]
    return replace(board, defects=(*board.defects, *gone), state="opened")


def _ring(part: Part, put: Placement) -> Floats:
    """Outline of a part where it lies, counter-clockwise."""
    ring = np.asarray(lying(part, put).exterior.coords, dtype=np.float64)[:-1]
    return ring[::-1] if put.flip else ring


def _known(names: Collection[str], known: set[str], kind: str) -> None:
    for name in names:
        if name not in known:
            fix = f'Name a {kind} of the plan; the nearest is "{nearest(name, sorted(known))}"'
            raise InputError(f"no {kind} {name!r:.60} in the plan", where="recut", fix=fix)
