"""A free-standing surface mesh laid flat: the command `unroll`."""

from __future__ import annotations

from pathlib import Path

from strakewright.flats import FlatPanel
from strakewright.job.outputs import Stopwatch, Written
from strakewright.job.planked import Watch
from strakewright.read.mesh import read_mesh
from strakewright.shop.rulings import cover_of
from strakewright.shop.unrolling import flat_checks, unroll_surface
from strakewright.units import parse_length
from strakewright.write.dxf import DxfPen
from strakewright.write.flatdraw import draw_flats, flat_document
from strakewright.write.folder import fresh_folder, may_replace
from strakewright.write.records import Record, summary_document, times_document, write_json
from strakewright.write.svg import SvgPen


def _figures(panel: FlatPanel) -> Record:
    """Strain, and what may cover the panel."""
    cover = cover_of(panel.gauss)
    return {
        "strain_max": panel.strain_max,
        "strain_rms": panel.strain_rms,
        "covered_by": cover.words,
        "least_strain_of_strips": [{"width": width, "strain": strain} for width, strain in cover.floors],
        "widest_strip": [{"strain": strain, "width": width} for strain, width in cover.widest],
    }


def unroll_files(mesh: Path, out: Path, units: str, crease_deg: float, watch: Watch) -> Written:
    """Read a mesh in the units given, part it at its creases, lay every panel flat, write flat.json and flat.dxf."""
    may_replace(out)
    clock = Stopwatch(watch)
    read = read_mesh(mesh)
    clock("panels", 0.0, 0.0)
    scale = parse_length(1, units)
    unrolled = unroll_surface(read.vertices * scale, read.triangles, crease_deg)
    checks = flat_checks(unrolled.panels)
    findings = (*read.findings, *unrolled.findings)
    clock("writing", 0.0, 0.9)
    with fresh_folder(out) as folder:
        pen = DxfPen()
        draw_flats(pen, unrolled.panels)
        pen.write(folder / "flat.dxf")
        picture = SvgPen(weight=2.0)
        draw_flats(picture, unrolled.panels)
        picture.write(folder / "flat.svg", title=f"{mesh.name} laid flat")
        write_json(folder / "flat.json", flat_document(unrolled.panels))
        headline = {"surface": mesh.name, "panels": {p.name: _figures(p) for p in unrolled.panels}}
        record = summary_document(checks, findings, headline)
        write_json(folder / "summary.json", record)
        write_json(folder / "times.json", times_document(clock.stop()))
    return Written(checks, findings, record)
