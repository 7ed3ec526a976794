"""What the book says of everything bought besides boards, of cloth and resin, glue and screws, and of moving wood."""

from __future__ import annotations

from strakewright.ledger import Movement, Purchase, Reckoned, Sheathed
from strakewright.tables import words_of
from strakewright.write.book import Block, Facts, Section, Table, Words, in_line, tenths, two_lines

CAUTION_RESIN = (
    "RESIN AND GLUE. Gloves, mask, air; a pot that warms up is set aside outdoors. The maker's sheet rules: these"
    " quantities are estimates, buy a tenth more."
)
CAUTION_SCREWS = (
    "SCREWS. Withdrawal from side grain only, never count on end grain; published averages, design figures by the"
    " handbook's factor. Scantlings and fastening are matters of local codes and of licensed practice."
)


def stores_pages(facts: Facts) -> Section | None:
    """The shopping list with its cost."""
    found = facts.reckoned
    if found is None:
        return None
    rows = tuple(_line(p) for p in found.purchases)
    known, open_ = sum(p.cost or 0.0 for p in found.purchases), sum(p.cost is None for p in found.purchases)
    said = f"Together {known:.2f} {found.currency}".rstrip() + (f"; {open_} lines without a price." if open_ else ".")
    head = ("what", "quantity", "unit", "price", "cost", "of which", "reckoned from")
    return Section("Shopping list", (Words(CAUTION_RESIN, strong=True), Table(head, rows), Words(said, strong=True)))


def _line(p: Purchase) -> tuple[str, ...]:
    price, cost = ("–" if v is None else f"{v:.2f}" for v in (p.price, p.cost))
    return (p.what, f"{p.quantity:g}", p.unit, price, cost, p.note, p.basis)


def cloth_pages(facts: Facts) -> Section | None:
    """Runs of cloth, resin, pots."""
    found = facts.reckoned
    if found is None or found.stores.sheathed is None:
        return None
    job = found.stores.sheathed
    blocks: tuple[Block, ...] = (Words(CAUTION_RESIN, strong=True), _cloth(job), _runs(job))
    return Section("Cloth and resin", blocks)


def _cloth(job: Sheathed) -> Table:
    rows = (
        ("skin, both sides", f"{job.net:.2f} m2"),
        ("with laps round keel, chine, stem and transom", f"{job.covered:.2f} m2"),
        ("cloth off the roll", f"{job.cloth:.1f} m, {job.bought:.2f} m2"),
        ("resin and hardener, waste in it", f"{job.litres:.1f} litres, {job.resin:.1f} kg"),
        ("pots", f"{job.pots}"),
        ("keel and chine rounded before", f"to {in_line(job.corner_radius)} radius: cloth lifts off sharper"),
        ("left aboard, cloth and resin", f"{job.aboard:.1f} kg"),
        ("cloth and its resin are thick", f"{job.thickness:.2f} mm"),
    )
    return Table(("cloth and resin", "both sides"), rows)


def _runs(job: Sheathed) -> Table:
    rows = tuple(
        (f"{r.panel} {r.number}", r.way, f"{in_line(r.low)} to {in_line(r.high)}", in_line(r.length)) for r in job.runs
    )
    head = ("run", "laid", "covers, from the lower (after) edge of the lap", "cut off the roll")
    return Table(head, rows, "Runs of one layer, one side: cut each twice")


def joint_pages(facts: Facts) -> Section | None:
    """Glue by joints, screws and their holes."""
    found = facts.reckoned
    if found is None:
        return None
    return Section("Glue and screws", (Words(CAUTION_SCREWS, strong=True), _joints(found), *_screws(found)))


def _joints(found: Reckoned) -> Table:
    j, g = found.stores.joints, found.stores.glue
    rows = (
        ("seams", f"{j.seams:.2f} m2"),
        ("scarfs", f"{j.scarfs:.2f} m2"),
        ("layer on layer", f"{j.layers:.2f} m2"),
        ("planks on frames", f"{j.frames:.2f} m2"),
        ("keel, chine, stem and transom", f"{j.ends:.2f} m2"),
        ("glue to mix, a fifth left in pots", f"{g.mass:.1f} kg"),
        ("pots", f"{g.pots}"),
    )
    return Table(("glued faces of the planking", "both sides"), rows)


def _screws(found: Reckoned) -> list[Block]:
    s = found.stores.screws
    how = (
        "counted from the screw marks" if s.mapped else "ESTIMATED from the frames crossed: no screw map was asked for"
    )
    rows = tuple(
        (
            f"{w.wood}, gravity {w.gravity}" if w.gravity else w.wood,
            f"No. {w.gauge} x {in_line(w.length)}",
            f"{w.diameter:.1f}",
            f"{w.lead:.1f}",
            f"{w.thread:.0f}",
            f"{w.ultimate:.0f}",
            f"{w.design:.0f}",
        )
        for w in found.stores.screw
    )
    head = ("into", "screw", "shank, mm", "lead hole, mm", "thread in wood, mm", "pulls out at, N", "for design, N")
    return [
        Words(f"{s.count} screws, {how}; {s.plugged} plugged (planks of 16 mm and more)."),
        Table(
            head,
            rows,
            "By the wood that holds the thread: of frames and members, else the planking's own",
        ),
        Words("Lead holes: 70 % of the root in softwood, 90 % in hardwood (sources disagree): try one in waste."),
    ]


def movement_pages(facts: Facts) -> Section | None:
    """How panels and planks move between shop and service."""
    found = facts.reckoned
    if found is None:
        return None
    panels = tuple(
        (
            p.panel,
            f"{p.wood}, {words_of(p.standing)}" if p.standing else p.wood,
            "yes" if p.sheathed else "no",
            two_lines(p.girth),
            tenths(p.change),
            f"{100 * p.push:+.2f}",
            f"{100 * p.limit:.2f}",
        )
        for p in found.panels
    )
    widest = tuple((wood, in_line(mm)) for wood, mm in found.widest.items())
    blocks: list[Block] = [
        Words(f"Moisture: {found.moistures}. Coefficients of the Wood Handbook; standing named beside each wood."),
        Words("A real plank moves as its rings lie: between the quarter-sawn and the flat-sawn figure.", strong=True),
    ]
    if panels:
        head = ("panel", "wood", "sheathed", "across the planks", "grows, mm", "% of that", "limit, %")
        said = (
            "Glued panels as one piece; sealed by cloth and resin they move half as much (common practice, no source)"
        )
        blocks.append(Table(head, panels, said))
    if widest:
        blocks.append(
            Table(
                ("wood", "widest plank"),
                widest,
                "Widest plank by wood where seams are not glued: 1 mm a seam (common practice, no source)",
            )
        )
    blocks.append(_planks(found.movements))
    return Section("How the wood moves", tuple(blocks))


def _planks(rows: tuple[Movement, ...]) -> Table:
    """Widest plank of each panel and wood first; the ten that move most."""
    most = sorted(rows, key=lambda r: -abs(r.change))[:10]
    body = tuple(
        (r.name, r.wood, two_lines(r.width), tenths(r.change), f"{r.coefficient:.5f}", words_of(r.standing))
        for r in most
    )
    head = ("plank", "wood", "width", "grows, mm", "of the width, for each 1 % of moisture", "standing")
    return Table(head, body, "The ten planks that move most, bare wood")
