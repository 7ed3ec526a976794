"""Courses that run fore and aft.

even      seams share the panel's girth equally from end to end
parallel  seams keep a constant distance from the starting border and run out at the other one
graded    widths given at transom, midship and stem, laid off from the starting border; the last course takes the rest
straight  seams between the shares of the two ends are geodesics, which want the straightest boards; where a border is
          so crooked that its course would be pinched, the seams near it follow it part of the way

Source: practices of lining off: common practice, no source; the blend of borders is S. Coons's.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np

from strakewright.arrays import Floats, Ints
from strakewright.errors import InputError, UnworkableError
from strakewright.geometry.blends import by_share, coons
from strakewright.geometry.drawn import interpolant
from strakewright.geometry.geodesics import geodesics_between
from strakewright.geometry.nearby import nearest
from strakewright.settings import PlankingSettings
from strakewright.shop.courses import Course, DrawnWidth, Lined, OneWidth, Seam, Width
from strakewright.shop.seams import NEAR, Liner, without_scraps
from strakewright.shop.skins import Skin

MOST = 500  # courses
AIMED = 40.0  # mm of one step of the geodesics that straight seams are drawn after
RUNT = 0.35  # a last graded course narrower than this share of the widest goes to its neighbour
PINCHED, SWOLLEN = 0.6, 1.4  # shares of the even width that a straightened course may have; common practice, no source


def strakes(skin: Skin, settings: PlankingSettings) -> Lined:
    """Courses of one layer from its starting border to the other one.

    Raises InputError for a start that the panel has not, UnworkableError when it cannot be measured square.
    """
    from_upper = _start_is_upper(skin, settings)
    lines = Liner(skin)
    whole = girth(lines, from_upper)
    count = _shared_by(settings, whole)
    figures = {"girth_max": whole}
    if settings.lining == "even":
        courses = even(lines, count, from_upper)
    elif settings.lining == "straight":
        courses, straightened = straight(lines, count, from_upper)
        figures["seams_straightened"] = straightened
    elif settings.lining == "graded":
        courses = graded(lines, settings, from_upper)
    else:
        courses = parallel(lines, count, whole / count, from_upper)
    nominal = whole / count if settings.lining == "parallel" else 0.0
    return Lined(skin, courses, 1, nominal, from_upper, figures | {"courses": float(len(courses))})


def number_of(skin: Skin, settings: PlankingSettings) -> int:
    """How many courses a lining comes to: as many as share the girth, or as many as the march leaves of them.

    Raises as `strakes` does."""
    if settings.lining in ("parallel", "graded"):
        return len(strakes(skin, settings).courses)
    return settings.courses or _shared_by(settings, girth(Liner(skin), _start_is_upper(skin, settings)))


def _shared_by(settings: PlankingSettings, whole: float) -> int:
    return settings.courses or max(1, int(np.ceil(whole / (settings.max_width or whole) - 1e-6)))


def _start_is_upper(skin: Skin, settings: PlankingSettings) -> bool:
    start = settings.start or ("sheer" if skin.upper == "sheer" else "chine")
    for name, upper in ((skin.upper, True), (skin.lower, False)):
        if name == start or (start == "chine" and name.startswith("chine")):
            return upper
    raise InputError(
        f"start = {start!r}, but panel {skin.panel!r} runs from {skin.lower} to {skin.upper}",
        where=settings.where,
        fix=f"Write start = {skin.upper.rstrip('0123456789')!r} or {skin.lower.rstrip('0123456789')!r}",
    )


def girth(lines: Liner, from_upper: bool) -> float:
    """Largest distance, square from the starting border, to any point of the ring."""
    base, guess, side = _start(lines, from_upper)
    fan = lines.fan(base, min(0.0, side * guess), max(0.0, side * guess))
    _, t = fan.locate(lines.ring[::8])
    t = t[np.isfinite(t)]
    if not len(t):
        raise UnworkableError(
            f"panel {lines.skin.panel!r} cannot be measured square from its {base.border}",
            where=f"panel {lines.skin.panel!r}",
            fix="Start the courses at its other long border",
        )
    return float(np.max(side * t))


def _start(lines: Liner, from_upper: bool) -> tuple[Seam, float, int]:
    name = lines.skin.upper if from_upper else lines.skin.lower
    points = lines.skin.stretch(name).chart
    points = points[::-1] if from_upper else points
    far = lines.skin.stretch(lines.skin.lower if from_upper else lines.skin.upper).chart
    guess = 1.15 * float(nearest(far[::20], points[::20]).max()) + 20.0
    seam = lines.seam(_every(points, 8), guess, border=name)
    return seam, guess, -1 if from_upper else 1


def parallel(lines: Liner, count: int, width: float, from_upper: bool) -> tuple[Course, ...]:
    """Courses of one width, marched from the starting border."""
    base, _, side = _start(lines, from_upper)
    return _march(lines, base, width, side, count)


def _march(lines: Liner, base: Seam, width: float, side: int, count: int) -> tuple[Course, ...]:
    courses: list[Course] = []
    while len(courses) < count:
        fan = lines.fan(base, *sorted((-side * NEAR, 1.35 * side * width)))
        far = None
        if len(courses) + 1 < count:
            far = without_scraps(lines.offset_seam(base, fan, side * width), width)
            if not far.crossings:
                far = None
        course = lines.course(base, fan, far, side, OneWidth(width))
        courses.append(replace(course, number=len(courses) + 1))
        if far is None:
            break
        base = far
    return tuple(courses)


def graded(lines: Liner, settings: PlankingSettings, from_upper: bool) -> tuple[Course, ...]:
    """Courses of three given widths, smoothly graded between them along the boat."""
    base, _, side = _start(lines, from_upper)
    x = lines.patch.at(lines.ring[::4])[:, 0]
    widths = [settings.width_transom or 0.0, settings.width_midship or 0.0, settings.width_stem or 0.0]
    by_x = interpolant(np.array([x.min(), (x.min() + x.max()) / 2, x.max()]), np.array(widths))
    most, courses = 1.2 * max(widths), list[Course]()
    while len(courses) < MOST:
        s = base.stations[:: max(1, len(base.stations) // 200)]
        mm = np.maximum(by_x(np.clip(lines.patch.at(base.curve.at(s))[:, 0], x.min(), x.max())), settings.min_end_width)
        width = DrawnWidth(interpolant(s, mm), float(s[0]), float(s[-1]))
        fan = lines.fan(base, *sorted((-side * NEAR, (1.0 + RUNT) * side * most)))
        far = without_scraps(lines.offset_seam(base, fan, _signed(width, side)), most)
        last = not far.crossings or lines.reach(far, 2 * RUNT * most, side) < RUNT * most
        taken: Width = _widened(width, RUNT * most) if last else width
        course = lines.course(base, fan, None if last else far, side, taken)
        courses.append(replace(course, number=len(courses) + 1))
        if last:
            break
        base = far
    return tuple(courses)


def _signed(width: DrawnWidth, side: int) -> Width:
    return lambda s: side * width(s)


def _widened(width: DrawnWidth, by: float) -> Width:
    return lambda s: width(s) + by


def straight(lines: Liner, count: int, from_upper: bool) -> tuple[tuple[Course, ...], float]:
    """Courses between seams as nearly geodesics as their widths allow; and how nearly, 1 = all of them are."""
    shares = _shares(lines, count)
    if count == 1:
        return between_lines(lines, shares, from_upper), 1.0
    starts, stops = (np.array([line[i] for line in shares[1:-1]]) for i in (0, -1))
    paths = geodesics_between(lines.patch, starts, stops, step=AIMED)
    part = np.linspace(0.0, 1.0, len(shares[0]))
    aims = [shares[0], *(by_share(path)(part) for path in paths), shares[-1]]
    rank = np.minimum(np.arange(count + 1), count - np.arange(count + 1))
    lo, hi = 0.0, 1.0
    if not _sound(shares, _drawn(shares, aims, rank, 1.0)):
        for _ in range(12):
            middle = (lo + hi) / 2
            lo, hi = (middle, hi) if _sound(shares, _drawn(shares, aims, rank, middle)) else (lo, middle)
    else:
        lo = 1.0
    follow = np.minimum(1.0, lo * rank)[1:-1]
    return between_lines(lines, _drawn(shares, aims, rank, lo), from_upper), float(follow.mean())


def _drawn(shares: list[Floats], aims: list[Floats], rank: Ints, step: float) -> list[Floats]:
    """Lines between even shares and geodesics: the first from a border `step` of the way, the second twice that ..."""
    follow = np.minimum(1.0, step * rank)
    return [a + f * (b - a) for a, b, f in zip(shares, aims, follow, strict=True)]


def _sound(shares: list[Floats], lines: list[Floats]) -> bool:
    """Whether no course is pinched below, or swollen above, a share of its even width (in the chart)."""
    for even_pair, pair in zip(pairwise(shares), pairwise(lines), strict=True):
        usual, here = (_gaps(*pair) for pair in (even_pair, pair))
        if (here < PINCHED * usual).any() or (here > SWOLLEN * usual).any():
            return False
    return True


def _gaps(line: Floats, other: Floats) -> Floats:
    """Distance of every tenth point of a line, its ends left out, from the nearest point of the other, in the chart."""
    return nearest(line[10:-10:10], other)


def even(lines: Liner, count: int, from_upper: bool) -> tuple[Course, ...]:
    """Courses that share the panel equally between its long borders, end to end."""
    return between_lines(lines, _shares(lines, count), from_upper)


def between_lines(lines: Liner, drawn: list[Floats], from_upper: bool) -> tuple[Course, ...]:
    """Courses between (n, 2) chart lines from the lower border up, the two borders the first and last of them."""
    if from_upper:
        drawn = drawn[::-1]
    side = -1 if from_upper else 1
    start, end = lines.skin.upper, lines.skin.lower
    start, end = (start, end) if from_upper else (end, start)
    run_on = 60.0 + 2.5 * lines.breadth() / (len(drawn) - 1)
    seams = [lines.drawn(drawn[0], run_on, start)]
    seams += [lines.drawn(line, run_on) for line in drawn[1:-1]]
    seams.append(lines.drawn(drawn[-1], run_on, end))
    return tuple(replace(lines.between(a, b, side), number=k + 1) for k, (a, b) in enumerate(pairwise(seams)))


def _shares(lines: Liner, count: int) -> list[Floats]:
    """Blend of the four borders (Coons) at v = 0, 1/count ... 1: (n, 2) chart points aft to forward."""
    skin = lines.skin
    ends = [s for s in skin.stretches if s.border.name not in (skin.lower, skin.upper)]
    if len(ends) < 2:
        raise InputError(
            f'lining = "even" needs a panel with two ends; panel {skin.panel!r} runs to a point',
            where=f"[[planking]] panel {skin.panel!r} lining",
            fix='Write lining = "parallel"',
        )
    lower, upper = skin.stretch(skin.lower).chart, skin.stretch(skin.upper).chart[::-1]
    aft, forward = skin.stretches[3].chart[::-1], skin.stretches[1].chart
    return coons(lower, upper, aft, forward, np.arange(count + 1) / count)


def _every(points: Floats, step: int) -> Floats:
    """Every step-th point, the last one kept."""
    return np.concatenate([points[:-1:step][: (len(points) - 2) // step], points[-1:]])
