"""Nesting measured on the public instances: gross m2 of boards opened, lower is better, every plan judged.

    python tests/bench/nest_bench.py FOLDER [--seconds 30] [--seeds 3] [--only NAME ...]

FOLDER holds one folder per instance with parts.json and boards.json (contract form).  Prints one line per run, then a
table of medians for DEVELOPERS.md.
"""

from __future__ import annotations

import argparse
import json
import resource
import statistics
import time
from pathlib import Path

from strakewright.lumber import Board, Defect, Rules
from strakewright.nest import Search, nest
from strakewright.parts import Part
from strakewright.proof.referee import judge


def load(folder: Path) -> tuple[list[Part], list[Board], Rules]:
    """An instance; its objective is gross area where none is written."""
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


def run(folder: Path, seconds: float, seed: int) -> dict[str, float]:
    """One run: figures, time, left over, faults."""
    parts, boards, rules = load(folder)
    begun = time.monotonic()
    first = nest(parts, boards, rules, Search(seconds=0, seed=seed))
    quick = time.monotonic() - begun
    begun = time.monotonic()
    plan = nest(parts, boards, rules, Search(seconds=seconds, seed=seed))
    took = time.monotonic() - begun
    faults = len(judge(parts, boards, rules, plan)[1]) + len(judge(parts, boards, rules, first)[1])
    return {
        "parts": len(parts),
        "first": first.gross_m2,
        "first_s": quick,
        "gross": plan.gross_m2,
        "bound": plan.bound or float("nan"),
        "left": len(plan.unplaced),
        "faults": faults,
        "took": took,
        "mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024,
    }


def main() -> None:
    """Run all instances and print the table."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("folder", type=Path)
    ask.add_argument("--seconds", type=float, default=30.0)
    ask.add_argument("--seeds", type=int, default=3)
    ask.add_argument("--only", nargs="*")
    a = ask.parse_args()
    table = [
        "| instance | parts | bound | first plan (s) | after | left | faults | MB |",
        "|---|---|---|---|---|---|---|---|",
    ]
    for folder in sorted(p for p in a.folder.iterdir() if p.is_dir() and (not a.only or p.name in a.only)):
        runs = [run(folder, a.seconds, seed) for seed in range(a.seeds)]
        for seed, r in enumerate(runs):
            print(folder.name, seed, {k: round(v, 3) for k, v in r.items()}, flush=True)
        m = {k: statistics.median(r[k] for r in runs) for k in runs[0]}
        worst = {k: max(r[k] for r in runs) for k in ("left", "faults")}
        table.append(
            f"| {folder.name} | {m['parts']:.0f} | {m['bound']:.2f} | {m['first']:.2f} ({m['first_s']:.1f}) | "
            f"{m['gross']:.2f} | {worst['left']:.0f} | {worst['faults']:.0f} | {m['mb']:.0f} |"
        )
    print("\n".join(table))


if __name__ == "__main__":
    main()
