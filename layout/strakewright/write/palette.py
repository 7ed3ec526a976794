"""Colours that can be told apart with any colour vision; the same thing is always also said in words.

Source: M. Okabe, K. Ito, "Color Universal Design" (2002, revised 2008), the set of eight; linear values by the
sRGB curve of IEC 61966-2-1.
"""

from __future__ import annotations

BLACK, ORANGE, SKY, GREEN = "#000000", "#E69F00", "#56B4E9", "#009E73"
YELLOW, BLUE, VERMILION, PURPLE = "#F0E442", "#0072B2", "#D55E00", "#CC79A7"

VERDICT_COLOURS = {"easy": SKY, "firm": YELLOW, "refused": VERMILION}
GROUP_COLOURS = (SKY, ORANGE, GREEN, YELLOW, PURPLE, BLUE, VERMILION)


def linear_rgb(colour: str) -> tuple[float, float, float]:
    """Red, green, blue in linear light, 0 to 1.

    >>> [round(v, 4) for v in linear_rgb("#0080FF")]
    [0.0, 0.2159, 1.0]
    """
    red, green, blue = (_linear(int(colour[at : at + 2], 16) / 255) for at in (1, 3, 5))
    return red, green, blue


def _linear(share: float) -> float:
    return round(share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4, 6)
