"""What the book says of members: laminations, formers, bevel tables, clamps and glue.

lamination   one member: its plies, how hard they are bent, what they are cut to
former       what plies are bent on; the full-size pattern is on the roll
bevel table  both faces at every frame and every 300 mm, in degrees from the blank's outer face
glue plan    goes that one person closes in the open time, clamps numbered from aft, tightened from the middle
"""

from __future__ import annotations

import numpy as np

from strakewright.members import Bend, Member, Sawn
from strakewright.parts import Part
from strakewright.units import print_mm
from strakewright.write.book import BOX, Block, Facts, Section, Table, Words, bare, blank_size, in_line, two_lines

_GLUE = (
    "Grams are reckoned from the boat file's spread; the maker's sheet for your glue rules, as does its open time at"
    " the warmth of your shop. Gloves, eye protection and fresh air: uncured resin and its hardener harm skin and"
    " lungs. A bent stack holds a great deal of force: keep clear of it while clamping, and do not let go half way."
)
_STRENGTH = (
    "These figures are for bending and gluing the wood, not for the strength of the boat: scantlings are for the"
    " designer, or for the rules that hold where you build."
)


def laminations(facts: Facts) -> Section | None:
    """Ply lists of every member."""
    if not facts.members and not facts.sawn_members:
        return None
    parts = {p.id: p for p in facts.parts}
    blocks: list[Block] = [
        Words(
            "PLY 1 LIES INMOST: on the former, or against the frames. Plies are ripped 8 mm over the finished width and"
            " 50 mm long at each end; scarfs are 12 times the ply's thickness, half each side of the joint."
        )
    ]
    for m in facts.members:
        blocks += _lamination(m, parts)
    if facts.sawn_members:
        blocks.append(_sawn(facts.sawn_members, parts))
    blocks.append(Words(_STRENGTH))
    return Section("Members: laminations", tuple(blocks), bench=True)


def _lamination(m: Member, parts: dict[str, Part]) -> list[Block]:
    blank = m.swept.blank
    both = ", PORT and STARBOARD alike" if m.mirrored else ""
    head = (
        f"{m.name.upper()}: {m.species}, {bare(m.sided)} x {bare(m.moulded)} finished, blank {bare(blank.width)} x"
        f" {bare(blank.depth)} mm, {in_line(float(m.swept.run[-1]))} long{both}. {m.glued.capitalize()}."
    )
    rows = [_ply_row(m, k, parts) for k in range(len(m.plies))]
    body = Table(("ply", "thick", "wide", "long", "scarfs at, from aft", "pieces, length"), tuple(rows), tall=(0,))
    return [Words(head, strong=True), Words(_bent(m)), *_scarfed(m), body]


def _scarfed(m: Member) -> list[Block]:
    if m.scarf is None:
        return []
    s = m.scarf
    return [
        Words(
            f"SCARFED to the {s.to} about x {bare(s.x)}: {in_line(s.length)} long, half each side of it, tapered on the"
            f" {s.tapered.upper()} face; the blanks are left long for it at the {s.end} end. Cut it once the plies are"
            " one, dry fit both pieces on the frames, then glue."
        )
    ]


def _ply_row(m: Member, k: int, parts: dict[str, Part]) -> tuple[str, ...]:
    ply = m.plies[k]
    pieces = "\n".join(f"{name.removesuffix('-P')} {bare(blank_size(parts[name])[0])}" for name in ply.parts)
    joints = "\n".join(in_line(j) for j in ply.joints) or "none"
    return (str(ply.number), f"{ply.thickness:.1f}", two_lines(ply.width + 8.0), two_lines(ply.length), joints, pieces)


def _bent(m: Member) -> str:
    """How hard it is bent, in a sentence or two."""
    b = m.bend
    if b.flat is None and b.edge is None:
        return "It lies straight."
    flat = "straight flatwise" if b.flat is None else f"flatwise to R {print_mm(b.flat)}: t/R 1/{1 / b.ratio:.0f}"
    told = f"Bent {flat}, {100 * b.factor:.0f} % of strength left by the curved lamination rule"
    told += f", {b.stress:.0f} MPa in the ply (Wood Handbook stiffness)." if b.stress is not None else "."
    told += f" Edgewise {_edge(b)}; twist {np.degrees(b.twist) * 1000:.1f} degrees a metre."
    if m.where == "port":
        told += (
            f" Plies lie {m.plies_lie}; the other way the edge would be strained {100 * m.other_way.edge_strain:.2f} %."
        )
    return told


def _edge(b: Bend) -> str:
    return "straight" if b.edge is None else f"R {print_mm(b.edge)}, edge strained {100 * b.edge_strain:.2f} %"


def _sawn(sawn: tuple[Sawn, ...], parts: dict[str, Part]) -> Table:
    rows = []
    for s in sawn:
        for p in s.parts:
            long, wide = blank_size(parts[p.id])
            rows.append((p.id, s.species, f"{s.thickness:g}", two_lines(long), two_lines(wide), "; ".join(s.bevels)))
    return Table(("piece", "wood", "thick", "long", "wide", "at the bench"), tuple(rows), "Sawn pieces", tall=(0,))


# -- formers ---------------------------------------------------------------------------------------


def formers(facts: Facts) -> Section | None:
    """Ordinates of every former, for those who would rather not trust paper."""
    made = [m for m in facts.members if m.former is not None]
    if not made:
        return None
    blocks: list[Block] = [
        Words(
            "CUT TO THE CONCAVE FACE OF PLY 1, closed in for springback: the bend is n2 / (n2 - 1) of the wanted one,"
            " n plies, point by point. Rule of thumb, not law: bend a test piece of the same plies, measure how far it"
            " opens, and set springback_factor. Clamp holes stand where the glue plan has its clamps."
        )
    ]
    for m in made:
        blocks += [Words(_former_words(m), strong=True), _ordinates(m)]
    return Section("Members: formers", tuple(blocks), bench=True)


def _former_words(m: Member) -> str:
    n = len(m.plies)
    radius = "" if m.bend.flat is None else f", tightest {print_mm(m.bend.flat)} in the inner ply"
    return f"{m.name.upper()}: {n} plies, springback 1/{n * n} x {m.springback_factor:g}{radius}"


def _ordinates(m: Member) -> Table:
    """Heights of the former's edge above its base at even places along the base."""
    assert m.former is not None
    base = next(line.points for line in m.former.lines if line.kind == "reference")
    edge = next(line.points for line in m.former.lines if line.kind == "cut")
    wanted = next(line.points for line in m.former.lines if line.kind == "scribe")
    left, low = float(base[:, 0].min()), float(base[:, 1].min())
    upper = edge[edge[:, 1] > low + 1.0]
    upper = upper[np.argsort(upper[:, 0])]
    count = max(7, int((upper[-1, 0] - upper[0, 0]) / 100.0) + 1)
    at = np.linspace(upper[0, 0], upper[-1, 0], min(count, 25))
    high = np.interp(at, upper[:, 0], upper[:, 1]) - low
    order = np.argsort(wanted[:, 0])
    done = np.interp(at, wanted[order, 0], wanted[order, 1], left=np.nan, right=np.nan) - low
    rows = [
        (two_lines(x - left), two_lines(h), "–" if np.isnan(d) else two_lines(d))
        for x, h, d in zip(at, high, done, strict=True)
    ]
    return Table(
        ("along base", "former up", "released up"), tuple(rows), f"{m.name}: ordinates above the base, mm / in"
    )


# -- bevels ----------------------------------------------------------------------------------------


def member_bevels(facts: Facts) -> Section | None:
    """Bevels of every member that has any, and the cuts of ends at a transom."""
    rolled = [m for m in facts.members if any(max(r.bevels, default=0.0) > np.radians(0.05) for r in m.rows)]
    cut = [m for m in facts.members if m.cuts]
    if not rolled and not cut:
        return None
    blocks: list[Block] = []
    if rolled:
        blocks.append(
            Words(
                "DEGREES FROM THE BLANK'S OUTER FACE, in the plane square to the member. Along: from its after end."
                " Wide: of the finished face. Turn: of the blank about its run since the after end."
            )
        )
    blocks += [_bevels_of(m) for m in rolled]
    if cut:
        blocks.append(_ends_of(cut))
    return Section("Members: bevels", tuple(blocks), bench=True)


def _bevels_of(m: Member) -> Table:
    names = [f"{b.on} {n + 1}" if m.where == "centre" else b.on for n, b in enumerate(m.swept.bearings)]
    head = ["frame", "along", *(f"{name}\nbevel, wide" for name in names), "turn"]
    rows = []
    for r in m.rows:
        cells = [f"{np.degrees(b):.1f}\n{bare(w)}" for b, w in zip(r.bevels, r.widths, strict=True)]
        rows.append((r.name or "·", two_lines(r.run), *cells, f"{np.degrees(r.turn):.1f}"))
    return Table(tuple(head), tuple(rows), m.name, tall=(0,))


def _ends_of(cut: list[Member]) -> Table:
    """Ends at a transom, left a little long: how the last of them is cut."""
    head = ("member", "end", "to the\nrun", "over its\nouter face", "over its\nside")
    rows = [
        (
            m.name,
            f"{c.end}, {c.on}",
            f"{np.degrees(c.angle):.1f}",
            _off_square(c.face, ("upper edge longer", "lower edge longer")),
            _off_square(c.side, ("inner face longer", "outer face longer")),
        )
        for m in cut
        for c in m.cuts
    ]
    return Table(head, tuple(rows), "Ends cut to the inside of a transom, degrees from square", tall=(0,))


def _off_square(angle: float, longer: tuple[str, str]) -> str:
    off = float(np.degrees(angle))
    return "square" if abs(off) < 0.05 else f"{abs(off):.1f}\n{longer[off < 0]}"


# -- clamps and glue -------------------------------------------------------------------------------


def clamps_and_glue(facts: Facts) -> Section | None:
    """Every glue-up: clamps, order, glue and minutes."""
    glued = [m for m in facts.members if m.clamping is not None]
    if not glued:
        return None
    blocks: list[Block] = [Words(_GLUE)]
    for m in glued:
        plan = m.clamping
        assert plan is not None
        first = ", ".join(str(k) for k in plan.order[:7])
        twice = " Once for each side." if m.mirrored else ""
        blocks.append(
            Words(
                f"{m.name.upper()}: {len(plan.positions)} clamps {bare(plan.spacing)} mm apart, numbered from aft, the"
                f" first {bare(plan.positions[0])} mm from the end. Tighten from the middle: {first} ...{twice}",
                strong=True,
            )
        )
        rows = [
            (str(k), _plies(*b.plies), str(b.clamps), f"{b.glue_g:.0f}", f"{b.minutes:.0f}", BOX, BOX)
            for k, b in enumerate(plan.batches, 1)
        ]
        head = ("go", "lay plies", "clamps", "glue, g", "minutes", "began", "closed")
        blocks.append(Table(head, tuple(rows), tall=(0,)))
    return Section("Members: clamps and glue", tuple(blocks), bench=True)


def _plies(first: int, last: int) -> str:
    return f"{first} to {last}" if last > first else str(first)
