"""What the book says of weight and water: weights, how she lies, marks to paint, curves, loading by rule."""

from __future__ import annotations

import math

from strakewright.floating import FRESH, SALT, Afloat, Hydrostatics
from strakewright.ledger import Reckoned, bare_shell, centre_of_gravity, groups, total
from strakewright.units import POUND
from strakewright.write.book import Block, Facts, Section, Table, Words, in_line, two_lines
from strakewright.write.graphs import graphs_of, picture_of
from strakewright.write.reckonrecords import CAUTION_RULES, CAUTION_WATER, CAUTION_WEIGHTS

_TO_WHAT = (
    "To the outside of planking and cloth, with shoe, skeg, stem cap and rails that are in the boat file, and with the"
    " bend of a transom; without rudder, shaft and paint."
)
_TOLD = {"frames": "frames", "members": "keelson, stem, logs and clamps", "transom": "transom"}


def weight_pages(facts: Facts) -> Section | None:
    """Table of weights by group, what is not in it, bare shell and slings, woods picked."""
    found = facts.reckoned
    if found is None:
        return None
    missing = "; ".join(_TOLD.get(m, m) for m in found.missing)
    aft, forward = found.lifting
    shell = total(bare_shell(found.weights))
    turned = (
        f"Turning over: the bare shell weighs {_kg(shell)}. Slings at {in_line(aft)} and {in_line(forward)} forward of"
        f" the aftmost point carry half each."
    )
    blocks: list[Block] = [Words(CAUTION_WEIGHTS, strong=True), _groups(found)]
    if missing:
        blocks.append(Words(f"NOT IN THIS TABLE, and not in the waterline: {missing}.", strong=True))
    blocks += [Words(turned), _items(found), _woods(found)]
    return Section("Weights", tuple(b for b in blocks if not isinstance(b, Table) or b.rows))


def _groups(found: Reckoned) -> Table:
    rows = [
        (g.name, f"{g.mass:.1f}", _lb(g.mass), *(two_lines(float(v)) for v in g.centre)) for g in groups(found.weights)
    ]
    middle, whole = centre_of_gravity(found.weights), total(found.weights)
    rows.append(("all", f"{whole:.1f}", _lb(whole), *(two_lines(float(v)) for v in middle)))
    head = ("group", "kg", "lb", "forward of aftmost point", "to port", "above base line")
    return Table(head, tuple(rows), "Weights by group, and where each balances")


def _items(found: Reckoned) -> Table:
    rows = [
        (w.name, w.group, _kg(w.mass), *(two_lines(float(v)) for v in w.centre))
        for w in found.weights
        if w.basis == "as entered"
    ]
    head = ("aboard", "group", "weight", "forward of aftmost point", "to port", "above base line")
    return Table(head, tuple(rows), "Carried, as entered")


def _woods(found: Reckoned) -> Table:
    dense = {w.wood: w.basis for w in found.weights if w.wood}
    rows = tuple((name, dense.get(name, ""), words) for name, words in found.woods)
    return Table(("wood", "density, and its standing", "how it lasts and glues"), rows, "Woods picked")


def _kg(mass: float) -> str:
    return f"{mass:.1f} kg ({_lb(mass)} lb)"


def _lb(mass: float) -> str:
    return f"{mass / float(POUND):.0f}"


def water_pages(facts: Facts) -> Section | None:
    """How she lies in fresh and in salt water, marks to paint, curves."""
    found = facts.reckoned
    if found is None:
        return None
    blocks: list[Block] = [Words(CAUTION_WATER, strong=True)]
    water = found.afloat
    if not water.lies:
        blocks.append(Words("WITH THESE WEIGHTS SHE DOES NOT FLOAT: see the findings.", strong=True))
    else:
        blocks += [_lying(found), _marks(found)]
    blocks += [_table(water.table)]
    if water.lines is not None:
        blocks.append(
            _table((water.lines,), "At the designed waterline, upright and level; the last two columns in fresh water")
        )
    blocks += [picture_of(g) for g in graphs_of(water)]
    blocks.append(Words(_TO_WHAT))
    return Section("Afloat", tuple(b for b in blocks if not isinstance(b, Table) or b.rows))


def _lying(found: Reckoned) -> Table:
    names = list(found.afloat.lies)
    columns = [_column(a) for a in found.afloat.lies.values()]
    rows = tuple((row[0][0], *(cell[1] for cell in row)) for row in zip(*columns, strict=True))
    return Table(("as she lies", *(f"{n} water" for n in names)), rows)


def _column(a: Afloat) -> list[tuple[str, str]]:
    trim, heel = math.degrees(a.trim), math.degrees(a.heel)
    return [
        ("weight with everything entered", _kg(a.weight)),
        ("draught, lowest point", in_line(a.draught)),
        ("least freeboard", f"{in_line(a.freeboard)} at {in_line(a.freeboard_x)} forward"),
        ("trim", f"{abs(trim):.1f} degrees by the {'stern' if trim >= 0 else 'bow'}"),
        ("list", f"{abs(heel):.1f} degrees to {'starboard' if heel >= 0 else 'port'}" if abs(heel) > 0.05 else "none"),
        ("metacentric height GM", in_line(a.gm)),
        ("waterplane", f"{a.waterplane / 1e6:.2f} m2"),
        ("wetted area", f"{a.wetted / 1e6:.2f} m2"),
    ]


def _marks(found: Reckoned) -> Table:
    rows = tuple((m.name, in_line(m.below_sheer), in_line(m.z), in_line(m.x)) for m in found.afloat.marks)
    head = ("paint a mark on", "straight down from the sheer", "above base line", "forward of aftmost point")
    return Table(head, rows, f"Waterline to paint, {found.water} water, as loaded here")


def _table(
    rows: tuple[Hydrostatics, ...], caption: str = "Upright and level; the last two columns in fresh water"
) -> Table:
    head = ("draught", "kg, fresh", "kg, salt", "LCB, mm", "KB, mm", "KM, mm", "LCF, mm", "waterplane, m2",
            "wetted, m2", "block", "prismatic", "kg a mm", "kg m a cm of trim")  # fmt: skip
    body = tuple(
        (
            two_lines(r.draught),
            f"{r.displacement:.0f}",
            f"{r.displacement * SALT / FRESH:.0f}",
            *(f"{mm:.0f}" for mm in (r.lcb, r.kb, r.km, r.lcf)),
            f"{r.waterplane / 1e6:.2f}",
            f"{r.wetted / 1e6:.2f}",
            f"{r.block:.3f}",
            f"{r.prismatic:.3f}",
            f"{r.immersion:.2f}",
            f"{r.trim_moment / 100:.2f}",
        )
        for r in rows
    )
    return Table(head, body, caption)


def rule_pages(facts: Facts) -> Section | None:
    """Loading, power and flotation with formula and paragraph, and where foam has room."""
    found = facts.reckoned
    if found is None or not found.rules:
        return None
    rows = tuple((r.name, _value(r.value, r.unit), r.formula, r.paragraph) for r in found.rules)
    rooms = tuple((f"{in_line(r.aft)} to {in_line(r.forward)}", f"{r.litres:.0f}") for r in found.rooms)
    missing = [_TOLD.get(m, m) for m in found.missing if m in _TOLD]
    light = f"THE BOAT'S WEIGHT LACKS {', '.join(missing)}: she carries less than stands here." if missing else ""
    blocks: tuple[Block, ...] = (
        Words(CAUTION_RULES, strong=True),
        *([Words(light, strong=True)] if light else []),
        Table(("figure", "value", "how", "paragraph"), rows),
        *([Words(f"Hull identification number: {found.hin}.")] if found.hin else []),
        Words("Foam keeps her level only when it sits high and out at the sides, with the motor's share right aft."),
        Words("Foam in the bilge must stand fuel and oil (33 CFR 183.114), or the bilge must be sealed."),
        Table(("between", "litres along both sides, 150 mm deep, chine to sheer"), rooms, "Where foam has room"),
        *_enough_room(found),
    )
    return Section("Loading, power, flotation", blocks)


def _enough_room(found: Reckoned) -> list[Block]:
    """Whether the foam asked for goes in along the sides."""
    asked = max((r.value or 0.0 for r in found.rules if r.unit == "litres"), default=0.0)
    room = sum(r.litres for r in found.rooms)
    if not asked or not room:
        return []
    if asked <= room:
        return [Words(f"Foam asked for: {asked:.0f} litres at most, room along the sides {room:.0f} litres.")]
    short = f"THE SIDES HOLD ONLY {room:.0f} OF {asked:.0f} LITRES"
    return [Words(f"{short}: the rest goes under thwarts and decks, high and outboard.", strong=True)]


def _value(value: float | None, unit: str) -> str:
    if value is None:
        return "not reckoned"
    if unit == "lb":
        return f"{value:.0f} lb ({value * float(POUND):.0f} kg)"
    return f"{value:.0f} {unit}".strip()
