"""Damaged meshes: how many come out as the clean hull does, how many are refused with the right word, how many neither.

    PYTHONPATH=layout:. python tests/bench/damage_bench.py [--seeds 20] [--kinds "slivers,holes"]

same     every panel of the damaged hull lies within 0.1 mm of the clean one's and its borders within 0.1 mm too
told     not the same, but a finding (warning) names what is wrong
refused  a refusal whose words name the damage
wrong    anything else: a wrong shape without a finding, a refusal that names something else, a crash; or a hull that
         lies farther off than its own finding says it may
"""

from __future__ import annotations

import argparse
import re
import statistics
import tempfile
import time
from pathlib import Path

import numpy as np

from strakewright.errors import InputError, UnworkableError
from strakewright.hull import Hull
from strakewright.loft.hulls import loft_hull
from strakewright.read.mesh import read_mesh
from strakewright.settings import HullSettings
from tests.bench.damaged import Clean, Damaged, clean, feet, off_line, off_text
from tests.bench.damaged_meshing import rounded_shape
from tests.bench.damages import KINDS

SAME = 0.1  # mm


def lofted(damaged: Damaged, folder: Path) -> Hull:
    """Through a file, as a builder's mesh comes."""
    path = folder / f"hull.{damaged.kind}"
    if damaged.kind == "stl":
        import trimesh

        trimesh.Trimesh(*damaged.mesh, process=False).export(path)
    else:
        path.write_bytes(damaged.text if damaged.text is not None else off_text(damaged.mesh))
    keys = {"crease_deg": 12.0} | damaged.keys
    return loft_hull(read_mesh(path), HullSettings(path, "file", damaged.scale, **keys), "bench")


def apart(one: Hull, other: Hull) -> float:
    """mm: the largest distance of borders and of surface points of `one` from `other`; inf for other panels."""
    if [p.name for p in one.panels] != [p.name for p in other.panels]:
        return float("inf")
    worst = 0.0
    for a, b in zip(one.panels, other.panels, strict=True):
        if [s.name for s, _ in a.ring()] != [s.name for s, _ in b.ring()]:
            return float("inf")
        for (mine, _), (his, _) in zip(a.ring(), b.ring(), strict=True):
            here, there = a.in_space(mine), b.in_space(his)
            worst = max(worst, float(off_line(here, there).max()), float(off_line(there, here).max()))
        chart = np.concatenate([ring for _, ring in a.ring()])
        points = a.patch.at(0.5 * chart[::7] + 0.5 * chart.mean(axis=0))
        worst = max(worst, float(np.linalg.norm(feet(b, points) - points, axis=1).max()))
    return worst


def damaged_by(kind: str, hull: Clean, seed: int) -> Damaged:
    """A clean hull after one sort of damage."""
    return KINDS[kind](hull, np.random.default_rng([seed, sum(map(ord, kind))]))


def made_from(kind: str, hull: Clean, seed: int, folder: Path) -> Hull:
    """What the damaged mesh lofts to."""
    return lofted(damaged_by(kind, hull, seed), folder)


def judged(kind: str, hull: Clean, truth: Hull, seed: int, folder: Path) -> tuple[str, float, str]:
    """same, told, refused or wrong; mm apart; words."""
    damaged = damaged_by(kind, hull, seed)
    if kind in ("needles", "rounded", "fading"):
        truth = _own_truth(kind, seed, folder)
    try:
        found = lofted(damaged, folder)
    except (InputError, UnworkableError) as refusal:
        words = f"{refusal.what} {refusal.where} {refusal.fix}"
        named = bool(damaged.refusal) and any(w in words for w in damaged.refusal)
        return ("refused" if named else "wrong"), float("nan"), words
    except Exception as fault:
        return "wrong", float("nan"), f"CRASH {fault!r}"
    far = apart(found, truth)
    if far > most_out(found):
        return "wrong", far, "farther out than told"
    if far <= SAME:
        return "same", far, ""
    loud = sorted({f.code for f in found.findings if f.level != "note"})
    return ("told" if loud else "wrong"), far, ", ".join(loud)


def most_out(hull: Hull) -> float:
    """mm that the finding about corners astray says borders may be out; inf where there is none."""
    told = next((f.what for f in hull.findings if f.code == "corners-astray"), "")
    figure = re.search(r"up to ([0-9.]+) mm out", told)
    return float(figure[1]) if figure else float("inf")


def _own_truth(kind: str, seed: int, folder: Path) -> Hull:
    """The clean hull of kinds that are made anew."""
    from tests import exact_hulls as exact
    from tests.bench.damaged import samples
    from tests.exact_meshes import Make

    rng = np.random.default_rng([seed, sum(map(ord, kind))])
    if kind == "fading":
        return lofted(Damaged(exact.RunningChine(least=4.0).mesh(Make(triangles=20000, seed=1))), folder)
    if kind == "needles":
        make = samples()
        size = rng.uniform(0.9, 1.1, 3)
        lines = [make.line([tuple(np.array(p) * size) for p in points]) for points in make.TEASEL]
        return lofted(Damaged(make.welded([make.mirrored(make.skin(lines, 40.0, 1)[0])])), folder)
    mesh = rounded_shape(rng).mesh(Make(triangles=12000, whole=False, seed=1))
    return lofted(Damaged(mesh, {"half": True}), folder)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, default=20)
    parser.add_argument("--kinds", default="")
    parser.add_argument("--words", action="store_true", help="say what was told and what went wrong")
    asked = parser.parse_args()
    kinds = [k for k in KINDS if not asked.kinds or k in asked.kinds.split(",")]
    began = time.process_time()
    print("| damage | same | told | refused | wrong | median mm | worst mm |\n|---|---|---|---|---|---|---|")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        hulls = [clean(seed) for seed in range(asked.seeds)]
        for kind in kinds:
            rows = [judged(kind, hulls[s], hulls[s].truth, s, folder) for s in range(asked.seeds)]
            count = [sum(r[0] == word for r in rows) for word in ("same", "told", "refused", "wrong")]
            far = [r[1] for r in rows if np.isfinite(r[1])]
            middle, worst = (f"{statistics.median(far):.4f}", f"{max(far):.4f}") if far else ("-", "-")
            print(f"| {kind} | {' | '.join(map(str, count))} | {middle} | {worst} |", flush=True)
            if asked.words:
                for word, away, words in [r for r in rows if r[0] in ("wrong", "told")][:3]:
                    print(f"    {word} {away:.2f}: {words[:220]}")
    print(f"\n{time.process_time() - began:.0f} s of processor")


if __name__ == "__main__":
    main()
