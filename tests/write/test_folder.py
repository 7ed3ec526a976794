"""Results appear whole or not at all, whatever happens on the way."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from strakewright.errors import UsageError
from strakewright.write import folder as fd

SUMMARY = '{"format": "strakewright/summary@1"}'


def earlier(tmp_path: Path) -> Path:
    out = tmp_path / "out"
    out.mkdir()
    (out / "summary.json").write_text(SUMMARY)
    (out / "gone.dxf").write_text("old")
    return out


def held(out: Path) -> dict[str, str]:
    return {p.name: p.read_text() for p in out.iterdir()}


def write(out: Path, text: str = "new") -> None:
    with fd.fresh_folder(out) as new:
        (new / "summary.json").write_text(SUMMARY)
        (new / "a.txt").write_text(text)


def write_half(out: Path, error: type[BaseException]) -> None:
    with fd.fresh_folder(out) as new:
        (new / "half.txt").write_text("half")
        raise error


@pytest.mark.parametrize("start", ["absent", "deep", "empty", "earlier"])
def test_new_result_is_whole_and_nothing_is_left_beside_it(tmp_path: Path, start: str) -> None:
    out = tmp_path / ("a/b/out" if start == "deep" else "out")
    if start == "earlier":
        earlier(tmp_path)
    if start == "empty":
        out.mkdir()
    write(out)
    assert held(out) == {"summary.json": SUMMARY, "a.txt": "new"}
    assert [p.name for p in out.parent.iterdir()] == ["out"]


@pytest.mark.parametrize("error", [ValueError, KeyboardInterrupt])
def test_failure_leaves_the_earlier_result(tmp_path: Path, error: type[BaseException]) -> None:
    out = earlier(tmp_path)
    with pytest.raises(error):
        write_half(out, error)
    assert held(out) == {"summary.json": SUMMARY, "gone.dxf": "old"}
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_trouble_with_the_disk_is_said_not_thrown(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="could not be written"), fd.fresh_folder(tmp_path / "out") as new:
        (new / "no" / "such" / "folder.txt").write_text("")
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("kind", ["file", "own files", "broken summary", "other summary"])
def test_a_users_own_folder_is_never_replaced(tmp_path: Path, kind: str) -> None:
    out = tmp_path / "out"
    if kind == "file":
        out.write_text("mine")
    else:
        out.mkdir()
        (out / "mine.txt").write_text("mine")
    if kind.endswith("summary"):
        (out / "summary.json").write_text('{"format"' if kind == "broken summary" else '{"format": "x"}')
    with pytest.raises(UsageError):
        fd.may_replace(out)
    with pytest.raises(UsageError), fd.fresh_folder(out):
        pytest.fail("work began")
    assert "mine" in ([out.read_text()] if kind == "file" else held(out).values())


def test_the_folder_one_stands_in_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    for out in (Path(), Path(".."), tmp_path):
        with pytest.raises(UsageError, match="stand in"):
            fd.may_replace(out)


def test_parent_that_is_a_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(UsageError, match="cannot be written"), fd.fresh_folder(tmp_path / "file" / "out"):
        pytest.fail("work began")


def test_second_run_is_told_which_process_holds_the_folder(tmp_path: Path) -> None:
    out = tmp_path / "out"
    with fd.fresh_folder(out) as new:
        with pytest.raises(UsageError, match=str(os.getpid())), fd.fresh_folder(out):
            pytest.fail("two at once")
        (new / "summary.json").write_text(SUMMARY)
    write(out)
    assert "a.txt" in held(out)


def test_without_an_exchange_the_journal_does_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    out = earlier(tmp_path)
    monkeypatch.setattr(fd, "_exchange", lambda a, b: False)
    write(out)
    assert held(out) == {"summary.json": SUMMARY, "a.txt": "new"}
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


KILLED = """
import os, signal, sys
from pathlib import Path
from strakewright.write import folder
folder._exchange = lambda a, b: False
rename, count, out = Path.rename, [0], Path(sys.argv[1])
def dying(self, target):
    count[0] += 1
    if count[0] > int(sys.argv[2]):
        os.kill(os.getpid(), signal.SIGKILL)
    return rename(self, target)
Path.rename = dying
with folder.fresh_folder(out) as new:
    (new / "summary.json").write_text('{"format": "strakewright/summary@1"}')
    (new / "a.txt").write_text("first")
"""


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="needs a system that can kill")
@pytest.mark.parametrize("renames", [0, 1])
def test_run_killed_in_the_middle_is_mended_by_the_next(tmp_path: Path, renames: int) -> None:
    out = earlier(tmp_path)
    env = os.environ | {"PYTHONPATH": os.pathsep.join(p for p in sys.path if p)}
    done = subprocess.run([sys.executable, "-c", KILLED, str(out), str(renames)], env=env, timeout=60, check=False)
    assert done.returncode == -signal.SIGKILL
    assert out.exists() is (renames == 0)
    with pytest.raises(ZeroDivisionError), fd.fresh_folder(out):
        _ = 1 / 0
    whole = {"summary.json": SUMMARY} | ({"gone.dxf": "old"} if renames == 0 else {"a.txt": "first"})
    assert held(out) == whole
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_exchange_is_one_step_where_the_system_has_it(tmp_path: Path) -> None:
    a, b = tmp_path / "a", tmp_path / "b"
    for path in (a, b):
        path.mkdir()
        (path / path.name).touch()
    swapped = fd._exchange(a, b)
    assert [p.name for p in a.iterdir()] == (["b"] if swapped else ["a"])
    assert swapped or sys.platform != "linux"
