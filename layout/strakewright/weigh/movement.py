"""How much the planking moves between the shop and the water.

flat-sawn    rings along the face: the width moves tangentially, most;  quarter-sawn: radially, about half
swelling     a plank wider than its place pushes its neighbours; edge-glued panels cannot give at the seams
push         share of its width that a glued panel wants to grow; above a limit it pushes frames and buckles
widest       the widest plank whose movement stays under the limit of one seam: asked of planks with dry seams

Coefficients: Wood Handbook table 13-5, from 6 to 14 % moisture; beyond that by shrinkage (`weigh.moisture`).
Limits: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from strakewright.errors import Finding
from strakewright.ledger import Movement, PanelMove
from strakewright.outfit import Grain, MoistureSettings, WoodSettings
from strakewright.parts import Plank
from strakewright.settings import PlankingSettings
from strakewright.tables import Figure, species
from strakewright.weigh.moisture import BY_COEFFICIENT, change, change_by_shrinkage, equilibrium

SHOP, SERVICE = 12.0, 15.0  # %: what is aimed at in the shop, a boat kept afloat; common practice, no source
PUSH_LIMIT = 0.010  # of the panel's width
SEALED = 0.5  # share of the movement left where cloth and resin seal both faces; common practice, no source
SEAM_LIMIT = 1.0  # mm one plank may move at its seams


@dataclass(frozen=True)
class Moistures:
    """% in the shop and in service, and where they come from in words."""

    shop: float
    service: float
    words: str


def moistures(settings: MoistureSettings) -> Moistures:
    """Given straight, or what wood comes to in the air given; else common practice."""
    shop, said_shop = _one(settings.shop, settings.shop_air, SHOP)
    service, said_service = _one(settings.service, settings.service_air, SERVICE)
    return Moistures(shop, service, f"shop {said_shop}; service {said_service}")


def _one(given: float | None, air: tuple[float, float] | None, usual: float) -> tuple[float, str]:
    if given is not None:
        return given, f"{given:.1f} % as given"
    if air is not None:
        got = equilibrium(*air)
        return got, f"{got:.1f} % by air of {air[0]:g} degrees C and {air[1]:g} % humidity"
    return usual, f"{usual:.1f} % assumed (common practice)"


def coefficient(name: str, grain: Grain, own: WoodSettings) -> tuple[float, str] | None:
    """Fraction of width per 1 % moisture and its standing; None where no figure is known."""
    wood = species(name)
    mine, figure = (
        (own.move_tangential, wood.move_tangential) if grain == "flat" else (own.move_radial, wood.move_radial)
    )
    if mine is not None:
        return mine, "measured"
    return None if figure is None else (figure.value, figure.status)


def growth(name: str, grain: Grain, own: WoodSettings, between: Moistures) -> tuple[float, str] | None:
    """Share of its width by which wood grows from shop to service, and the figure's standing."""
    found = coefficient(name, grain, own)
    low, high = BY_COEFFICIENT
    within = all(low - 1e-9 <= m <= high + 1e-9 for m in (between.shop, between.service))
    if found is not None and (within or found[1] == "measured"):
        return float(change(1.0, found[0], between.shop, between.service)), found[1]
    wood = species(name)
    shrinkage: Figure | None = wood.shrink_tangential if grain == "flat" else wood.shrink_radial
    if shrinkage is None or wood.gravity_basis == "green":  # imported woods: the two tables do not mix
        return None if found is None else (float(change(1.0, found[0], between.shop, between.service)), "derived")
    grown = change_by_shrinkage(1.0, shrinkage.value, between.shop, between.service, wood.saturation)
    return float(grown), "memory" if shrinkage.status == "memory" else "derived"


def movements(
    planks: Iterable[Plank], grain: Grain, woods: tuple[WoodSettings, ...], between: Moistures
) -> list[Movement]:
    """Port planks, and those without a mate, each with its widest width."""
    own = {w.name: w for w in woods}
    rows = []
    for plank in planks:
        grown = growth(plank.species, grain, own.get(plank.species, WoodSettings(plank.species)), between)
        if plank.stands_for and grown is not None:
            wide = width_of(plank)
            rows.append(Movement(plank.id, plank.species, wide, wide * grown[0], *_per_cent(grown, between)))
    return rows


def _per_cent(grown: tuple[float, str], between: Moistures) -> tuple[float, str]:
    steps = between.service - between.shop
    return (grown[0] / steps if steps else 0.0), grown[1]


def width_of(plank: Plank) -> float:
    """Widest distance mm between the long edges, square to the plank's length."""
    x, low, high = _spans(plank)
    return float((high - low).max()) if len(x) else 0.0


def _spans(plank: Plank) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Where both long edges run side by side: x, lower and upper edge."""
    a, b = (m.flat[np.argsort(m.flat[:, 0], kind="stable")] for m in (plank.first, plank.second))
    start, end = max(a[0, 0], b[0, 0]), min(a[-1, 0], b[-1, 0])
    if end <= start:
        return np.zeros(0), np.zeros(0), np.zeros(0)
    x = np.linspace(start, end, 101)
    one, two = np.interp(x, a[:, 0], a[:, 1]), np.interp(x, b[:, 0], b[:, 1])
    return x, np.minimum(one, two), np.maximum(one, two)


def widest_allowed(name: str, grain: Grain, own: WoodSettings, between: Moistures) -> float | None:
    """mm: the builder's own limit, else the width that moves by a seam's worth; None where nothing is known."""
    if own.widest is not None:
        return own.widest
    grown = growth(name, grain, own, between)
    return None if grown is None or abs(grown[0]) < 1e-9 else SEAM_LIMIT / abs(grown[0])


def panel_move(panel: str, wood: str, girth: float, grown: tuple[float, str], sheathed: bool) -> PanelMove:
    """The whole panel from border to border.  grown : share, and the figure's standing"""
    push = grown[0] * (SEALED if sheathed else 1.0)
    return PanelMove(panel, wood, girth, girth * push, push, PUSH_LIMIT, sheathed, grown[1])


def across_planks(planking: PlankingSettings, girth: float, length: float) -> float | None:
    """mm over which glued planks add up their movement: the girth of strakes, her length where one layer lies athwart.

    None where nothing adds up: dry seams open and close one by one, crossing layers hold each other
    """
    if planking.glue_line == 0.0:
        return None
    if planking.pattern == "strakes":
        return girth or None
    return length if planking.layers == 1 else None


def judged(
    rows: Iterable[Movement], planks: Iterable[Plank], dry: frozenset[str], own: frozenset[str]
) -> list[Movement]:
    """Planks whose own width matters: those with dry (caulked) seams, and of woods whose widest plank the builder
    gave.  In a glued panel the whole panel's movement is what counts.  dry : panels;  own : woods"""
    panels = {p.id: p.panel for p in planks}
    return [r for r in rows if panels[r.name] in dry or r.wood in own]


def movement_findings(panels: Iterable[PanelMove], rows: Iterable[Movement], widest: dict[str, float]) -> list[Finding]:
    """Panels that push or open hard, and planks wider than their wood allows.  rows : planks that are `judged`"""
    found = []
    for p in panels:
        if abs(p.push) > p.limit:
            way = "grows" if p.push > 0 else "shrinks"
            found.append(
                Finding(
                    "panel-moves",
                    "warning",
                    p.panel,
                    f"glued up as one piece it {way} by {abs(p.change):.1f} mm ({100 * abs(p.push):.1f} % of its width)"
                    f" between shop and service; the limit is {100 * p.limit:.1f} % (common practice)",
                    "Bring the wood nearer its service moisture, saw it on the quarter, or take a wood that moves less",
                )
            )
    wide = [r for r in rows if r.wood in widest and r.width > widest[r.wood] + 0.5]
    for wood in dict.fromkeys(r.wood for r in wide):
        mine = [r for r in wide if r.wood == wood]
        worst = max(mine, key=lambda r: r.width)
        found.append(
            Finding(
                "plank-wide-for-wood",
                "warning",
                f"{len(mine)} planks of {wood}, widest {worst.name}",
                f"{worst.width:.0f} mm wide, moves {abs(worst.change):.1f} mm; {wood} allows {widest[wood]:.0f} mm",
                "Use more courses or quarter-sawn boards, bring the wood nearer its service moisture, or state your own"
                " limit in [species] widest",
            )
        )
    return found
