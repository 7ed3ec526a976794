"""The folder that a build becomes."""

from __future__ import annotations

import hashlib
import time
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from strakewright.errors import Check, Finding
from strakewright.geometry.sections import area, chart_strain
from strakewright.hull import Panel
from strakewright.job.beside import beside
from strakewright.job.building import Build, BuildOptions, Layer, Watch, build, status_of
from strakewright.job.inputs import load
from strakewright.job.papers import patterns_proved, write_book
from strakewright.lumber import Board
from strakewright.parts import Part
from strakewright.plan import Plan
from strakewright.proof.readback import compare, read_sheet, taped
from strakewright.shop.angles import crossing_angles, keel_angles
from strakewright.write.bodies import bodies_of
from strakewright.write.bookwood import board_feet
from strakewright.write.folder import fresh_folder, may_replace
from strakewright.write.glb import write_glb
from strakewright.write.labels import Label, labels_of
from strakewright.write.overview import write_overview
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
from strakewright.write.sheets import Sheet, Title, sheets_of, tape_checks, write_sheets
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
    stem = Title(done.inputs.boat.name, revision(done))
    sheets = sheets_of(done.plan, done.parts, done.inputs.boards)
    with beside(lambda: _beside_the_sheets(done, folder, sheets, stem.revision)) as papers:
        checks, findings = _sheets_proved(done, folder, sheets, stem)
    on_paper, faults = papers.value or ((), ())
    checks, findings = (*done.checks, *checks, *on_paper), (*done.findings, *findings, *faults)
    write_book(done, folder, sheets, stem.revision, checks)
    record = summary_document(checks, findings, headline(done, stem.revision))
    write_json(folder / "summary.json", record)
    return Written(checks, findings, record, done.plan.interrupted)


def _beside_the_sheets(
    done: Build, folder: Path, sheets: tuple[Sheet, ...], rev: str
) -> tuple[tuple[Check, ...], tuple[Finding, ...]]:
    """Records, pictures and patterns; returns what reading the patterns back has shown."""
    write_json(folder / "planks.json", planks_document(done.planks))
    write_json(folder / "parts.json", parts_document(done.parts, done.rules))
    write_json(folder / "boards.json", boards_document(done.inputs.boards))
    write_json(folder / "nest.json", plan_document(done.plan))
    write_json(folder / "panels.json", panels_document(done.hull))
    write_json(folder / "lining.json", lining_document(lining_record(done)))
    boat = done.inputs.boat.name
    bodies = bodies_of(done.planks, {p.part: p.board for p in done.plan.placements})
    write_view(folder / "view.html", bodies, boat)
    write_glb(folder / "hull.glb", bodies, boat)
    write_overview(folder / "boards.svg", sheets, boat)
    return patterns_proved(done, folder, rev)


def _sheets_proved(
    done: Build, folder: Path, sheets: tuple[Sheet, ...], title: Title
) -> tuple[tuple[Check, ...], tuple[Finding, ...]]:
    (folder / "sheets").mkdir()
    files = write_sheets(folder / "sheets", sheets, title, done.rules, _labels(done))
    by_key = {(s.board.id, s.leaf): files[s.name] for s in sheets}
    lines = {key: read_sheet(path) for key, path in by_key.items()}
    checks, findings = compare(lines, done.parts, done.plan)
    tapes = [
        taped(s.name, lines[s.board.id, s.leaf], [(t.name, t.start, t.end, t.distance) for t in tape_checks(s)])
        for s in sheets
    ]
    return (*checks, *(c for row in tapes for c in row)), findings


def _labels(done: Build) -> dict[str, Label]:
    verdict = {p.id: p.fit.verdict for p in done.planks}
    return {
        name: replace(label, words=f"{label.words} {verdict[name]}") for name, label in labels_of(done.planks).items()
    }


def revision(done: Build) -> str:
    """Eight letters that change when any input changes: the same on every paper of one build."""
    digest = hashlib.sha256(done.inputs.boat.path.read_bytes())
    digest.update(np.ascontiguousarray(done.inputs.mesh.vertices).tobytes())
    for board in done.inputs.boards:
        digest.update(f"{board.id} {board.thickness} {board.species}".encode())
        digest.update(np.ascontiguousarray(board.outline).tobytes())
    return digest.hexdigest()[:8]


# -- headline figures --------------------------------------------------------------------------------


def headline(done: Build, rev: str) -> dict[str, Any]:
    """hull, planking and stock as figures for a first look."""
    return {
        "boat": done.inputs.boat.name,
        "revision": rev,
        "hull": dict(done.hull.figures) | {"surface": done.hull.surface, "frames": dict(done.frames)},
        "panels": [_panel_figures(p) for p in done.hull.panels],
        "planking": [_layer_figures(layer) | _angles(layer, done.layers) for layer in done.layers],
        "stock": stock_figures(done.parts, done.inputs.boards, done.plan),
    }


def _panel_figures(panel: Panel) -> dict[str, Any]:
    """A panel as described: its size, how far the mesh lies off it, and the strain of laying it flat whole."""
    ring = np.concatenate([points[:-1] for _, points in panel.ring()])
    worst, rms = chart_strain(panel.patch, ring)
    return {
        "name": panel.name,
        "area": area(panel.patch, ring),
        "residual": panel.residual,
        "flat_strain_max": worst,
        "flat_strain_rms": rms,
    }


def _layer_figures(layer: Layer) -> dict[str, Any]:
    port = [p for p in layer.planks if p.side == "port"]
    lengths = [float(np.ptp(p.outline[:, 0])) for p in port]
    return {
        "panel": layer.settings.panel,
        "layer": layer.lined.skin.layer,
        "pattern": layer.settings.pattern,
        "thickness": layer.settings.thickness,
        "planks": len(layer.planks),
        "pieces_joined": sum(any(e.meets == "scarf" for e in p.ends) for p in layer.planks),
        "longest": max(lengths, default=0.0),
        "verdicts": dict(sorted(Counter(p.fit.verdict for p in layer.planks).items())),
        "area": layer.truth.area,
        "girths": layer.truth.girths,
        **layer.lined.figures,
    }


def _angles(layer: Layer, layers: tuple[Layer, ...]) -> dict[str, float]:
    """Angle of diagonals to the keel and between layers, degrees; empty for strakes."""
    if layer.settings.pattern != "herringbone":
        return {}
    keel = keel_angles(layer.lined)[:, 1]
    found = {"keel_angle_min_deg": keel.min(), "keel_angle_max_deg": keel.max()} if len(keel) else {}
    for other in layers:
        if other.settings.panel == layer.settings.panel and other.lined.skin.layer == layer.lined.skin.layer + 1:
            cross = crossing_angles(layer.lined, other.lined)[:, 1]
            if len(cross):
                found |= {"crossing_min_deg": cross.min(), "crossing_max_deg": cross.max()}
    return {name: float(value) for name, value in found.items()}


def stock_figures(parts: tuple[Part, ...], boards: tuple[Board, ...], plan: Plan) -> dict[str, Any]:
    """What is used of what lies there; board feet: usable length and width at rough thickness, end trim not in."""
    used = {p.board for p in plan.placements}
    return {
        "parts": len(parts),
        "parts_placed": len(plan.placements),
        "boards": len(boards),
        "boards_used": plan.boards_used,
        "board_feet_used": sum(board_feet(b) for b in boards if b.id in used),
        "board_feet_there": sum(board_feet(b) for b in boards),
        "gross_m2": plan.gross_m2,
        "net_m2": plan.net_m2,
        "gross_yield": plan.gross_yield,
        "net_yield": plan.net_yield,
        "bound": plan.bound,
        "gap": plan.gap,
    }


def lining_record(done: Build) -> dict[str, Any]:
    """The choice of seams and joints, panel by panel."""
    rows = []
    for layer in done.layers:
        s = layer.settings
        joints: dict[str, list[float]] = {}
        for plank in layer.planks:
            cuts = [float(e.seam[:, 0].mean()) for e in plank.ends if e.meets == "scarf" and e.bevel[0] < 0]
            if plank.side == "port" and cuts:
                joints.setdefault(str(plank.course), []).extend(cuts)
        rows.append(
            {
                "panel": s.panel,
                "layer": layer.lined.skin.layer,
                "pattern": s.pattern,
                "lining": s.lining,
                "start": s.start,
                "courses": len(layer.lined.courses),
                "width": layer.lined.nominal or None,
                "joints_at_x": joints,
                "seams": _seams(layer),
            }
        )
    return {"layers": rows}


def _seams(layer: Layer) -> list[dict[str, Any]]:
    found: dict[int, list[np.ndarray[Any, Any]]] = {}
    for plank in layer.planks:
        if plank.side == "port" and plank.second.meets == "seam":
            found.setdefault(plank.course, []).append(plank.second.seam)
    return [{"after_course": course, "points": np.concatenate(rows)} for course, rows in sorted(found.items())]
