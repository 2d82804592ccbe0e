"""Own words by commands: the plan, the list, meanings confirmed and taken back."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest

from panel.cli.session_words import read_meaning
from panel.errors import UnknownRecord
from panel.session.own_words import Meaning
from panel.store.engine import Store
from tests.cli.calling import Call, caller
from tests.houses.own_words_planned import NAME, hold_own_evening, open_own_evening
from tests.houses.to_plan import furnish

DRAWS = [part for n in range(1, 7) for part in ("--draw", f"D{n}")]


@pytest.fixture
def house(store: Store) -> Store:
    with store.write() as db:
        furnish(db)
    return store


@pytest.fixture
def oakpanel(
    house: Store, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Call:
    monkeypatch.delenv("OAKPANEL_BY", raising=False)
    return caller(capsys, monkeypatch, "--db", str(house.url.database), house=house)


@pytest.mark.slow
def test_planning_by_command(oakpanel: Call) -> None:
    planned = oakpanel(
        *("session", "plan", "free", *DRAWS, "--all-assessors", "--own-words", "--json"),
        *("--most-words", "5", "--held-on", "2026-03-20"),
    )
    assert planned.code == 0, planned.err
    assert planned.document["own_words"] is True
    assert planned.document["most_words"] == 5
    assert "own words" in oakpanel("session", "list").out
    assert "names at most 5 words" in oakpanel("session", "show", "free").out


def test_own_words_and_a_lexicon_are_wrong_usage(oakpanel: Call) -> None:
    for words in (("--lexicon", "all"), ("--descriptor", "bonfire")):
        said = oakpanel("session", "plan", "free", "--own-words", *words)
        assert said.code == 2
        assert "not both" in said.err


@pytest.mark.slow
def test_words_are_listed_confirmed_and_taken_back(
    oakpanel: Call, house: Store, fixed_now: datetime
) -> None:
    hold_own_evening(house, fixed_now)
    listed = oakpanel("session", "words", NAME, "--json")
    assert [(w["assessor"], w["word"]) for w in listed.document["words"]][:2] == [
        ("A1", "wet slate"),
        ("A1", "tar"),
    ]
    confirmed = oakpanel(
        *("session", "words", NAME, "--confirm", "A2:a=b:c=bonfire"),
        *("--confirm", "A1:tar=bonfire"),
    )
    assert confirmed.code == 0, confirmed.err
    assert confirmed.out.count("bonfire") == 2
    back = oakpanel("session", "words", NAME, "--take-back", "A2:a=b:c", "--json").document
    means = {(w["assessor"], w["word"]): w["descriptor"] for w in back["words"]}
    assert means["A2", "a=b:c"] is None
    assert means["A1", "tar"] == "bonfire"


def test_nothing_is_listed_while_it_is_open(
    oakpanel: Call, house: Store, fixed_now: datetime
) -> None:
    open_own_evening(house, fixed_now)
    said = oakpanel("session", "words", NAME)
    assert (said.code, said.out) == (1, "")
    assert "is open" in said.err


@pytest.mark.slow
def test_a_mistyped_wish_writes_none_of_them(
    oakpanel: Call, house: Store, fixed_now: datetime
) -> None:
    hold_own_evening(house, fixed_now)
    said = oakpanel(
        *("session", "words", NAME, "--confirm", "A1:tar=bonfire", "--confirm", "A1:peel=bonfire"),
    )
    assert said.code == 1
    assert "word of A1" in said.err
    assert "bonfire" not in oakpanel("session", "words", NAME).out


def test_until_the_reveal_only_the_lead(oakpanel: Call, house: Store, fixed_now: datetime) -> None:
    hold_own_evening(house, fixed_now)
    refused = oakpanel("--by", "A1", "session", "words", NAME)
    assert refused.code == 1
    assert "'lead'" in refused.err
    assert oakpanel("session", "reveal", NAME).code == 0
    assert "wet slate" in oakpanel("--by", "A1", "session", "words", NAME).out


@pytest.mark.slow
def test_agreement_lays_the_words_out(oakpanel: Call, house: Store, fixed_now: datetime) -> None:
    hold_own_evening(house, fixed_now)
    said = oakpanel("agreement", NAME)
    assert said.code == 0, said.err
    assert "in own words" in said.out


@pytest.mark.slow
def test_saving_and_loading_by_command(
    oakpanel: Call, house: Store, fixed_now: datetime, tmp_path: Path
) -> None:
    hold_own_evening(house, fixed_now)
    assert oakpanel("session", "reveal", NAME).code == 0
    file = str(tmp_path / "own.csv")
    assert oakpanel("save", "own-scores", file, "--session", NAME).code == 0
    again = oakpanel("load", "own-scores", file, "--json")
    assert again.code == 0, again.out
    assert (again.document["accepted"], again.document["unchanged"]) == (0, 9 * 6)
    assert oakpanel("save", "own-scores", file, "--wide").code == 2


NAMED = {"A1": ["tar", "a=b"], "A1:x": ["a"]}


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("A1:tar=bonfire", Meaning("A1", "tar", "bonfire")),
        ("a1:TAR=bonfire", Meaning("A1", "tar", "bonfire")),
        ("A1:a=b=x=y", Meaning("A1", "a=b", "x=y")),
        ("A1:x:a=z", Meaning("A1:x", "a", "z")),
    ],
)
def test_a_meaning_is_read_by_what_is_known(text: str, meant: Meaning) -> None:
    assert read_meaning(text, NAMED, confirming=True) == meant


@pytest.mark.parametrize("text", ["", "A1", "A2:tar=x", "A1:tar", "A1:moss=x"])
def test_a_meaning_that_begins_with_nothing_known(text: str) -> None:
    with pytest.raises(UnknownRecord, match="ASSESSOR:WORD=DESCRIPTOR"):
        read_meaning(text, NAMED, confirming=True)
