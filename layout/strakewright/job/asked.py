"""What `check` says it understood: everything read and the panels found, nothing worked out or written."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from strakewright.errors import Finding
from strakewright.hull import Hull
from strakewright.job.building import frames_of, status_of
from strakewright.job.inputs import Inputs, hull_of, load
from strakewright.job.planked import Frames
from strakewright.settings import PlankingSettings
from strakewright.tables import care_of
from strakewright.units import print_mm, print_tape
from strakewright.write.offsetrecords import echo_lines, in_eighths


@dataclass(frozen=True, eq=False)
class CheckReport:
    """The boat as understood, and every finding of reading it."""

    inputs: Inputs
    hull: Hull
    frames: Frames

    @property
    def findings(self) -> tuple[Finding, ...]:
        return (*self.inputs.findings, *self.hull.findings)

    @property
    def status(self) -> int:
        return status_of((), self.findings)

    def lines(self) -> list[str]:
        """For people: one line a fact, in both notations."""
        hull, boat = self.hull, self.inputs.boat
        figures = hull.figures
        source = "the mesh" if hull.lines is None else "the lofted lines"
        return [
            f"{boat.name}: {show(hull.length)} long, half breadth {show(float(figures['half_breadth']))}, "
            f"lines to {hull.surface} of planking",
            f"Panels from the keel up: {', '.join(p.name for p in hull.panels)}; "
            f"worst distance from {source} {float(figures['residual']):.3f} mm",
            f"Frames: {', '.join(f'{name} at x {show(x)}' for name, x in self.frames)}",
            *(_planking_line(p) for p in boat.planking),
            *(_wood_line(name) for name in dict.fromkeys(p.species for p in boat.planking)),
            self._stock_line(),
        ]

    def table(self) -> list[str]:
        """The table of offsets cell by cell, with what fairing does to each; or that there is none."""
        plan = self.hull.lines
        if plan is None:
            return ["The hull comes from a mesh: there is no table of offsets"]
        moves = [m for m in plan.moves if abs(m.by) >= 0.05]
        told = [f"  {m.row}, station {m.station}: {m.by:+.1f} mm to {in_eighths(m.faired)}" for m in moves]
        return [*echo_lines(plan.table), f"Fairing moves {len(moves)} of {len(plan.moves)} cells:", *told]

    def _stock_line(self) -> str:
        boards = self.inputs.boards
        sizes = np.array([np.ptp(b.outline, axis=0) for b in boards]).reshape(-1, 2)
        if not len(sizes):
            return "Stock: no boards"
        area = sum(s[0] * s[1] for s in sizes) / 1e6
        return (
            f"Stock: {len(boards)} boards, {area:.1f} m2 of usable wood, longest {show(sizes[:, 0].max())}, "
            f"widest {show(sizes[:, 1].max())}"
        )

    def summary(self) -> dict[str, Any]:
        """The same for machines."""
        return {
            "boat": self.inputs.boat.name,
            "hull": self.hull.figures,
            "frames": dict(self.frames),
            "panels": [p.name for p in self.hull.panels],
            "boards": len(self.inputs.boards),
            "findings": [vars(f) for f in self.findings],
        }


def show(mm: float) -> str:
    """A length in mm and as a tape shows it."""
    return f"{print_mm(mm)} ({print_tape(mm)})"


def _wood_line(name: str) -> str:
    """What to mind of a wood that is picked."""
    care = care_of(name)
    return f"Wood: {name}: durability {care.durability} of 5 (1 lasts, 5 rots fast; from memory); {care.care}"


def _planking_line(p: PlankingSettings) -> str:
    if p.pattern == "herringbone":
        how = f"{p.layers} x {show(p.thickness)} herringbone at {p.angle_deg:g} degrees, {show(p.width or 0.0)} wide"
    else:
        count = f"{p.courses} courses" if p.courses else f"courses up to {show(p.max_width or 0.0)} wide"
        how = f"{count} of {show(p.thickness)} strakes, {p.lining}, from the {p.start or 'sheer'}"
    return f"Planking of the {p.panel}: {how}, {p.species}"


def check(boat: Path) -> CheckReport:
    """Read a boat file with all it names and find its panels.  Raises InputError, UnworkableError."""
    inputs = load(boat)
    hull = hull_of(inputs)
    return CheckReport(inputs, hull, frames_of(inputs.boat.frames, hull, inputs.boat.hull.measure_from))
