"""Cloth and resin over the planking, and what stain and varnish cover.

run       a length of cloth off the roll, laid along the panel or across it;  lap : cloth over the next run, or round
          a corner onto the next panel
wet-out   resin that the cloth drinks: its own weight (common practice);  fill coat : 97 g/m2 each, from a builders'
          rule of 0.0075 gallons a square foot for three coats with 15 % waste (common practice)
pot       resin mixed in one go: no more than can be spread in its pot life

Sources: 1 oz/yd2 = 33.906 g/m2; two suppliers' coverage of 90 ft2 of 6 oz and 60 ft2 of 10 oz cloth a US gallon;
resin 1.10 kg/l; laminate 1.263 mm to the kg of glass a m2 at equal weights (from densities 2.54 and 1.15).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from strakewright.arrays import Floats
from strakewright.geometry.curves import arc_length
from strakewright.geometry.sections import area
from strakewright.hull import Hull, Panel
from strakewright.ledger import Run, Sheathed
from strakewright.outfit import GlueSettings
from strakewright.settings import SheathingSettings

FILL_COAT = 0.097  # kg/m2
RESIN = 1.10  # kg/l
LAMINATE = 1.263e-3  # mm to the g/m2 of glass
VARNISH = 12.0  # m2 to the litre and coat; common practice, no source
COATS = 3
_STEP = 5.0  # mm


@dataclass(frozen=True, eq=False)
class Cover:
    """One panel's outside as cloth meets it, one side of the boat.

    ring : (n, 2) mm flat, first axis forward;  area : mm2;  borders : (name, length mm)
    """

    panel: str
    ring: Floats
    area: float
    borders: tuple[tuple[str, float], ...]


def covers(hull: Hull) -> tuple[Cover, ...]:
    """Every panel of the port side."""
    return tuple(_cover(p) for p in hull.panels)


def _cover(panel: Panel) -> Cover:
    walk = panel.ring()
    ring = np.concatenate([points[:-1] for _, points in walk])
    lengths = tuple((b.name, float(arc_length(panel.patch.at(points))[-1])) for b, points in walk)
    return Cover(panel.name, ring, area(panel.patch, ring), lengths)


def lap_over(border: str, settings: SheathingSettings) -> float:
    """mm of cloth past a border: round corners at keel and chine, over the edge at the ends, none at the sheer."""
    if border == "sheer":
        return 0.0
    return settings.corner_lap if border == "keel" or border.startswith("chine") else settings.lap


def covered_area(cover: Cover, settings: SheathingSettings) -> float:
    """mm2 of one layer with its laps."""
    return cover.area + sum(lap_over(name, settings) * length for name, length in cover.borders)


def sheathed(skins: tuple[Cover, ...], settings: SheathingSettings, glue: GlueSettings) -> Sheathed:
    """The whole job, both sides."""
    mine = [c for c in skins if settings.over(c.panel)]
    net = 2e-6 * sum(c.area for c in mine)
    covered = 2e-6 * sum(covered_area(c, settings) for c in mine)
    runs = tuple(run for c in mine for run in run_plan(c, settings))
    metres = 2e-3 * settings.layers * sum(r.length for r in runs)
    cloth = settings.cloth / 1000 * settings.layers
    aboard = covered * (2 * cloth) + net * settings.fill_coats * FILL_COAT
    resin = (covered * cloth + net * settings.fill_coats * FILL_COAT) * (1 + settings.waste)
    return Sheathed(
        net=net,
        covered=covered,
        bought=metres * settings.roll / 1000,
        cloth=metres,
        resin=resin,
        litres=resin / RESIN,
        pots=pots(covered * cloth * (1 + settings.waste), cloth, glue)
        + settings.fill_coats * pots(net * FILL_COAT * (1 + settings.waste), FILL_COAT, glue),
        aboard=aboard,
        thickness=laminate(settings),
        runs=runs,
        corner_radius=settings.corner_radius,
    )


def laminate(settings: SheathingSettings) -> float:
    """mm of cloth at equal weights of glass and resin, fill coats sanded to the weave.

    >>> round(laminate(SheathingSettings(cloth=203.4)), 3)
    0.257
    """
    return LAMINATE * settings.cloth * settings.layers


def pots(mass: float, spread: float, glue: GlueSettings) -> int:
    """How many are mixed.  mass kg in all, spread kg/m2: a pot is no more than is spread within its life."""
    most = min(glue.pot / 1000, glue.pace * glue.pot_life / 60 * spread)
    return math.ceil(mass / most - 1e-9) if mass > 0 else 0


def run_plan(cover: Cover, settings: SheathingSettings) -> tuple[Run, ...]:
    """Runs along the panel, or across it where that takes less cloth."""
    laps = {name: lap_over(name, settings) for name, _ in cover.borders}
    ends = max((laps.get(n, 0.0) for n in ("stem", "transom", "bow transom")), default=0.0)
    sides = max((lap for n, lap in laps.items() if n == "keel" or n.startswith("chine")), default=0.0)
    fine = _fine(cover.ring)
    along = _runs(cover.panel, fine, settings, ("along", sides, ends))
    across = _runs(cover.panel, fine[:, ::-1], settings, ("across", ends, sides))
    return min((along, across), key=lambda runs: sum(r.length for r in runs))


def _runs(panel: str, ring: Floats, settings: SheathingSettings, how: tuple[str, float, float]) -> tuple[Run, ...]:
    """Bands of the roll's width, each as long as the panel within it; laps beside and beyond."""
    way, beside, beyond = how
    low, high = float(ring[:, 1].min()) - beside, float(ring[:, 1].max()) + beside
    step = settings.roll - settings.lap
    count = max(1, math.ceil((high - low - settings.lap) / step - 1e-9))
    found = []
    for n in range(count):
        start = low + n * step
        end = start + settings.roll
        inside = ring[(ring[:, 1] >= start - _STEP) & (ring[:, 1] <= end + _STEP), 0]
        if len(inside):
            length = float(np.ptp(inside)) + 2 * beyond
            found.append(Run(panel, n + 1, way, start - low, min(end, high) - low, length))
    return tuple(found)


def _fine(ring: Floats) -> Floats:
    """The ring with points at most a step apart."""
    closed = np.concatenate([ring, ring[:1]])
    at = arc_length(closed)
    u = np.linspace(0.0, at[-1], max(len(ring), int(at[-1] / _STEP) + 1))
    return np.column_stack([np.interp(u, at, closed[:, k]) for k in (0, 1)])


def varnish_litres(square_metres: float, coats: int = COATS) -> float:
    """Litres of stain, paint or varnish (12 m2 to the litre and coat, common practice)."""
    return square_metres * coats / VARNISH
