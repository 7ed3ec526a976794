"""Cutting the nib of a dropped course, and letting it into the course beside it.

nib       square end of a course over a frame: it lies along a rib of the course that takes its place
notch     the step in that neighbour's edge; past it the neighbour is as wide as both
located   a stretch of a plank's ring on the skin: chart points, and (s, t) in the course's own measure

Both planks list the same points of the nib and of the seams on either side of it, so they cover the panel once.

Source: derived; stealers end in nibs over a frame: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from strakewright.arrays import Floats
from strakewright.errors import DefectError
from strakewright.geometry.fans import Fan
from strakewright.shop.courses import Nib, Seam

Kind = Literal["left", "right", "border", "joint", "nib"]
ON = 1e-6  # mm: a listed point is at the nib
BESIDE = 0.05  # mm: a border's point may be so far from the nib's end


@dataclass(frozen=True, eq=False)
class Located:
    """kind, name, seam : as a run's (see shop.shapes);  chart, st : (n, 2), counter-clockwise"""

    kind: Kind
    name: str
    chart: Floats
    st: Floats
    seam: Seam | None = None

    def part(self, start: int, stop: int | None) -> Located:
        """Its listed points from start to before stop."""
        return replace(self, chart=self.chart[start:stop], st=self.st[start:stop])


def ended(loop: list[Located], nib: Nib, fan: Fan) -> list[Located]:
    """The loop of a dropped course, cut off at its nib."""
    stays, _ = _parted(loop, nib)
    back = _run(nib, fan, nib.taker, stays[-1].chart[-1])
    return [*stays, back]


def let_into(loop: list[Located], owner: list[Located], nib: Nib, fan: Fan) -> list[Located]:
    """The loop of the course that takes its place past the nib.  owner : the dropped course's whole loop"""
    _, past = _parted(owner, nib)
    past = [replace(r, st=np.stack(fan.locate(r.chart), axis=-1)) for r in past if r.seam is not nib.seam]
    loop = _opened(loop, nib.line[0])
    at = next(i for i, r in enumerate(loop) if r.seam is nib.seam and _is_past(r, nib))
    step = _run(nib, fan, nib.owner.number, loop[at].chart[0])
    from_nib = np.linalg.norm(loop[at].chart[0] - nib.line[0]) < ON
    path = [step, *past] if from_nib else [*past, _run(nib, fan, nib.owner.number, nib.line[-1])]
    return _merged([*loop[:at], *path, *loop[at + 1 :]])


def _run(nib: Nib, fan: Fan, beside: int, start: Floats) -> Located:
    """The nib's line from `start`, one of its ends, to the other."""
    near = np.linalg.norm(nib.line[[0, -1]] - start, axis=-1).argmin()
    line = nib.line if near == 0 else nib.line[::-1]
    return Located("nib", str(beside), line, np.stack(fan.locate(line), axis=-1))


def _parted(loop: list[Located], nib: Nib) -> tuple[list[Located], list[Located]]:
    """The two open chains of a loop between a nib's ends: the one that stays, and the one past the nib."""
    opened = _opened(_opened(loop, nib.line[0]), nib.line[-1])
    starts = [min(range(len(opened)), key=lambda i: _far(opened[i].chart[0], end)) for end in nib.line[[0, -1]]]
    one, two = (_from(opened, starts[k], starts[1 - k]) for k in (0, 1))
    return (two, one) if _past_nib(one, nib) else (one, two)


def _past_nib(chain: list[Located], nib: Nib) -> bool:
    return any(r.seam is nib.seam and _is_past(r, nib) for r in chain)


def _is_past(run: Located, nib: Nib) -> bool:
    """Whether a stretch of the seam beside a nib lies past it."""
    middle = run.chart[len(run.chart) // 2] if len(run.chart) > 2 else run.chart.mean(axis=0)
    way = nib.seam.curve.tangent(np.array([nib.along]))[0]
    ahead = float((middle - nib.line[0]) @ way) > 0
    return ahead == nib.forward


def _from(loop: list[Located], start: int, stop: int) -> list[Located]:
    return loop[start:stop] if start < stop else [*loop[start:], *loop[:stop]]


def _far(a: Floats, b: Floats) -> float:
    return float(np.linalg.norm(a - b))


def _opened(loop: list[Located], spot: Floats) -> list[Located]:
    """The loop with the run that `spot` lies on parted there; unchanged where two runs meet in it."""
    if min(_far(r.chart[0], spot) for r in loop) < ON:
        return loop
    gaps = [float(np.linalg.norm(r.chart - spot, axis=-1).min()) for r in loop]
    at = int(np.argmin(gaps))
    run = loop[at]
    if gaps[at] > ON:
        at, run = _with_point(loop, spot)
    k = int(np.linalg.norm(run.chart - spot, axis=-1).argmin())
    return [*loop[:at], run.part(0, k + 1), run.part(k, None), *loop[at + 1 :]]


def _with_point(loop: list[Located], spot: Floats) -> tuple[int, Located]:
    """Number of the border run that passes `spot`, and that run with the point put in."""
    best = (np.inf, 0, 0, 0.0)
    for i, run in enumerate(loop):
        a, way = run.chart[:-1], np.diff(run.chart, axis=0)
        part = np.clip(((spot - a) * way).sum(axis=-1) / np.maximum((way**2).sum(axis=-1), 1e-12), 0.0, 1.0)
        gap = np.linalg.norm(a + part[:, None] * way - spot, axis=-1)
        k = int(gap.argmin())
        best = min(best, (float(gap[k]), i, k, float(part[k])))
    gap_there, i, k, share = best
    if gap_there > BESIDE:
        raise DefectError("a nib does not reach across its course", where="lining off")
    run = loop[i]
    st = run.st[k] + share * (run.st[k + 1] - run.st[k])
    chart = np.insert(run.chart, k + 1, spot, axis=0)
    return i, replace(run, chart=chart, st=np.insert(run.st, k + 1, st, axis=0))


def _merged(loop: list[Located]) -> list[Located]:
    """Neighbouring stretches of one border made one."""
    found: list[Located] = []
    for run in loop:
        last = found[-1] if found else None
        if last is not None and last.kind == run.kind == "border" and last.name == run.name:
            found[-1] = replace(
                last, chart=np.concatenate([last.chart, run.chart[1:]]), st=np.concatenate([last.st, run.st[1:]])
            )
        else:
            found.append(run)
    first, last = found[0], found[-1]
    if len(found) > 3 and first.kind == last.kind == "border" and first.name == last.name:
        joined = replace(
            last, chart=np.concatenate([last.chart, first.chart[1:]]), st=np.concatenate([last.st, first.st[1:]])
        )
        found = [*found[1:-1], joined]
    return found
