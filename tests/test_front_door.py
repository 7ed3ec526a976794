"""The front door lists what it opens."""

from __future__ import annotations

import strakewright


def test_every_name_opens_and_explains_itself() -> None:
    for name in strakewright.__all__:
        assert getattr(strakewright, name).__doc__, name


def test_nothing_else_leaks_out() -> None:
    from types import ModuleType

    public = {n for n, v in vars(strakewright).items() if n[0] != "_" and not isinstance(v, ModuleType)}
    assert public - set(strakewright.__all__) <= {"annotations", "import_module", "Any"}
    assert strakewright.__all__ == sorted(strakewright.__all__)
