"""`buy`: what to order for a list of parts, of piles that are only known by their kind, or off a list with prices.

order      board feet that half, four fifths, or nineteen in twenty of the drawn piles did not pass
waste      share of what is ordered that does not become parts, planing and resawing not counted
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from strakewright.errors import Finding, InputError, UnworkableError
from strakewright.geometry.outlines import signed_area
from strakewright.job.building import BuildOptions
from strakewright.job.nested import nest_job
from strakewright.job.outputs import Written
from strakewright.job.planked import Watch
from strakewright.lumber import Pile, Rules
from strakewright.measure import BOARD_FOOT, INCH, quarters
from strakewright.nest.piles import Delivery, asked, delivery, may_hold, must_haves, quantile
from strakewright.parts import Part
from strakewright.read.nestfiles import read_nest, read_parts
from strakewright.read.pilefile import read_piles
from strakewright.units import print_tape
from strakewright.write.folder import fresh_folder, may_replace
from strakewright.write.records import document, summary_document, write_json

SHARES = (0.5, 0.8, 0.95)
FIX = "Add a pile of that wood"
NAMED = 3
"""Parts named in one line at most."""
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
    orders, findings = _orders_of(wanted, rules, read_piles(pile), options.seed, piles, watch)
    record = document("buying", {"piles_drawn": piles, "orders": orders})
    summary = summary_document((), findings, {"buying": orders})
    with fresh_folder(out) as folder:
        write_json(folder / "buying.json", record)
        write_json(folder / "summary.json", summary)
        (folder / "order.txt").write_text(order_list(orders), encoding="utf-8", newline="\n")
    return Written((), tuple(findings), summary)


def _off_a_list(parts: Path, pile: Path, out: Path, options: BuildOptions, watch: Watch) -> Written:
    """The boards of a priced list that cost least."""
    job = read_nest(parts, pile, options.unit, options.dressing)
    if any(b.price is None for b in job.boards):
        raise InputError("a board has no price", where=pile.name, fix="Give prices; without them, use nest")
    return nest_job(replace(job, rules=replace(job.rules, objective="price")), parts.stem, out, options, watch)


def _orders_of(
    parts: Sequence[Part], rules: Rules, kinds: Sequence[Pile], seed: int, piles: int, watch: Watch
) -> tuple[list[dict[str, Any]], list[Finding]]:
    """An order for every pile that some part can come from, and a finding for all parts that none can give."""
    orders: list[dict[str, Any]] = []
    left = list(parts)
    for number, pile in enumerate(sorted(kinds, key=lambda k: k.thickness)):
        mine = [p for p in left if p.species == pile.species and p.thickness <= pile.thickness + 1e-6]
        if not mine:
            continue
        left = [p for p in left if p not in mine]
        large = [p for p in mine if not may_hold(p, rules, pile)]
        if large:
            raise _too_large(large, rules, pile)
        found: list[Delivery] = []
        for n in range(piles):
            watch("drawing piles", float(n + 1), (n + number * piles) / (piles * len(kinds)))
            one = delivery(mine, rules, pile, (seed, number, n), EFFORT)
            if one is None:
                what = f"the pile of {_named(pile)} never holds all {len(mine)} parts, however much of it comes"
                raise UnworkableError(what, where="buy", fix="Ask for longer or wider boards, or for fewer knots")
            found.append(one)
        orders.append(ordered(mine, rules, pile, found))
    return orders, _of_no_pile(left, kinds)


def _named(pile: Pile) -> str:
    return f"{pile.species} {quarters(pile.rough)}"


def _too_large(large: Sequence[Part], rules: Rules, pile: Pile) -> UnworkableError:
    """Parts that no board of a pile can hold: what they ask for, and what there is."""
    sizes = [asked(p, rules, pile) for p in large]
    asks = [f"{p.id} {print_tape(n)} x {print_tape(w)}" for p, (w, n) in list(zip(large, sizes, strict=True))[:NAMED]]
    more = f" and {len(large) - NAMED} more" if len(large) > NAMED else ""
    return UnworkableError(
        f"no board of the pile of {_named(pile)} holds {', '.join(asks)}{more} (length x width, ends to trim counted)",
        where="buy",
        fix=f"It ends at {print_tape(pile.length[1])} x {print_tape(pile.width[1])}: ask for larger boards, or split "
        "those parts by a joint",
    )


def _of_no_pile(left: Sequence[Part], kinds: Sequence[Pile]) -> list[Finding]:
    """One finding for each wood and thickness that no pile gives."""
    there = ", ".join(f"{_named(k)} dressing to {k.thickness:.1f} mm" for k in kinds)
    found = []
    for species, thickness in sorted({(p.species, p.thickness) for p in left}):
        names = [p.id for p in left if (p.species, p.thickness) == (species, thickness)]
        more = f" and {len(names) - NAMED} more" if len(names) > NAMED else ""
        what = f"{species}, {thickness:g} mm dressed: no pile gives it (there is {there})"
        found.append(Finding("part-of-no-pile", "blocking", f"{', '.join(names[:NAMED])}{more}", what, FIX))
    return found


def ordered(parts: Sequence[Part], rules: Rules, pile: Pile, found: Sequence[Delivery]) -> dict[str, Any]:
    """Quantiles and must-haves of one pile."""
    exact, counted = [d.feet for d in found], [d.counted for d in found]
    amounts = {f"{share:.0%}": quantile(exact, share) for share in SHARES}
    costs = None if pile.price is None else {share: feet * pile.price for share, feet in amounts.items()}
    net = sum(abs(signed_area(p.outline)) for p in parts) * pile.rough / BOARD_FOOT
    return {
        "species": pile.species,
        "thickness": quarters(pile.rough),
        "parts": len(parts),
        "board_feet": amounts,
        "board_feet_as_tallied": {f"{share:.0%}": quantile(counted, share) for share in SHARES},
        "board_feet_of_parts": net,
        "waste": {share: 1.0 - net / feet for share, feet in amounts.items()},
        "cost": costs,
        "cost_at_80%": None if costs is None else costs[f"{SHARES[1]:.0%}"],
        "must_have": [
            {"count": m.count, "width_in": m.width / INCH, "length": m.length, "share_of_pile": m.share}
            for m in must_haves(parts, rules, pile, found)
        ],
    }


def order_list(orders: Sequence[dict[str, Any]]) -> str:
    """The list for the mill: the scarcest boards first, then how much in all."""
    lines = ["LUMBER LIST. Scarcest first. Board feet are of random width and length, rough, as delivered.", ""]
    for o in orders:
        parts = "1 part" if o["parts"] == 1 else f"{o['parts']} parts"
        lines.append(f"{o['species']}, {o['thickness']}, for {parts}")
        lines += [_must(m) for m in o["must_have"]]
        lines.append("  how much to order: board feet that were enough in so many of the drawn piles")
        for share, feet in o["board_feet"].items():
            cost = "" if o["cost"] is None else f", cost {o['cost'][share]:.2f}"
            tallied = o["board_feet_as_tallied"][share]
            lines.append(
                f"    {share}: {math.ceil(feet - 1e-9)} ({tallied:.0f} as a mill tallies them){cost}, "
                f"waste {o['waste'][share]:.0%}"
            )
        lines.append("")
    return "\n".join(lines)


def _must(m: dict[str, Any]) -> str:
    boards = "1 board" if m["count"] == 1 else f"{m['count']} boards"
    return (
        f"  at least {boards} {m['width_in']:.0f} in or wider and {print_tape(m['length'])} or longer"
        f" ({m['share_of_pile']:.0%} of the pile)"
    )


def order_lines(done: Written) -> list[str]:
    """What to order, in words; nothing for a plan off a list."""
    orders = done.record.get("buying")
    return order_list(orders).splitlines() if orders else []
