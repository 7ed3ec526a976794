"""Everything worked out besides the planks: weights, water, capacity, stores, movement and the shopping list.

Takes the finished planks and whatever other wood stands as bodies in its place; each with its own proof.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from strakewright.afloat.marks import side_rooms
from strakewright.afloat.shell import COARSE, shell_of, with_outer_wood
from strakewright.errors import Check, Finding, at_most
from strakewright.hull import Hull
from strakewright.job.capability import capability, number_told
from strakewright.job.planked import Frames, Layer
from strakewright.job.water import watered
from strakewright.ledger import (
    Movement,
    PanelMove,
    Purchase,
    Reckoned,
    Stores,
    Weight,
)
from strakewright.lumber import Board
from strakewright.measure import board_feet
from strakewright.members import Member
from strakewright.parts import Plank
from strakewright.plan import Plan
from strakewright.settings import BoatSettings
from strakewright.solids import Body, centroid
from strakewright.stores.joints import FRAME_SIDED, glue_of, joint_areas, screw_in, screws_of
from strakewright.stores.sheathing import covers, sheathed
from strakewright.stores.shopping import (
    BoardLot,
    board_lines,
    finish_lines,
    foam_lines,
    joint_lines,
    sheathing_lines,
)
from strakewright.tables import Figure, care_of, species
from strakewright.units import print_tape
from strakewright.weigh.movement import (
    Moistures,
    across_planks,
    growth,
    judged,
    moistures,
    movement_findings,
    movements,
    panel_move,
    widest_allowed,
)
from strakewright.weigh.weights import (
    Woods,
    body_weights,
    item_weights,
    lifting_points,
    plank_weights,
    spread_weight,
)
from strakewright.write.bodies import bodies_of

SKIN_LIMIT = 0.06  # share; planks against their panel: laps, cap lands and bevels take or give a few per cent
BRONZE = 8.8e-6  # kg/mm3
SLENDER = 0.6  # of the shank's cylinder: thread and point are thinner
UNKNOWN = Figure(0.4, "memory")  # gravity of a wood that has none in the table: a light one
OTHER_WOOD = ("frames", "members", "transom")


def bodies_by_group(framing: Sequence[Body], members: Sequence[Body] = ()) -> dict[str, list[Body]]:
    """Solids under the groups of the table of weights."""
    found: dict[str, list[Body]] = {group: [] for group in OTHER_WOOD}
    for body in framing:
        found["frames" if body.info.get("frame") else "transom"].append(body)
    found["members"] += members
    return found


@dataclass(frozen=True, eq=False)
class Made:
    """What a build has made so far.  bodies : group ("frames", "members", "transom") -> solids with info["species"]"""

    boat: BoatSettings
    hull: Hull
    frames: Frames
    layers: tuple[Layer, ...]
    boards: tuple[Board, ...]
    plan: Plan
    bodies: Mapping[str, Sequence[Body]]
    members: tuple[Member, ...] = ()

    @property
    def planks(self) -> tuple[Plank, ...]:
        return tuple(p for layer in self.layers for p in layer.planks)


def reckon(made: Made) -> tuple[Reckoned, tuple[Check, ...], tuple[Finding, ...]]:
    """Everything, its checks and its findings."""
    boat = made.boat
    between = moistures(boat.outfit.moisture)
    stores = _stores(made)
    woods = Woods(boat.woods, between.service)
    weights = _weights(made, stores, woods)
    outward = {p.panel: p.outside_of(made.hull.surface) + _cloth(boat, p.panel) for p in boat.planking}
    bare = (shell_of(made.hull, outward, boat.outfit.water.deck, every) for every in (1, COARSE))
    shell, coarse = (with_outer_wood(s, _outer(made)) for s in bare)
    water = watered(shell, coarse, weights, boat.outfit.water)
    rules, foam, told = capability(made.hull, shell, weights, boat.outfit, woods)
    moved, panels, widest = _movement(made, between)
    skin = 2e-6 * sum(layer.truth.area for layer in _outermost(made))
    reckoned = Reckoned(
        weights=tuple(weights),
        missing=_missing(made),
        lifting=lifting_points(weights, made.hull.length),
        afloat=water,
        water=boat.outfit.water.water,
        rules=rules,
        rooms=side_rooms(made.hull, made.frames, boat.frames.sided or 0.0) if rules else (),
        stores=stores,
        skin=skin,
        moistures=between.words,
        movements=tuple(moved),
        panels=tuple(panels),
        widest=widest,
        woods=_woods(made),
        purchases=_purchases(made, stores, skin, foam),
        currency=boat.outfit.prices.currency,
        hin=number_told(boat.outfit.capacity.hin) if boat.outfit.capacity else "",
    )
    checks = (*_weight_checks(made, weights), *water.checks)
    dry = frozenset(la.settings.panel for la in made.layers if la.settings.glue_line == 0.0 and la.settings.layers == 1)
    limited = frozenset(w.name for w in boat.woods if w.widest is not None)
    moves = movement_findings(panels, judged(moved, made.planks, dry, limited), widest)
    return reckoned, checks, (*water.findings, *told, *moves)


def _cloth(boat: BoatSettings, panel: str) -> float:
    """mm of cloth and resin over a panel."""
    return boat.sheathing.thickness if boat.sheathing is not None and boat.sheathing.over(panel) else 0.0


def _outer(made: Made) -> list[Body]:
    """Wood fastened to the outside of the planking."""
    return [b for b in made.bodies.get("members", ()) if b.info.get("place") == "outside the planking"]


def _outermost(made: Made) -> list[Layer]:
    return list({layer.settings.panel: layer for layer in made.layers}.values())


def _missing(made: Made) -> tuple[str, ...]:
    """What belongs to a hull but is not among the weights."""
    bare = [group for group in OTHER_WOOD if not made.bodies.get(group)]
    items = [] if made.boat.outfit.items else ["everything carried: no [[item]] stands in the boat file"]
    return (*bare, *items)


def _stores(made: Made) -> Stores:
    outfit, planks = made.boat.outfit, made.planks
    cloth = made.boat.sheathing
    dry = frozenset(p.panel for p in made.boat.planking if p.glue_line == 0.0)
    areas = joint_areas(planks, made.boat.frames.sided or FRAME_SIDED, dry)
    thick = dict.fromkeys(layer.settings.total for layer in made.layers if layer.planks)
    screw = tuple(
        screw_in(mm, (wood, species(wood).gravity or UNKNOWN, species(wood).kind != "hardwood"), outfit.fastenings)
        for mm in thick
        for wood in _holding(made)
    )
    return Stores(
        sheathed(covers(made.hull), cloth, outfit.glue) if cloth else None,
        areas,
        glue_of(areas, outfit.glue, _between_plies(made.members)),
        screws_of(planks, outfit.fastenings),
        screw,
    )


def _holding(made: Made) -> list[str]:
    """Woods that hold the screws' thread: of frames and members; the planking's own where neither is asked for."""
    outer = {b.name for b in _outer(made)}
    inside = [b for group in ("frames", "members") for b in made.bodies.get(group, ()) if b.name not in outer]
    return list(dict.fromkeys(b.info["species"] for b in inside) or dict.fromkeys(p.species for p in made.planks))


def _between_plies(members: Sequence[Member]) -> float:
    """kg of glue in laminated members, twins counted."""
    grams = sum((1 + m.mirrored) * sum(m.clamping.face_g) for m in members if m.clamping is not None)
    return grams / 1000


def _weights(made: Made, stores: Stores, woods: Woods) -> list[Weight]:
    centres = {b.name: centroid(b) for b in bodies_of(made.planks, {})}
    planks = plank_weights(made.planks, centres, woods)
    rows = list(planks)
    for group in OTHER_WOOD:
        rows += body_weights(made.bodies.get(group, ()), group, woods)
    if stores.sheathed is not None:
        panels, cloth = {p.id: p.panel for p in made.planks}, made.boat.sheathing
        under = [w for w in planks if cloth is None or cloth.over(panels[w.name])]
        rows.append(spread_weight("cloth and resin", "sheathing", stores.sheathed.aboard, under, "areas and laps"))
    rows.append(spread_weight("glue", "glue", stores.glue.aboard, planks, "joint areas"))
    fastening = made.boat.outfit.fastenings
    one = stores.screw[0].diameter ** 2 * 0.7854 * fastening.length * BRONZE * SLENDER if stores.screw else 0.0
    screws = stores.screws.count * one
    rows.append(spread_weight("screws", "fastenings", screws, planks, "bronze, counted or estimated"))
    return [*rows, *item_weights(made.boat.outfit.items)]


def _weight_checks(made: Made, weights: list[Weight]) -> tuple[Check, ...]:
    """Planks of every layer against the area of their skin, measured round without any planks."""
    heavy: dict[tuple[str, int], float] = defaultdict(float)
    by_plank = {w.name: w.mass for w in weights if w.group == "planking"}
    dense = Woods(made.boat.woods, moistures(made.boat.outfit.moisture).service)
    checks = []
    for layer in made.layers:
        for plank in layer.planks:
            heavy[layer.truth.panel, layer.truth.layer] += by_plank[plank.id]
        if layer.planks:
            wood, _ = dense.density(layer.planks[0].species)
            skin = 2 * layer.truth.area * layer.planks[0].thickness * wood * 1e-9
            name = f"weight of {layer.truth.panel} layer {layer.truth.layer} against its skin"
            off = abs(heavy[layer.truth.panel, layer.truth.layer] / skin - 1.0)
            checks.append(at_most(name, off, SKIN_LIMIT, "share"))
    return tuple(checks)


def _movement(made: Made, between: Moistures) -> tuple[list[Movement], list[PanelMove], dict[str, float]]:
    grain, own = made.boat.outfit.moisture.grain, made.boat.own_wood
    cloth = made.boat.sheathing
    moved = movements(made.planks, grain, made.boat.woods, between)
    panels = []
    for layer in (la for la in made.layers if la.planks):
        s = layer.settings
        grown = growth(s.species, grain, own(s.species), between)
        wide = across_planks(s, max(layer.truth.girths.values(), default=0.0), made.hull.length)
        if grown is not None and wide is not None:
            panels.append(panel_move(s.panel, s.species, wide, grown, cloth is not None and cloth.over(s.panel)))
    names = dict.fromkeys(p.species for p in made.planks)
    widest = {n: w for n in names if (w := widest_allowed(n, grain, own(n), between)) is not None}
    return moved, panels, widest


def _woods(made: Made) -> tuple[tuple[str, str], ...]:
    """Every wood that is picked, with what to mind."""
    names = dict.fromkeys(
        [*(p.species for p in made.planks), *(b.info["species"] for g in made.bodies.values() for b in g)]
    )
    rows = []
    for name in names:
        care = care_of(name)
        own = made.boat.own_wood(name).durability
        lasts = f"durability {own} by your own word" if own else f"durability {care.durability} of 5 (from memory)"
        rows.append((name, f"{lasts}; {care.care}. Glue: {care.gluing}"))
    return tuple(rows)


def _purchases(made: Made, stores: Stores, skin: float, foam: float) -> tuple[Purchase, ...]:
    outfit, cloth = made.boat.outfit, made.boat.sheathing
    used = {p.board for p in made.plan.placements}
    lots: dict[tuple[str, float], list[Board]] = defaultdict(list)
    for board in (b for b in made.boards if b.id in used):
        lots[board.species, board.rough_thickness or board.thickness].append(board)
    rows = board_lines([_lot(*key, boards) for key, boards in sorted(lots.items())], outfit.prices)
    if stores.sheathed is not None and cloth is not None:
        rows += sheathing_lines(stores.sheathed, cloth.roll, cloth.cloth, outfit.prices)
    rows += joint_lines(stores.glue, stores.screws, outfit.fastenings, outfit.prices)
    rows += finish_lines(skin, skin, outfit.prices)
    return tuple(rows + foam_lines(foam, outfit.prices))


def _lot(wood: str, rough: float, boards: list[Board]) -> BoardLot:
    prices = [b.price for b in boards]
    known = sum(p for p in prices if p is not None) if all(p is not None for p in prices) else None
    return BoardLot(wood, f"{rough:g} mm ({print_tape(rough)})", len(boards), sum(map(board_feet, boards)), known)
