"""Figures of a layer of strakes for summary.json: widths at the frames, joints, the shutter, other ways to line off."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

import numpy as np

from strakewright.job.planked import Frames, Layer
from strakewright.parts import Margin, Plank
from strakewright.write.book import bare
from strakewright.write.bookplanks import by_course, in_order
from strakewright.write.girths import crossings

Record = dict[str, Any]


def strake_figures(layer: Layer, frames: Frames, allowed: float | None = None) -> Record:
    """Empty for other patterns.  Lengths mm;  widths: along the frame, and square across the strake.

    allowed : mm, the widest plank that its wood lets move freely, None where that is not known"""
    if layer.settings.pattern != "strakes" or not layer.planks:
        return {}
    port = [p for p in layer.planks if p.on_port]
    unlike = [p for p in layer.planks if p.stands_for and not p.on_port]
    rows = by_course(crossings(port))
    found: Record = {
        "widths": {frame: {str(c): _pair(w) for c, w in sorted(row.items())} for frame, row in rows.items()},
        "width_sums": {frame: sum(w[0] for w in row.values()) for frame, row in rows.items()},
        "sny_max": max(float(p.extra["sny"]) for p in port),  # type: ignore[arg-type]
        "joint_rule": {"asked": layer.hung.joined.asked.words(), "kept": layer.hung.joined.kept.words()},
        "joints": joints(port, frames),
        **({"starboard_joints": joints(unlike, frames)} if unlike else {}),
        "stealers": stealers(port),
        "shutter": _shutter(layer, [*port, *unlike], rows),
        "lining_modes": [asdict(mode) for mode in layer.modes],
        "widest_plank": _widest(layer, port, allowed),
    }
    return found | ({"edge_set": _edge_set(port)} if layer.settings.cut == "straight" else {})


def _widest(layer: Layer, port: list[Plank], allowed: float | None) -> Record:
    """The widest plank beside what its wood allows; glued seams move with the whole panel, dry ones each by itself."""
    widest = max(port, key=_width)
    return {
        "plank": widest.id,
        "width": _width(widest),
        "species": widest.species,
        "allowed": allowed,
        "seams": "dry" if layer.settings.glue_line == 0.0 else "glued",
    }


def _width(plank: Plank) -> float:
    return float(plank.extra["width_max"])  # type: ignore[arg-type]


def _pair(width: tuple[float, float]) -> Record:
    return {"width_on_frame": width[0], "width_square": width[1]}


def forward_joint(plank: Plank) -> Margin | None:
    """The joint at the forward end of a piece, None where it has none."""
    cuts = [e for e in plank.ends if e.meets in ("scarf", "butt")]
    ahead = [
        e for e in cuts if e.seam[:, 0].mean() > (plank.first.seam[:, 0].mean() + plank.second.seam[:, 0].mean()) / 2
    ]
    return ahead[0] if ahead else None


def joints(port: list[Plank], frames: Frames) -> list[Record]:
    """Every joint: its course, x, the bay it stands in, how it is cut."""
    at = np.array([x for _, x in frames])
    names = ["transom", *(name for name, _ in frames), "stem"]
    found = []
    for plank in in_order(port):
        joint = forward_joint(plank)
        if joint is None:
            continue
        x = float(joint.seam[:, 0].mean())
        bay = int(np.searchsorted(at, x))
        row: Record = {
            "course": plank.course,
            "x": x,
            "bay": f"{names[bay]} to {names[bay + 1]}",
            "kind": joint.meets,
            "aft": plank.id,
            "forward": joint.neighbour,
        }
        if joint.meets == "scarf":
            row |= {
                "length": plank.thickness * abs(float(np.tan(joint.bevel[0]))),
                "feather": "points aft on the outside",
            }
        found.append(row)
    return found


def stealers(port: list[Plank]) -> list[Record]:
    """Every dropped strake: the frame its nib stands over, the nib's width, the plank it is let into."""
    return [
        {"plank": plank.id, "frame": told["frame"], "width": told["width"], "into": _into(plank, told["course"], port)}
        for plank in in_order(port)
        for told in plank.extra.get("nibs", ())  # type: ignore[attr-defined]
    ]


def _into(plank: Plank, course: int, port: list[Plank]) -> str | None:
    beside = {p.id for p in port if p.course == course}
    return next((e.neighbour for e in plank.ends if e.meets == "seam" and e.neighbour in beside), None)


def lining_rows(layer: Layer, allowed: float | None) -> tuple[tuple[str, ...], ...]:
    """The book's table of ways to line off: lining, courses, sny mean and most, board, widest, what the wood allows,
    narrowest end, change of the sheer strake."""
    rows: list[tuple[str, ...]] = []
    for at, mode in enumerate(layer.modes):
        name, count = f"{mode.lining}{' (taken)' if at == 0 else ''}", str(mode.courses)
        if mode.why_not:
            rows.append((name, count, *["–"] * 6, "not possible"))
            continue
        figures = (
            mode.sny_mean,
            mode.sny_max,
            mode.board_max,
            mode.width_max,
            allowed,
            mode.end_min,
            mode.sheer_change,
        )
        rows.append((name, count, *("–" if f is None else bare(f) for f in figures)))
    return tuple(rows)


def _shutter(layer: Layer, port: list[Plank], rows: dict[str, dict[int, tuple[float, float]]]) -> Record | None:
    """What the gap of the last course should be at every frame, and how much wider its blank is left."""
    last = max(p.course for p in port)
    if last < 2:
        return None
    return {
        "planks": [p.id for p in in_order(port) if p.course == last],
        "spare": layer.settings.spare_shutter,
        "gaps": {frame: _pair(row[last]) for frame, row in rows.items() if last in row},
    }


def _edge_set(port: list[Plank]) -> Record:
    worst = max(port, key=lambda p: float(p.extra["edge_set_3m"]))  # type: ignore[arg-type]
    return {
        "worst": worst.id,
        "sag": worst.fit.edge_set,
        "sag_3m": worst.extra["edge_set_3m"],
        "force_n": max(float(p.extra["edge_force_n"]) for p in port),  # type: ignore[arg-type]
    }
