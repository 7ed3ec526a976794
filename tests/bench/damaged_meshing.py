"""How a hull was meshed, and how it lies in its file: needles, noise, roundings, other axes, units and halves."""

from __future__ import annotations

import numpy as np

from strakewright.arrays import Floats
from strakewright.geometry.meshes import edges
from tests import exact_hulls as exact
from tests.bench.damaged import Clean, Damaged, Rng, both_sides, off_text, samples
from tests.exact_meshes import Make


def needles(hull: Clean, rng: Rng) -> Damaged:
    """Coarse triangles from chine to chine, as programs make them on ruled surfaces; 0.2 mm of chord allowed."""
    make = samples()
    size = rng.uniform(0.9, 1.1, 3)
    lines = [make.line([tuple(np.array(p) * size) for p in points]) for points in make.TEASEL]
    u = np.sort(np.concatenate([np.linspace(0, 1, 120), rng.uniform(0, 1, 10)]))
    vertices = np.concatenate([edge(u) for edge in lines])
    n, rows = len(u), []
    for k in range(2):
        a = k * n + np.arange(n - 1)
        rows += [np.stack([a, a + n, a + 1], 1), np.stack([a + 1, a + n, a + n + 1], 1)]
    return Damaged(make.welded([make.mirrored((vertices, np.concatenate(rows)))]))


def sawtooth(hull: Clean, rng: Rng) -> Damaged:
    """Fine needles across the hull with corners 0.02 mm in and out in turn: the normals lie."""
    vertices, triangles = hull.half
    shake = 0.02 * np.where(np.arange(len(vertices)) % 2, 1.0, -1.0)[:, None]
    out = np.stack([np.zeros(len(vertices)), np.full(len(vertices), 0.5), np.full(len(vertices), -0.8)], axis=1)
    moved = vertices + shake * out
    moved[np.abs(vertices[:, 1]) < 1e-9, 1] = 0.0
    return Damaged(both_sides((moved, triangles)))


def noise(hull: Clean, rng: Rng) -> Damaged:
    """Every corner 0.1 mm astray, each way at random."""
    vertices, triangles = hull.whole
    return Damaged((vertices + rng.uniform(-0.1, 0.1, vertices.shape), triangles))


def rounded_shape(rng: Rng) -> exact.RunningChine:
    """The hull that `rounded` rounds off."""
    return exact.RunningChine(length=5600.0 * rng.uniform(0.85, 1.1), least=rng.uniform(22.0, 32.0))


def rounded(hull: Clean, rng: Rng) -> Damaged:
    """The chine rounded over a strip of three to six facets, tangent to both panels; the hull is made anew."""
    shape = rounded_shape(rng)
    radius, facets = rng.uniform(10.0, 28.0), int(rng.integers(3, 7))
    columns, below, above = 90, 14, 10
    sections = [
        _rounded_section(shape, x, radius, (below, facets, above)) for x in np.linspace(0, shape.length, columns)
    ]
    vertices = np.concatenate(sections)
    corner = np.arange(len(vertices)).reshape(columns, -1)
    a, b, c, d = (s.ravel() for s in (corner[:-1, :-1], corner[1:, :-1], corner[:-1, 1:], corner[1:, 1:]))
    return Damaged((vertices, np.concatenate([np.stack([a, b, c], 1), np.stack([b, d, c], 1)])), {"half": True})


def _rounded_section(shape: exact.RunningChine, x: float, radius: float, count: tuple[int, int, int]) -> Floats:
    """(n, 3) keel, bottom, fillet, side at a station; lines are straight in the section."""
    below, facets, above = count
    low = float(np.radians(shape.deadrise(np.array(x))))
    high = low + float(np.radians(shape.fold(np.array(x))))
    corner = np.array([shape.half_breadth, shape.chine_height])
    along, up = (np.array([np.cos(t), np.sin(t)]) for t in (low, high))
    short = radius * np.tan((high - low) / 2)
    keel = corner - shape.half_breadth / np.cos(low) * along
    keel[0] = 0.0
    centre = corner - short * along + radius * np.array([-np.sin(low), np.cos(low)])
    turn = np.linspace(low, high, facets + 1)
    arc = centre + radius * np.stack([np.sin(turn), -np.cos(turn)], axis=1)
    bottom = np.linspace(keel, arc[0], below)[:-1]
    side = np.linspace(arc[-1], corner + shape.side_girth * up, above)[1:]
    rows = np.concatenate([bottom, arc, side])
    return np.column_stack([np.full(len(rows), x), rows])


def fading(hull: Clean, rng: Rng) -> Damaged:
    """A chine whose fold sinks to 4 degrees and comes back forward."""
    make = Make(triangles=4000, seed=int(rng.integers(1000)))
    return Damaged(exact.RunningChine(least=4.0).mesh(make))


# -- how it lies -------------------------------------------------------------------------------------------------------


def off_centre(hull: Clean, rng: Rng) -> Damaged:
    """The whole boat up to 300 mm to one side, at a height and a place of its own."""
    vertices, triangles = hull.whole
    return Damaged((vertices + np.array([rng.uniform(-4000, 4000), rng.uniform(-300, 300), 0.0]), triangles))


def heeled(hull: Clean, rng: Rng) -> Damaged:
    """Drawn heeled by up to three degrees, or slewed by up to two."""
    vertices, triangles = hull.whole
    heel, slew = rng.uniform(-1, 1, 2) * ([3.0, 0.0] if rng.random() < 0.5 else [0.0, 2.0])
    return Damaged((vertices @ _turn(np.radians(heel), np.radians(slew)).T, triangles))


def _turn(heel: float, slew: float) -> Floats:
    c, s = np.cos(heel), np.sin(heel)
    roll = np.array([[1, 0, 0], [0, c, -s], [0, s, c]])
    c, s = np.cos(slew), np.sin(slew)
    return np.asarray(np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]]) @ roll)


def starboard_half(hull: Clean, rng: Rng) -> Damaged:
    """The starboard half in place of the port one."""
    vertices, triangles = hull.half
    return Damaged((vertices * [1.0, -1.0, 1.0], triangles[:, ::-1]), {"half": True})


def other_axes(hull: Clean, rng: Rng) -> Damaged:
    """Bow to -y, up along +x, in inches, and the boat file says so."""
    x, y, z = hull.whole[0].T / 25.4
    return Damaged((np.stack([z, -x, -y], axis=1), hull.whole[1]), {"forward": "-y", "up": "+x"}, scale=25.4)


def wrong_unit(hull: Clean, rng: Rng) -> Damaged:
    """Millimetres read as metres, or metres as millimetres: a 5000 m boat, a 5 mm boat."""
    scale = 1000.0 if rng.random() < 0.5 else 0.001
    return Damaged(hull.whole, scale=scale, refusal=("mesh_units",))


def half_called_whole(hull: Clean, rng: Rng) -> Damaged:
    """A port half without `half = true`."""
    return Damaged(hull.half, refusal=("half = true",))


def whole_called_half(hull: Clean, rng: Rng) -> Damaged:
    """Both sides with `half = true`."""
    return Damaged(hull.whole, {"half": True}, refusal=("half = false",))


def ragged_sheer(hull: Clean, rng: Rng) -> Damaged:
    """Every fifth triangle at the sheer missing."""
    vertices, triangles = hull.half
    net = edges(triangles)
    on = net.faces[net.border & (vertices[net.ends].mean(axis=1)[:, 2] > 0.75 * vertices[:, 2].max()), 0]
    on = np.unique(on)
    gone = on[rng.random(len(on)) < 0.2]
    return Damaged(both_sides((vertices, np.delete(triangles, gone, axis=0))), refusal=("ragged", "corners", "arcs"))


def cut_off(hull: Clean, rng: Rng) -> Damaged:
    """A file that stops in its middle."""
    text = off_text(hull.whole)
    return Damaged(hull.whole, text=text[: int(len(text) * rng.uniform(0.3, 0.95))], refusal=("cut off",))


def not_numbers(hull: Clean, rng: Rng) -> Damaged:
    """A corner that is no number."""
    rows = off_text(hull.whole).split(b"\n")
    rows[int(rng.integers(3, 200))] = b"nan 12.5 300"
    return Damaged(hull.whole, text=b"\n".join(rows), refusal=("not numbers", "not a readable"))
