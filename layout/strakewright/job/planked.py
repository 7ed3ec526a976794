"""Every layer of planking worked out, half of the work in a second process.

layer     one thickness of planking on one panel: its settings, its seams, its planks and what they must add up to
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np

from strakewright.arrays import Floats
from strakewright.errors import Finding, InputError
from strakewright.geometry.curves import arc_length
from strakewright.geometry.nearby import nearest
from strakewright.geometry.sections import area, girth
from strakewright.hull import Hull
from strakewright.job.beside import beside
from strakewright.job.inputs import Inputs
from strakewright.lumber import Board
from strakewright.parts import Plank
from strakewright.proof.closure import LayerTruth
from strakewright.proof.jointed import JointRule
from strakewright.settings import BoatSettings, Lining, LiningChoice, PlankingSettings
from strakewright.shop.bevels import Surroundings, surroundings
from strakewright.shop.clearspans import battens_of, unheld
from strakewright.shop.compare import Mode, mode_of, others, tried
from strakewright.shop.courses import Lined
from strakewright.shop.diagonals import clear_start
from strakewright.shop.fit import limits_of
from strakewright.shop.hanging import Hanging, in_steps
from strakewright.shop.joints import Room
from strakewright.shop.layers import layer_findings
from strakewright.shop.lining import line_off
from strakewright.shop.pieces import Bench
from strakewright.shop.planking import Hung, plank_layer
from strakewright.shop.skins import Skin, skin_of
from strakewright.shop.strakes import number_of
from strakewright.tables import species

Watch = Callable[[str, float, float], None]
"""Called with the stage's name, a figure of it (or 0) and the fraction done."""

Frames = tuple[tuple[str, float], ...]


SIDED = 32.0  # mm of siding of frames that are not sawn here: common practice, no source


@dataclass(frozen=True, eq=False)
class Layer:
    """One layer of planking: its settings, how it is lined off, its planks and what they must add up to.

    modes : what other ways of lining off would ask of the boards (strakes);  screws : (n, 3) mm of its screws, port
    """

    settings: PlankingSettings
    lined: Lined
    hung: Hung
    truth: LayerTruth
    modes: tuple[Mode, ...] = ()
    screws: Floats = field(default_factory=lambda: np.zeros((0, 3)))

    @property
    def planks(self) -> tuple[Plank, ...]:
        """Port first, then starboard, each in hanging order."""
        return self.hung.planks

    @property
    def joint_rule(self) -> JointRule:
        """What the joints of this layer must keep."""
        joined, skin = self.hung.joined, self.lined.skin
        kept = joined.kept
        stagger = (kept.bays, kept.apart, kept.between)
        return JointRule(
            skin.panel,
            skin.layer,
            self.settings.scarf_slope,
            *stagger,
            off_nibs=joined.off_nibs,
            shifted=self.hung.shifted,
        )


Task = tuple[PlankingSettings, int]
"""A panel's settings and the number of one of its layers."""

Errand = tuple[int, Lining | None]
"""Number of a task, and a lining to compare its own with; None stands for the task itself."""

Fixed = dict[int, tuple[float, ...]]
"""Course -> x of its joints."""

Made = dict[int, tuple[Layer, list[Finding]]]


def plank_hull(inputs: Inputs, hull: Hull, frames: Frames, watch: Watch) -> tuple[tuple[Layer, ...], list[Finding]]:
    """Every layer, half of the work in a second process; in the order of the boat file."""
    around = surroundings(hull, inputs.boat.planking, inputs.boat.backbone, inputs.boat.chine)
    tasks = [(p.layer(number), number) for p in inputs.boat.planking for number in range(1, p.layers + 1)]
    layers, modes = _shared_out(inputs, hull, tasks, (around, frames), watch)
    made: Made = {}
    for i, (layer, said) in layers.items():
        compared = tuple(modes[errand] for errand in _compared(inputs, i, tasks[i]))
        made[i] = (replace(layer, modes=(*layer.modes, *compared)), said)
    made = _in_steps(hull, made)
    findings: list[Finding] = []
    for i, (settings, number) in enumerate(tasks):
        findings += made[i][1]
        if number == settings.layers:
            findings += _measure_first(settings, made[i][0])
    every = tuple(made[i][0] for i in range(len(tasks)))
    for panel in dict.fromkeys(layer.settings.panel for layer in every):
        mine = [layer for layer in every if layer.settings.panel == panel]
        findings += layer_findings(panel, [layer.lined for layer in mine])
        if len(mine) > 1:
            girth, battens = max(mine[0].truth.girths.values(), default=0.0), battens_of(panel, inputs.boat.members)
            findings += unheld(mine[0].settings, [x for _, x in frames], girth, battens)
    return every, findings


def _shared_out(
    inputs: Inputs, hull: Hull, tasks: list[Task], place: tuple[Surroundings, Frames], watch: Watch
) -> tuple[Made, dict[Errand, Mode]]:
    """Every layer, and every other lining of it, half of the work in a second process."""
    errands = [errand for i, task in enumerate(tasks) for errand in ((i, None), *_compared(inputs, i, task))]

    def done(mine: list[int]) -> tuple[Made, dict[Errand, Mode]]:
        layers: Made = {}
        modes: dict[Errand, Mode] = {}
        for i, mode in (errands[k] for k in mine):
            if mode is None:
                layers[i] = _planked_layer(inputs, hull, tasks[i], place)
            else:
                modes[i, mode] = _tried(inputs, hull, tasks[i], mode)
        return layers, modes

    here, there = _halves([_work(hull, tasks[i], mode) for i, mode in errands])
    watch("planks", 0.0, 0.0)
    if not there:
        return done(here)
    with beside(lambda: done(there)) as answer:
        layers, modes = done(here)
    more, others_modes = answer.value or ({}, {})
    layers |= {i: (_frozen_again(layer), said) for i, (layer, said) in more.items()}
    return layers, modes | others_modes


def _compared(inputs: Inputs, i: int, task: Task) -> list[Errand]:
    """The other linings of a task."""
    return [(i, mode) for mode in others(_taken_back(inputs.lining, *task)[0])]


def _tried(inputs: Inputs, hull: Hull, task: Task, mode: Lining) -> Mode:
    """Another lining, with as many courses as the one taken has."""
    chosen, _ = _taken_back(inputs.lining, *task)
    skin = _skin(hull, chosen, task[1])
    return tried(skin, chosen, mode, number_of(skin, chosen))


def _in_steps(hull: Hull, made: Made) -> Made:
    """The same with every plank's place in the order of hanging."""
    ranks = {p.name: i for i, p in enumerate(hull.panels)}
    keys = sorted(made)
    rows = []
    for i in keys:
        skin = made[i][0].lined.skin
        rows.append(Hanging(skin.panel, skin.layer, ranks[skin.panel], made[i][0].planks))
    found = {}
    for i, planks in zip(keys, in_steps(rows), strict=True):
        layer, said = made[i]
        found[i] = (replace(layer, hung=replace(layer.hung, planks=planks)), said)
    return found


def _frozen_again(layer: Layer) -> Layer:
    """The same with the planks' arrays made read-only again: that is lost between processes."""
    hung = replace(layer.hung, planks=_frozen(layer.hung.planks), spare=_frozen(layer.hung.spare))
    return replace(layer, hung=hung)


def _frozen(planks: tuple[Plank, ...]) -> tuple[Plank, ...]:
    return tuple(
        replace(
            p,
            first=replace(p.first),
            second=replace(p.second),
            ends=tuple(replace(e) for e in p.ends),
            marks=tuple(replace(m) for m in p.marks),
        )
        for p in planks
    )


def _halves(work: list[float]) -> tuple[list[int], list[int]]:
    """Which tasks each of two processes does, so that both take about as long.  work : of each task

    >>> _halves([90.0, 92.0, 164.0])
    ([2], [0, 1])
    """
    bins: tuple[list[int], list[int]] = ([], [])
    load = [0.0, 0.0]
    for i in sorted(range(len(work)), key=lambda i: -work[i]):
        lighter = int(load[1] < load[0])
        bins[lighter].append(i)
        load[lighter] += work[i]
    return sorted(bins[0]), sorted(bins[1])


def _work(hull: Hull, task: Task, mode: Lining | None) -> float:
    """About how long a layer takes, in diagonals: a strake is as much as two and a half, of another lining as one."""
    settings, panel = task[0], {p.name: p for p in hull.panels}.get(task[0].panel)
    if panel is None:
        return 0.0
    lower, upper = (b.chart[::20] for b in (panel.lower, panel.upper))
    if settings.pattern == "strakes":
        widths = [w for w in (settings.max_width, settings.width_midship) if w]
        breadth = float(nearest(lower, upper).max())
        count = settings.courses or (breadth / widths[0] if widths else 1.0)
        return 3.0 + (2.5 if mode is None else 1.0) * count
    return float(arc_length(lower)[-1] * np.sin(np.radians(settings.angle_deg))) / (settings.width or 100.0)


def _planked_layer(
    inputs: Inputs, hull: Hull, task: Task, place: tuple[Surroundings, Frames]
) -> tuple[Layer, list[Finding]]:
    chosen, joints = _taken_back(inputs.lining, *task)
    chosen = _placed(chosen, place[1])
    skin = _skin(hull, chosen, task[1])
    bench = replace(_bench(inputs, hull, chosen, skin, place), joints=joints[0], starboard=joints[1])
    hung = plank_layer(bench)
    modes = (mode_of(chosen.lining, bench.lined),) if chosen.pattern == "strakes" else ()
    truth = replace(_truth(skin, place[1]), shifted=hung.shifted)
    return Layer(chosen, bench.lined, hung, truth, modes), list(hung.findings)


def _placed(settings: PlankingSettings, frames: Frames) -> PlankingSettings:
    """With the x where the first seam leaves the keel.  Raises InputError for a frame the boat has not.

    Cross planks: a frame lies under the middle of a plank, where it takes screws, and under no seam."""
    at = dict(frames)
    for key, name in (("start_at", settings.start_at), ("staves_from", settings.staves_from)):
        if name is not None and name not in at:
            raise InputError(
                f"no frame {name!r} in this boat",
                where=f"{settings.where} {key}",
                fix=f"Its frames are, aft to forward: {', '.join(at)}",
            )
    start = None if settings.start_at is None else at[settings.start_at]
    if settings.pattern == "cross" and at:
        stations = np.array(list(at.values()))
        start = stations[len(stations) // 2] if start is None else start
        start = clear_start(float(start), settings.width or 100.0, stations)
    staves = None if settings.staves_from is None else at[settings.staves_from]
    return replace(settings, start_x=start, staves_x=staves)


def _taken_back(
    lining: tuple[LiningChoice, ...], settings: PlankingSettings, number: int
) -> tuple[PlankingSettings, tuple[Fixed, Fixed]]:
    """The settings of one layer with what a lining.json says instead, and the joints it fixes, port and starboard."""
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
                joint_sides="shifted" if choice.starboard else settings.joint_sides,
            )
            return changed, (dict(choice.joints), dict(choice.starboard))
    return settings, ({}, {})


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
    limits = limits_of(species(settings.species), inputs.boat.own_wood(settings.species))
    if settings.pattern == "herringbone":
        settings = replace(settings, stave_bend=limits.firm_bend, stave_shear=limits.firm_shear)
    lined = line_off(skin, settings)
    inner = skin.layer < settings.layers
    room = _room(inputs.boards, settings, inputs.boat)
    half = (inputs.boat.frames.sided or SIDED) / 2
    return Bench(hull, settings, lined, *place, room, limits, inner, spare=settings.alternatives, half_frame=half)


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
            f"Its blank is left {settings.spare_shutter:.0f} mm wide. Hang all other courses, measure the gap at every "
            "frame, and cut these last",
        )
    ]
