"""Orders, parts again out of what is left, and what a rule costs: through the command line, files to files."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from shapely.geometry import Polygon
from tests.nest.yard import RULES, board, bow, part, rectangle

from strakewright.job.buying import order_list, ordered
from strakewright.job.telling import stock_lines
from strakewright.job.whatif import Outcome, no_worse
from strakewright.lumber import Pile
from strakewright.nest.piles import delivery
from strakewright.parts import Choice, Option
from strakewright.write.records import boards_document, parts_document, write_json
from strakewright_cli.app import run

PARTS = [part(f"A{i}", rectangle(900, 80)) for i in range(4)] + [part("C", bow(1500, 90, 20))]
BOARDS = [board(f"B{i}", rectangle(2400, 210), rough_thickness=25.4, price=30.0 + i) for i in range(3)]


@pytest.fixture
def yard(tmp_path: Path) -> Path:
    write_json(tmp_path / "parts.json", parts_document(PARTS, RULES))
    write_json(tmp_path / "boards.json", boards_document(BOARDS))
    files = [str(tmp_path / "parts.json"), str(tmp_path / "boards.json")]
    assert run(["nest", *files, "--out", str(tmp_path / "plan"), "--rounds", "1"]) == 0
    return tmp_path


def read(path: Path):
    return json.loads(path.read_text())


def test_a_spoiled_part_comes_out_of_what_is_left(yard: Path) -> None:
    line = ["recut", str(yard / "plan"), "--spoiled", "C", "--out", str(yard / "again"), "--rounds", "1"]
    assert run(line) == 0
    first, again = read(yard / "plan/nest.json"), read(yard / "again/nest.json")
    assert [p["part"] for p in again["placements"]] == ["C"]
    opened = {p["board"] for p in first["placements"]}
    boards = {b["id"]: b for b in read(yard / "again/boards.json")["boards"]}
    assert {name for name, b in boards.items() if b.get("state") == "opened"} == opened
    taken = [t["part"] for b in boards.values() for t in b.get("taken", ())]
    assert sorted(taken) == sorted(p.id for p in PARTS)
    put = again["placements"][0]
    ring = np.array(PARTS[-1].outline)
    turn = np.radians(put["rotation_deg"])
    ring = ring @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]]) + [put["x"], put["y"]]
    for gone in boards[put["board"]].get("taken", ()):
        assert Polygon(ring).distance(Polygon(gone["outline"])) >= RULES.spacing - 0.05  # the saw has been there
    assert (yard / "again/tickets.pdf").exists()


def test_a_part_spoiled_after_a_recut_is_cut_again_too(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The second recut starts from the first one's folder, which holds only the part cut again."""
    first = ["recut", str(yard / "plan"), "--spoiled", "C", "--out", str(yard / "once"), "--rounds", "0"]
    assert run(first) == 0
    second = ["recut", str(yard / "once"), "--spoiled", "A0", "--out", str(yard / "twice"), "--rounds", "0"]
    assert run(second) == 0
    plan, record = read(yard / "twice/nest.json"), read(yard / "twice/parts.json")
    assert [p["part"] for p in plan["placements"]] == ["A0"]
    assert sorted(p["id"] for p in record["cut_already"]) == ["A1", "A2", "A3", "C"]
    gone = [t["part"] for b in read(yard / "twice/boards.json")["boards"] for t in b.get("taken", ())]
    assert sorted(gone) == ["A0", "A1", "A2", "A3", "C", "C"]  # C was sawn twice, and both times its wood is gone
    assert f"{plan['placements'][0]['board']}: A0" in capsys.readouterr().err


def test_boards_bought_since_join_a_recut(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A changed part longer than every board of the plan lies on the new one; a name used twice is refused."""
    write_json(yard / "new.json", parts_document([part("C", bow(3000, 90, 20))], RULES))
    (yard / "more.csv").write_text("id,length,width,thickness\nN1,130,8,1\n")
    line = ["recut", str(yard / "plan"), "--changed", str(yard / "new.json"), "--out", str(yard / "again")]
    more = ["--more", str(yard / "more.csv"), "--rounds", "0"]
    assert run([*line, "--rounds", "0"]) == 4  # too long for every board: no answer
    assert run([*line, *more]) == 3  # 130 mm by 8 mm
    assert "--units in" in capsys.readouterr().err
    assert run([*line, *more, "--units", "in"]) == 0
    assert [p["board"] for p in read(yard / "again/nest.json")["placements"]] == ["N1"]
    (yard / "more.csv").write_text("id,length,width,thickness\nb1,3400,200,27\n")
    assert run([*line[:-1], str(yard / "other"), *more]) == 3
    assert "in the plan already" in capsys.readouterr().err


def test_boards_not_sawn_yet_are_nested_again_and_changed_parts_take_their_new_shape(yard: Path) -> None:
    longer = [part("C", bow(1600, 90, 20))]
    write_json(yard / "new.json", parts_document(longer, RULES))
    boards = {p["board"] for p in read(yard / "plan/nest.json")["placements"]}
    uncut = [word for name in sorted(boards) for word in ("--uncut", name)]
    line = ["recut", str(yard / "plan"), "--changed", str(yard / "new.json"), *uncut, "--out", str(yard / "again")]
    assert run([*line, "--rounds", "0"]) == 0
    parts = {p["id"]: p for p in read(yard / "again/parts.json")["parts"]}
    assert len(parts) == len(PARTS)
    assert max(x for x, _ in parts["C"]["outline"]) == pytest.approx(1600.0)


def test_what_is_bought_counts_with_the_ends_trimmed_off_but_not_twice(yard: Path) -> None:
    """2400 x 210 x 25.4 rough, dressed to 22.4: bought whole, 2 x 60 mm trimmed; the board opened is paid for."""
    (yard / "pile.csv").write_text("id,length,width,thickness,price_bf\nB1,2400,210,25.4,8\nB2,2400,210,25.4,8\n")
    line = ["nest", str(yard / "parts.json"), str(yard / "pile.csv"), "--rounds", "0"]
    assert run([*line, "--out", str(yard / "bought"), "--end-trim", "60 mm"]) == 0
    record = read(yard / "bought/boards.json")["boards"]
    assert [(b["end_trim"], max(x for x, _ in b["outline"])) for b in record] == [(60.0, 2280.0)] * 2
    feet = 2.4 * 0.21 * 0.0254 / 0.3048**2 / 0.0254
    first = read(yard / "bought/summary.json")["stock"]
    assert first["board_feet_bought"] == pytest.approx(first["boards_used"] * feet)
    assert first["cost"] == pytest.approx(first["boards_used"] * round(8 * feet, 2))
    assert run(["recut", str(yard / "bought"), "--spoiled", "C", "--out", str(yard / "third"), "--rounds", "0"]) == 0
    again = read(yard / "third/summary.json")["stock"]
    fresh = [b for b in read(yard / "third/boards.json")["boards"] if not b.get("state")]
    put = read(yard / "third/nest.json")["placements"][0]["board"]
    assert again["board_feet_bought"] == pytest.approx(feet * (put in {b["id"] for b in fresh}))


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--end-trim", "two"], "not a length"),
        (["--end-trim", "2 m"], "outside 0 to 1000 mm"),
        (["--skip", "-1"], "outside 0 to 1000 mm"),
        (["--measured", "wet"], "'rough', 'dressed'"),
    ],
)
def test_what_comes_off_boards_is_checked(
    yard: Path, options: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    files = [str(yard / "parts.json"), str(yard / "boards.json")]
    assert run(["nest", *files, "--out", str(yard / "not"), *options]) == 2
    assert said in " ".join(capsys.readouterr().err.split())


@pytest.mark.parametrize(
    ("more", "status"),
    [([], 3), (["--spoiled", "NONE"], 3), (["--spoiled", "C", "--uncut", "NONE"], 3)],
)
def test_what_cannot_be_cut_again_is_refused(yard: Path, more: list[str], status: int) -> None:
    assert run(["recut", str(yard / "plan"), *more, "--out", str(yard / "again")]) == status
    assert not (yard / "again").exists()


def test_the_cheapest_boards_of_a_list_are_bought(yard: Path) -> None:
    files = [str(yard / "parts.json"), str(yard / "boards.json")]
    assert run(["buy", *files, "--out", str(yard / "list"), "--rounds", "1"]) == 0
    used = {p["board"] for p in read(yard / "list/nest.json")["placements"]}
    dear = {b.id for b in BOARDS} - used
    assert len(used) <= 2
    assert "B2" in dear


def test_an_order_off_a_kind_of_pile(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    pile = (
        '[[pile]]\nspecies = "white ash"\nthickness = "4/4"\nwidth = ["8 in", "10 in"]\nlength = ["8 ft", "12 ft"]\n'
        "price = 10\n"
    )
    (yard / "pile.toml").write_text(pile)
    line = ["buy", str(yard / "parts.json"), str(yard / "pile.toml"), "--piles", "5", "--out", str(yard / "order")]
    assert run(line) == 0
    order = read(yard / "order/buying.json")["orders"][0]
    feet = order["board_feet"]
    assert 0 < feet["50%"] <= feet["80%"] <= feet["95%"]
    assert order["cost_at_80%"] == pytest.approx(10 * feet["80%"])
    assert "LUMBER LIST" in capsys.readouterr().err
    (yard / "oak.toml").write_text(pile.replace("white ash", "white oak"))
    line[2], line[-1] = str(yard / "oak.toml"), str(yard / "oak")
    assert run(line) == 1
    (missing,) = read(yard / "oak/summary.json")["findings"]
    assert missing["code"] == "part-of-no-pile"
    assert missing["subject"] == "A0, A1, A2 and 2 more"
    (yard / "small.toml").write_text(pile.replace('["8 ft", "12 ft"]', '["3 ft", "4 ft"]'))
    line[2], line[-1] = str(yard / "small.toml"), str(yard / "small")
    capsys.readouterr()
    assert run(line) == 4
    said = capsys.readouterr().err  # 1500 mm and 2 x 50 mm of trim and 2 x 4 mm of margin: 6 ft (5 ft 3.3 in)
    assert 'holds C 6\' 0" x 5"' in said
    assert "ends at 4' 0\"" in said


def test_the_waste_and_cost_of_an_order_are_worked_out_by_hand() -> None:
    """Two strips of 1 ft2 out of one board of 8 ft x 6 in, 4 board feet at 7.50: a little over half is wasted."""
    pile = Pile("white ash", 20.6, 25.4, (152.4, 152.4), (2438.4, 2438.4), price=7.5)
    strips = [part(f"P{i}", rectangle(2 * 304.8, 152.4 - 8.5)) for i in range(2)]
    found = [d for n in range(3) if (d := delivery(strips, RULES, pile, (1, n), 0)) is not None]
    order = ordered(strips, RULES, pile, found)
    net = 2 * 2 * (152.4 - 8.5) / 304.8
    assert order["board_feet"] == {"50%": pytest.approx(4.0), "80%": pytest.approx(4.0), "95%": pytest.approx(4.0)}
    assert order["cost"]["95%"] == pytest.approx(30.0)
    assert order["waste"]["50%"] == pytest.approx(1 - net / 4)
    assert "    50%: 4 (4 as a mill tallies them), cost 30.00, waste 53%" in order_list([order]).splitlines()


def test_what_if_measures_each_change(yard: Path) -> None:
    files = [str(yard / "parts.json"), str(yard / "boards.json")]
    assert run(["whatif", *files, "--out", str(yard / "if"), "--rounds", "0"]) == 0
    rows = read(yard / "if/whatif.json")["rows"]
    assert rows[0]["change"] == "as asked"
    assert [r["change"] for r in rows[1:]] == [
        "spacing 8 -> 4 mm",
        "skew 3 -> 0 deg",
        "skew 3 -> 5 deg",
        "every part may be turned over",
    ]
    assert all(r["saves_m2"] == pytest.approx(rows[0]["gross_m2"] - r["gross_m2"]) for r in rows)
    for freer in (1, 3, 4):  # a plan as asked is a plan under each of these
        assert rows[freer]["net_m2"] <= rows[0]["net_m2"]
    assert rows[2]["net_m2"] >= rows[0]["net_m2"]  # and one without skew is one as asked


def test_chance_makes_no_freedom_dear() -> None:
    """By hand: the search did worse under freer rules (5) and better under tighter ones (3) than as asked (4)."""
    rows = [Outcome(name, m2, m2, m2, 0, 1) for name, m2 in (("as asked", 4.0), ("freer", 5.0), ("tighter", 3.0))]
    assert [r.net_m2 for r in no_worse(rows, [True, True, False])] == [3.0, 3.0, 3.0]
    rows[2] = Outcome("tighter", 1.0, 1.0, 1.0, 2, 1)  # two parts left over: no plan at all
    assert [r.net_m2 for r in no_worse(rows, [True, True, False])] == [4.0, 4.0, 1.0]


def test_one_more_joint_is_measured_where_the_parts_offer_it(yard: Path) -> None:
    """A plank of 2300 mm whole, or in two: of boards of 2400 and 1400 mm the two need no long one."""
    whole, halves = part("W", rectangle(2300, 90)), [part("H1", rectangle(1250, 90)), part("H2", rectangle(1250, 90))]
    choice = Choice("S1", (Option(("W",)), Option(("H1", "H2"), 1.0, "one joint more")))
    write_json(yard / "split.json", parts_document([whole, *halves], RULES, [choice]))
    short = [board("long", rectangle(2400, 110)), board("short", rectangle(1400, 220))]
    write_json(yard / "two.json", boards_document(short))
    line = ["whatif", str(yard / "split.json"), str(yard / "two.json"), "--out", str(yard / "if"), "--rounds", "0"]
    assert run(line) == 0
    rows = {r["change"]: r for r in read(yard / "if/whatif.json")["rows"]}
    assert rows["usual splits only"]["gross_m2"] == pytest.approx(2.4 * 0.11)
    assert rows["one more joint in 1 planks"]["gross_m2"] == pytest.approx(1.4 * 0.22)


def test_headline_figures_are_said(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Five parts on two boards of 2400 x 210 x 25.4 mm; a grader counts 7 ft of 8 1/4 in as 4.8, so 5 board feet."""
    files = [str(yard / "parts.json"), str(yard / "boards.json")]
    assert run(["buy", *files, "--out", str(yard / "list"), "--rounds", "1"]) == 0
    said = capsys.readouterr().err
    feet = 2 * 2400 * 210 * 25.4 / (12 * 25.4) ** 2 / 25.4
    assert f"5 of 5 parts lie on 2 of 3 boards: {2 * 2.4 * 0.21:.2f} m2 opened" in said
    assert f"{feet:.1f} exact, 10 as a mill tallies them" in said
    assert "Their price: 61.00" in said  # 30 + 31
    figures = read(yard / "list/summary.json")["stock"]
    assert stock_lines({"stock": figures | {"gap": 0.123}})[-1] == "The plan is at most 12.3 % above the best possible"
    assert "best" not in stock_lines({"stock": figures | {"gap": 40.0}})[-1]  # a bound so far off says nothing


def test_the_sheet_for_the_mill_is_not_written_over(tmp_path: Path) -> None:
    assert run(["tally", str(tmp_path / "mill")]) == 0
    assert {p.name for p in (tmp_path / "mill").iterdir()} == {"tally.csv", "tally.html"}
    assert run(["tally", str(tmp_path / "mill")]) == 2
    assert run(["tally", str(tmp_path / "boards.csv")]) == 2
    assert not (tmp_path / "boards.csv").exists()
