"""Work beside the main process: files appear, and trouble is not lost."""

from __future__ import annotations

from pathlib import Path

import pytest

from strakewright.errors import InputError
from strakewright.job.beside import beside


def test_files_written_beside_are_there_when_the_block_ends(tmp_path: Path) -> None:
    with beside(lambda: (tmp_path / "a").write_text("x") and None):
        (tmp_path / "b").write_text("y")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a", "b"]


def test_trouble_beside_is_raised_here() -> None:
    def work() -> None:
        raise OSError("disk full")

    with pytest.raises(OSError, match="disk full"), beside(work):
        pass


def test_trouble_in_the_block_stops_the_work(tmp_path: Path) -> None:
    with pytest.raises(KeyError), beside(lambda: None):
        raise KeyError("x")


def test_what_the_work_gives_is_there_after_the_block() -> None:
    with beside(lambda: {"seams": 3}) as answer:
        pass
    assert answer.value == {"seams": 3}


def test_errors_come_across_whole() -> None:
    def work() -> None:
        raise InputError("no panel", where="boat.toml:3", fix="Write side")

    with pytest.raises(InputError) as caught, beside(work):
        pass
    assert str(caught.value) == "boat.toml:3: no panel. Write side"
    assert caught.value.also == ()
