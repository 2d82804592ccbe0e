"""`oakpanel agreement` over several sessions, for one evening, and in own words."""

from __future__ import annotations

import csv
import io
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import demo_panel
from panel.intake.loading import load_file
from panel.kinds import SessionStatus
from panel.store.engine import Store
from panel.store.opening import make_database, open_store
from panel.store.sessions import PanelSession
from tests.cli.calling import Call, caller
from tests.houses.invented import remember_agreements

FILES = Path(demo_panel.__file__).parent
KINDS = ("makes", "casks", "events", "regauges", "draws", "lexicon", "assessors")
NOW = datetime(2026, 11, 20, 12, 0, tzinfo=UTC)
LAST = tuple(f"night-{n}" for n in range(23, 31))
"""Eight of the thirty nights of the invented distillery are enough here."""
FACTS = ("session", "held_on", "assessor", "sample", "kind", "replicate", "position", "status")
NOTES = ("hearth smoke", "custard skin", "plum stone", "pressed violets")
"""And four of its notes; the panel's figures have tests of their own."""


def last_nights() -> list[dict[str, str]]:
    with (FILES / "scores.csv").open(newline="", encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if row["session"] in LAST]
    return [{name: row[name] for name in (*FACTS, *NOTES)} for row in rows]


def own_words(rows: list[dict[str, str]]) -> str:
    """Words of six people for two notes of the house and one of nothing, over ten samples."""
    means: dict[str, dict[str, list[float]]] = {}
    for row in rows:
        for note in ("hearth smoke", "plum stone"):
            if row["kind"] == "test" and row[note]:
                means.setdefault(row["sample"], {}).setdefault(note, []).append(float(row[note]))
    full = sorted(name for name, notes in means.items() if len(notes) == 2)
    samples = full[:: max(len(full) // 10, 1)][:10]
    rng = np.random.default_rng(3)
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(["session", "assessor", "sample", "replicate", "word", "score"])
    for person in ("Rowan", "Teal", "Wren", "Hazel", "Aspen", "Alder"):
        for sample in samples:
            for word, note in (("bonfire", "hearth smoke"), ("[/x]", "plum stone")):
                value = float(np.mean(means[sample][note])) + rng.normal(0.0, 3.0)
                score = int(np.clip(value, 0.0, 100.0))
                writer.writerow(["free", person, sample, 1, f"{word} of {person}", score])
    return out.getvalue()


@pytest.fixture(scope="module")
def nights(tmp_path_factory: pytest.TempPathFactory) -> str:
    folder = tmp_path_factory.mktemp("nights")
    store = make_database(str(folder / "weir.sqlite"))
    for kind in KINDS:
        load_file(store, kind, FILES / f"{kind}.csv", now=NOW, by="Heron")
    rows = last_nights()
    with (folder / "scores.csv").open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, fieldnames=list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    load_file(store, "scores", folder / "scores.csv", now=NOW, by="Heron")
    (folder / "own.csv").write_text(own_words(rows), encoding="utf-8")
    report = load_file(store, "own-scores", folder / "own.csv", now=NOW, by="Heron")
    assert not report.problems
    store.close()
    return str(folder / "weir.sqlite")


@pytest.fixture
def ask(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, nights: str) -> Call:
    monkeypatch.delenv("OAKPANEL_BY", raising=False)
    remember_agreements(monkeypatch)
    return caller(capsys, monkeypatch, "--db", nights)


@pytest.fixture
def shown(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, nights: str) -> Call:
    """Ask as the lead, by their PIN."""
    remember_agreements(monkeypatch)
    return caller(capsys, monkeypatch, "--db", nights, house=open_store(nights))


def document(ask: Call, *words: str) -> dict[str, Any]:
    said = ask("agreement", *words, "--json")
    assert said.code == 0, said.err
    found: dict[str, Any] = said.document
    return found


@pytest.mark.slow
def test_two_sessions_by_name(ask: Call) -> None:
    found = document(ask, "night-30", "night-29")
    assert [line["session"] for line in found["sessions"]] == ["night-29", "night-30"]
    assert {"sentence", "descriptors", "assessors", "left_out", "seed"} <= set(found)
    assert "private" not in found
    said = ask("agreement", "night-30", "night-29")
    assert found["sentence"] in " ".join(said.out.split())
    assert max(map(len, said.out.splitlines())) <= 80


@pytest.mark.slow
def test_a_span_of_dates(ask: Call) -> None:
    found = document(ask, "--since", "2026-01-01", "--until", "2026-06-30")
    assert [line["session"] for line in found["sessions"]] == ["night-26", "night-27", "night-28"]
    assert "free" not in {line["session"] for line in found["sessions"]}
    before = found["before"]
    assert before["n_sessions"] == 3
    assert before["first"] < before["last"] < "2026-01-01"
    said = " ".join(ask("agreement", "--since", "2026-01-01", "--until", "2026-06-30").out.split())
    assert f"Left out: 3 sessions held before ({before['first']} to {before['last']})." in said
    nothing = ask("agreement", "--since", "2029-01-01")
    assert nothing.code == 1
    assert "No session from 2029-01-01 on is closed" in nothing.err


@pytest.mark.slow
def test_one_assessor_and_one_descriptor_over_a_span(shown: Call) -> None:
    span = ("--since", "2025-09-01")
    said = shown("agreement", *span, "--assessor", "Teal", "--descriptor", "hearth smoke")
    assert said.code == 0, said.err
    assert "Over all glasses: cannot tell yet" in said.out
    assert max(map(len, said.out.splitlines())) <= 80
    found = document(shown, *span, "--assessor", "Teal")
    (person,) = found["assessors"]
    assert {"verdict", "sentence", "n_sessions", "missing_rate", "drift", "notes"} <= set(person)
    assert person["drift"]["points"][0]["held_on"]
    assert "There are:" in shown("agreement", *span, "--assessor", "Tael").err


def test_the_evening_note(shown: Call) -> None:
    said = shown("agreement", "night-30", "--note", "Wren")
    assert said.code == 0, said.err
    assert said.out.startswith("For Wren alone, session night-30")
    assert max(map(len, said.out.splitlines())) <= 80
    others = {row["assessor"] for row in last_nights()} - {"Wren"}
    assert not any(name in said.out for name in others)
    found = document(shown, "night-30", "--note", "Wren")
    assert set(found) == {
        "format",
        *("assessor", "session", "repeated", "found", "differ", "progress", "next_action"),
        *("moving", "drift"),
    }
    assert "There were:" in shown("agreement", "night-30", "--note", "Nobody").err


def test_two_casks_named_beforehand(ask: Call) -> None:
    rows = [row for row in last_nights() if row["session"] == "night-30" and row["kind"] == "test"]
    one, other = sorted({row["sample"] for row in rows})[:2]
    found = document(ask, "night-30", "--two", one, other)
    assert (found["first"], found["second"], found["sessions"]) == (one, other, ["night-30"])
    assert {note["descriptor"] for note in found["notes"]} == set(NOTES)
    for note in found["notes"]:
        alike = note["at_most"] is not None and note["at_most"] <= found["tolerance"]
        assert (note["verdict"] == "alike") is alike
    said = ask("agreement", "night-30", "--two", one, other)
    assert said.code == 0, said.err
    assert found["sentence"] in " ".join(said.out.split())
    assert "in question before anybody saw their means" in " ".join(said.out.split())
    assert max(map(len, said.out.splitlines())) <= 80
    assert "There were:" in ask("agreement", "night-30", "--two", one, "No such cask").err
    assert "no note of it" in ask("agreement", "free", "--two", one, other).err
    assert ask("agreement", "night-30", "--two", one, other, "--note", "Wren").code == 2


def test_private_notes_want_a_lead_s_pin(ask: Call) -> None:
    said = ask("agreement", "night-30", "--note", "Linnet", "--private")
    assert said.code == 1
    assert "PIN" in said.err
    assert said.out == ""


@pytest.mark.slow
def test_no_evening_note_before_the_reveal(shown: Call, nights: str) -> None:
    store: Store = open_store(nights)
    try:
        _set_status(store, SessionStatus.CLOSED)
        said = shown("agreement", "night-24", "--note", "Wren")
        assert said.code == 1
        assert "come after `oakpanel session reveal night-24`" in said.err
        coded = document(shown, "night-24")
        assert {mean["sample"] for mean in coded["descriptors"][0]["means"]}.isdisjoint(
            row["sample"] for row in last_nights()
        )
        _set_status(store, SessionStatus.OPEN)
        early = shown("agreement", "night-24")
        assert early.code == 1
        assert "nobody can steer it" in early.err
        assert "nobody can steer it" in shown("agreement", "night-24", "night-25").err
    finally:
        _set_status(store, SessionStatus.REVEALED)
        store.close()


def _set_status(store: Store, status: SessionStatus) -> None:
    with store.write() as db:
        session = db.query(PanelSession).filter_by(name="night-24").one()
        session.status = status


@pytest.mark.slow
def test_own_words_are_mapped_and_matched(ask: Call) -> None:
    found = document(ask, "free")
    assert found["session"] == "free"
    assert found["n_axes"] >= 2
    proposed = {word["word"].split(" of ")[0]: word["proposed"] for word in found["words"]}
    assert proposed == {"bonfire": "hearth smoke", "[/x]": "plum stone"}
    assert {word["confirmed"] for word in found["words"]} == {None}
    said = ask("agreement", "free")
    assert "in own words, 12 words of 6 assessors over 10 samples" in " ".join(said.out.split())
    assert "'[/x] of Rowan'" in said.out
    assert max(map(len, said.out.splitlines())) <= 80


def test_a_confirmed_word_says_so(ask: Call) -> None:
    confirmed = ask("session", "words", "free", "--confirm", "Rowan:bonfire of Rowan=hearth smoke")
    assert confirmed.code == 0, confirmed.err
    try:
        found = document(ask, "free", "--assessor", "Rowan")
        meanings = {word["word"]: word["confirmed"] for word in found["words"]}
        assert meanings == {"bonfire of Rowan": "hearth smoke", "[/x] of Rowan": None}
        assert "means hearth smoke (confirmed)" in " ".join(ask("agreement", "free").out.split())
    finally:
        taken_back = ask("session", "words", "free", "--take-back", "Rowan:bonfire of Rowan")
        assert taken_back.code == 0, taken_back.err


def test_own_words_stand_alone(ask: Call) -> None:
    said = ask("agreement", "free", "night-30")
    assert said.code == 1
    assert "own words and cannot be laid beside others" in said.err


@pytest.mark.parametrize(
    "words",
    [
        (),
        ("night-30", "--since", "2025-09-01"),
        ("night-29", "night-30", "--note", "Wren"),
        ("--since", "soon"),
    ],
)
def test_wrong_usage(ask: Call, words: tuple[str, ...]) -> None:
    said = ask("agreement", *words)
    assert said.code == 2
    assert said.out == ""


def test_which_correlation_answers_which_question(ask: Call) -> None:
    said = ask("agreement", "night-30", "--descriptor", "hearth smoke")
    flat = " ".join(said.out.split())
    assert "would these assessors order and space the samples so again" in flat
    assert "3,k" in document(ask, "night-30")["icc_questions"]


def test_an_evening_stands_beside_its_house(ask: Call) -> None:
    found = document(ask, "night-30")
    note = next(part for part in found["descriptors"] if part["descriptor"] == "hearth smoke")
    assert note["n_sessions_over"] == len(LAST)
    assert note["reliability_over_sessions"] > note["reliability_over_sessions_low"] > 0.8
    assert note["over_sessions_sentence"].startswith(f"Over {len(LAST)} sessions: reliability ")
    person = next(part for part in found["assessors"] if part["assessor"] == "Rowan")
    theirs = {part["descriptor"]: part for part in person["descriptors"]}
    assert 0.5 < theirs["hearth smoke"]["signal_share"] < 1.0
    assert 0.25 < person["signal_share"] < 1.0
    said = ask("agreement", "night-30")
    flat = " ".join(said.out.split())
    assert note["over_sessions_sentence"] in flat
    assert f"signal share {person['signal_share']:.2f} of late" in flat
    assert max(map(len, said.out.splitlines())) <= 80
    one = ask("agreement", "night-30", "--assessor", "Rowan", "--descriptor", "hearth smoke")
    assert note["over_sessions_sentence"] in " ".join(one.out.split())
    assert max(map(len, one.out.splitlines())) <= 80


@pytest.mark.slow
def test_a_span_goes_by_the_one_model(ask: Call) -> None:
    found = document(ask, "--since", "2025-09-01")
    led = [note for note in found["descriptors"] if note["over_sessions_note"] is None]
    assert len(led) == len(NOTES)
    for note in led:
        value, low = note["reliability_over_sessions"], note["reliability_over_sessions_low"]
        assert (note["verdict"] == "safe to act on") == (value >= 0.8 and low >= 0.65)
        shown = "above 0.99" if value > 0.995 else f"{value:.2f}"
        assert f"reliability {shown}, at least {int(100 * low) / 100:.2f}" in note["sentence"]
    for note in found["descriptors"]:
        assert note["reliability_over_sessions"] is not None or note["over_sessions_note"]


def test_what_linnet_cannot_smell_is_not_in_public(shown: Call) -> None:
    """In the invented distillery Linnet smells nothing of pressed violets."""
    (person,) = document(shown, "--since", "2025-09-01", "--assessor", "Linnet")["assessors"]
    notes = {part["descriptor"]: part for part in person["notes"]}
    hidden, open_ = notes["pressed violets"], notes["hearth smoke"]
    assert (hidden["verdict"], hidden["signal_share"], hidden["slope"]) == (None, None, None)
    assert hidden["reason"] == "too close to call"
    assert open_["verdict"] == "reads with the panel"


@pytest.mark.slow
def test_before_the_reveal_the_house_is_beside_it_and_codes_stay_codes(
    ask: Call, nights: str
) -> None:
    store: Store = open_store(nights)
    names = {row["sample"] for row in last_nights()}
    try:
        _set_status(store, SessionStatus.CLOSED)
        coded = document(ask, "night-24")
        notes = {note["descriptor"]: note for note in coded["descriptors"]}
        assert notes["hearth smoke"]["n_sessions_over"] == 2
        assert notes["hearth smoke"]["reliability_over_sessions"] > 0.5
        said = [ask("agreement", *words) for words in (("night-24",), ("night-24", "night-25"))]
        texts = [part.out for part in said] + [str(coded)]
        assert not any(name in text for name in names for text in texts)
    finally:
        _set_status(store, SessionStatus.REVEALED)
        store.close()
