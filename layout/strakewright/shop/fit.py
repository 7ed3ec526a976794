"""Will the wood take the shape?

bend      radius of the plank along itself; the strain at its face is half its thickness over that radius
twist     turn of the plank about its own length (wind); shear at the face = thickness x twist, and the edges
          stretch against the middle
hollow    how far the middle of a flat plank stands off a surface curved across it: width squared / 8 R
fold-out  strain of laying flat a strip of a doubly curved surface whose edges keep their length
verdict   easy, firm (slow, warm, with help) or refused (steam, narrower, thinner, or another run)

Sources: strains derived (beam and strip theory); limits of t/R 1/100 hardwood and 1/125 softwood from the glulam
rule of the National Design Specification (from memory); all other limits are common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from strakewright.arrays import Floats
from strakewright.geometry.surface import bends_and_twist, normal_curvature
from strakewright.outfit import BentPlank, WoodSettings
from strakewright.parts import Fit
from strakewright.shop import cures
from strakewright.shop.courses import Course
from strakewright.shop.cures import MOST_BACKING, Strained
from strakewright.shop.shapes import Shape
from strakewright.shop.skins import Skin
from strakewright.tables import Figure, Species

NEAR_FRAME = 60.0  # mm: nearer than this a place is at the frame
UNKNOWN_STRAIN = 0.008  # breaking strain of a wood whose strength or stiffness is not known: common practice


@dataclass(frozen=True)
class Limits:
    """What a species stands, dry.  breaking_strain : MOR / E;  softwood : stricter bend limit

    bend : t / R;  shear : t x twist;  share : of the breaking strain;  hollow : mm;  bent : True where a plank that
    the builder has bent moved a limit
    """

    breaking_strain: float
    softwood: bool
    easy_share: float = 0.30
    firm_share: float = 0.60
    easy_bend: float = 1 / 200
    hard_bend: float | None = None
    easy_shear: float = 0.002
    firm_shear: float = 0.005
    most_shear: float = 0.010
    easy_hollow: float = 0.3
    firm_hollow: float = 1.0
    bent: bool = False

    @property
    def firm_bend(self) -> float:
        """Largest t / R of a dry plank."""
        return self.hard_bend or (1 / 125 if self.softwood else 1 / 100)


def as_measured(wood: Species, own: WoodSettings) -> Species:
    """The wood with the strength and stiffness that the builder has of it, where the boat file gives any."""
    strength = wood.strength if own.strength is None else Figure(own.strength, "measured")
    stiffness = wood.stiffness if own.stiffness is None else Figure(own.stiffness, "measured")
    return replace(wood, strength=strength, stiffness=stiffness)


def limits_of(wood: Species, own: WoodSettings) -> Limits:
    """Limits of a wood: the defaults, what the boat file says of it, and the planks the builder has bent."""
    strain = as_measured(wood, own).breaking_strain
    given = {
        "easy_share": own.easy_strain,
        "firm_share": own.firm_strain,
        "easy_bend": None if own.easy_radius is None else 1 / own.easy_radius,
        "hard_bend": None if own.firm_radius is None else 1 / own.firm_radius,
        "easy_shear": own.easy_shear,
        "firm_shear": own.firm_shear,
        "most_shear": own.most_shear,
        "easy_hollow": own.easy_hollow,
        "firm_hollow": own.firm_hollow,
    }
    if own.firm_radius is None and wood.kind == "southern pine":
        given["hard_bend"] = 1 / 100  # the rule sets southern pine beside the hardwoods
    told = {name: value for name, value in given.items() if value is not None}
    limits = Limits(strain or UNKNOWN_STRAIN, wood.kind != "hardwood", **told)  # type: ignore[arg-type]
    for plank in own.bent_ok:
        limits = _moved(limits, plank)
    return limits


def _moved(limits: Limits, plank: BentPlank) -> Limits:
    """The limits moved out to a plank that has stood it."""
    bend = 0.0 if plank.radius is None else plank.thickness / plank.radius
    shear = plank.thickness * plank.twist
    return replace(
        limits,
        hard_bend=max(limits.firm_bend, bend),
        firm_share=max(limits.firm_share, bend / 2 / limits.breaking_strain),
        firm_shear=max(limits.firm_shear, shear),
        most_shear=max(limits.most_shear, shear),
        bent=True,
    )


@dataclass(frozen=True, eq=False)
class Bends:
    """Figures along the middle of a plank.  s mm; curvatures and twist per mm; width mm; x mm in the boat."""

    s: Floats
    along: Floats
    across: Floats
    twist: Floats
    width: Floats
    x: Floats


def measure(skin: Skin, shape: Shape) -> Bends:
    """Curvature and twist along the middle line of a plank, where that lies inside it."""
    lo, hi = shape.reach()
    course = shape.course
    s = np.linspace(lo, hi, max(9, int((hi - lo) / 25.0 + 1e-6)))  # a length by the 25 mm is none too few
    inner = s[(s >= lo + 0.02 * (hi - lo)) & (s <= hi - 0.02 * (hi - lo))]
    width = course.width(inner)
    middle = course.side * width / 2
    ways = np.array([[0.0, 0.0], [0.5, 0.0], [-0.5, 0.0], [0.0, 0.5], [0.0, -0.5]])[:, :, None]
    chart, fore, aft, left, right = course.fan.pq(inner + ways[:, 0], middle + ways[:, 1])
    along, across, twist = bends_and_twist(skin.patch, chart, fore - aft, left - right)
    return Bends(inner, along, across, twist, width, skin.patch.at(chart)[:, 0])


def tightness(skin: Skin, course: Course, s: Floats, thickness: float) -> Floats:
    """(n,) thickness over radius of bend of a course at s, along its middle."""
    middle = course.middle(s)
    ahead = course.fan.pq(s + 0.5, middle) - course.fan.pq(s - 0.5, middle)
    return np.asarray(thickness * np.abs(normal_curvature(skin.patch, course.fan.pq(s, middle), ahead)))


def judge(
    run: Bends, thickness: float, fold_out: float, limits: Limits, frames: tuple[tuple[str, float], ...] = ()
) -> Fit:
    """Figures and verdict for a spiled plank (no edge-set).

    thickness : net, mm;  fold_out : flattening strain;  frames : name and x, to name the worst place by
    """
    bend, twist = np.abs(run.along), np.abs(run.twist)
    hollow = run.width**2 * np.abs(run.across) / 8
    total = thickness * bend / 2 + twist**2 * run.width**2 / 12 + fold_out
    firm_hollow = min(limits.firm_hollow, thickness / 15)
    trials = [
        Trial("bend", thickness * bend, limits.easy_bend, limits.firm_bend),
        Trial("twist", thickness * twist, limits.easy_shear, limits.most_shear),
        Trial("hollow", hollow, limits.easy_hollow, firm_hollow),
        Trial("strain", total / limits.breaking_strain, limits.easy_share, limits.firm_share),
    ]
    worst = max(trials, key=lambda t: (t.rank, t.most / t.firm, t.name))
    at = worst.where
    spot = Strained(
        thickness, float(run.width[at]), float(bend[at]), float(np.abs(run.across[at])), float(twist[at]), fold_out
    )
    place = whereabouts(float(run.x[at]), frames)
    helps = _cures(trials, worst, spot, limits)
    verdict = VERDICTS[worst.rank]
    words = f"{_words(worst, spot, limits)}{place and f', {place}'}"
    largest = float(bend.max())
    return Fit(
        bend_radius_min=1 / largest if largest > 1e-8 else None,
        twist_max=float(twist.max()),
        edge_set=0.0,
        strain_max=fold_out,
        strain_total=float(total.max()),
        hollow=float(hollow.max()),
        verdict=verdict,
        reason=words if verdict == "easy" else f"{words}. {_sentence(helps)}",
        worst_x=float(run.x[at]),
        worst_at=place,
        cures=helps,
        backs_out=_backs_out(trials, thickness),
    )


def whereabouts(x: float, frames: tuple[tuple[str, float], ...]) -> str:
    """A place along the boat told by its frames.

    >>> whereabouts(1210.0, (("F1", 600.0), ("F2", 1200.0)))
    'at F2'
    >>> whereabouts(900.0, (("F1", 600.0), ("F2", 1200.0))), whereabouts(90.0, (("F1", 600.0),)), whereabouts(9.0, ())
    ('between F1 and F2', 'aft of F1', 'at x 9')
    """
    if not frames:
        return f"at x {x:.0f}"
    near = min(frames, key=lambda f: abs(f[1] - x))
    if abs(near[1] - x) <= NEAR_FRAME:
        return f"at {near[0]}"
    before = [name for name, at in frames if at < x]
    after = [name for name, at in frames if at >= x]
    if not before:
        return f"aft of {after[0]}"
    return f"between {before[-1]} and {after[0]}" if after else f"forward of {before[-1]}"


@dataclass(frozen=True, eq=False)
class Trial:
    """One figure along the plank against its limits."""

    name: str
    values: Floats
    easy: float
    firm: float

    @property
    def most(self) -> float:
        """Its largest value."""
        return float(self.values.max())

    @property
    def where(self) -> int:
        """Index of it."""
        return int(np.argmax(self.values))

    @property
    def rank(self) -> int:
        """0 easy, 1 firm, 2 refused."""
        return 0 if self.most <= self.easy else 1 if self.most <= self.firm else 2


Verdict = Literal["easy", "firm", "refused"]
VERDICTS: tuple[Verdict, Verdict, Verdict] = ("easy", "firm", "refused")


def _words(worst: Trial, at: Strained, limits: Limits) -> str:
    """The figure that decides."""
    if worst.name == "bend":
        if at.bend < 1e-8:
            return "straight"
        return f"bends to R {1 / at.bend / 1000:.2f} m, {1 / worst.most:.0f} x its thickness"
    if worst.name == "twist":
        return f"twists {np.degrees(at.twist) * 1000:.1f} deg/m, shear {100 * worst.most:.2f} %"
    if worst.name == "hollow":
        return f"{worst.most:.1f} mm hollow under a flat plank {at.width:.0f} mm wide"
    return f"strain {100 * worst.most * limits.breaking_strain:.2f} %"


def _backs_out(trials: list[Trial], thickness: float) -> bool:
    """Whether a plank is refused for its hollow alone, and hollowing its back cures that."""
    refused = [t for t in trials if t.rank == 2]
    return [t.name for t in refused] == ["hollow"] and refused[0].most <= MOST_BACKING * thickness


def _cures(trials: list[Trial], worst: Trial, at: Strained, limits: Limits) -> tuple[str, ...]:
    """What would help the figure that decides, best first."""
    if worst.rank == 0:
        return ()
    goal = worst.firm if worst.rank == 2 else worst.easy
    found: list[str] = []
    if worst.name == "hollow":
        found += [cures.narrower_for_hollow(at, goal), cures.backing(worst.most, at.thickness)]
    elif worst.name == "bend":
        found += [cures.thinner_for_bend(at, goal), cures.steam(at, limits.softwood)]
    elif worst.name == "twist":
        found += [cures.thinner_for_twist(at, goal)]
        found += ["narrower planks, staves there, or steam"]
    else:
        found += [*cures.for_strain(at, goal * limits.breaking_strain), cures.steam(at, limits.softwood)]
    found = [words for words in found if words]
    return tuple(found) if found else ("another run of the planks, or staves there",)


def _sentence(helps: tuple[str, ...]) -> str:
    text = "; or ".join(helps)
    return text[:1].upper() + text[1:]
