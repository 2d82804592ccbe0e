"""The session commands as a lead types them, on a furnished house."""

from __future__ import annotations

import json
import stat
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select

from panel.cli.main import run
from panel.kinds import Role
from panel.store.engine import Store
from panel.store.people import Person, PersonRole
from panel.store.sessions import PanelSession, Serving
from tests.houses.pins import by_file
from tests.houses.to_plan import CODES, furnish

DRAWS = [part for n in range(1, 7) for part in ("--draw", f"D{n}")]
PLAN = ["plan", "spring", *DRAWS, "--all-assessors", "--lexicon", "all", "--held-on", "2026-03-20"]
PLAN += ["--reference", "R0", "--warm-up", "W0"]


@dataclass
class Answer:
    """How a command ended."""

    code: int
    out: str
    err: str

    def document(self) -> Any:
        return json.loads(self.out)


class Terminal:
    """Types `oakpanel session ...` on one database."""

    def __init__(self, store: Store, capsys: pytest.CaptureFixture[str]) -> None:
        self.store, self.capsys = store, capsys

    def __call__(self, *words: str, by: str | None = None, code: int = 0) -> Answer:
        before = ["--db", str(self.store.url.database), *(["--by", by] if by else [])]
        before += by_file(self.store)
        with pytest.raises(SystemExit) as ended:
            run([*before, "session", *words])
        shown = self.capsys.readouterr()
        answer = Answer(int(ended.value.code or 0), shown.out, shown.err)
        assert answer.code == code, answer
        assert "Traceback" not in answer.err
        return answer


@pytest.fixture
def oakpanel(store: Store, capsys: pytest.CaptureFixture[str]) -> Terminal:
    with store.write() as db:
        furnish(db)
    return Terminal(store, capsys)


def test_an_evening_by_commands(oakpanel: Terminal) -> None:
    assert "Session spring, 2026-03-20: draft." in oakpanel(*PLAN).out
    assert "is sealed" in oakpanel("seal", "spring").out
    assert "POUR SHEET" in oakpanel("sheets", "spring").out
    assert "is open" in oakpanel("open", "spring").out
    assert "A1  0 of 9 glasses" in oakpanel("show", "spring").out
    closed = oakpanel("close", "spring")
    assert "had not finished" in closed.err
    revealed = oakpanel("reveal", "spring")
    assert "is the one that was sealed" in revealed.out
    assert "D1" in revealed.out
    assert "4001" in oakpanel("show", "spring").out
    assert "revealed" in oakpanel("list").out


@pytest.mark.slow
def test_every_answer_has_a_document(oakpanel: Terminal) -> None:
    plan = oakpanel(*PLAN, "--json").document()
    assert plan["ethanol_an_assessor"]["as_planned_grams"] == 0.0
    assert plan["flights"] == 1
    assert plan["assessors"] == list(CODES)
    sealed = oakpanel("seal", "spring", "--json").document()
    assert len(sealed["key_hash"]) == 64
    sheets = oakpanel("sheets", "spring", "--json").document()
    assert sealed["key_hash"] in sheets["pour_sheet"]
    assert oakpanel("open", "spring", "--json").document()["status"] == "open"
    shown = oakpanel("show", "spring", "--json").document()
    assert shown["plan"] is None
    assert len(shown["progress"]["seats"]) == 6
    assert oakpanel("calls", "spring", "--json").document()["calls"] == []
    code = shown["progress"]["seats"][0]["glasses"][2]["code"]
    marked = oakpanel("mark", "spring", "A1", code, "re-poured", "--json").document()
    assert marked["pouring"] == 2
    assert oakpanel("close", "spring", "--json").document()["status"] == "closed"
    reopened = oakpanel("reopen", "spring", "--reason", "fire alarm", "--json").document()
    assert reopened["status"] == "open"
    oakpanel("close", "spring")
    revealed = oakpanel("reveal", "spring", "--json").document()
    assert revealed["matches"] is True
    assert len(revealed["rows"]) == 9
    listed = oakpanel("list", "--json").document()["sessions"]
    assert [(line["name"], line["status"]) for line in listed] == [("spring", "revealed")]


def test_a_refused_plan_says_everything_and_exits_with_one(oakpanel: Terminal) -> None:
    refused = oakpanel(
        *("plan", "bad", "--draw", "D77", "--assessor", "A1", "--descriptor", "wet slat"), code=1
    )
    assert "2 things speak against it" in refused.err
    assert "no draw 'D77'" in refused.err
    assert refused.out == ""


@pytest.mark.parametrize(
    "words", [["plan"], ["--all-assessors", "--assessor", "A1"], ["--lexicon", "some"], ["--nose"]]
)
def test_wrong_usage_exits_with_two(oakpanel: Terminal, words: list[str]) -> None:
    oakpanel("plan", *(["x", *words] if words != ["plan"] else []), code=2)


@pytest.mark.slow
def test_a_seed_gives_the_same_codes_again(oakpanel: Terminal) -> None:
    trays = []
    for name in ("one", "two"):
        words = [name if word == "spring" else word for word in PLAN]
        oakpanel(*words, "--seed", "4711")
        oakpanel("seal", name)
        shown = oakpanel("show", name, "--json").document()
        assert shown["rehearsal"] is True
        trays.append([[g["code"] for g in s["glasses"]] for s in shown["progress"]["seats"]])
    assert trays[0] == trays[1]


@pytest.mark.slow
def test_sheets_go_into_a_new_file_of_the_owner_only(oakpanel: Terminal, tmp_path: Path) -> None:
    oakpanel(*PLAN)
    oakpanel("seal", "spring")
    out = tmp_path / "sheets.txt"
    assert str(out) in oakpanel("sheets", "spring", "--out", str(out)).out
    assert stat.S_IMODE(out.stat().st_mode) == 0o600
    text = out.read_text(encoding="utf-8")
    assert "POUR SHEET" in text
    assert "TRAY LABELS" in text
    assert "is there already" in oakpanel("sheets", "spring", "--out", str(out), code=1).err
    nowhere = str(tmp_path / "none" / "x.txt")
    assert "cannot be written" in oakpanel("sheets", "spring", "--out", nowhere, code=1).err


def test_a_lead_who_assesses_must_insist_on_seeing_the_key(oakpanel: Terminal) -> None:
    with oakpanel.store.write() as db:
        one = db.scalars(select(Person).where(Person.code == "A1")).one()
        one.roles.append(PersonRole(role=Role.LEAD))
    oakpanel(*PLAN, by="A1")
    oakpanel("seal", "spring", by="L1")
    refused = oakpanel("sheets", "spring", by="A1", code=1)
    assert "A1 assesses this session" in refused.err
    assert "TRAY LABELS" in oakpanel("sheets", "spring", "trays", by="A1").out
    seats = oakpanel("show", "spring", "--json").document()["progress"]["seats"]
    assert not any(seat["knew_key"] for seat in seats)
    assert "A1 assesses" in oakpanel("sheets", "spring", "--insist", by="A1").err
    seats = oakpanel("show", "spring", "--json").document()["progress"]["seats"]
    assert [seat["assessor"] for seat in seats if seat["knew_key"]] == ["A1"]


def test_the_key_of_an_open_session_wants_insistence(oakpanel: Terminal) -> None:
    oakpanel(*PLAN)
    oakpanel("seal", "spring")
    oakpanel("open", "spring")
    assert "not blind" in oakpanel("sheets", "spring", code=1).err
    with oakpanel.store.read() as db:
        assert db.scalars(select(PanelSession.blind)).one()
    oakpanel("sheets", "spring", "pour", "--insist")
    assert "not blind" in oakpanel("list").out


@pytest.mark.parametrize("words", [["seal", "spring"], ["sheets", "spring"], ["open", "spring"]])
def test_an_assessor_may_not_lead(oakpanel: Terminal, words: list[str]) -> None:
    oakpanel(*PLAN)
    assert "does not have the role" in oakpanel(*words, by="A2", code=1).err


@pytest.mark.slow
def test_opening_on_another_day_says_so(oakpanel: Terminal) -> None:
    oakpanel(*PLAN)
    oakpanel("seal", "spring")
    assert "planned date 2026-03-20" in oakpanel("open", "spring").err


@pytest.mark.slow
def test_a_name_that_looks_like_markup_is_a_name(oakpanel: Terminal) -> None:
    words = ["[/x]" if word == "spring" else word for word in PLAN]
    assert "Session [/x]," in oakpanel(*words).out
    oakpanel("seal", "[/x]")
    assert "Session [/x]," in oakpanel("sheets", "[/x]").out
    assert "[/x]" in oakpanel("list").out


def test_nothing_there_yet_is_said(oakpanel: Terminal) -> None:
    assert "no session yet" in oakpanel("list").err
    assert "no session 'x'" in oakpanel("show", "x", code=1).err


def test_what_is_shown_before_the_reveal_names_no_draw(oakpanel: Terminal) -> None:
    oakpanel(*PLAN)
    oakpanel("seal", "spring")
    with oakpanel.store.read() as db:
        assert len(db.scalars(select(Serving)).all()) == 54
    for words in (["show", "spring"], ["show", "spring", "--json"], ["list"], ["calls", "spring"]):
        answer = oakpanel(*words)
        assert not {"D1", "R0", "W0", "4001"} & set(answer.out.replace('"', " ").split())


def test_who_noses_which_comes_from_a_file(oakpanel: Terminal, tmp_path: Path) -> None:
    table = tmp_path / "next.csv"
    table.write_text("assessor,sample\nA1,D1\nA1,D2\nA1,D3\nA2,D2\nA2,D3\nA2,D4\n", "utf-8")
    asked = ["plan", "next", "--assigned", str(table), "--lexicon", "all"]
    found = oakpanel(*asked, "--held-on", "2026-03-20", "--json").document()
    assert found["assessors"] == ["A1", "A2"]
    assert [tray["draws"] for tray in found["trays"]] == [["D1", "D2", "D3"], ["D2", "D3", "D4"]]
    assert "draws_reason" in found
    oakpanel("seal", "next")
    table.write_text("assessor,sample\nA1,\nA2,D2\n", "utf-8")
    assert "Row 2 names no sample." in oakpanel(*asked, code=1).err
