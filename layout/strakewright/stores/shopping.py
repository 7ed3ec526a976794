"""The shopping list: every board used, and everything else in the quantities worked out.

line      what, how much, in which unit, at which price; a price that is not known leaves the cost open

Source: derived from the plan and from `stores.sheathing`, `stores.joints`, `afloat.capacity`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from strakewright.ledger import Glue, Purchase, Screws, Sheathed
from strakewright.outfit import FasteningSettings, PriceSettings
from strakewright.stores.joints import plug_size
from strakewright.stores.sheathing import varnish_litres

BOX = 100  # screws and plugs are sold by the hundred


@dataclass(frozen=True)
class BoardLot:
    """Boards of one wood and rough thickness that the plan opens.  price : of all of them, None = not known"""

    wood: str
    thickness: str
    count: int
    feet: float
    price: float | None


def board_lines(lots: Iterable[BoardLot], prices: PriceSettings) -> list[Purchase]:
    """Boards by the board foot; a lot whose boards carry prices is bought at those."""
    rows = []
    for lot in lots:
        each = lot.price / lot.feet if lot.price is not None and lot.feet > 0 else prices.board_foot
        what = f"{lot.wood}, rough {lot.thickness}"
        rows.append(Purchase(what, round(lot.feet, 1), "board feet", each, f"{lot.count} boards of the list", "plan"))
    return rows


def sheathing_lines(job: Sheathed, roll: float, cloth: float, prices: PriceSettings) -> list[Purchase]:
    """Cloth and resin."""
    runs = f"{len(job.runs)} runs a side, roll {roll:.0f} mm, {cloth:.0f} g/m2"
    pots = f"{job.resin:.1f} kg, {job.pots} pots"
    return [
        Purchase(
            "glass cloth", round(job.bought, 1), "m2", prices.cloth, f"{job.cloth:.1f} m; {runs}", "panels and laps"
        ),
        Purchase(
            "resin and hardener", round(job.litres, 1), "litres", prices.resin, pots, "wet-out, fill coats, waste"
        ),
    ]


def joint_lines(glue: Glue, screws: Screws, fastenings: FasteningSettings, prices: PriceSettings) -> list[Purchase]:
    """Glue, screws, plugs."""
    basis = "screw marks" if screws.mapped else "estimate by frames crossed"
    size = f"No. {fastenings.gauge} x {fastenings.length:.0f} mm"
    rows = [
        Purchase(
            "glue",
            round(glue.mass, 1),
            "kg",
            prices.glue,
            f"{glue.pots} pots",
            "joint areas and plies, 20 % left in pots",
        ),
        Purchase(f"screws {size}", float(-(-screws.count // BOX)), "hundred", prices.screws, f"{screws.count}", basis),
    ]
    if screws.plugged:
        lot = float(-(-screws.plugged // BOX))
        rows.append(
            Purchase(f"plugs {plug_size(fastenings.gauge)}", lot, "hundred", prices.plugs, f"{screws.plugged}", basis)
        )
    return rows


def finish_lines(outside: float, inside: float, prices: PriceSettings) -> list[Purchase]:
    """Stain, paint or varnish.  m2"""
    litres = varnish_litres(outside + inside)
    note = f"{outside:.1f} m2 outside, {inside:.1f} m2 inside, 3 coats"
    return [Purchase("varnish or paint", round(litres, 1), "litres", prices.varnish, note, "12 m2 a litre and coat")]


def foam_lines(litres: float, prices: PriceSettings) -> list[Purchase]:
    """Flotation foam; nothing where none is needed."""
    if litres <= 0.0:
        return []
    return [
        Purchase("flotation foam", round(litres / 1000, 3), "m3", prices.foam, f"{litres:.0f} litres", "33 CFR 183")
    ]


def cost(rows: Iterable[Purchase]) -> tuple[float, int]:
    """Sum of the costs known, and how many lines have no price."""
    every = list(rows)
    return sum(r.cost for r in every if r.cost is not None), sum(r.cost is None for r in every)
