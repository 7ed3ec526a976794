"""Loading, power and flotation as the boat file asks for it, with the hull's sizes and weights."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from strakewright.afloat.capacity import (
    FOOT,
    LONGEST,
    capacity,
    flotation_rules,
    hin_fault,
    sizes_of,
    swamped,
)
from strakewright.afloat.marks import deadrise_aft
from strakewright.afloat.shell import Shell
from strakewright.errors import Finding
from strakewright.hull import Hull
from strakewright.ledger import Rule, Weight, total
from strakewright.outfit import Outfit
from strakewright.weigh.weights import Woods

FIXED = ("fitting", "planking", "frames", "members", "transom", "sheathing", "glue", "fastenings")
AS_THE_TABLE = Woods()
OTHER_GRAVITY = {"sheathing": 1.5, "glue": 1.15, "fastenings": 8.5, "fitting": 7.8}


def capability(
    hull: Hull, shell: Shell, weights: Sequence[Weight], outfit: Outfit, woods: Woods = AS_THE_TABLE
) -> tuple[tuple[Rule, ...], float, tuple[Finding, ...]]:
    """Rows of the rule, litres of foam (counting nothing for the wood's lift), and findings; empty when not asked.

    woods : densities as the builder knows them
    """
    asked = outfit.capacity
    if asked is None:
        return (), 0.0, ()
    flooding = None if outfit.water.downflooding is None else np.array(outfit.water.downflooding)
    sizes = sizes_of(shell, flooding, deadrise_aft(hull))
    mine = [w for w in weights if w.group in FIXED]
    findings = [*_number(asked.hin), *_scope(sizes.length)]
    rows = capacity(sizes, total(mine), asked)
    if asked.propulsion == "inboard":
        return tuple(rows), 0.0, tuple(findings)
    load = swamped([(w.mass, _gravity(w, woods)) for w in mine], rows, asked)
    sinking = swamped([(w.mass, _gravity(w, woods)) for w in mine if not w.wood], rows, asked)
    rows += flotation_rules(load, sinking, asked)
    findings += _overloaded(rows, weights)
    return tuple(rows), next(r.value or 0.0 for r in rows if r.name == "foam, without it"), tuple(findings)


def _gravity(weight: Weight, woods: Woods) -> float:
    """Specific gravity, of wood at the moisture it is weighed at."""
    if weight.wood:
        return woods.density(weight.wood)[0] / 1000.0
    return OTHER_GRAVITY.get(weight.group, 1.5)


def number_told(hin: str | None) -> str:
    """What the book says of a hull identification number; "" where none is given."""
    if hin is None:
        return ""
    fault = hin_fault(hin)
    return f"{hin}: {fault}" if fault else f"{hin}, of the form of 33 CFR 181.25; whether it is yours your state knows"


def _number(hin: str | None) -> list[Finding]:
    fault = hin_fault(hin) if hin is not None else ""
    if not fault:
        return []
    fix = "Twelve characters by 33 CFR 181.25; who builds for himself gets the number from his state (181.23)"
    return [Finding("hin-form", "warning", f"hull identification number {hin}", fault, fix)]


def _scope(length: float) -> list[Finding]:
    if length / FOOT < LONGEST:
        return []
    what = f"{length / FOOT:.1f} ft long: the rule's capacity, power and flotation are for boats under {LONGEST:.0f} ft"
    return [Finding("outside-the-rule", "note", "33 CFR 183", what, "Read the figures as a comparison only")]


def _overloaded(rows: Sequence[Rule], weights: Sequence[Weight]) -> list[Finding]:
    """What is entered against what the rule lets her carry."""
    found = {r.name: r.value or 0.0 for r in rows}
    carried = total(w for w in weights if w.group not in FIXED) / 0.45359237
    most = found["largest weight carried"]
    if carried <= most:
        return []
    what = f"{carried:.0f} lb are entered, the rule lets her carry {max(most, 0.0):.0f} lb"
    return [Finding("over-capacity", "warning", "loading", what, "Carry less; the rule's own text decides")]
