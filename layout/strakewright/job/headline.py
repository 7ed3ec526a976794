"""Headline figures of a build: what stands in summary.json and lining.json."""

from __future__ import annotations

from collections import Counter
from typing import Any

import numpy as np

from strakewright.geometry.sections import area, chart_strain
from strakewright.hull import Panel
from strakewright.job.building import Build
from strakewright.job.chines import chine_figures
from strakewright.job.clearances import centre_joint, screw_figures
from strakewright.job.framing import framing_figures
from strakewright.job.planked import Layer
from strakewright.job.strakes import forward_joint, strake_figures
from strakewright.job.telling import cost_of
from strakewright.lumber import OPENED, Board
from strakewright.measure import board_feet, bought
from strakewright.members import Member
from strakewright.offsets import LinesPlan
from strakewright.parts import Part
from strakewright.plan import Plan
from strakewright.shop.angles import crossing_angles, keel_angles
from strakewright.shop.keelflat import ridges
from strakewright.shop.rabbets import rabbet_records, rabbets
from strakewright.write.reckonrecords import reckoned_figures


def headline(done: Build, rev: str) -> dict[str, Any]:
    """hull, planking and stock as figures for a first look."""
    return {
        "boat": done.inputs.boat.name,
        "revision": rev,
        "hull": dict(done.hull.figures) | {"surface": done.hull.surface, "frames": dict(done.frames)},
        **({"offsets": _offset_figures(done.hull.lines)} if done.hull.lines else {}),
        "panels": [_panel_figures(p) for p in done.hull.panels],
        "planking": [
            _layer_figures(layer)
            | strake_figures(layer, done.frames, done.widest_of(layer))
            | _angles(layer, done.layers)
            | screw_figures(layer, done.layers)
            | centre_joint(layer, done.frames)
            for layer in done.layers
        ],
        "chines": chine_figures(done),
        "framing": framing_figures(done.framing, done.inputs.boat),
        "members": [member_figures(m) for m in done.backbone.members],
        **(reckoned_figures(done.reckoned) if done.reckoned is not None else {}),
        "rabbets": rabbet_records(rabbets(done.hull, done.inputs.boat.planking, done.inputs.boat.backbone)),
        "keel_flat": [
            {
                "frame": r.frame,
                "x": r.x,
                "deadrise_deg": float(np.degrees(r.deadrise)),
                "flat": r.flat,
                "taken": r.taken,
                "left": r.left,
                "outer_layer_cut_through": r.through,
            }
            for r in ridges(done.hull, done.inputs.boat.planking, done.inputs.boat.backbone, done.frames)
        ],
        "stock": stock_figures(done.parts, done.inputs.boards, done.plan),
    }


def member_figures(m: Member) -> dict[str, Any]:
    """One member: plies, how hard they are bent, how long the glue-up takes."""
    return {
        "name": m.name,
        "along": m.along,
        "length": float(m.swept.run[-1]),
        "plies": len(m.plies),
        "ply_thickness": m.plies[0].thickness,
        "radius_min": m.bend.flat,
        "thickness_over_radius": m.bend.ratio,
        "edge_strain": m.bend.edge_strain,
        "clamps": len(m.clamping.positions) if m.clamping else 0,
        "glue_ups": len(m.clamping.batches) if m.clamping else 0,
        "glue_g": sum(m.clamping.face_g) if m.clamping else 0.0,
    }


def _offset_figures(plan: LinesPlan) -> dict[str, Any]:
    """What became of the table: how much was corrected, suspected and moved."""
    worst = max(plan.moves, key=lambda m: abs(m.by), default=None)
    return {
        "table": plan.table.source,
        "cells": sum(1 for _ in plan.table.cells()),
        "corrected": len(plan.corrections),
        "suspects": len(plan.suspects),
        "moves_over_tolerance": sum(abs(m.by) > plan.tolerance for m in plan.moves),
        "largest_move": abs(worst.by) if worst else 0.0,
        "largest_move_at": f"{worst.row}, station {worst.station}" if worst else None,
        "tolerance": plan.tolerance,
    }


def _panel_figures(panel: Panel) -> dict[str, Any]:
    """A panel as described: its size, how far the mesh lies off it, and the strain of laying it flat whole."""
    ring = np.concatenate([points[:-1] for _, points in panel.ring()])
    worst, rms = chart_strain(panel.patch, ring)
    return {
        "name": panel.name,
        "area": area(panel.patch, ring),
        "residual": panel.residual,
        "flats_apart": panel.flats_apart,
        "flat_strain_max": worst,
        "flat_strain_rms": rms,
    }


def _layer_figures(layer: Layer) -> dict[str, Any]:
    port = [p for p in layer.planks if p.on_port]
    lengths = [float(np.ptp(p.outline[:, 0])) for p in port]
    return {
        "panel": layer.settings.panel,
        "layer": layer.lined.skin.layer,
        "pattern": layer.settings.pattern,
        "thickness": layer.settings.thickness,
        "planks": len(layer.planks),
        "pieces_joined": sum(any(e.meets in ("scarf", "butt") for e in p.ends) for p in layer.planks),
        "longest": max(lengths, default=0.0),
        "screws": int(sum(len(m.points) for p in layer.planks for m in p.marks if m.kind == "screw")),
        "verdicts": dict(sorted(Counter(p.fit.verdict for p in layer.planks).items())),
        "area": layer.truth.area,
        "girths": layer.truth.girths,
        **layer.lined.figures,
    }


def _angles(layer: Layer, layers: tuple[Layer, ...]) -> dict[str, float]:
    """Angle of diagonals to the keel, and of any layer to the next, degrees."""
    keel = keel_angles(layer.lined)[:, 1] if layer.settings.pattern == "herringbone" else np.zeros(0)
    found = {"keel_angle_min_deg": keel.min(), "keel_angle_max_deg": keel.max()} if len(keel) else {}
    for other in layers:
        if other.settings.panel == layer.settings.panel and other.lined.skin.layer == layer.lined.skin.layer + 1:
            cross = crossing_angles(layer.lined, other.lined)[:, 1]
            if len(cross):
                found |= {"crossing_min_deg": cross.min(), "crossing_max_deg": cross.max()}
    return {name: float(value) for name, value in found.items()}


def stock_figures(parts: tuple[Part, ...], boards: tuple[Board, ...], plan: Plan) -> dict[str, Any]:
    """What is used of what lies there; board feet: usable length and width at rough thickness, end trim not in, but
    those bought and tallied are of the boards used with their ends, less boards cut into before."""
    used = {p.board for p in plan.placements}
    return {
        "parts": len(parts),
        "parts_placed": len(plan.placements),
        "boards": len(boards),
        "boards_used": plan.boards_used,
        "board_feet_used": sum(board_feet(b) for b in boards if b.id in used),
        "board_feet_there": sum(board_feet(b) for b in boards),
        **bought(b for b in boards if b.id in used and b.state not in OPENED),
        "gross_m2": plan.gross_m2,
        "net_m2": plan.net_m2,
        "gross_yield": plan.gross_yield,
        "net_yield": plan.net_yield,
        "bound": plan.bound,
        "gap": plan.gap,
        "cost": cost_of(boards, plan),
    }


def lining_record(done: Build) -> dict[str, Any]:
    """The choice of seams and joints, panel by panel."""
    rows = []
    for layer in done.layers:
        s = layer.settings
        joints: tuple[dict[str, list[float]], dict[str, list[float]]] = ({}, {})
        for plank in layer.planks:
            joint = forward_joint(plank)
            if plank.stands_for and joint is not None:
                mine = joints[not plank.on_port].setdefault(str(plank.course), [])
                mine.append(float(joint.seam[:, 0].mean()))
        rows.append(
            {
                "panel": s.panel,
                "layer": layer.lined.skin.layer,
                "pattern": s.pattern,
                "lining": s.lining,
                "start": s.start,
                "courses": len(layer.lined.courses),
                "width": layer.lined.nominal or None,
                "joints_at_x": joints[0],
                **({"starboard_joints_at_x": joints[1]} if joints[1] else {}),
                "seams": _seams(layer),
            }
        )
    return {"layers": rows}


def _seams(layer: Layer) -> list[dict[str, Any]]:
    found: dict[int, list[np.ndarray[Any, Any]]] = {}
    for plank in layer.planks:
        if plank.on_port and plank.second.meets == "seam":
            found.setdefault(plank.course, []).append(plank.second.seam)
    return [{"after_course": course, "points": np.concatenate(rows)} for course, rows in sorted(found.items())]
