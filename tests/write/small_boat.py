"""A small invented boat in closed forms: two strakes, one of them in two pieces, and two diagonals, both sides.

The side is the plane y = 500; strakes 96 mm wide, cut across at every frame by a line 25 degrees off square.  The
bottom is the plane z = 0 with diagonals at 45 degrees.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from strakewright.arrays import Floats
from strakewright.errors import Check, Finding
from strakewright.lumber import Board, Defect, Rules
from strakewright.parts import Fit, Margin, Mark, Part, Plank
from strakewright.plan import Placement, Plan
from strakewright.settings import PlankingSettings
from strakewright.write.book import Facts, LayerFacts
from strakewright.write.sheets import sheets_of

WIDE, SLANT = 96.0, np.deg2rad(25.0)
SIDE = PlankingSettings("side", "strakes", 19.0, courses=2, start="sheer", species="larch")
BOTTOM = PlankingSettings("bottom", "herringbone", 9.5, width=100.0, species="larch")
FRAMES = (("F1", 600.0), ("F2", 1200.0), ("F3", 2400.0))
EASY = Fit(None, 1e-5, 0.0, 0.0, 1e-4, 0.0, "easy", "straight")
FIRM = Fit(4000.0, 2e-4, 0.0, 0.0, 2e-3, 0.4, "firm", "bends to R 4.00 m, 211 x its thickness. Use thinner stock")


def margin(flat: Floats, meets: str, border: str | None = None, neighbour: str | None = None, **more: object) -> Margin:
    """A rim of a plank in the plane of the side: y of the flat is height."""
    flat = np.array(flat, dtype=float)
    seam = np.column_stack([flat[:, 0], np.full(len(flat), 500.0), flat[:, 1]])
    bevel = np.broadcast_to(np.asarray(more.get("bevel", 0.0)), (len(flat),))
    return Margin(meets, neighbour, border, seam, flat, flat, bevel, float(more.get("tail", 0.0)))  # type: ignore[arg-type]


def _frames(low: float, x0: float, x1: float) -> list[Mark]:
    """Lines across a strake, leaning forward by SLANT; at mid-height they stand at the frame's x."""
    lean = np.tan(SLANT) * WIDE / 2
    return [
        Mark("frame", name, np.array([[x - lean, low], [x + lean, low + WIDE]]))
        for name, x in FRAMES
        if x0 + lean < x < x1 - lean
    ]


def strake(stem: str, course: int, x: tuple[float, float], ends: tuple[str, str], fit: Fit = EASY) -> Plank:
    """A port strake from x[0] to x[1], course 1 on top."""
    low = 700.0 - course * WIDE
    along = np.linspace(*x, 101)
    upper = margin(np.column_stack([along, np.full(101, low + WIDE)]), "sheer" if course == 1 else "seam")
    upper = replace(upper, border="sheer") if course == 1 else replace(upper, neighbour="S01aP")
    lower_bevel = np.deg2rad(-30.0 * (along - x[0]) / (x[1] - x[0])) if course == 2 else np.zeros(101)
    lower = margin(np.column_stack([along, np.full(101, low)]), "seam", bevel=lower_bevel)
    lower = replace(lower, meets="chine", border="chine") if course == 2 else replace(lower, neighbour="S02P")
    ring = np.array([[x[0], low], [x[1], low], [x[1], low + WIDE], [x[0], low + WIDE]])
    slope = float(np.arctan(8.0))
    fwd = margin(ring[[1, 2]], ends[1], neighbour="S01bP" if ends[1] == "scarf" else None, tail=60.0)
    aft = margin(ring[[3, 0]], ends[0], neighbour="S01aP" if ends[0] == "scarf" else None, tail=25.0)
    fwd = replace(fwd, bevel=np.full(2, -slope if ends[1] == "scarf" else -0.35))
    aft = replace(aft, bevel=np.full(2, slope if ends[0] == "scarf" else 0.2))
    outline = ring + np.array([[-25.0, -2], [60, -2], [60, 2], [-25, 2]])
    head = (f"{stem}P", "port", "side", 1, course, 1, f"{stem}S", 19.0, 20.0, "larch")
    rims = (upper, lower, (fwd, aft))
    return Plank(*head, *([ring] * 4), outline, "inside", "spiled", *rims, tuple(_frames(low, *x)), fit)  # type: ignore[arg-type]


def diagonal(course: int) -> Plank:
    """A port diagonal at 45 degrees from the keel; its flat axes run along it."""
    along = np.linspace(0.0, 700.0, 51)
    at = 300.0 + course * 141.42

    def rim(flat: Floats, meets: str, border: str | None = None) -> Margin:
        flat = np.array(flat, dtype=float)
        turn = np.array([[-1.0, 1.0], [1.0, 1.0]]) / np.sqrt(2)
        place = flat @ turn + [at, 0.0]
        seam = np.column_stack([place, np.zeros(len(flat))])
        zero = np.zeros(len(flat))
        return Margin(meets, None, border, seam, flat, flat, zero, 30.0 if border == "keel" else 0.0)  # type: ignore[arg-type]

    ring = np.array([[0.0, 0.0], [700, 0], [600, 100], [-100, 100]])
    rims = (
        rim(np.column_stack([along, 0 * along]), "seam"),
        rim(np.column_stack([along - 100, 0 * along + 100]), "seam"),
    )
    ends = (rim(ring[[1, 2]], "chine", "chine"), rim(ring[[3, 0]], "keel", "keel"))
    head = (f"B{course:02d}P", "port", "bottom", 1, course, 1, f"B{course:02d}S", 9.5, 10.5, "larch")
    mark = Mark("frame", "F1", np.array([[200.0, 0.0], [300.0, 100.0]]))
    return Plank(*head, *([ring] * 5), "outside", "spiled", *rims, ends, (mark,), EASY)  # type: ignore[arg-type]


def mate(p: Plank) -> Plank:
    face = "outside" if p.face_up == "inside" else "inside"
    return replace(p, id=p.id[:-1] + "S", mate=p.id, side="starboard", face_up=face)  # type: ignore[arg-type]


PORT_SIDE = (
    strake("S01a", 1, (0.0, 1700.0), ("transom", "scarf")),
    strake("S01b", 1, (1700.0, 3000.0), ("scarf", "stem"), FIRM),
    strake("S02", 2, (0.0, 3000.0), ("transom", "stem")),
)
PORT_BOTTOM = (diagonal(1), diagonal(2))
GIRTH = float(2 * WIDE / np.cos(SLANT))
LAYERS = (
    LayerFacts(
        SIDE,
        1,
        (*PORT_SIDE, *map(mate, PORT_SIDE)),
        dict.fromkeys(("F1", "F2", "F3"), GIRTH),
        6e5,
    ),
    LayerFacts(BOTTOM, 1, (*PORT_BOTTOM, *map(mate, PORT_BOTTOM)), {"F1": 200.0}, 1.4e5),
)
PLANKS = tuple(p for layer in LAYERS for p in layer.planks)


def part(p: Plank) -> Part:
    over = np.array([1.0, -1.0])
    turned = p.face_up == "outside"
    outline = (p.outline * over)[::-1] if turned else p.outline
    marks = tuple(replace(m, points=m.points * over) for m in p.marks) if turned else p.marks
    return Part(p.id, outline, p.cut_thickness, p.species, marks=marks, mate=p.mate)


PARTS = tuple(map(part, PLANKS))


def _board(name: str, long: float, wide: float, thick: float) -> Board:
    ring = np.array([[0.0, 0], [long, 0], [long, wide], [0, wide]])
    knot = Defect("knot", np.array([[50.0, wide - 30], [90, wide - 30], [90, wide], [50, wide]]))
    return Board(name, ring, thick, "larch", (knot,), rough_thickness=25.4)


BOARDS = (
    *(_board(f"A{n}", 3600.0, 254.0, 20.0) for n in range(1, 4)),
    *(_board(f"C{n}", 1200.0, 160.0, 20.0) for n in (1, 2)),
)
PLACED = (
    Placement("S02P", "A1", 100.0, 480.0 - 960.0),
    Placement("S02S", "A2", 100.0, 730.0),
    Placement("B01P", "C1", 150.0, 110.0),
)
LEFT = tuple(p.id for p in PARTS if p.id not in {q.part for q in PLACED})
PLAN = Plan(PLACED, LEFT, 3, 2.0, 1.5, 0.4, 0.55, None, None, 0, 1)
CHECKS = (Check("mirror pairs", 0.0, 1e-9, "mm", True), Check("parts not placed", 7.0, 0.0, "parts", False))
FINDINGS = (
    Finding("measure-first", "note", "S02P, S02S", "closes the panel", "Hang all others first"),
    Finding("boards-missing", "blocking", "2 boards", "7 parts are left over", "Bring 2 more of larch"),
)
FACTS = Facts(
    boat="Proof",
    revision="ab12cd34",
    hull={"length": 3000.0, "panels": "bottom, side"},
    frames=FRAMES,
    layers=LAYERS,
    parts=PARTS,
    rules=Rules(),
    boards=BOARDS,
    plan=PLAN,
    sheets=sheets_of(PLAN, PARTS, BOARDS),
    checks=CHECKS,
    findings=FINDINGS,
    limits=(("larch: radius / thickness", "200", "125", "common practice, no source"),),
)
