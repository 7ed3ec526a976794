"""`check` says what to mind with every wood that is picked (durability classes from memory, as shown)."""

from __future__ import annotations

from pathlib import Path

from strakewright.job.asked import check

TEASEL = Path(__file__).parents[2] / "sample_hulls" / "teasel" / "boat-enough.toml"


def test_ash_is_said_to_rot_fast() -> None:
    lines = [line for line in check(TEASEL).lines() if line.startswith("Wood: ")]
    assert [line.split(":")[1].strip() for line in lines] == ["Douglas-fir", "white ash"]
    assert "durability 5 of 5" in lines[1]
