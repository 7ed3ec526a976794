"""members.json and the book's pages of members, of a log, a stem-like clamp and a breasthook on exact hulls.

The file is read back as any other program would: what is recomputed here from its numbers (areas of sections by the
shoelace formula, sums of glue, bevels as angles between faces) does not use the program.
"""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest

from strakewright.frames import Framing
from strakewright.members import Member
from strakewright.settings import BackboneSettings, ChineSettings, MemberSettings
from strakewright.write.bevelboard import bevel_boards
from strakewright.write.book import Section, Table, Words
from strakewright.write.bookmembers import clamps_and_glue, formers, laminations, member_bevels
from strakewright.write.memberrecords import member_labels, members_document
from strakewright.write.records import json_text
from tests.exact_hulls import Prism
from tests.shop.members_yard import BOTTOM, SIDE, members, skins_of
from tests.write.small_boat import FACTS


@pytest.fixture(scope="module")
def made() -> dict[str, Member]:
    clamp = MemberSettings("sheer clamp", "sheer", 45.0, 30.0, plies=5, glued="on former", springback_factor=1.2)
    found, _ = members(
        skins_of(Prism().mesh(), BOTTOM, SIDE),
        clamp,
        chine=ChineSettings(log=32.0, log_land=40.0, log_plies=3),
        backbone=BackboneSettings(keelson_sided=90.0, keelson_moulded=50.0),
        longest=3000.0,
    )
    return found


@pytest.fixture(scope="module")
def record(made: dict[str, Member]) -> dict[str, object]:
    text = json_text(members_document(made.values(), ()))
    return json.loads(text, parse_constant=pytest.fail)  # type: ignore[no-any-return]


def member(record: dict[str, object], name: str) -> dict[str, object]:
    return {m["name"]: m for m in record["members"]}[name]  # type: ignore[attr-defined, index, no-any-return]


def test_bevel_boards_of_members_show_what_a_gauge_reads(made: dict[str, Member]) -> None:
    """Keelson: the deadrise of 20 degrees on both faces; log on the bisector: half the fold of 60 (closed form)."""
    boards = {b.id: b for b in bevel_boards(Framing(), (), made.values())}
    for name, exact in (("BB-keelson", 20.0), ("BB-chine-log", 30.0)):
        runs = [line.points[1] - line.points[0] for line in boards[name].lines[1::2]]
        leans = [np.degrees(np.arctan2(run[0], run[1])) for run in runs]
        assert len(leans) == sum(1 for r in made[name[3:].replace("-", " ")].rows if r.name)
        assert leans == pytest.approx([exact] * len(leans), abs=0.02)
        assert "both faces" in boards[name].notes[-1]


def test_head_of_the_file(record: dict[str, object]) -> None:
    assert list(record)[:2] == ["format", "units"]
    assert record["format"] == "strakewright/members@1"
    assert {m["id"] for m in record["members"]} == {"keelson", "chine-log", "sheer-clamp"}  # type: ignore[attr-defined]


def test_sections_and_bevels_read_back(record: dict[str, object]) -> None:
    """Pentagon of the log: two lands of 40 at 120 degrees and a box 69.28 x 32."""
    log = member(record, "chine log")
    ring = np.array(log["section"])[60]
    across, deep = (np.array(log["blank"][key])[60] for key in ("across", "deep"))  # type: ignore[index]
    flat = np.stack([ring @ across, ring @ deep], axis=-1)
    x, y = flat.T
    area = abs(float(x @ np.roll(y, -1) - np.roll(x, -1) @ y)) / 2
    assert area == pytest.approx(69.282 * 32.0 + 0.5 * 69.282 * 20.0, rel=1e-3)
    k = len(flat)
    for bearing in log["bearings"]:  # type: ignore[attr-defined]
        way = flat[(bearing["edge"] + 1) % k] - flat[bearing["edge"]]
        assert np.degrees(np.arctan2(abs(way[1]), abs(way[0]))) == pytest.approx(bearing["bevel_deg"][60], abs=0.01)
    rows = log["bevels"]
    assert all(r["bevel_deg"] == pytest.approx([30.0, 30.0], abs=0.02) for r in rows)  # type: ignore[attr-defined]
    assert {r["name"] for r in rows} >= {"F1", "F9"}  # type: ignore[attr-defined]


def test_parts_glue_and_former_read_back(record: dict[str, object], made: dict[str, Member]) -> None:
    clamp = member(record, "sheer clamp")
    ids = [i for p in clamp["plies"] for i in p["parts"]]  # type: ignore[attr-defined]
    assert len(ids) == len(set(ids))
    assert {p.id for p in made["sheer clamp"].parts if p.id.endswith("-P")} == set(ids)
    glue = clamp["glue"]
    assert sum(b["glue_g"] for b in glue["batches"]) == pytest.approx(sum(glue["face_g"]))  # type: ignore[index]
    assert sorted(glue["order"]) == list(range(1, len(glue["positions"]) + 1))  # type: ignore[index, arg-type]
    former = clamp["former"]
    assert former["springback_factor"] == 1.2  # type: ignore[index]
    kinds = {line["kind"] for line in former["lines"]}  # type: ignore[index]
    assert kinds == {"cut", "scribe", "reference", "clamp hole"}
    assert member(record, "keelson")["former"] is None


def test_every_piece_has_a_label(made: dict[str, Member]) -> None:
    labels = member_labels(made.values(), ())
    parts = [p for m in made.values() for p in m.parts]
    assert {p.id for p in parts} == set(labels)
    assert labels["chine-log-1a-S"].side == "STBD"
    assert labels["keelson-1a"].side == ""


def words(section: Section | None) -> str:
    assert section is not None
    told = [b.text for b in section.blocks if isinstance(b, Words)]
    tables = [b for b in section.blocks if isinstance(b, Table)]
    return "\n".join([*told, *(cell for t in tables for row in t.rows for cell in row), *(t.caption for t in tables)])


def test_book_pages(made: dict[str, Member]) -> None:
    parts = tuple(p for m in made.values() for p in m.parts)
    whole = replace(FACTS, members=tuple(made.values()), parts=parts)
    plies = words(laminations(whole))
    for text in (
        "CHINE LOG",
        "SHEER CLAMP",
        "KEELSON",
        "PORT and STARBOARD",
        "It lies straight",
        "scantlings are for the",
    ):
        assert text in plies, text
    assert "chine-log-1a" in plies
    former = words(formers(whole))
    assert "bend a test piece" in former
    assert "springback 1/25 x 1.2" in former
    bevels = words(member_bevels(whole))
    assert "30.0" in bevels
    assert "F3" in bevels
    glue = words(clamps_and_glue(whole))
    assert "Tighten from the middle" in glue
    assert "harm skin and" in glue
    assert "force" in glue


def test_a_boat_without_members_has_no_such_pages() -> None:
    bare = FACTS
    assert [page(bare) for page in (laminations, formers, member_bevels, clamps_and_glue)] == [None] * 4
