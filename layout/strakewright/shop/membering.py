"""Members of a boat, from what is asked for to pieces, formers, bevel tables and glue plans.

asked     what the boat file wants: its own [[member]] tables, a chine log, a keelson
stopped   where a member ends before its line does: at its own limits, at the stem, where a chine has no fold left

Order: centreline members first, because the others end at the side of the stem.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from strakewright.arrays import Bools, Floats
from strakewright.errors import Finding, InputError
from strakewright.geometry.surface import foot_points
from strakewright.members import BevelRow, EndCut, EndScarf, Member, Swept
from strakewright.settings import BoatSettings, MemberSettings
from strakewright.shop.backbone import bearing_widths, inner_member, outer_member, spine
from strakewright.shop.bending import MOST, Curve, bend_of, curve_in, nearer_side, plies_needed
from strakewright.shop.clamping import clamping_of
from strakewright.shop.endscarfs import backbone_scarf, left_long
from strakewright.shop.fit import as_measured, limits_of
from strakewright.shop.formers import formed, former_pattern
from strakewright.shop.memberends import end_cuts
from strakewright.shop.memberfaults import faults_of
from strakewright.shop.plies import Layup, plies_of, slug
from strakewright.shop.runs import Line, edge_line, girth_line
from strakewright.shop.swept import LEAST_FOLD, Skins, flat_run, inner_chine, kept, log_on_bisector, log_on_side
from strakewright.shop.transoms import transom_plates
from strakewright.tables import Species, species

EVERY = 300.0  # mm between rows of a bevel table
UNKNOWN_LENGTH = 3000.0  # mm of boards when no board of the wood is there yet
CLEAR_OF_CENTRE = 1.0
STRAINLESS = 1e-5  # of edge strain: a straight line's is rounding, and turns no ply

Longest = Callable[[str, float], float | None]
"""Clear length mm of the longest board of a species that finishes at a thickness, None without one."""


@dataclass(frozen=True, eq=False)
class Around:
    """What members are fitted to.  frames : name and x;  seams : "side/3" -> (n, 3) mm, the seam above course 3"""

    skins: Skins
    boat: BoatSettings
    frames: tuple[tuple[str, float], ...]
    longest: Longest
    seams: Mapping[str, Floats] = field(default_factory=dict)

    def wood(self, name: str) -> Species:
        """A wood with what the boat file knows better of it."""
        wood = species(name)
        return as_measured(wood, self.boat.own_wood(wood.name))

    def firm_bend(self, name: str) -> float:
        """Largest t / R of a dry ply of that wood."""
        wood = species(name)
        return limits_of(wood, self.boat.own_wood(wood.name)).firm_bend


def asked(boat: BoatSettings, edges: list[str]) -> tuple[MemberSettings, ...]:
    """Every run of the boat file, keelson and chine logs first.  edges : names of the hull's edges

    A keelson ends where an inner stem begins that runs down on to the keel."""
    found: list[MemberSettings] = []
    back, chine = boat.backbone, boat.chine
    if back.keelson_sided is not None:
        moulded = back.keelson_moulded or back.keelson_sided / 2
        keelson = _plain("keelson", "keel", back.keelson_sided, moulded, boat.species)
        stems = [m.aft for m in boat.members if m.face == "inside" and "stem" in m.along and m.aft is not None]
        found.append(replace(keelson, forward=min(stems, default=None), plies=back.keelson_plies))
    if chine.log is not None:
        for edge in [e for e in edges if e.startswith("chine")]:
            name = "chine log" if edge == "chine" else f"{edge} log"
            log = _plain(name, edge, chine.log_land, chine.log, chine.log_species or boat.species)
            found.append(replace(log, plies=chine.log_plies))
    return (*found, *(m for m in boat.members if m.shape == "run"))


def _plain(name: str, along: str, sided: float, moulded: float, wood: str) -> MemberSettings:
    return MemberSettings(name=name, along=along, sided=sided, moulded=moulded, species=wood)


def members_of(around: Around, wanted: tuple[MemberSettings, ...]) -> tuple[tuple[Member, ...], list[Finding]]:
    """All members that run along a line, in the order asked for, and what there is to say of them.

    Raises InputError for lines the hull does not have, and for a single ply on a former.
    """
    made: dict[int, Member] = {}
    findings: list[Finding] = []
    first = [i for i, m in enumerate(wanted) if _centre(m)]
    for i in first + [i for i in range(len(wanted)) if i not in first]:
        ask = wanted[i]
        clear = _half_stem(list(made.values())) if i not in first else 0.0
        swept = _trimmed(around, ask, _swept(around, ask), clear)
        made[i] = replace(_member(around, ask, swept, backbone_scarf(ask, wanted)), cuts=_cuts(around, ask, swept))
        findings += faults_of(made[i], ask, around.boat, around.skins)
    return tuple(made[i] for i in range(len(wanted))), findings


def _cuts(around: Around, ask: MemberSettings, swept: Swept) -> tuple[EndCut, ...]:
    asked_for = around.boat.transom
    if asked_for is None or ask.face != "inside":
        return ()
    plates = {name: plate for name, (plate, _) in transom_plates(around.skins.hull).items()}
    return end_cuts(swept, plates, asked_for.sided)


def _centre(ask: MemberSettings) -> bool:
    return ask.along.split("+")[0] in ("keel", "stem")


def _half_stem(made: list[Member]) -> float:
    """Half the breadth of what stands on the centreline inside the planking."""
    inner = [m.swept.blank.width / 2 for m in made if m.place == "inside" and "stem" in m.along]
    return max(inner, default=CLEAR_OF_CENTRE)


# -- where it runs ---------------------------------------------------------------------------------


def _swept(around: Around, ask: MemberSettings) -> Swept:
    skins, boat = around.skins, around.boat
    if _centre(ask):
        run = spine(skins, edge_line(skins.hull, ask.along, ask.where), boat.backbone)
        if ask.face == "outside":
            return outer_member(skins, run, ask.sided, ask.moulded, _half_flat(boat, ask, run.points[:, 0]))
        return inner_member(skins, run, ask.sided, ask.moulded)
    if ask.along.startswith("chine") and ask.face == "inside":
        chine = inner_chine(skins, edge_line(skins.hull, ask.along, ask.where))
        make = log_on_side if boat.chine.log_turn == "side" else log_on_bisector
        return kept(make(skins, chine, ask.moulded, ask.sided), chine.fold >= LEAST_FOLD)
    half = ask.sided / 2
    if "@" in ask.along:
        line = girth_line(skins.hull, ask.along, ask.where, 2.0 * ask.sided)
        return flat_run(skins, line, ask.face, (ask.sided, ask.moulded), (-half, half))
    if "/" in ask.along:
        return flat_run(skins, _seam(around, ask), ask.face, (ask.sided, ask.moulded), (-half, half))
    line = edge_line(skins.hull, ask.along, ask.where)
    upper = [p.upper.name for p in skins.hull.panels]
    line = replace(line, panel=np.full(len(line.panel), float(upper.index(ask.along)))) if ask.along in upper else line
    return flat_run(skins, line, ask.face, (ask.sided, ask.moulded), (-ask.sided, 0.0))


def _half_flat(boat: BoatSettings, ask: MemberSettings, x: Floats) -> Floats:
    """(n,) half the flat (mm) planed along the keel for a shoe: as the boat file says, else as wide as the shoe."""
    if boat.backbone.keel_flat is None:
        return np.full(len(x), ask.sided / 2)
    at, widths = np.array(boat.backbone.keel_flat).T
    return np.asarray(np.interp(x, at, widths) / 2)


def _seam(around: Around, ask: MemberSettings) -> Line:
    if ask.along not in around.seams:
        raise InputError(
            f"there is no seam {ask.along!r}",
            where=f"{ask.where} along".strip(),
            fix='Write the panel and the course below the seam, as "side/3"; strakes only',
        )
    points = around.seams[ask.along]
    names = [p.name for p in around.skins.hull.panels]
    panel = names.index(ask.along.split("/")[0])
    patch = around.skins.hull.panels[panel].patch
    border = around.skins.hull.panels[panel].lower.chart
    nearest = np.linalg.norm(patch.at(border)[None] - points[:, None], axis=-1).argmin(axis=1)
    chart = foot_points(patch, points, border[nearest], rounds=30)
    return Line(patch.at(chart), np.full(len(points), float(panel)), chart)


def _trimmed(around: Around, ask: MemberSettings, swept: Swept, clear: float) -> Swept:
    """Cut to its own limits, off the centreline, and inner members at the inside of a transom that is asked for."""
    x, y = swept.corners[..., 0].mean(axis=1), swept.corners[..., 1]
    keep: Bools = np.ones(len(x), dtype=bool)
    if clear:
        keep &= y.min(axis=1) >= clear
    thick = around.boat.transom.sided if around.boat.transom else None
    if thick is not None and ask.face == "inside":
        for plate, _ in transom_plates(around.skins.hull).values():
            over = plate.level(swept.corners.reshape(-1, 3)).reshape(y.shape)
            keep &= over.min(axis=1) <= -thick  # the blank is longer: it is cut to the transom's face
    if ask.aft is not None:
        keep &= x >= ask.aft
    if ask.forward is not None:
        keep &= x <= ask.forward
    if keep.sum() < 8:
        raise InputError(
            f"{ask.name} has no length left between its ends",
            where=f"{ask.where} [[member]]".strip(),
            fix="Check `aft` and `forward`: x is 0 at the aftmost point of the hull",
        )
    return kept(swept, keep)


# -- what it is made of ----------------------------------------------------------------------------


def _member(around: Around, ask: MemberSettings, swept: Swept, scarf: EndScarf | None) -> Member:
    wood = around.wood(ask.species)
    flat_is_side = nearer_side(swept.blank)
    flip = _lies_on_edge(around, ask, swept, flat_is_side)
    count = _count(around, ask, swept, flip)
    if ask.ply is not None:
        swept = _of_whole_plies(swept, count * ask.ply, flip)
    layup = Layup(slug(ask.name), count, flip, _room(around, ask, swept, (count, flip)), wood.name, not _centre(ask))
    if scarf is not None:
        layup = replace(layup, over=left_long(scarf))
    plies, parts = plies_of(swept, layup)
    clamping = clamping_of(plies, around.boat.outfit.glue)
    rows = bevel_rows(swept, around.frames)
    former = None
    if ask.glued == "on former":
        shape = formed(swept, count, ask.springback_factor, ask.where)
        marks = [(r.name, min(r.run, float(shape.run[-1]))) for r in rows if r.name]
        former = former_pattern(
            slug(ask.name), shape, clamping.positions if clamping else (), marks, (count, ask.springback_factor)
        )
    return Member(
        name=ask.name,
        along=ask.along,
        where="centre" if _centre(ask) else "port",
        place=ask.face,
        species=wood.name,
        sided=ask.sided,
        moulded=ask.moulded,
        swept=swept,
        bend=bend_of(swept.blank, count, flip, wood),
        other_way=bend_of(swept.blank, count, not flip, wood),
        plies_lie="to side" if flat_is_side != flip else "to bottom",
        glued=ask.glued,
        plies=plies,
        parts=parts,
        clamping=clamping,
        rows=rows,
        former=former,
        springback_factor=ask.springback_factor,
        scarf=scarf,
    )


def _lies_on_edge(around: Around, ask: MemberSettings, swept: Swept, flat_is_side: bool) -> bool:
    """Whether plies stand on edge: as asked, or whichever way strains their edges less.  Sticks bent on a former lie
    flat on it."""
    if ask.plies_lie is not None:
        return (ask.plies_lie == "to side") != flat_is_side
    if ask.glued == "on former" or ask.face == "outside":
        return False
    wood = around.wood(ask.species)
    strains = [bend_of(swept.blank, ask.plies or 2, flip, wood).edge_strain for flip in (False, True)]
    return strains[0] > STRAINLESS and strains[1] < 0.5 * strains[0]


def _count(around: Around, ask: MemberSettings, swept: Swept, flip: bool) -> int:
    """How many plies: as asked, else the fewest that bend within the limit and that some board is thick enough for."""
    if ask.plies is not None:
        return ask.plies
    if ask.ply is not None:
        size = swept.blank.width if flip else swept.blank.depth
        return max(1, int(np.ceil(size / ask.ply - 1e-6)))
    wood = around.wood(ask.species)
    needed = max(
        plies_needed(swept.blank, flip, wood, around.firm_bend(wood.name)), 2 if ask.glued == "on former" else 1
    )
    size = swept.blank.width if flip else swept.blank.depth
    there = (n for n in range(needed, MOST) if around.longest(wood.name, size / n) is not None)
    return next(there, needed)


def _of_whole_plies(swept: Swept, size: float, flip: bool) -> Swept:
    """The same with a blank that is as deep (or wide) as its plies together; what is over goes outside."""
    b = swept.blank
    if flip:
        return replace(swept, blank=replace(b, width=size))
    return replace(swept, blank=replace(b, outer=b.outer - (size - b.depth) * b.deep, depth=size))


def _room(around: Around, ask: MemberSettings, swept: Swept, layup: tuple[int, bool]) -> float:
    count, flip = layup
    t = (swept.blank.width if flip else swept.blank.depth) / count
    return around.longest(species(ask.species).name, t) or UNKNOWN_LENGTH


# -- bevel table -----------------------------------------------------------------------------------


def bevel_rows(swept: Swept, frames: tuple[tuple[str, float], ...]) -> tuple[BevelRow, ...]:
    """Bevels at every frame the member passes and every EVERY mm of its run, aft to forward."""
    x = swept.middle[:, 0]
    at: list[tuple[float, str]] = [(float(s), "") for s in np.arange(0.0, swept.run[-1], EVERY)]
    at.append((float(swept.run[-1]), ""))
    for name, station in frames:
        over = x - station
        for i in np.flatnonzero((over[:-1] < 0) != (over[1:] < 0))[:1]:
            share = over[i] / (over[i] - over[i + 1])
            at.append((float(swept.run[i] + share * (swept.run[i + 1] - swept.run[i])), name))
    curve: Curve = curve_in(swept.blank, 0.0, 0.0)
    turn = np.concatenate([[0.0], np.cumsum((curve.twist[1:] + curve.twist[:-1]) / 2 * np.diff(curve.run))])
    widths = bearing_widths(swept)

    def read(values: Floats, s: float) -> float:
        return float(np.interp(s, swept.run, values))

    return tuple(
        BevelRow(
            name,
            s,
            read(x, s),
            tuple(read(b.bevel, s) for b in swept.bearings),
            tuple(read(w, s) for w in widths),
            read(turn, s),
        )
        for s, name in sorted(at)
    )
