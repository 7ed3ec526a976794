"""The main job as one readable function: hull in, planks, parts and plan out, with proof."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np

from strakewright.drawn import Drawn
from strakewright.errors import Check, Finding, InputError
from strakewright.frames import Framing
from strakewright.hull import Hull
from strakewright.job.backboned import NO_BACKBONE, Backbone, backbone_of
from strakewright.job.clearances import screw_checks
from strakewright.job.fastening import fasten
from strakewright.job.framing import frame_hull
from strakewright.job.inputs import Inputs, hull_of
from strakewright.job.missing import missing_wood
from strakewright.job.planked import SIDED, Frames, Layer, Watch, plank_hull
from strakewright.job.reckoning import Made, bodies_by_group, reckon
from strakewright.job.taken import layers_taken
from strakewright.ledger import Reckoned
from strakewright.lumber import USUAL, Dressing, Rules
from strakewright.nest import Search, compile_ahead, nest
from strakewright.parts import Choice, Part, Plank
from strakewright.plan import Plan
from strakewright.proof.closure import closure
from strakewright.proof.framing import judge_frames
from strakewright.proof.jointed import joint_checks
from strakewright.proof.nibs import nib_checks
from strakewright.proof.referee import judge
from strakewright.settings import BoatSettings, FrameSettings
from strakewright.shop.blanks import blank_of
from strakewright.shop.keelflat import ridge_findings, ridges
from strakewright.shop.rabbets import rabbet_findings, rabbets
from strakewright.solids import Body


@dataclass(frozen=True)
class BuildOptions:
    """seconds of search (0 = the first plan), or rounds in its place; seed of the search.

    unit : of bare numbers in a table of boards that no boat file speaks for;  dressing : what comes off those boards
    """

    seconds: float | None = 10.0
    rounds: int | None = None
    seed: int = 0
    unit: str = "mm"
    dressing: Dressing = USUAL


@dataclass(frozen=True, eq=False)
class Build:
    """The finished job, one field a stage.  Nothing here is written yet."""

    inputs: Inputs
    hull: Hull
    frames: Frames
    layers: tuple[Layer, ...]
    parts: tuple[Part, ...]
    rules: Rules
    plan: Plan
    checks: tuple[Check, ...]
    findings: tuple[Finding, ...]
    framing: Framing = field(default_factory=Framing)
    backbone: Backbone = NO_BACKBONE
    reckoned: Reckoned | None = None

    @property
    def planks(self) -> tuple[Plank, ...]:
        return tuple(p for layer in self.layers for p in layer.planks)

    def widest_of(self, layer: Layer) -> float | None:
        """mm: the widest plank that the wood of a layer lets move freely; None where that is not known."""
        return None if self.reckoned is None else self.reckoned.widest.get(layer.settings.species)

    @property
    def choices(self) -> tuple[Choice, ...]:
        """What the nesting may choose between: joints of strakes."""
        return tuple(c for layer in self.layers for c in layer.hung.choices)

    @property
    def spare_parts(self) -> tuple[Part, ...]:
        """Parts of the options that are not taken."""
        return _spare_blanks(self.layers)

    @property
    def patterns(self) -> tuple[Drawn, ...]:
        """Full-size patterns of everything but planks: frames, transoms, formers, sawn members."""
        return (*self.framing.patterns, *self.backbone.patterns)

    @property
    def bodies(self) -> tuple[Body, ...]:
        """Everything but planks as solids in their places."""
        return (*self.framing.bodies, *self.backbone.bodies)

    @property
    def status(self) -> int:
        return status_of(self.checks, self.findings)


def status_of(checks: Iterable[Check], findings: Iterable[Finding]) -> int:
    """0 when every check holds and nothing is blocking, else 1."""
    return int(any(not c.holds for c in checks) or any(f.level == "blocking" for f in findings))


def build(inputs: Inputs, options: BuildOptions, watch: Watch) -> Build:
    """Hull -> frames -> layers of planks -> parts -> plan, each proved.

    watch : told of every stage;  raises InputError for settings that do not suit the hull, UnworkableError
    where no flat shape exists
    """
    boat = inputs.boat
    compile_ahead()
    watch("hull", 0.0, 0.0)
    hull = hull_of(inputs)
    frames = frames_of(boat.frames, hull, boat.hull.measure_from)
    watch("planks", 0.0, 0.0)
    layers, said = plank_hull(inputs, hull, frames, watch)
    backbone = backbone_of(inputs, hull, frames, layers)
    framed = frame_hull(boat, hull, frames, backbone.members)
    bare, plugs = layers, boat.outfit.fastenings.plugs
    layers, unscrewed = fasten(bare, framed.framing, frames, plugs)
    rest = (*backbone.parts, *framed.framing.parts)
    every = (*_blanks(layers), *rest, *_spare_blanks(layers))
    choices = tuple(c for layer in layers for c in layer.hung.choices)
    rules = rules_of(boat)
    watch("boards", 0.0, 0.0)
    plan = nest(every, inputs.boards, rules, Search(options.seconds, options.rounds, options.seed), watch, choices)
    watch("proof", 0.0, 0.0)
    placed_checks, faults = judge(every, inputs.boards, rules, plan, choices)
    if any(plan.chosen.values()):  # joints that suit the boards better than those first thought of
        ranks = {p.name: i for i, p in enumerate(hull.panels)}
        layers, unscrewed = fasten(layers_taken(bare, plan.chosen, ranks), framed.framing, frames, plugs)
    planks = [p for layer in layers for p in layer.planks]
    parts = (*_blanks(layers), *rest)
    shell = (
        *closure(planks, [layer.truth for layer in layers]),
        *joint_checks(planks, frames, [layer.joint_rule for layer in layers]),
        *nib_checks(planks, frames, boat.frames.sided or SIDED),
        *screw_checks(layers),
    )
    checks = (*shell, *backbone.checks, *judge_frames(framed.framing, backbone.members, planks), *placed_checks)
    findings = (
        *inputs.findings,
        *hull.findings,
        *said,
        *backbone.findings,
        *framed.findings,
        *unscrewed,
        *ridge_findings(ridges(hull, boat.planking, boat.backbone, frames)),
        *rabbet_findings(rabbets(hull, boat.planking, boat.backbone), boat.backbone.stem_face_min),
        *_will_not_bend(planks, hull.findings),
        *faults,
        *missing_wood(parts, inputs.boards, rules, plan),
    )
    watch("weight and water", 0.0, 0.0)
    bodies = bodies_by_group(framed.framing.bodies, backbone.bodies)
    reckoned, weighed, told = reckon(Made(boat, hull, frames, layers, inputs.boards, plan, bodies, backbone.members))
    checks, findings = (*checks, *weighed), (*findings, *told)
    made = (framed.framing, backbone, reckoned)
    return Build(inputs, hull, frames, layers, parts, rules, plan, checks, findings, *made)


def _blanks(layers: Iterable[Layer]) -> tuple[Part, ...]:
    return tuple(blank_of(p, x.settings.quality, x.settings.stage, x.settings.match) for x in layers for p in x.planks)


def _spare_blanks(layers: Iterable[Layer]) -> tuple[Part, ...]:
    asked = ((p, x.settings) for x in layers for p in x.hung.spare)
    return tuple(blank_of(p, s.quality, s.stage, s.match) for p, s in asked)


def frames_of(settings: FrameSettings, hull: Hull, measure_from: str = "aft") -> Frames:
    """Name and x of each frame, aft to forward; those at a station of the table bear its name.

    measure_from : "aft", or "station 0": x then counts from there, into the boat.  Raises InputError for a frame
    off the hull or a station the table has not.
    """
    where = f"{settings.where} [frames] at".strip()
    if settings.at is not None:
        places = sorted(_frame_place(at, hull, measure_from, where) for at in settings.at)
    else:
        step = settings.spacing or 600.0
        places = [(float(x), "") for x in np.arange(step, hull.length - 1.0, step)]
    for n, (x, _) in enumerate(places):
        if not 0.0 < x < hull.length or (n and x - places[n - 1][0] < 1.0):
            fault = "is off the hull" if not 0.0 < x < hull.length else "stands on another"
            fix = f"The hull reaches from 0 to {hull.length:.0f} mm"
            raise InputError(f"a frame at x {x:.0f} mm {fault}", where=where, fix=fix)
    return tuple((f"sta{station}" if station else f"F{i + 1}", x) for i, (x, station) in enumerate(places))


def _frame_place(at: float | str, hull: Hull, measure_from: str, where: str) -> tuple[float, str]:
    """x of a frame, and the station it stands at ("" when none)."""
    stations = dict(hull.lines.stations) if hull.lines else {}
    if isinstance(at, float):
        zero = stations.get("0", 0.0) if measure_from == "station 0" else 0.0
        return (zero + at if zero < hull.length / 2 else zero - at), ""
    if at not in stations:
        known = ", ".join(stations) or "none: the hull comes from a mesh"
        raise InputError(f"there is no station {at!r}", where=where, fix=f"Stations are {known}")
    return stations[at], at


def rules_of(boat: BoatSettings) -> Rules:
    """Clearances of the boat file as nesting rules."""
    s = boat.stock
    return Rules(
        s.spacing,
        s.edge_margin,
        s.defect_margin,
        s.max_skew_deg,
        s.min_offcut,
        s.objective,
        s.run_out,
        by_stage=s.by_stage or None,
        resaw_kerf=s.resaw_kerf if s.resaw else None,
        resaw_skip=s.skip if s.resaw else None,
        resaw_max=boat.machine.resaw_max if boat.machine and s.resaw else None,
        snipe=boat.machine.snipe if boat.machine else None,
        planer_min=boat.machine.planer_min if boat.machine else None,
    )


def _will_not_bend(planks: Iterable[Plank], hull_findings: Iterable[Finding]) -> list[Finding]:
    """Refused planks; those that only want their back hollowed are no hindrance, but must be told.

    Where a cell of the table is doubted that comes first: a bent line refuses planks that the right one takes.
    """
    refused = [p for p in planks if p.stands_for and p.fit.verdict == "refused"]
    doubted = [f.subject for f in hull_findings if f.code == "misprint"]
    first = f"First settle the doubted cell ({'; '.join(doubted)}): this may follow from it. " if doubted else ""
    found = []
    for p in refused:
        subject = p.id if p.mate is None else f"{p.id} and {p.mate}"
        figure, _, helps = p.fit.reason.partition(". ")
        code, level = ("plank-back-out", "warning") if p.fit.backs_out else ("plank-refused", "blocking")
        found.append(Finding(code, level, subject, figure, first + helps))  # type: ignore[arg-type]
    return found
