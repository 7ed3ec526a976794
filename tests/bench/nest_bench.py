"""Nesting measured: gross m2 of boards opened, lower is better, every plan judged by the referee.

    PYTHONPATH=. python tests/bench/nest_bench.py FOLDER [--part public quick own plantings growth peers] [--seeds 3]
        [--only NAME ...] [--scale 1.0] [--wall]

FOLDER holds one folder per public instance with parts.json and boards.json.  --scale multiplies every search time (0.1
for a try-out).  Prints a line per run, then tables for DEVELOPERS.md.

Budgets are processor time: 30 s stands for 30 s on two cores, so one process searches both lines in turn for 60 s of
its own processor time, making ready and first plan counted once per core.  A busy machine then changes no figure.
--wall takes the clock on the wall and two processes instead; only good on a quiet machine.
Peers need `pip install spyrrow rectpack packingsolver` in the environment of this bench only; the last wants Python
3.12.  They are given the 30 s and two threads that our own runs stand for, and are timed by the clock on the wall.
"""

from __future__ import annotations

import argparse
import json
import resource
import statistics
import time
from collections.abc import Callable
from pathlib import Path

from strakewright.lumber import Board, Defect, Rules
from strakewright.nest import Search, nest
from strakewright.parts import Part
from strakewright.plan import Plan
from strakewright.proof.referee import judge
from tests.bench import nest_peers
from tests.bench.nest_yard import Instance, dressed, growth, leaves, places, planting

CORES = 2
"""Cores a budget stands for."""
SECONDS = {"large-rough-s1": 120.0}
PARTS = ("public", "quick", "own", "plantings", "growth", "peers")


def load(folder: Path) -> tuple[list[Part], list[Board], Rules]:
    """A public instance; its objective is gross area where none is written."""
    wanted = json.loads((folder / "parts.json").read_text())
    rack = json.loads((folder / "boards.json").read_text())
    r = wanted["rules"]
    rules = Rules(
        r["spacing"], r["edge_margin"], r["defect_margin"], r["max_skew_deg"], r.get("min_offcut", 0.0),
        r.get("objective", "gross"),
    )  # fmt: skip
    parts = [Part(p["id"], p["outline"], p["thickness"], p["species"], p["may_flip"]) for p in wanted["parts"]]
    boards = [
        Board(
            b["id"],
            b["outline"],
            b["thickness"],
            b["species"],
            tuple(Defect(d["kind"], d["outline"]) for d in b["defects"]),
            b.get("price"),
        )
        for b in rack["boards"]
    ]
    return parts, boards, rules


def instances(folder: Path, only: list[str] | None) -> list[Instance]:
    """The public ones."""
    names = sorted(p for p in folder.iterdir() if (p / "parts.json").exists() and (not only or p.name in only))
    return [Instance(p.name, *map(tuple, load(p)[:2]), load(p)[2]) for p in names]


def by_processor() -> None:
    """Let every clock of the search tell processor time of this process."""
    time.monotonic = time.process_time


def searched(job: Instance, seconds: float, seed: int, quick: float) -> Plan:
    """A plan after so many seconds on two cores.  quick : seconds to the first plan, which only one core works for"""
    if time.monotonic is not time.process_time:
        return nest(job.parts, job.boards, job.rules, Search(seconds=seconds, seed=seed))
    search = Search(seconds=max(CORES * seconds - (CORES - 1) * quick, 0.1), seed=seed, workers=1)
    return nest(job.parts, job.boards, job.rules, search)


def run(job: Instance, seconds: float, seed: int) -> dict[str, float]:
    """One run: figures, time, left over, faults."""
    begun = time.monotonic()
    first = nest(job.parts, job.boards, job.rules, Search(seconds=0, seed=seed))
    quick = time.monotonic() - begun
    begun = time.monotonic()
    plan = searched(job, seconds, seed, quick)
    took = time.monotonic() - begun
    faults = sum(len(judge(job.parts, job.boards, job.rules, p)[1]) for p in (plan, first))
    return {
        "parts": len(job.parts),
        "first": first.gross_m2,
        "first_s": quick,
        "gross": plan.gross_m2,
        "bound": plan.bound or float("nan"),
        "left": len(plan.unplaced),
        "faults": faults,
        "took": took,
        "mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024,
    }


def table(title: str, jobs: list[Instance], seconds: Callable[[str], float], seeds: int) -> None:
    """Medians over the seeds, worst of what is left and of the faults."""
    rows = [
        f"\n{title}\n",
        "| instance | parts | bound | first plan (s) | seconds | after | left | faults | MB |",
        "|---|---|---|---|---|---|---|---|---|",
    ]
    for job in jobs:
        limit = seconds(job.name)
        runs = [run(job, limit, seed) for seed in range(seeds)]
        for seed, r in enumerate(runs):
            print(job.name, seed, {k: round(v, 3) for k, v in r.items()}, flush=True)
        m = {k: statistics.median(r[k] for r in runs) for k in runs[0]}
        worst = {k: max(r[k] for r in runs) for k in ("left", "faults")}
        rows.append(
            f"| {job.name} | {m['parts']:.0f} | {m['bound']:.2f} | {m['first']:.2f} ({m['first_s']:.1f}) | {limit:g} | "
            f"{m['gross']:.2f} | {worst['left']:.0f} | {worst['faults']:.0f} | {m['mb']:.0f} |"
        )
    print("\n".join(rows), flush=True)


def plantings(seconds: float, first: int = 0, end: int = 60) -> None:
    """Sixty plantings: what is left over, and how far the bound lies from the boards they were sawn from."""
    left = faults = 0
    for seed in sorted(range(first, end), key=lambda k: k % 20):
        job = planting(seed)
        assert job.sawing is not None
        assert not judge(job.parts, job.boards, job.rules, job.sawing)[1], f"{job.name}: the sawing itself is unsound"
        plan = searched(job, seconds, seed, 0.0)
        bad = len(judge(job.parts, job.boards, job.rules, plan)[1])
        left, faults = left + len(plan.unplaced), faults + bad
        print(
            job.name,
            len(job.parts),
            f"gross {plan.gross_m2:.2f}",
            f"left {len(plan.unplaced)}",
            f"faults {bad}",
            flush=True,
        )
    print(f"\n{end - first} plantings at {seconds:g} s: {left} parts left over, {faults} faults", flush=True)


def growing() -> None:
    """Seconds to the first plan and of a round of improvement, against the number of parts."""
    print("\n| parts | first plan, s | a round, s | MB |\n|---|---|---|---|")
    for count in (12, 66, 246, 1000):
        job = growth(count)
        begun = time.monotonic()
        nest(job.parts, job.boards, job.rules, Search(seconds=0))
        first = time.monotonic() - begun
        begun = time.monotonic()
        plan = nest(job.parts, job.boards, job.rules, Search(rounds=4, seconds=None, workers=1))
        each = (time.monotonic() - begun - first) / max(plan.rounds, 1)
        memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(f"| {count} | {first:.1f} | {each:.1f} | {memory:.0f} |", flush=True)


def peers(jobs: list[Instance], seconds: float) -> None:
    """The same instances through general libraries."""
    print("\n| instance | peer | gross | parts left | faults | seconds |\n|---|---|---|---|---|---|")
    spent = round(seconds)
    for job in jobs:
        for peer in (nest_peers.boxes, lambda j: nest_peers.strips(j, spent), lambda j: nest_peers.solved(j, spent)):
            try:
                row, plan = peer(job)
            except ImportError as absent:
                print(f"| {job.name} | not installed: {absent.name} | | | | |", flush=True)
                continue
            faults = len(judge(job.parts, job.boards, job.rules, plan)[1])
            print(f"| {job.name} | {row[0]} | {row[1]:.2f} | {row[2]} | {faults} | {row[3]:.0f} |", flush=True)


def main() -> None:
    """Run what is asked and print the tables."""
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("folder", type=Path)
    ask.add_argument("--part", nargs="*", default=list(PARTS), choices=PARTS)
    ask.add_argument("--seeds", type=int, default=3)
    ask.add_argument("--only", nargs="*")
    ask.add_argument("--scale", type=float, default=1.0)
    ask.add_argument("--wall", action="store_true")
    ask.add_argument("--count", type=int, nargs=2, default=(0, 60), help="plantings, first and end")
    a = ask.parse_args()
    if not a.wall:
        by_processor()
    public = instances(a.folder, a.only)
    nest(
        public[0].parts[:4], public[0].boards[:4], public[0].rules, Search(seconds=0)
    )  # compiled before the clock runs
    if "public" in a.part:
        table("Public instances", public, lambda n: SECONDS.get(n, 30.0) * a.scale, a.seeds)
    if "quick" in a.part:
        skiffs = [job for job in public if job.name.startswith("skiff")]
        table("At five seconds", skiffs, lambda n: 5.0 * a.scale, a.seeds)
    if "own" in a.part:
        own = [dressed(1), leaves(1), places(1)]
        table("Own instances", own, lambda n: 30.0 * a.scale, a.seeds)
    if "plantings" in a.part:
        plantings(15.0 * a.scale, *a.count)
    if "growth" in a.part:
        growing()
    if "peers" in a.part:
        peers([j for j in public if len(j.parts) <= 300], 30.0 * a.scale)


if __name__ == "__main__":
    main()
