"""Pictures in the book: the body plan; where each panel bends, twists and resists laying flat."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np

from strakewright.geometry.outlines import signed_area
from strakewright.write.book import FIGURE, PICTURE, Facts, LayerFacts, Picture, Section, Words
from strakewright.write.panelmaps import USUAL, PanelMap, body_sections, draw_body_plan, draw_map, map_height, maps_of
from strakewright.write.pen import Role
from strakewright.write.settables import wrapped
from strakewright.write.svg import SvgPen

_PLAN = 128.0  # mm: height of the body plan
_WIDE = PICTURE - 2.0


def pictures(facts: Facts) -> Section | None:
    """All pictures; None where the hull's panels are not at hand."""
    drawn = tuple(named_pictures(facts))
    if not drawn:
        return None
    told = Words(
        "Panels laid flat, bow to the right. A stroke: above what bends easily; crossed: above what is firm. Limits of"
        " BEND and TWIST are those of the planks' wood, as the section 'Limits of bending' gives them with their"
        " sources (half of t / R; shear); limits of STRAIN are common practice, no source."
    )
    return Section("Body plan and bending maps", (drawn[0], told, *drawn[1:]), bench=True)


def named_pictures(facts: Facts) -> Iterator[Picture]:
    """Pictures with files of their own: the body plan first, then three maps a panel."""
    rows = body_sections(facts.panels, facts.frames)
    if len(rows) > 1:
        told = "BODY PLAN at the frames: after half at the left, forward half at the right; dash and dot: centreline."
        yield Picture(PICTURE, _PLAN, lambda pen: draw_body_plan(pen, rows, _WIDE, _PLAN), told, "body-plan")
    seen: set[str] = set()
    for layer in facts.layers:
        panel = next((p for p in facts.panels if p.name == layer.settings.panel), None)
        if panel is None or panel.name in seen:
            continue
        seen.add(panel.name)
        limits = facts.map_limits.get(layer.settings.species, USUAL)
        for drawn in maps_of(panel, layer.settings, plank_width(layer), facts.frames, _WIDE, limits):
            yield _picture(drawn)


def write_picture(folder: Path, picture: Picture, boat: str) -> None:
    """NAME.svg in `folder`: the picture with what it shows written below it, so that it can be read by itself."""
    told = f"{boat}. {picture.caption}"
    pen = SvgPen(weight=0.5)
    picture.draw(pen)
    for n, line in enumerate(wrapped(told, FIGURE, picture.width)):
        at = np.array([0.0, -2.0 * FIGURE * (n + 1)])
        pen.text(at, line, height=FIGURE, turn=0, anchor="left", role=Role.LABEL)
    pen.write(folder / f"{picture.name}.svg", title=told)


def _picture(drawn: PanelMap) -> Picture:
    name = f"{drawn.panel}-{drawn.figure}"
    return Picture(PICTURE, map_height(drawn, _WIDE), lambda pen: draw_map(pen, drawn, _WIDE), drawn.caption(), name)


def plank_width(layer: LayerFacts) -> float:
    """mm: width of the planks of a layer, mean of the widest one along its length."""
    if layer.settings.width:
        return layer.settings.width
    means = (abs(signed_area(p.net_outline)) / float(np.ptp(p.net_outline[:, 0])) for p in layer.port)
    return max(means, default=0.0)
