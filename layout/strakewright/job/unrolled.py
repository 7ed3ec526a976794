"""A free-standing surface mesh laid flat: the command `unroll`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from strakewright.errors import Finding, InputError
from strakewright.flats import FlatPanel
from strakewright.job.outputs import Stopwatch, Written
from strakewright.job.planked import Watch
from strakewright.read.mesh import read_mesh
from strakewright.shop.unrolling import Groups, flat_checks, unroll_surface
from strakewright.triangles import TriangleMesh
from strakewright.units import parse_length
from strakewright.write.dxf import DxfPen
from strakewright.write.flatdraw import cover_record, draw_flats, flat_document
from strakewright.write.folder import fresh_folder, may_replace
from strakewright.write.png import PngPen
from strakewright.write.records import Record, summary_document, times_document, write_json
from strakewright.write.strainmap import draw_strain
from strakewright.write.svg import SvgPen


def _figures(panel: FlatPanel) -> Record:
    """Strain, and what may cover the panel."""
    return {"strain_max": panel.strain_max, "strain_rms": panel.strain_rms, **cover_record(panel.cover)}


@dataclass(frozen=True)
class UnrollOptions:
    """units : of the mesh file;  crease_deg : sharper folds part the surface;  by_groups : each group of the file is
    one panel, whatever its folds"""

    units: str = "mm"
    crease_deg: float = 15.0
    by_groups: bool = False


def _groups(read: TriangleMesh, asked: bool) -> tuple[Groups | None, tuple[Finding, ...]]:
    """The groups to part by, or a word about groups that nobody asked for."""
    if not asked:
        what = f"the file has the groups {', '.join(read.groups[:8])}{' ...' if len(read.groups) > 8 else ''}"
        fix = "With --by-groups each is one panel; without, the surface parts at its creases"
        return None, (Finding("groups-at-hand", "note", "mesh", what, fix),) if len(read.groups) > 1 else ()
    if len(read.groups) < 2 or read.group is None:
        there = f"one group, {read.groups[0]!r}" if read.groups else "no groups"
        fix = "Leave --by-groups out: the surface then parts at its creases"
        raise InputError(f"the file has {there} to part by", where=read.source, fix=fix)
    return Groups(read.groups, read.group), ()


def unroll_files(mesh: Path, out: Path, options: UnrollOptions, watch: Watch) -> Written:
    """Read a mesh, part it, lay every panel flat, and write numbers, drawings and strain pictures."""
    may_replace(out)
    clock = Stopwatch(watch)
    read = read_mesh(mesh)
    clock("panels", 0.0, 0.0)
    groups, told = _groups(read, options.by_groups)
    unrolled = unroll_surface(
        read.vertices * parse_length(1, options.units), read.triangles, options.crease_deg, groups
    )
    checks = flat_checks(unrolled.panels)
    findings = (*read.findings, *told, *unrolled.findings)
    clock("writing", 0.0, 0.9)
    with fresh_folder(out) as folder:
        pen = DxfPen()
        draw_flats(pen, unrolled.panels)
        pen.write(folder / "flat.dxf")
        picture = SvgPen(weight=_longest(unrolled.panels) / 900)
        draw_flats(picture, unrolled.panels)
        picture.write(folder / "flat.svg", title=f"{mesh.name} laid flat")
        _strain_pictures(folder, unrolled.panels, f"{mesh.name}: strain of laying it flat")
        write_json(folder / "flat.json", flat_document(unrolled.panels))
        headline = {"surface": mesh.name, "panels": {p.name: _figures(p) for p in unrolled.panels}}
        record = summary_document(checks, findings, headline)
        write_json(folder / "summary.json", record)
        write_json(folder / "times.json", times_document(clock.stop()))
    return Written(checks, findings, record)


def _longest(panels: Sequence[FlatPanel]) -> float:
    return max(float(np.ptp(panel.flat[:, 0])) for panel in panels)


def _strain_pictures(folder: Path, panels: Sequence[FlatPanel], title: str) -> None:
    """strain.png and strain.svg, the same drawing."""
    grey, line = PngPen(), SvgPen(weight=_longest(panels) / 600)
    draw_strain(grey, panels)
    for stroke in grey.strokes:
        stroke.draw(line)
    grey.write(folder / "strain.png")
    line.write(folder / "strain.svg", title=title)
