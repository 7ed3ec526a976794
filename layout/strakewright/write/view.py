"""The boat to turn in a browser: one page that needs nothing but itself.

body      a plank, frame or member as a solid, with what is read when it is picked
flat      a plank's line to cut and its frame lines as they lie on the board, shown beside the boat when it is picked
picture   port side from abeam and from below, for browsers without WebGL and for printing

Places are packed as whole 65535ths of the hull's longest side (0.1 mm on a 6 m boat).  The page forbids itself
every outside request (W3C Content Security Policy).
"""

from __future__ import annotations

import base64
import json
from collections.abc import Iterable, Sequence
from html import escape
from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np
import shapely

from strakewright.arrays import Floats
from strakewright.geometry.outlines import clip_lines, thin_ring
from strakewright.parts import Part
from strakewright.solids import Body
from strakewright.write.palette import GROUP_COLOURS, VERDICT_COLOURS
from strakewright.write.pen import Role
from strakewright.write.svg import SvgPen

_KEYS = ("verdict", "piece", "panel", "layer", "course", "side", "board")
_COLUMNS = ("piece", "side", "panel", "layer", "course", "size", "bend", "twist", "verdict", "board")


def write_view(path: Path, bodies: Sequence[Body], title: str, parts: Iterable[Part] = ()) -> None:
    """view.html.  parts : flat outlines of what has one, by the same names as the bodies"""
    path.write_text(page(bodies, title, parts), encoding="utf-8", newline="\n")


def page(bodies: Sequence[Body], title: str, parts: Iterable[Part] = ()) -> str:
    """The whole page.  Raises ValueError for a body of more than 65535 points."""
    held = {
        "TITLE": escape(title),
        "COUNT": str(len(bodies)),
        "CSS": _asset("page.css"),
        "JS": _asset("page.js"),
        "PICTURE": _picture(bodies, title),
        "TABLE": _table(bodies),
        "DATA": _script_safe(json.dumps(_packed(bodies) | {"flats": _flats(parts)}, separators=(",", ":"))),
    }
    pieces = _asset("page.html").split("@")
    return "".join(held[piece] if n % 2 else piece for n, piece in enumerate(pieces))


def _asset(name: str) -> str:
    return (files("strakewright.write") / "page" / name).read_text(encoding="utf-8")


def _script_safe(text: str) -> str:
    return text.replace("<", "\\u003c")


def _packed(bodies: Sequence[Body]) -> dict[str, Any]:
    """Places as 16-bit steps, triangles numbered within their body."""
    every = np.concatenate([body.vertices for body in bodies]) if bodies else np.zeros((1, 3))
    low, high = every.min(axis=0), every.max(axis=0)
    step = max(float((high - low).max()), 1.0) / 65535
    records: list[dict[str, Any]] = []
    packed: tuple[list[bytes], list[bytes]] = ([], [])
    ahead = [0, 0]
    for body in bodies:
        if len(body.vertices) > 65535:
            raise ValueError(f"body {body.name!r} has {len(body.vertices)} points, at most 65535 can be shown")
        blocks = (np.round((body.vertices - low) / step), body.triangles.reshape(-1))
        counts = (len(body.vertices), len(blocks[1]))
        spans = {key: [at, n] for key, at, n in zip(("vertices", "triangles"), ahead, counts, strict=True)}
        records.append({"name": body.name, "info": dict(body.info)} | spans)
        ahead = [at + n for at, n in zip(ahead, counts, strict=True)]
        for gathered, block in zip(packed, blocks, strict=True):
            gathered.append(block.astype("<u2").tobytes())
    return {
        "bodies": records,
        "vertices": base64.b64encode(b"".join(packed[0])).decode(),
        "triangles": base64.b64encode(b"".join(packed[1])).decode(),
        "low": low.round(4).tolist(),
        "high": high.round(4).tolist(),
        "step": step,
        "keys": _KEYS,
        "colours": VERDICT_COLOURS,
        "groups": GROUP_COLOURS,
    }


def _flats(parts: Iterable[Part]) -> dict[str, Any]:
    """Outline and frame lines of each part, mm from its lower left corner, eased by 1 mm."""
    found: dict[str, Any] = {}
    for part in parts:
        low = part.outline.min(axis=0)
        marks = [
            [mark.name, (line - low).round(0).tolist()]
            for mark in part.marks
            if mark.kind == "frame" and len(mark.points) > 1
            for line in clip_lines(mark.points, part.outline)
        ]
        ring = thin_ring(part.outline, 1.0, 1e6) - low
        found[part.id] = {"ring": ring.round(0).tolist(), "marks": marks}
    return found


def _table(bodies: Sequence[Body]) -> str:
    head = "".join(f"<th scope='col'>{escape(key)}</th>" for key in ("plank", *_COLUMNS))
    rows = (
        "".join(f"<td>{escape(cell)}</td>" for cell in (body.name, *(body.info.get(key, "") for key in _COLUMNS)))
        for body in bodies
    )
    return f"<table><thead><tr>{head}</tr></thead><tbody>{''.join(f'<tr>{row}</tr>' for row in rows)}</tbody></table>"


def _picture(bodies: Sequence[Body], title: str) -> str:
    """Port side from abeam (bow to the left) and, under it, from below, every plank as its shadow."""
    port = [body for body in bodies if body.vertices[:, 1].mean() >= 0]
    long = float(np.ptp(np.concatenate([body.vertices[:, 0] for body in port]))) if port else 1000.0
    pen = SvgPen(weight=long / 900)
    abeam = [(_shadow(body, np.array([-1.0, 0, 0]), np.array([0, 0, 1.0]))) for body in port]
    below = [(_shadow(body, np.array([-1.0, 0, 0]), np.array([0, -1.0, 0]))) for body in port]
    drop = min((float(ring[:, 1].min()) for ring in abeam), default=0.0) - 0.04 * long
    for ring in abeam:
        pen.polyline(ring, closed=True, role=Role.LABEL)
    for ring in below:
        pen.polyline(ring + np.array([0.0, drop]), closed=True, role=Role.LABEL)
    return pen.markup(title=f"{title}, port side")


def _shadow(body: Body, right: Floats, up: Floats) -> Floats:
    """Outline of a body seen along the third axis, (n, 2) mm, eased by 3 mm."""
    flat = np.column_stack([body.vertices @ right, body.vertices @ up])
    a, b, c = (flat[body.triangles[:, k]] for k in range(3))
    facing = (b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0] > 0
    shapes = shapely.union_all(shapely.polygons(flat[body.triangles[facing]]), grid_size=0.5)
    largest = max(shapely.get_parts(shapes), key=lambda g: g.area, default=shapely.Polygon(flat[:3]))
    ring: Floats = shapely.get_coordinates(largest.exterior.simplify(3.0))[:-1].round(0)
    return ring
