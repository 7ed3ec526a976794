"""Results appear whole or not at all.

fresh folder  a sibling of the wanted folder in which everything is written first
exchange      new and old change names in one step of the system (renameat2 on Linux)
journal       where the system has no exchange: a note beside the folder that the next run mends by
lock          a file beside the folder that names the running process; the system frees it when that ends

Only a folder that is absent, empty or carries our own summary.json is ever replaced.
"""

from __future__ import annotations

import contextlib
import ctypes
import json
import os
import shutil
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from strakewright.errors import UsageError

_OURS = "strakewright/summary@"
_HERE, _EXCHANGE = -100, 2  # AT_FDCWD and RENAME_EXCHANGE of <fcntl.h>, <linux/fs.h>


@contextmanager
def fresh_folder(out: Path) -> Iterator[Path]:
    """Yield an empty folder to write in; when the block ends well it takes the place of `out`.

    On any exception, and on an interrupt, the old folder stays as it was and nothing is left beside it.
    Raises UsageError when `out` may not be replaced, cannot be written, or another run is at work on it.
    """
    out = _resolved(out)
    with _lock(out):
        _heal(out)
        _refuse_foreign(out)
        new = _sibling(out, "new")
        _remove(new)
        new.mkdir()
        try:
            yield new
            _swap(new, out)
        except OSError as error:
            what = f"the results could not be written: {error.strerror or error}"
            raise UsageError(what, where=str(out), fix="Make room, or name another folder") from error
        finally:
            _remove(new)


def may_replace(out: Path) -> None:
    """Raise UsageError unless `out` is absent, empty or carries our summary.json: to be asked before work."""
    _refuse_foreign(_resolved(out))


def _resolved(out: Path) -> Path:
    whole = Path(os.path.realpath(out))
    if whole.parent == whole or Path.cwd().is_relative_to(whole):
        raise UsageError(f"{out} is the folder you stand in, or above it", fix="Name a folder of its own")
    return whole


def _refuse_foreign(out: Path) -> None:
    fix = "Name a folder that is absent, empty or holds an earlier result"
    if out.exists() and not out.is_dir():
        raise UsageError(f"{out} is a file", fix=fix)
    if out.is_dir() and any(out.iterdir()) and not _is_ours(out / "summary.json"):
        raise UsageError(f"{out} holds other files and no summary.json of ours", fix=fix)


def _is_ours(summary: Path) -> bool:
    try:
        held = json.loads(summary.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return False
    return isinstance(held, dict) and str(held.get("format", "")).startswith(_OURS)


def _sibling(out: Path, what: str) -> Path:
    return out.with_name(f".{out.name}.strakewright-{what}")


def _remove(path: Path) -> None:
    if path.is_dir() and not path.is_symlink():
        shutil.rmtree(path)
    else:
        path.unlink(missing_ok=True)


@contextmanager
def _lock(out: Path) -> Iterator[None]:
    """Hold the lock file beside `out`; it carries our process number."""
    path = _sibling(out, "lock")
    try:
        out.parent.mkdir(parents=True, exist_ok=True)
        handle = _open_current(path)
    except OSError as error:
        raise UsageError(f"{out.parent} cannot be written: {error.strerror}", fix="Name another folder") from None
    with os.fdopen(handle, "r+") as stream:
        stream.truncate(0)
        stream.write(f"{os.getpid()}\n")
        stream.flush()
        try:
            yield
        finally:
            with contextlib.suppress(OSError):
                path.unlink()


def _open_current(path: Path) -> int:
    """Open and lock the file that bears the name now, not one a finished run has just taken away."""
    while True:
        handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o644)
        if not _take(handle):
            holder = os.read(handle, 40).decode("ascii", "replace").strip() or "unknown"
            os.close(handle)
            raise UsageError(
                f"process {holder} is writing to the same folder", fix="Wait for it, or name another folder"
            )
        with contextlib.suppress(OSError):
            if os.path.samestat(os.fstat(handle), path.stat()):
                return handle
        os.close(handle)


def _take(handle: int) -> bool:
    """Lock an open file without waiting; the system frees it when the process ends, however it ends."""
    if sys.platform == "win32":
        import msvcrt

        lock = (msvcrt.locking, (handle, msvcrt.LK_NBLCK, 1))
    else:
        import fcntl

        lock = (fcntl.flock, (handle, fcntl.LOCK_EX | fcntl.LOCK_NB))
    try:
        lock[0](*lock[1])
    except OSError:
        return False
    return True


def _swap(new: Path, out: Path) -> None:
    """Put `new` where `out` is; the old result, if any, ends under the name of `new` or is gone."""
    if not out.exists() or not any(out.iterdir()):
        if out.exists():
            out.rmdir()
        new.rename(out)
    elif not _exchange(new, out):
        _swap_by_journal(new, out)


def _exchange(a: Path, b: Path) -> bool:
    """Two folders change names in one step; False where the system or the disk cannot."""
    call = getattr(ctypes.CDLL(None, use_errno=True), "renameat2", None) if os.name == "posix" else None
    if call is None:
        return False
    return bool(call(_HERE, os.fsencode(a), _HERE, os.fsencode(b), _EXCHANGE) == 0)


def _swap_by_journal(new: Path, out: Path) -> None:
    """Two renames with a note of what is under way: `_heal` finishes or undoes them."""
    old, journal = _sibling(out, "old"), _sibling(out, "journal")
    journal.write_text("old out of the way, then new in its place\n", encoding="utf-8")
    out.rename(old)
    new.rename(out)
    journal.unlink()
    _remove(old)


def _heal(out: Path) -> None:
    """Mend what a run that was killed between two renames left behind."""
    old, journal = _sibling(out, "old"), _sibling(out, "journal")
    if journal.exists() and not out.exists():
        whole = _sibling(out, "new") if _sibling(out, "new").exists() else old
        whole.rename(out)
    journal.unlink(missing_ok=True)
    _remove(old)
