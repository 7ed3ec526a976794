"""The main job as one readable function: hull in, planks, parts and plan out, with proof."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

import numpy as np

from strakewright.errors import Check, Finding, InputError
from strakewright.geometry.sections import area, girth
from strakewright.hull import Hull
from strakewright.job.beside import beside
from strakewright.job.inputs import Inputs
from strakewright.job.missing import missing_wood
from strakewright.loft.hulls import loft_hull
from strakewright.lumber import Board, Rules
from strakewright.nest.engine import Search, nest
from strakewright.parts import Part, Plank
from strakewright.plan import Plan
from strakewright.proof.closure import LayerTruth, closure
from strakewright.proof.referee import judge
from strakewright.settings import BoatSettings, FrameSettings, LiningChoice, PlankingSettings
from strakewright.shop.bevels import Surroundings, surroundings
from strakewright.shop.blanks import blank_of
from strakewright.shop.fit import Limits
from strakewright.shop.joints import Room
from strakewright.shop.lining import Lined, line_off
from strakewright.shop.pieces import Bench
from strakewright.shop.planking import plank_layer
from strakewright.shop.skins import Skin, skin_of
from strakewright.tables import species

Watch = Callable[[str, float, float], None]
"""Called with the stage's name, a figure of it (or 0) and the fraction done."""

Frames = tuple[tuple[str, float], ...]


@dataclass(frozen=True)
class BuildOptions:
    """seconds of search (0 = the first plan), or rounds in its place; seed of the search."""

    seconds: float | None = 10.0
    rounds: int | None = None
    seed: int = 0


@dataclass(frozen=True, eq=False)
class Layer:
    """One layer of planking: its settings, how it is lined off, its planks and what they must add up to."""

    settings: PlankingSettings
    lined: Lined
    planks: tuple[Plank, ...]
    truth: LayerTruth


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

    @property
    def planks(self) -> tuple[Plank, ...]:
        return tuple(p for layer in self.layers for p in layer.planks)

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
    watch("hull", 0.0, 0.0)
    hull = loft_hull(inputs.mesh, boat.hull, boat.name)
    frames = frames_of(boat.frames, hull)
    watch("planks", 0.0, 0.0)
    layers, said = _planked(inputs, hull, frames, watch)
    planks = [p for layer in layers for p in layer.planks]
    parts = tuple(blank_of(p, layer.settings.quality) for layer in layers for p in layer.planks)
    rules = rules_of(boat)
    watch("boards", 0.0, 0.0)
    plan = nest(parts, inputs.boards, rules, Search(options.seconds, options.rounds, options.seed), watch)
    watch("proof", 0.0, 0.0)
    placed_checks, faults = judge(parts, inputs.boards, rules, plan)
    checks = (*closure(planks, [layer.truth for layer in layers]), *placed_checks)
    findings = (
        *inputs.findings,
        *hull.findings,
        *said,
        *_will_not_bend(planks),
        *faults,
        *missing_wood(parts, inputs.boards, rules, plan),
    )
    return Build(inputs, hull, frames, layers, parts, rules, plan, checks, findings)


def frames_of(settings: FrameSettings, hull: Hull) -> Frames:
    """Name and x of each frame, aft to forward.  Raises InputError for a frame off the hull."""
    if settings.at is not None:
        at: tuple[float, ...] = settings.at
    else:
        step = settings.spacing or 600.0
        at = tuple(float(x) for x in np.arange(step, hull.length - 1.0, step))
    for x in at:
        if not 0.0 < x < hull.length:
            raise InputError(
                f"a frame at x {x:.0f} mm is off the hull",
                where=f"{settings.where} [frames] at".strip(),
                fix=f"The hull reaches from 0 to {hull.length:.0f} mm",
            )
    return tuple((f"F{i + 1}", x) for i, x in enumerate(at))


def rules_of(boat: BoatSettings) -> Rules:
    """Clearances of the boat file as nesting rules."""
    s = boat.stock
    return Rules(s.spacing, s.edge_margin, s.defect_margin, s.max_skew_deg, s.min_offcut, s.objective)


Task = tuple[PlankingSettings, int]
"""A panel's settings and the number of one of its layers."""


def _planked(inputs: Inputs, hull: Hull, frames: Frames, watch: Watch) -> tuple[tuple[Layer, ...], list[Finding]]:
    """Every layer, half of the work in a second process; in the order of the boat file."""
    around = surroundings(hull, inputs.boat.planking, inputs.boat.backbone)
    tasks = [(p, number) for p in inputs.boat.planking for number in range(1, p.layers + 1)]

    def done(mine: list[int]) -> dict[int, tuple[Layer, list[Finding]]]:
        return {i: _planked_layer(inputs, hull, tasks[i], (around, frames)) for i in mine}

    here, there = _halves(tasks)
    watch("planks", 0.0, 0.0)
    if there:
        with beside(lambda: done(there)) as answer:
            made = done(here)
        made |= {i: (_frozen_again(layer), said) for i, (layer, said) in (answer.value or {}).items()}
    else:
        made = done(here)
    findings: list[Finding] = []
    for i, (settings, number) in enumerate(tasks):
        findings += made[i][1]
        if number == settings.layers:
            findings += _measure_first(settings, made[i][0])
    return tuple(made[i][0] for i in range(len(tasks))), findings


def _frozen_again(layer: Layer) -> Layer:
    """The same with the planks' arrays made read-only again: that is lost between processes."""
    planks = tuple(
        replace(
            p,
            first=replace(p.first),
            second=replace(p.second),
            ends=tuple(replace(e) for e in p.ends),
            marks=tuple(replace(m) for m in p.marks),
        )
        for p in layer.planks
    )
    return replace(layer, planks=planks)


def _halves(tasks: list[Task]) -> tuple[list[int], list[int]]:
    """The tasks shared out so that both halves take about as long: diagonals are three times the work."""
    bins: tuple[list[int], list[int]] = ([], [])
    load = [0.0, 0.0]
    for i in sorted(range(len(tasks)), key=lambda i: -_work(tasks[i])):
        lighter = int(load[1] < load[0])
        bins[lighter].append(i)
        load[lighter] += _work(tasks[i])
    return sorted(bins[0]), sorted(bins[1])


def _work(task: Task) -> float:
    return 3.0 if task[0].pattern == "herringbone" else 1.0


def _planked_layer(
    inputs: Inputs, hull: Hull, task: Task, place: tuple[Surroundings, Frames]
) -> tuple[Layer, list[Finding]]:
    chosen, joints = _taken_back(inputs.lining, *task)
    skin = _skin(hull, chosen, task[1])
    bench = replace(_bench(inputs, hull, chosen, skin, place), joints=joints)
    planks, findings = plank_layer(bench)
    return Layer(chosen, bench.lined, tuple(planks), _truth(skin, place[1])), findings


def _taken_back(
    lining: tuple[LiningChoice, ...], settings: PlankingSettings, number: int
) -> tuple[PlankingSettings, dict[int, tuple[float, ...]]]:
    """The settings of one layer with what a lining.json says instead, and the joints it fixes."""
    for choice in lining:
        if (choice.panel, choice.layer) == (settings.panel, number):
            strakes = settings.pattern == "strakes"
            changed = replace(
                settings,
                lining=choice.lining or settings.lining,
                start=choice.start or settings.start,
                courses=choice.courses if strakes and choice.courses else settings.courses,
                max_width=None if strakes and choice.courses else settings.max_width,
                width=settings.width if strakes else choice.width or settings.width,
            )
            return changed, dict(choice.joints)
    return settings, {}


def _skin(hull: Hull, settings: PlankingSettings, number: int) -> Skin:
    names = [p.name for p in hull.panels]
    if settings.panel not in names:
        raise InputError(
            f"no panel {settings.panel!r} in this hull",
            where=f"{settings.where} panel",
            fix=f"Its panels are, from the keel up: {', '.join(names)}",
        )
    return skin_of(hull.panel(settings.panel), settings, number, hull.surface)


def _bench(
    inputs: Inputs, hull: Hull, settings: PlankingSettings, skin: Skin, place: tuple[Surroundings, Frames]
) -> Bench:
    wood = species(settings.species)
    limits = Limits(wood.breaking_strain or 0.008, wood.kind != "hardwood")
    lined = line_off(skin, settings)
    inner = skin.layer < settings.layers
    return Bench(hull, settings, lined, *place, _room(inputs.boards, settings, inputs.boat), limits, inner)


def _room(boards: tuple[Board, ...], settings: PlankingSettings, boat: BoatSettings) -> Room:
    """Clear length and width of every board that may be used for a plank."""
    need = settings.thickness + settings.fair_allow
    fit = [b for b in boards if b.species == settings.species and b.thickness >= need - 1e-6]
    sizes = np.array([np.ptp(b.outline, axis=0) for b in fit]).reshape(-1, 2) - 2 * boat.stock.edge_margin
    return Room(sizes[:, 0], sizes[:, 1])


def _truth(skin: Skin, frames: Frames) -> LayerTruth:
    ring = skin.ring()
    girths = {name: girth(skin.patch, ring, x) for name, x in frames}
    return LayerTruth(skin.panel, skin.layer, girths, area(skin.patch, ring))


def _measure_first(settings: PlankingSettings, layer: Layer) -> list[Finding]:
    """The last course closes the side: it is cut only when the others hang."""
    last = max((p.course for p in layer.planks), default=0)
    ids = sorted({p.id for p in layer.planks if p.course == last})
    if settings.pattern != "strakes" or last < 2:
        return []
    return [
        Finding(
            "measure-first",
            "note",
            ", ".join(ids),
            "the last course closes the panel; glue lines and fairing add up to a millimetre or two by then",
            "Hang all other courses, measure the gap at every frame, and cut these last",
        )
    ]


def _will_not_bend(planks: Iterable[Plank]) -> list[Finding]:
    refused = [p for p in planks if p.side == "port" and p.fit.verdict == "refused"]
    return [
        Finding("plank-refused", "blocking", f"{p.id} and {p.mate}", p.fit.reason.split(". ")[0], _help(p.fit.reason))
        for p in refused
    ]


def _help(reason: str) -> str:
    return reason.split(". ", 1)[1] if ". " in reason else ""
