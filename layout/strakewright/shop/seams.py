"""Laying seams across a skin.

march     each seam is laid off the one before, square across on the surface, so that every course keeps its
          width exactly; near the borders a seam is found from points just outside them, never from far away
fan       geodesics square to a seam: they carry its courses' widths
run on    past the border a seam goes straight (a geodesic): there is nothing to be parallel to

Source: derived (geodesic parallels).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from strakewright.arrays import Floats
from strakewright.errors import DefectError, UnworkableError
from strakewright.geometry.crossings import Crossing, RingIndex, loops_between
from strakewright.geometry.curves import resample
from strakewright.geometry.drawn import interpolant
from strakewright.geometry.fans import Fan, shoot_fan
from strakewright.geometry.geodesics import BaseCurve, base_curve, geodesics
from strakewright.geometry.nearby import nearest
from strakewright.shop.courses import Course, DrawnWidth, Seam, Width
from strakewright.shop.skins import Skin

SEAM_STEP = 2.0  # mm between the points of a seam while it is being crossed with the ring
RUN_MOST = 3000.0  # mm a seam runs on past the border at most
RUN_BESIDE = 60.0  # mm more for the first seam beside a border, which already runs on by a girth
MARGIN = 40.0  # mm of a seam kept past its outermost crossings
CUT_BACK = 15.0  # mm at either end of a new seam that are drawn afresh
LISTED = 16.0  # mm between the points a seam is drawn through
STRIDE = 30.0  # mm of one step of a geodesic past the border (60: edges 0.02 mm off on a tight forefoot, 120: 7 mm)
TURNING = 0.001  # 1/mm that it turns in the chart there: more would not be followed by its listed points
ACROSS = 35.0  # mm of one step of a fan
NEAR = 2.0  # mm a fan reaches to the other side of its seam


def without_scraps(seam: Seam, width: float) -> Seam:
    """The seam without the crossings of stretches shorter than a course is wide, where a longer one is left: no plank
    can be made of what they would cut off, so it stays on the plank beside it."""
    pairs = list(zip(seam.crossings[::2], seam.crossings[1::2], strict=True))
    lengths = [out.along - into.along for into, out in pairs]
    short = [i for i, mm in enumerate(lengths) if mm < min(width, max(lengths))]
    if not short:
        return seam
    kept = tuple(c for i, pair in enumerate(pairs) if i not in short for c in pair)
    scraps = tuple((lengths[i], (pairs[i][0].along + pairs[i][1].along) / 2) for i in short)
    return replace(seam, crossings=kept, scraps=scraps)


class Liner:
    """Remembers the ring of one skin while seams are laid across it."""

    def __init__(self, skin: Skin) -> None:
        self.skin, self.patch = skin, skin.patch
        self.ring = skin.ring()
        self.index = RingIndex(self.ring)

    # -- seams -------------------------------------------------------------------------------------

    def seam(self, chart: Floats, run_on: float, border: str | None = None, margin: float | None = None) -> Seam:
        """A seam through chart points, run on at both ends, trimmed to `margin` (usually run_on) past the ring."""
        margin = run_on if margin is None else margin
        curve = base_curve(self.patch, chart, before=run_on, after=run_on)
        lo, hi = curve.s_lo, curve.s_hi
        crossings = () if border else self._crossings(curve, lo, hi)
        if crossings:
            lo = max(lo, crossings[0].along - margin)
            hi = min(hi, crossings[-1].along + margin)
        stations = np.linspace(lo, hi, max(8, int((hi - lo) / SEAM_STEP)))
        return Seam(curve, stations, curve.at(stations), crossings, border)

    def drawn(self, chart: Floats, run_on: float, border: str | None = None) -> Seam:
        """A seam drawn from border to border.  Raises UnworkableError where it does not cross the panel once."""
        try:
            return self.seam(chart, run_on, border)
        except DefectError as trouble:
            raise self._wild(trouble) from trouble

    def _crossings(self, curve: BaseCurve, lo: float, hi: float) -> tuple[Crossing, ...]:
        stations = np.linspace(lo, hi, max(8, int((hi - lo) / SEAM_STEP)))
        found = self.index.crossings(curve.at(stations))
        step = stations[1] - stations[0]
        return tuple(replace(c, along=float(lo + c.along * step)) for c in found)

    def fan(self, seam: Seam, t_lo: float, t_hi: float) -> Fan:
        """Over the seam and past its outermost crossings: where the border is oblique a course reaches further."""
        lo, hi = seam.curve.s_lo, seam.curve.s_hi
        if seam.crossings:
            past = self.past(seam, abs(t_hi - t_lo))
            lo, hi = max(lo, seam.crossings[0].along - past), min(hi, seam.crossings[-1].along + past)
        return shoot_fan(
            self.patch, seam.curve, t_lo=min(t_lo, 0.0), t_hi=max(t_hi, 0.0), s_lo=lo, s_hi=hi, t_step=ACROSS
        )

    def past(self, seam: Seam, breadth: float) -> float:
        """How far past its crossings a seam must run for a course of that breadth beside it."""
        if not seam.crossings:
            return RUN_BESIDE
        found = [self._cotangent(seam, c) for c in (seam.crossings[0], seam.crossings[-1])]
        return min(RUN_MOST, MARGIN + CUT_BACK + 1.5 * breadth * max(1.0, *found))

    def _cotangent(self, seam: Seam, crossing: Crossing) -> float:
        """How finely a seam meets the border, 0 = square."""
        after = self.ring[(int(crossing.around) + 1) % len(self.ring)]
        border = after - self.ring[int(crossing.around) % len(self.ring)]
        way = seam.curve.tangent(np.array([crossing.along]))[0]
        cross = abs(way[0] * border[1] - way[1] * border[0])
        return abs(float(way @ border)) / max(float(cross), 1e-9)

    def offset_seam(self, seam: Seam, fan: Fan, distance: float | Width) -> Seam:
        """The next seam, `distance` to the left (one, or s -> mm).  Past the border it runs on as a geodesic: only
        there is nothing to be parallel to, and a bend carried on would grow from seam to seam."""
        lo, hi = seam.stations[[0, -1]] + np.array([CUT_BACK, -CUT_BACK])
        s = np.linspace(lo, hi, max(6, int((hi - lo) / LISTED)))
        away = np.asarray(distance(s)) if callable(distance) else np.full_like(s, distance)
        known, by_s, by_t = fan.field.jet1(np.stack([s, away], axis=-1))
        ends = (by_s + np.gradient(away, s)[:, None] * by_t)[[0, -1], :2] * np.array([[-1.0], [1.0]])
        breadth = 2.0 * float(np.abs(away).max())
        run_on = self.past(seam, breadth)
        found = self._run_past(known[:, :2], ends, run_on)
        needed = self.past(found, breadth)
        if found.crossings and needed > run_on:  # the border has turned: a finer angle than one seam before
            found = self._run_past(known[:, :2], ends, needed)
        return found

    def _run_past(self, known: Floats, ways: Floats, run_on: float) -> Seam:
        """A seam run on straight past the border, further where so much does not take it out of the panel."""
        for more in (1.0, 2.0, 4.0):
            try:
                return self.seam(self._straight_on(known, ways, more * run_on), 0.0, margin=MARGIN)
            except DefectError as trouble:
                last = trouble
        raise self._wild(last) from last

    def _wild(self, trouble: DefectError) -> UnworkableError:
        """Seams that run into each other or do not leave the panel, in the builder's words."""
        return UnworkableError(
            f"the seams of panel {self.skin.panel!r} run wild ({trouble.what})",
            where=f"[[planking]] panel {self.skin.panel!r}",
            fix="Use narrower planks, another angle, staves, or courses from the other border",
        )

    def _straight_on(self, known: Floats, ways: Floats, run_on: float) -> Floats:
        past = geodesics(self.patch, known[[0, -1]], ways, run_on, step=STRIDE, most=TURNING)
        before, after = (resample(past[:, i], LISTED) for i in (0, 1))
        return np.concatenate([before[:0:-1], known, after[1:]])

    def course(self, base: Seam, fan: Fan, other: Seam | None, side: int, width: Width) -> Course:
        """Loops of the region between base and other.  A base on the border needs no crossings."""
        near = [] if base.border else list(base.crossings)
        far = list(other.crossings) if other is not None and not other.border else []
        right, left = (near, far) if side > 0 else (far, near)
        try:
            loops = loops_between(right, left, len(self.ring))
        except DefectError as trouble:
            raise self._wild(trouble) from trouble
        seams = (other, base) if side < 0 else (base, other)
        inner = [s if s is not None and not s.border and s.crossings else None for s in seams]
        return Course(0, tuple(tuple(x) for x in loops), base, fan, width, side, left=inner[1], right=inner[0])

    def between(self, base: Seam, other: Seam, side: int) -> Course:
        reach = 1.3 * float(nearest(base.chart[::20], other.chart[::5]).max()) + 10.0
        fan = self.fan(base, *sorted((-side * NEAR, side * reach)))
        s, t = fan.locate(other.chart[::5])
        known = np.isfinite(t)
        order = np.argsort(s[known])
        s_known, t_known = s[known][order], side * t[known][order]

        width = DrawnWidth(interpolant(s_known, t_known), float(s_known[0]), float(s_known[-1]))
        return self.course(base, fan, other, side, width)

    def breadth(self) -> float:
        """Largest distance, in the chart, from the upper border to the lower, mm."""
        lower, upper = (self.skin.stretch(n).chart[::20] for n in (self.skin.lower, self.skin.upper))
        return float(nearest(upper, lower).max())

    def reach(self, seam: Seam, most: float, side: int) -> float:
        """Largest distance of the panel beyond a seam, as far as `most`, mm."""
        fan = self.fan(seam, *sorted((-side * NEAR, side * most)))
        _, t = fan.locate(self.ring[::4])
        t = side * t[np.isfinite(t)]
        return float(t.max()) if len(t) else most
