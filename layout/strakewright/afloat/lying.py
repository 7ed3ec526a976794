"""How she comes to rest under a weight, and how she comes back from a heel.

stiffness    change of buoyancy and of its moments when the water rises or turns a little against the boat: the
             waterplane's area, first and second moments, less the weight times its height over the buoyancy
rest         buoyancy equals weight and stands straight under or over it

Method (derived): Newton steps with the exact stiffness of the moment; steps along ways in which she is unstable are
turned round, so that the search runs down to a rest in which she stays and never to one she falls away from.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from strakewright.afloat.shell import Shell
from strakewright.arrays import Floats
from strakewright.errors import UnworkableError
from strakewright.floating import FRESH, Afloat, Righting, RightingCurve
from strakewright.geometry.immersion import Immersed, immersed

ROUNDS = 60
MOST_TURN, MOST_RISE = 0.08, 80.0  # a step: radians, mm
SETTLED = 1e-9  # of the volume, and of the volume times a metre
STEP = np.deg2rad(2.5)
LARGEST = np.deg2rad(90.0)
ON_EDGE = 1e-4  # mm


@dataclass(frozen=True, eq=False)
class Pose:
    """up : (3,) vertical in the boat's axes;  level : height of the water along it"""

    up: Floats
    level: float

    @property
    def axes(self) -> Floats:
        """Rows: forward and to port along the water, up."""
        forward = np.array([1.0, 0.0, 0.0]) - self.up[0] * self.up
        forward /= np.linalg.norm(forward)
        return np.asarray(np.stack([forward, np.cross(self.up, forward), self.up]), dtype=np.float64)

    @property
    def trim(self) -> float:
        return float(np.arcsin(self.up[0]))

    @property
    def heel(self) -> float:
        return float(np.arctan2(self.up[1], self.up[2]))


def pose(trim: float, heel: float, level: float) -> Pose:
    """The pose of those angles (trim by the stern +, heel to starboard +)."""
    up = np.array([np.sin(trim), np.cos(trim) * np.sin(heel), np.cos(trim) * np.cos(heel)])
    return Pose(up, level)


def at_rest(shell: Shell, weight: float, centre: Floats, water: float = FRESH) -> Afloat:
    """How she floats.  weight kg;  centre : (3,) mm of gravity;  water kg/m3

    Raises UnworkableError when the whole hull displaces less, or when she finds no rest above her sheer.
    """
    volume = _volume(shell, weight, water)
    at = _upright(shell, volume, 1e-3 if abs(centre[1]) < 1e-9 else 0.0)
    for _ in range(ROUNDS):
        under, residual, stiffness = _state(shell, at, volume, centre)
        if np.abs(residual / (volume * np.array([1.0, 1000.0, 1000.0]))).max() < SETTLED:
            return _afloat(shell, at, under, (weight, centre, water))
        at = _moved(at, _newton(stiffness, residual), centre)
    raise UnworkableError(
        "she finds no rest in the water: she is top-heavy or floods over the sheer",
        where="weights",
        fix="Look at the weights and places of the items, and at the height of the centre of gravity",
    )


def righting_curve(shell: Shell, weight: float, centre: Floats, flooding: Floats | None, water: float) -> RightingCurve:
    """Righting arms from upright to the heel at which water comes in, trim free, heeled to starboard.

    flooding : (3,) lowest opening, taken on the starboard side; an open boat also floods over her sheer, a decked
    one over it only when no opening is stated
    """
    volume = _volume(shell, weight, water)
    ways = _ways(shell, flooding)
    at, points, before = _upright(shell, volume, 0.0), [], 0.0
    for heel in np.arange(0.0, LARGEST + 1e-9, STEP):
        at, arm = _held(shell, pose(at.trim, float(heel), at.level), volume, centre)
        if _over(ways, at) <= 0.0:
            at, arm = _edge(shell, (before, float(heel)), (volume, centre), (at, ways))
            points.append(Righting(at.heel, arm, at.level, at.trim))
            first = min(ways, key=lambda name: float((ways[name] @ at.up).min()))
            return RightingCurve(tuple(points), at.heel, first)
        points.append(Righting(float(heel), arm, at.level, at.trim))
        before = float(heel)
    return RightingCurve(tuple(points), None, "")


def _ways(shell: Shell, flooding: Floats | None) -> dict[str, Floats]:
    """Where water may come in, on the starboard side."""
    found: dict[str, Floats] = {}
    if flooding is not None:
        found["the stated opening"] = np.array([[flooding[0], -abs(flooding[1]), flooding[2]]])
    if flooding is None or not shell.decked:
        found["the sheer"] = shell.sheer * np.array([1.0, -1.0, 1.0])
    return found


def _over(ways: dict[str, Floats], at: Pose) -> float:
    """Least height of any way in over the water."""
    return min(float((points @ at.up).min()) for points in ways.values()) - at.level


def _edge(
    shell: Shell, heels: tuple[float, float], load: tuple[float, Floats], start: tuple[Pose, dict[str, Floats]]
) -> tuple[Pose, float]:
    """The heel at which a way in just meets the water, by halving."""
    (low, high), (at, ways) = heels, start
    arm = 0.0
    for _ in range(14):
        middle = (low + high) / 2
        at, arm = _held(shell, pose(at.trim, middle, at.level), *load)
        low, high = (low, middle) if _over(ways, at) <= 0.0 else (middle, high)
    return at, arm


def _volume(shell: Shell, weight: float, water: float) -> float:
    """mm3 that carry the weight; up to the lowest of the sheer, or the whole of a decked hull."""
    volume = weight / water * 1e9
    most = immersed(shell.vertices, shell.triangles, np.eye(3), shell.top).volume
    if not 0.0 < volume < most:
        raise UnworkableError(
            f"{weight:.0f} kg is more than she carries to her sheer ({most * water / 1e9:.0f} kg)",
            where="weights",
            fix="Look at the weights of the items, and at the units of the hull",
        )
    return volume


def _upright(shell: Shell, volume: float, heel: float) -> Pose:
    """Level at the draught that displaces the volume, by halving."""
    low, high = shell.low, shell.top
    for _ in range(16):
        middle = (low + high) / 2
        less = immersed(shell.vertices, shell.triangles, np.eye(3), middle).volume < volume
        low, high = (middle, high) if less else (low, middle)
    return pose(0.0, heel, (low + high) / 2)


def _state(shell: Shell, at: Pose, volume: float, centre: Floats) -> tuple[Immersed, Floats, Floats]:
    """What is under water, what is out of balance (volume; its moment lengthwise and to port about the weight), and
    how that changes with a rise of the water and small turns."""
    axes = at.axes
    under = immersed(shell.vertices, shell.triangles, axes, at.level)
    weight = axes @ centre
    gap = under.centre[:2] - weight[:2]
    first = under.first - under.area * weight[:2]
    second = (
        under.second
        - np.outer(under.first, weight[:2])
        - np.outer(weight[:2], under.first)
        + under.area * np.outer(weight[:2], weight[:2])
    )
    above = weight[2] - at.level - under.centre[2]
    stiffness = np.zeros((3, 3))
    stiffness[0, 0] = under.area
    stiffness[0, 1:] = stiffness[1:, 0] = first
    stiffness[1:, 1:] = second - under.volume * above * np.eye(2)
    residual = np.array([under.volume - volume, under.volume * gap[0], under.volume * gap[1]])
    return under, residual, stiffness


def _newton(stiffness: Floats, residual: Floats) -> Floats:
    """Rise and slopes of the water that bring balance, in scaled axes; unstable ways turned round, steps limited."""
    size = np.array([1.0, 1000.0, 1000.0])
    scaled = stiffness / np.outer(size, size)
    values, ways = np.linalg.eigh(scaled)
    floor = 1e-9 * np.abs(values).max()
    step = -(ways / np.maximum(np.abs(values), floor)) @ (ways.T @ (residual / size)) / size
    most = max(abs(step[0]) / MOST_RISE, np.abs(step[1:]).max() / MOST_TURN, 1.0)
    return np.asarray(step / most)


def _moved(at: Pose, step: Floats, centre: Floats) -> Pose:
    """The pose with the water raised by step[0] at the weight's place and sloped by step[1:] forward and to port."""
    axes = at.axes
    up = axes[2] - step[1] * axes[0] - step[2] * axes[1]
    size = float(np.linalg.norm(up))
    spot = centre + (at.level - centre @ axes[2] + step[0]) * axes[2]  # on the new water, over or under the weight
    return Pose(up / size, float(spot @ up / size))


def _held(shell: Shell, at: Pose, volume: float, centre: Floats) -> tuple[Pose, float]:
    """At rest but for the heel, which is held; and the righting arm."""
    heel = at.heel
    for _ in range(ROUNDS):
        _, residual, stiffness = _state(shell, at, volume, centre)
        if np.abs(residual[:2] / (volume * np.array([1.0, 1000.0]))).max() < 1e-7:
            return at, -float(residual[2] / volume)
        part = _newton(np.where(_KEEP, stiffness, 0.0) + _FIXED * stiffness[0, 0] * 1e6, residual * [1, 1, 0])
        turned = _moved(at, part, centre)
        at = _same_heel(turned, heel, at, part)
    raise UnworkableError(
        f"she finds no rest at a heel of {np.rad2deg(heel):.0f} degrees",
        where="righting curve",
        fix="Look at the weights and places of the items",
    )


_KEEP = np.array([[True, True, False], [True, True, False], [False, False, False]])
_FIXED = np.diag([0.0, 0.0, 1.0])


def _same_heel(turned: Pose, heel: float, before: Pose, step: Floats) -> Pose:
    """The pose turned back to the heel that is held (a change of trim turns it by second order)."""
    kept = pose(turned.trim, heel, turned.level)
    return Pose(kept.up, turned.level if np.abs(kept.up - turned.up).max() < 1e-12 else kept.level)


def _afloat(shell: Shell, at: Pose, under: Immersed, load: tuple[float, Floats, float]) -> Afloat:
    weight, centre, water = load
    axes = at.axes
    heights = np.concatenate([shell.sheer, shell.sheer * np.array([1.0, -1.0, 1.0])]) @ at.up - at.level
    lowest = int(heights.argmin())
    above = float((axes @ centre)[2] - at.level - under.centre[2])
    middle = under.first / under.area
    second = under.second - under.area * np.outer(middle, middle)
    return Afloat(
        weight=weight,
        centre=centre,
        water=water,
        up=at.up,
        level=at.level,
        trim=at.trim,
        heel=at.heel,
        draught=float(at.level - (shell.vertices @ at.up).min()),
        freeboard=float(heights[lowest]),
        freeboard_x=float(np.tile(shell.sheer[:, 0], 2)[lowest]),
        gm=float(second[1, 1] / under.volume - above),
        gm_long=float(second[0, 0] / under.volume - above),
        waterplane=under.area,
        wetted=immersed(shell.vertices, shell.triangles, axes, at.level, shell.wets).wetted,
    )
