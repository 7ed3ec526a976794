"""Where a keelson ends and an inner stem takes over: a scarf, not a butt.

length     12 times the depth of the shallower piece (the Wood Handbook, ch. 10: a slope of 1 in 12 or flatter is the
           strongest), half of it each side of the joint
taper      keelson (aft piece) on its outside, stem (forward piece) on its inside, as planks are
feather    10 mm more is left on each (common practice)
"""

from __future__ import annotations

from strakewright.members import EndScarf
from strakewright.settings import MemberSettings
from strakewright.shop.plies import LONGER, SLOPE, SPOIL


def backbone_scarf(ask: MemberSettings, wanted: tuple[MemberSettings, ...]) -> EndScarf | None:
    """The scarf of a keelson and the inner stem that begins where it ends; None for any other member."""
    for other in wanted:
        for keelson, stem in ((ask, other), (other, ask)):
            if _meet(keelson, stem):
                assert stem.aft is not None
                length = SLOPE * min(keelson.moulded, stem.moulded)
                if ask is keelson:
                    return EndScarf(stem.name, "forward", stem.aft, length, "outside")
                return EndScarf(keelson.name, "aft", stem.aft, length, "inside")
    return None


def _meet(keelson: MemberSettings, stem: MemberSettings) -> bool:
    inside = keelson.face == stem.face == "inside"
    return (
        inside
        and keelson.along == "keel"
        and "stem" in stem.along
        and stem.aft is not None
        and (keelson.forward == stem.aft)
    )


def left_long(scarf: EndScarf) -> tuple[float, float]:
    """mm the blanks run past the after and the forward end, which lie at the joint's middle."""
    past = scarf.length / 2 + SPOIL
    return (past, LONGER) if scarf.end == "aft" else (LONGER, past)
