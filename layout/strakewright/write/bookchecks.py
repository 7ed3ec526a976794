"""The beginning and the end of the book: the boat in figures, every proof, every finding, cautions."""

from __future__ import annotations

from collections import Counter

import numpy as np

from strakewright.errors import Check
from strakewright.write.book import Block, Facts, LayerFacts, Section, Table, Words, counted, in_line, thick, two_lines

_LEVELS = {"blocking": "STOP", "warning": "warning", "note": "note"}
_TAPE = ", tape "  # checks of single distances are told in one row a sheet


def boat_in_figures(facts: Facts) -> Section:
    """Size, frames, planking, in both units."""
    rows = [(_spelled(key), _value(key, value)) for key, value in facts.hull.items()]
    frames = tuple((name, in_line(x)) for name, x in facts.frames)
    blocks: tuple[Block, ...] = (
        Table(("boat", facts.boat), tuple(rows)),
        Table(_LAYER_HEAD, tuple(_layer_row(layer) for layer in facts.layers), "Planking, both sides"),
        Table(("frame", "forward of the aftmost point"), frames, "Frames"),
    )
    return Section("The boat in figures", blocks)


_MM = ("length", "half_breadth", "depth", "residual", "centreline_moved", "halves_mismatch")
_NAMES = {
    "residual": "mesh against the surface worked with",
    "centreline_moved": "centreline moved by",
    "halves_mismatch": "port half against starboard",
    "half_breadth": "half-breadth",
    "triangles": "triangles in the mesh",
    "panels": "panels, keel up",
    "surface": "the lines are to the ... of the planking",
}


_TWO_FLATS = " flats_apart"


def _spelled(key: str) -> str:
    if key.endswith(_TWO_FLATS):
        return f"{key.removesuffix(_TWO_FLATS)} laid flat from triangles and from the smooth surface: borders apart"
    return _NAMES.get(key, key.replace("_", " "))


def _value(key: str, value: float | str) -> str:
    if isinstance(value, str):
        return value
    if key in _MM or key.endswith(_TWO_FLATS):
        small = f"{value:.2g} mm" if value == 0.0 or abs(value) >= 0.01 else "under 0.01 mm"
        return in_line(value) if abs(value) >= 1.0 else small
    return f"{value:g}"


_LAYER_HEAD = ("layer", "pattern", "net", "dress to", "planks", "longest", "area, m2", "easy / firm / refused")


def _layer_row(layer: LayerFacts) -> tuple[str, ...]:
    s, counts = layer.settings, Counter(p.fit.verdict for p in layer.planks)
    longest = max((float(np.ptp(p.outline[:, 0])) for p in layer.planks), default=0.0)
    verdicts = " / ".join(str(counts[v]) for v in ("easy", "firm", "refused"))
    dress = thick(layer.planks[0].cut_thickness) if layer.planks else "–"
    area = f"{2 * layer.area / 1e6:.2f}"
    return (
        layer.name,
        s.pattern,
        thick(s.thickness),
        dress,
        str(len(layer.planks)),
        two_lines(longest),
        area,
        verdicts,
    )


def check_sheet(facts: Facts) -> Section:
    """Every proof with its figure and its limit."""
    single = [c for c in facts.checks if _TAPE not in c.name]
    tapes = [c for c in facts.checks if _TAPE in c.name]
    rows = [_check_row(c) for c in single]
    if tapes:
        bad = [c.name for c in tapes if not c.holds]
        told = f"{len(tapes)} tape checks of sheets and patterns, figures on each"
        rows.append((told, "–", "–", "yes" if not bad else f"NO: {', '.join(bad)}"))
    failing = [c for c in facts.checks if not c.holds]
    head = (
        "Every proof holds."
        if not failing
        else f"{counted(len(failing), 'PROOF FAILS', 'PROOFS FAIL')}: find out why first."
    )
    table = Table(("proof", "found", "limit", "holds"), tuple(rows))
    return Section("Check sheet", (Words(head, strong=True), table))


def _check_row(check: Check) -> tuple[str, ...]:
    return (check.name, f"{_short(check.value)} {check.unit}", _short(check.limit), "yes" if check.holds else "NO")


def _short(value: float) -> str:
    """Three figures; what is smaller than a tape or a gauge can show is nought, and no powers of ten.

    >>> [_short(v) for v in (0.0435, 1.6e-5, -4e-14, 1e-6, 1234.5)]
    ['0.0435', '0.000016', '0', '0.000001', '1234']
    """
    if abs(value) >= 1000:
        return f"{value:.0f}"
    return f"{value:.3g}" if abs(value) >= 1e-4 or not value else f"{round(value, 6) + 0.0:.6f}".rstrip("0").rstrip(".")


def findings(facts: Facts) -> Section:
    """Everything found on the way, what stops the work first."""
    order = list(_LEVELS)
    told = sorted(facts.findings, key=lambda f: order.index(f.level))
    rows = tuple((_LEVELS[f.level], f.subject, f.what, f.fix) for f in told)
    if not rows:
        return Section("Findings", (Words("None."),))
    return Section("Findings", (Table(("", "about", "what", "what to do"), rows),))


def cautions() -> Section:
    """What the figures cannot know, and what can hurt."""
    return Section("Cautions", tuple(Words(text) for text in _CAUTIONS))


_CAUTIONS = (
    "FIGURES. They come from geometry and published wood properties, not from your boards. Wood varies, and so does the"
    " hull you have set up. Measure the check bars and the tape checks before cutting, hang closing courses to measured"
    " gaps, and bend a test piece where a plank is called firm. Limits marked 'common practice' have no source.",
    "MACHINES. Guards on, both hands accounted for, nobody within reach of a board coming off the saw. Clamps, screws"
    " and pins clear of the cutter's path. Long planks need a second pair of hands or a stand at both ends.",
    "DUST. Wood dust harms lungs and skin, that of some woods more than of others: draw it off at the machine, wear a"
    " mask that fits, keep sparks away from it.",
    "GLUE AND RESIN. Follow the maker's sheet for mixing, temperature, time and gloves; mix what one person can spread"
    " in half the open time. Rags with oil or resin can take fire by themselves.",
    "STEAM. Boiling water and a closed box: leave the steam a way out, wear gloves, stand aside when opening.",
    "STRUCTURE, FLOTATION, LOADING, POWER. Nothing here says that the boat is strong, stable or safe. Scantlings,"
    " flotation, loading and engine power are matters of local codes and of licensed practice: have them looked at.",
)
