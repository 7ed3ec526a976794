"""What each way of lining off would ask of the boards, so that one can be chosen before wood is bought.

sny       how far a plank's middle line stands off the straight line between its ends: what a board must be the wider
board     width a plank wants of a straight-edged board, without tails and trims
end       width of a course where it meets the stem or the transom
sheer     the strake along the sheer: the eye follows its lower edge against the sheer, so its width should change
          evenly; how far it leaves an even taper within any metre is the wave that is seen (common practice, no source)
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from strakewright.arrays import Floats
from strakewright.errors import StrakewrightError
from strakewright.settings import Lining, PlankingSettings
from strakewright.shop.courses import Lined
from strakewright.shop.lining import line_off
from strakewright.shop.shapes import Shape, shapes_of
from strakewright.shop.skins import Skin
from strakewright.shop.sweetness import end_widths

METRE = 1000.0

MODES: tuple[Lining, ...] = ("even", "parallel", "straight")


@dataclass(frozen=True)
class Mode:
    """One way of lining off.  why_not : in words where it cannot be done, the figures are then 0

    courses;  sny_max, sny_mean, board_max : mm over whole courses, unjoined;  width_max, end_min : mm
    sheer_change : most that the sheer strake's width leaves an even taper within a metre, mm; None without a sheer
    """

    lining: str
    courses: int
    sny_max: float = 0.0
    sny_mean: float = 0.0
    board_max: float = 0.0
    width_max: float = 0.0
    end_min: float | None = None
    sheer_change: float | None = None
    why_not: str = ""


def modes_of(skin: Skin, settings: PlankingSettings, lined: Lined) -> tuple[Mode, ...]:
    """The way taken first, then the others at the same number of courses."""
    count = len(lined.courses)
    return mode_of(settings.lining, lined), *(tried(skin, settings, mode, count) for mode in others(settings))


def others(settings: PlankingSettings) -> tuple[Lining, ...]:
    """The ways that are not taken; none of them where planking does not run fore and aft."""
    return tuple(mode for mode in MODES if settings.pattern == "strakes" and mode != settings.lining)


def tried(skin: Skin, settings: PlankingSettings, mode: Lining, count: int) -> Mode:
    """Another way with that many courses, or why it cannot be done."""
    try:
        return mode_of(mode, line_off(skin, replace(settings, lining=mode, courses=count, max_width=None)))
    except StrakewrightError as trouble:
        return Mode(mode, count, why_not=trouble.what)


def mode_of(name: str, lined: Lined) -> Mode:
    """Figures of a lining from the flat shapes of its courses."""
    shapes = [shape for course in lined.courses for shape in shapes_of(lined, course)]
    snies = [shape.sny() for shape in shapes]
    ends = [w for shape in shapes for _, w in end_widths(shape)]
    widest = [float(s.course.width(np.linspace(*s.reach(), 60)).max()) for s in shapes]
    boards = [least_width(shape.ring()) for shape in shapes]
    return Mode(
        name,
        len(lined.courses),
        sny_max=max(snies),
        sny_mean=float(np.mean(snies)),
        board_max=max(boards),
        width_max=max(widest),
        end_min=min(ends, default=None),
        sheer_change=max((sheer_change(s) for s in shapes if any(r.name == "sheer" for r in s.runs)), default=None),
    )


def sheer_change(shape: Shape) -> float:
    """Largest change of a strake's width over any metre, against the even taper from end to end, mm."""
    s = np.linspace(*shape.reach(), 401)
    width = shape.course.width(s)
    wave = width - np.interp(s, s[[0, -1]], width[[0, -1]])
    window = min(METRE, float(np.ptp(s)))
    first = s[s <= s[-1] - window + 1e-9]
    return float(np.abs(np.interp(first + window, s, wave) - np.interp(first, s, wave)).max())


def least_width(ring: Floats) -> float:
    """Least width of a strip of board that holds a ring lying nearly along it, mm (turned by up to 6 degrees)."""
    long = ring[[ring[:, 0].argmin(), ring[:, 0].argmax()]]
    base = np.arctan2(*(long[1] - long[0])[::-1])
    turn, step = float(base), np.radians(0.1)
    for count in (60, 12, 12, 12):  # finer about the best of the coarser
        turns = turn + step * np.arange(-count, count + 1)
        spans = np.ptp(ring @ np.stack([-np.sin(turns), np.cos(turns)]), axis=0)
        turn, step = float(turns[spans.argmin()]), step / 10
    return float(spans.min())
