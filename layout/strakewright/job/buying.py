"""`buy`: what to order for a list of parts, of piles that are only known by their kind, or off a list with prices.

order      board feet that half, four fifths, or nineteen in twenty of the drawn piles did not pass
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from strakewright.errors import Finding, InputError, UnworkableError
from strakewright.job.building import BuildOptions
from strakewright.job.nested import nest_job
from strakewright.job.outputs import Written
from strakewright.job.planked import Watch
from strakewright.lumber import Pile, Rules
from strakewright.measure import INCH, quarters
from strakewright.nest.piles import Delivery, delivery, must_haves, quantile
from strakewright.parts import Part
from strakewright.read.nestfiles import read_nest, read_parts
from strakewright.read.pilefile import read_piles
from strakewright.units import print_tape
from strakewright.write.folder import fresh_folder, may_replace
from strakewright.write.records import document, summary_document, write_json

SHARES = (0.5, 0.8, 0.95)
FIX = "Add a pile of that wood"
EFFORT = 1
"""Rounds of search for each pile tried."""


def buy_files(parts: Path, pile: Path, out: Path, options: BuildOptions, piles: int, watch: Watch) -> Written:
    """Off a list (.csv, .json): the boards that cost least, as a plan.  Of a kind (.toml): how much to order."""
    may_replace(out)
    if pile.suffix.lower() != ".toml":
        return _off_a_list(parts, pile, out, options, watch)
    wanted, rules, choices = read_parts(parts)
    if choices:
        raise InputError("parts with choices", where=parts.name, fix="Nest them once and buy for the splits chosen")
    orders, findings = _ordered(wanted, rules, read_piles(pile), options.seed, piles, watch)
    record = document("buying", {"piles_drawn": piles, "orders": orders})
    summary = summary_document((), findings, {"buying": orders})
    with fresh_folder(out) as folder:
        write_json(folder / "buying.json", record)
        write_json(folder / "summary.json", summary)
        (folder / "order.txt").write_text(order_list(orders), encoding="utf-8", newline="\n")
    return Written((), tuple(findings), summary)


def _off_a_list(parts: Path, pile: Path, out: Path, options: BuildOptions, watch: Watch) -> Written:
    """The boards of a priced list that cost least."""
    job = read_nest(parts, pile, options.unit)
    if any(b.price is None for b in job.boards):
        raise InputError("a board has no price", where=pile.name, fix="Give prices; without them, use nest")
    return nest_job(replace(job, rules=replace(job.rules, objective="price")), parts.stem, out, options, watch)


def _ordered(
    parts: Sequence[Part], rules: Rules, kinds: Sequence[Pile], seed: int, piles: int, watch: Watch
) -> tuple[list[dict[str, Any]], list[Finding]]:
    """An order for every pile that some part can come from, and a finding for every part that none can give."""
    orders: list[dict[str, Any]] = []
    left = list(parts)
    for number, pile in enumerate(sorted(kinds, key=lambda k: k.thickness)):
        mine = [p for p in left if p.species == pile.species and p.thickness <= pile.thickness + 1e-6]
        if not mine:
            continue
        left = [p for p in left if p not in mine]
        found: list[Delivery] = []
        for n in range(piles):
            watch("drawing piles", float(n + 1), (n + number * piles) / (piles * len(kinds)))
            one = delivery(mine, rules, pile, (seed, number, n), EFFORT)
            if one is None:
                raise UnworkableError(
                    f"the pile of {pile.species} {quarters(pile.rough)} never holds all parts",
                    where="buy",
                    fix="Nest the longest and widest parts on one of its largest boards to see which do not fit",
                )
            found.append(one)
        orders.append(_order(mine, rules, pile, found))
    return orders, [
        Finding("part-of-no-pile", "blocking", p.id, f"no pile is {p.species} dressing to {p.thickness:g} mm", FIX)
        for p in left
    ]


def _order(parts: Sequence[Part], rules: Rules, pile: Pile, found: Sequence[Delivery]) -> dict[str, Any]:
    """Quantiles and must-haves of one pile."""
    exact, counted = [d.feet for d in found], [d.counted for d in found]
    cost = None if pile.price is None else quantile(exact, SHARES[1]) * pile.price
    return {
        "species": pile.species,
        "thickness": quarters(pile.rough),
        "parts": len(parts),
        "board_feet": {f"{share:.0%}": quantile(exact, share) for share in SHARES},
        "board_feet_as_tallied": {f"{share:.0%}": quantile(counted, share) for share in SHARES},
        "cost_at_80%": cost,
        "must_have": [
            {"count": m.count, "width_in": m.width / INCH, "length": m.length, "share_of_pile": m.share}
            for m in must_haves(parts, rules, pile, found)
        ],
    }


def order_list(orders: Sequence[dict[str, Any]]) -> str:
    """The list for the mill: the scarcest boards first, then how much in all."""
    lines = ["LUMBER LIST. Scarcest first. Board feet are of random width and length, rough, as delivered.", ""]
    for o in orders:
        lines.append(f"{o['species']}, {o['thickness']}")
        lines += [
            f"  at least {m['count']} boards {m['width_in']:.0f} in or wider"
            f" and {print_tape(m['length'])} or longer ({m['share_of_pile']:.0%} of the pile)"
            for m in o["must_have"]
        ]
        amounts = ", ".join(f"{share}: {feet:.0f}" for share, feet in o["board_feet"].items())
        lines += [f"  board feet that were enough in so many of the drawn piles: {amounts}", ""]
    return "\n".join(lines)


def order_lines(done: Written) -> list[str]:
    """What to order, in words; nothing for a plan off a list."""
    orders = done.record.get("buying")
    return order_list(orders).splitlines() if orders else []
