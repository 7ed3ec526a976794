"""How long planking takes: 26 strakes and about 180 diagonals on a 6 m hull, and whether it grows with their number.

Run by hand: python -m tests.bench.planking_bench.  Wall time as a build has it (two processes) and processor time of
one process; a quiet machine or it means little.  Hull: Teasel, invented.
"""

from __future__ import annotations

import time
from dataclasses import replace
from pathlib import Path

from strakewright.job.building import frames_of
from strakewright.job.inputs import Inputs, hull_of, load
from strakewright.job.planked import Layer, plank_hull
from strakewright.settings import PlankingSettings

BOAT = Path("sample_hulls/teasel/boat-enough.toml")


def timed(inputs: Inputs, planking: tuple[PlankingSettings, ...]) -> tuple[float, float, tuple[Layer, ...]]:
    """Wall and processor seconds of planking, the lofted hull given."""
    boat = replace(inputs.boat, planking=planking)
    hull = hull_of(inputs)
    frames = frames_of(boat.frames, hull)
    wall, cpu = time.perf_counter(), time.process_time()
    layers, _ = plank_hull(replace(inputs, boat=boat), hull, frames, lambda *_: None)
    return time.perf_counter() - wall, time.process_time() - cpu, layers


def main() -> None:
    inputs = load(BOAT, None)
    side, bottom = inputs.boat.planking
    print("| strakes | diagonals | wall s | processor s, this process | ms a plank (wall) |")
    print("|---|---|---|---|---|")
    for courses, width in ((7, 184.0), (13, 92.0), (26, 46.0)):
        strakes = replace(side, courses=courses, joint="none")
        diagonals = replace(bottom, width=width)
        wall, cpu, layers = timed(inputs, (strakes, diagonals))
        counts = [
            sum(len(x.planks) for x in layers if (x.settings.pattern == "strakes") == is_strakes)
            for is_strakes in (True, False)
        ]
        print(f"| {counts[0]} | {counts[1]} | {wall:.2f} | {cpu:.2f} | {1000 * wall / sum(counts):.1f} |")


if __name__ == "__main__":
    main()
