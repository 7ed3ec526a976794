"""weights.json, hydrostatics.json and shopping.csv: what she weighs, how she lies, what to buy, as plain records.

Units of every figure stand in its name: _kg, _mm, _m2, _deg; lengths without a suffix are mm.
"""

from __future__ import annotations

import csv
import io
import math
from pathlib import Path
from typing import Any

from strakewright.floating import Afloat, Hydrostatics, RightingCurve, WaterMark
from strakewright.ledger import Reckoned, bare_shell, centre_of_gravity, groups, total
from strakewright.write.records import Record, document

CAUTION_WATER = (
    "Upright figures and righting arms are geometry with the weights entered: information, not a stability assessment."
    " An open boat fills where the curve ends; people move, loads shift, waves come. Have stability looked at by"
    " licensed practice and keep to local rules."
)
CAUTION_RULES = (
    "An estimate by 33 CFR 183 that replaces none of its tests. Own-build boats and other countries have their own"
    " rules (in Europe Directive 2013/53/EU with ISO 12217-3 and ISO 12215-5, none of them checked here): they rule."
)
CAUTION_WEIGHTS = (
    "Wood varies by a tenth and more in weight; paint, hardware and water in the wood come on top. Weigh what you can."
    " Lifting: slings and helpers for the whole weight with plenty in hand, nobody under the hull."
)


def weights_document(found: Reckoned) -> Record:
    """weights.json"""
    centre = centre_of_gravity(found.weights)
    rows = [
        {"name": w.name, "group": w.group, "mass_kg": w.mass, "centre": w.centre, "basis": w.basis, "wood": w.wood}
        for w in found.weights
    ]
    stores = found.stores
    return document(
        "weights",
        {
            "caution": CAUTION_WEIGHTS,
            "total_kg": total(found.weights),
            "centre": centre,
            "not_weighed": found.missing,
            "bare_shell_kg": total(bare_shell(found.weights)),
            "lifting_x": found.lifting,
            "groups": [{"group": g.name, "mass_kg": g.mass, "centre": g.centre} for g in groups(found.weights)],
            "weights": rows,
            "woods": [{"wood": name, "care": words} for name, words in found.woods],
            "moisture": found.moistures,
            "movement": [vars_of(m) for m in found.movements],
            "panels_movement": [vars_of(p) for p in found.panels],
            "widest_allowed": found.widest,
            "joints_m2": vars_of(stores.joints),
            "glue": vars_of(stores.glue),
            "screws": vars_of(stores.screws),
            "screw": [vars_of(s) for s in stores.screw],
            "sheathing": None if stores.sheathed is None else vars_of(stores.sheathed),
            "shopping": [vars_of(p) | {"cost": p.cost} for p in found.purchases],
        },
    )


def hydrostatics_document(found: Reckoned) -> Record:
    """hydrostatics.json"""
    water = found.afloat
    return document(
        "hydrostatics",
        {
            "caution": CAUTION_WATER,
            "table": [_upright(h) for h in water.table],
            "designed_waterline": None if water.lines is None else _upright(water.lines),
            "afloat": {name: _lying(a) for name, a in water.lies.items()},
            "water": found.water,
            "marks": [_mark(m) for m in water.marks],
            "sectional_areas": water.areas,
            "righting": None if water.righting is None else _righting(water.righting),
            "rule_caution": CAUTION_RULES if found.rules else None,
            "rules": [vars_of(r) for r in found.rules],
            "hull_identification_number": found.hin or None,
            "side_rooms": [vars_of(r) for r in found.rooms],
        },
    )


def reckoned_figures(found: Reckoned) -> Record:
    """The headline figures for summary.json."""
    lies = found.lies
    weight: Record = {
        "total_kg": total(found.weights),
        "bare_shell_kg": total(bare_shell(found.weights)),
        "centre": centre_of_gravity(found.weights),
        "groups_kg": {g.name: g.mass for g in groups(found.weights)},
        "not_weighed": found.missing,
    }
    afloat = None if lies is None else _lying(lies) | {"in": found.water}
    floods = found.afloat.righting.floods_at if found.afloat.righting is not None else None
    flooding = {"floods_at_deg": None if floods is None else math.degrees(floods)}
    return {"weight": weight, "afloat": None if afloat is None else afloat | flooding}


def vars_of(row: Any) -> Record:
    """A frozen row as a record, rows within it too."""
    return {key: _inner(value) for key, value in vars(row).items()}


def _inner(value: Any) -> Any:
    if isinstance(value, tuple) and value and hasattr(value[0], "__dataclass_fields__"):
        return [vars_of(v) for v in value]
    return value


def _upright(h: Hydrostatics) -> Record:
    return {
        "draught": h.draught,
        "level": h.level,
        "displacement_kg": h.displacement,
        "volume_m3": h.volume * 1e-9,
        "lcb": h.lcb,
        "kb": h.kb,
        "bm": h.bm,
        "bm_long": h.bm_long,
        "km": h.km,
        "waterplane_m2": h.waterplane * 1e-6,
        "lcf": h.lcf,
        "wetted_m2": h.wetted * 1e-6,
        "waterline_length": h.length,
        "waterline_breadth": h.breadth,
        "block": h.block,
        "prismatic": h.prismatic,
        "waterplane_coefficient": h.plane,
        "kg_per_mm": h.immersion,
        "kg_m_per_cm_trim": h.trim_moment * 10 / 1000,
    }


def _lying(a: Afloat) -> Record:
    return {
        "weight_kg": a.weight,
        "centre": a.centre,
        "water_kg_m3": a.water,
        "draught": a.draught,
        "trim_by_stern_deg": math.degrees(a.trim),
        "heel_to_starboard_deg": math.degrees(a.heel),
        "freeboard": a.freeboard,
        "freeboard_x": a.freeboard_x,
        "gm": a.gm,
        "gm_long": a.gm_long,
        "waterplane_m2": a.waterplane * 1e-6,
        "wetted_m2": a.wetted * 1e-6,
        "up": a.up,
        "level": a.level,
    }


def _mark(m: WaterMark) -> Record:
    return {"name": m.name, "point": [m.x, m.y, m.z], "below_sheer": m.below_sheer}


def _righting(curve: RightingCurve) -> Record:
    return {
        "floods_at_deg": None if curve.floods_at is None else math.degrees(curve.floods_at),
        "through": curve.through,
        "points": [
            {"heel_deg": math.degrees(p.heel), "arm": p.arm, "trim_by_stern_deg": math.degrees(p.trim)}
            for p in curve.points
        ],
    }


def shopping_text(found: Reckoned) -> str:
    """shopping.csv: what, quantity, unit, price, cost, note, basis."""
    sink = io.StringIO()
    writer = csv.writer(sink, lineterminator="\n")
    writer.writerow(["what", "quantity", "unit", f"price{_money(found)}", f"cost{_money(found)}", "note", "basis"])
    for p in found.purchases:
        cells = [_figure(v, places) for v, places in ((p.quantity, 3), (p.price, 2), (p.cost, 2))]
        writer.writerow([p.what, cells[0], p.unit, cells[1], cells[2], p.note, p.basis])
    return sink.getvalue()


def _money(found: Reckoned) -> str:
    return f" {found.currency}" if found.currency else ""


def _figure(value: float | None, places: int) -> str:
    return "" if value is None else f"{round(value, places):g}" if places == 3 else f"{value:.2f}"


def write_shopping(path: Path, found: Reckoned) -> None:
    """Put shopping.csv in its place, UTF-8."""
    path.write_text(shopping_text(found), encoding="utf-8", newline="")
