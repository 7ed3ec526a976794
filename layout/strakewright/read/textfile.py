"""Text files as a builder's editor leaves them: found, of sane size, in UTF-8.

Every reader of text comes through here, so that a missing file, a folder in its place or a drawing renamed
to .csv is told in the same words everywhere.
"""

from __future__ import annotations

from pathlib import Path

from strakewright.errors import InputError

LARGEST = 64 * 2**20  # bytes: ten thousand parts of a hundred points are a fifth of this


def text_of(path: Path, what: str, largest: int = LARGEST) -> str:
    """The text of a file, without a byte-order mark and with plain line ends.

    what : name of the thing for messages ("boat file");  largest : bytes
    raises InputError when it is missing, no file, too large or not UTF-8 text
    """
    try:
        if not path.exists():
            raise InputError(f"there is no such {what}", where=str(path), fix=_nearby(path))
        if not path.is_file():
            raise InputError(f"this is not a file, so no {what}", where=str(path), fix="Name the file itself")
        if path.stat().st_size > largest:
            raise InputError(f"larger than {largest // 2**20} MB, so no {what}", where=str(path))
        raw = path.read_bytes()
    except (OSError, ValueError) as trouble:
        if isinstance(trouble, InputError):
            raise
        raise InputError(f"cannot be read ({_reason(trouble)})", where=str(path)) from None
    return _decoded(raw, path.name, what)


def _decoded(raw: bytes, name: str, what: str) -> str:
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as trouble:
        line = raw.count(b"\n", 0, trouble.start) + 1
        raise InputError(
            "a character is not in UTF-8", where=f"{name}:{line}", fix=f"Save the {what} as UTF-8 text"
        ) from None
    if "\0" in text:
        raise InputError(f"this is not text, so no {what}", where=name, fix=f"Name a {what}")
    return text.replace("\r\n", "\n")


def _nearby(path: Path) -> str:
    """What the folder holds instead, when it holds little enough to say."""
    if not path.parent.is_dir():
        return f"There is no folder {path.parent} either; check the path"
    alike = sorted(p.name for p in path.parent.iterdir() if p.suffix == path.suffix)[:5]
    return f"The folder has {', '.join(alike)}" if alike else "Check the path"


def _reason(trouble: Exception) -> str:
    return getattr(trouble, "strerror", None) or str(trouble)
