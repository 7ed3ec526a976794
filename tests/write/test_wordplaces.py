"""Numbers on their pieces: boxes reckoned by hand, and by shapely on turned and bent pieces."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from strakewright.write.paper import words_width
from strakewright.write.wordplaces import half_way_up, in_a_row, place

SIZES = (10.0, 9.0, 8.0, 7.0, 6.0, 5.0)


def oblong(wide: float, high: float) -> np.ndarray:
    return np.array([[0.0, 0.0], [wide, 0.0], [wide, high], [0.0, high]])


@pytest.mark.parametrize(("high", "size"), [(12.0, 10.0), (9.0, 7.0), (6.7, 5.0)])
def test_a_number_is_as_large_as_its_strip_is_wide(high: float, size: float) -> None:
    """0.8 mm stay free above and below."""
    found = place(oblong(100, high), "S01aP", SIZES)
    assert found is not None
    assert found[0] == pytest.approx([50.0, high / 2])
    assert found[1] == size


def test_a_strip_too_narrow_or_too_short_takes_none() -> None:
    assert place(oblong(100, 6.5), "S01aP", SIZES) is None
    assert place(oblong(words_width("S01aP", 5.0) + 1.5, 20), "S01aP", SIZES) is None


def test_it_keeps_clear_of_lines() -> None:
    upright = np.array([[50.0, -5.0], [50.0, 20.0]])
    found = place(oblong(100, 12), "12", (10.0,), avoid=[upright])
    assert found is not None
    assert abs(found[0][0] - 50.0) > words_width("12", 10.0) / 2


def test_on_a_turned_piece_it_lies_along() -> None:
    turn = np.deg2rad(40.0)
    ring = oblong(60, 8) @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    found = place(ring, "48", (5.0,), 40.0)
    assert found is not None
    assert found[0] == pytest.approx(ring.mean(axis=0), abs=1e-6)
    assert place(ring, "48", (5.0,), -50.0) is None  # across it there is no room


def test_on_a_bent_piece_no_corner_sticks_out() -> None:
    x = np.linspace(0, 100, 60)
    crown = 0.006 * (x - 50) ** 2
    ring = np.concatenate([np.column_stack([x, crown]), np.column_stack([x, crown + 12])[::-1]])
    found = place(ring, "S03bP", SIZES)
    assert found is not None
    (u, v), size = found
    half = words_width("S03bP", size) / 2
    assert size < 10.0  # the bend takes room: on a straight strip of 12 mm it was 10
    assert shapely.Polygon(ring).contains(shapely.box(u - half, v - size / 2, u + half, v + size / 2))


def test_half_way_up_a_wedge() -> None:
    wedge = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 5.0]])
    on, off = half_way_up(wedge, np.array([4.0, 11.0]))
    assert on == pytest.approx((4.0, 1.0))  # similar triangles
    assert np.isnan(off[1])


def test_numbers_in_a_row_stand_apart_and_within() -> None:
    widths = [12.0, 12.0, 12.0, 12.0]
    row = in_a_row([88.0, 89.0, 90.0, 91.0], widths, 100.0)
    assert np.diff(row) == pytest.approx([12.0, 12.0, 12.0])
    assert row[-1] + 6.0 == pytest.approx(100.0)
    (free,) = in_a_row([50.0], [12.0], 100.0, [48.0])
    assert free - 6.0 == pytest.approx(48.0)  # pushed past the upright
