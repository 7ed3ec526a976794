"""Lining off: where every seam of a layer lies.

pattern   how a panel is covered: courses fore and aft (`strakes`), or at an angle (`diagonals`)
"""

from __future__ import annotations

from collections.abc import Callable

from strakewright.settings import PlankingSettings
from strakewright.shop.courses import Lined
from strakewright.shop.diagonals import diagonals
from strakewright.shop.skins import Skin
from strakewright.shop.strakes import strakes

PATTERNS: dict[str, Callable[[Skin, PlankingSettings], Lined]] = {
    "strakes": strakes,
    "herringbone": diagonals,
    "cross": diagonals,
}


def line_off(skin: Skin, settings: PlankingSettings) -> Lined:
    """Seams and courses of one layer.

    Raises InputError for a start that the panel has not, UnworkableError when seams fold over each other.
    """
    return PATTERNS[settings.pattern](skin, settings)
