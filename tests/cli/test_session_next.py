"""`session next` and `session power` on the nosed house: what is proposed, priced and planned."""

from __future__ import annotations

import json
from collections import Counter
from dataclasses import replace
from datetime import date
from pathlib import Path
from types import SimpleNamespace
from typing import cast

import pytest
from sqlalchemy import select

from analysis.next_glasses.settings import NextSettings
from analysis.next_glasses.stopping import stop_of
from panel.kinds import Manner
from panel.questions.best_casks import BestCasks, BestTold
from panel.questions.next_session import NextAnswer
from panel.questions.samples_at_hand import samples_at_hand
from panel.questions.session_room import RoomAsked, room_asked
from panel.session.drafts import planned_again
from panel.session.plan import SessionPlan
from panel.store.draws import Draw
from panel.store.engine import Store
from panel.store.house_setting import HouseSetting
from panel.words.best_words import best_in_short, best_words
from panel.words.next_words import list_words
from tests.analysis.next_glasses.test_verdict import session
from tests.cli.calling import Call, caller
from tests.houses.nosed import CASKS, NOTES, NOW, TODAY, build_nosed_to_plan

PEOPLE = ["AA", "BB", "CC", "DD"]


@pytest.fixture
def house(store: Store) -> Store:
    build_nosed_to_plan(store)
    return store


@pytest.fixture
def oakpanel(
    house: Store,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
) -> Call:
    from panel.cli.invocation import Invocation

    monkeypatch.setenv("OAKPANEL_STATE", str(tmp_path / "state"))
    monkeypatch.setattr(Invocation, "now", lambda _self: NOW)
    return caller(capsys, monkeypatch, "--db", str(house.url.database), "--by", "LD")


@pytest.mark.slow
def test_the_session_keeps_to_its_room_and_tells_what_it_saves(oakpanel: Call) -> None:
    said = oakpanel("session", "next", "Fen", "--best", "2", "--glasses", "3", "--json")
    told = said.document
    trays = Counter(glass["assessor"] for glass in told["glasses"])
    assert set(trays) == set(PEOPLE)
    assert max(trays.values()) <= 3
    pairs = [(glass["assessor"], glass["cask"]) for glass in told["glasses"]]
    assert len(set(pairs)) == len(pairs), "nobody has a cask twice before duplicates are added"
    assert told["expected_loss"] > told["expected_loss_after"] >= 0.0
    assert sum(glass["value"] for glass in told["glasses"]) > 0.0
    assert told["stop"] is False, "two sessions were held, and nobody stops before six"
    assert told["halt"] == "too early to stop"
    assert {glass["sample"] for glass in told["glasses"]} <= {f"D-{cask}" for cask in CASKS}


def answer_of(sessions: int) -> NextAnswer:
    found = session(0.5, 0.4, stop_of(0.5, sessions, NextSettings()))
    told = SimpleNamespace(found=found, assessors=("A1",), glasses_each=1)
    return cast("NextAnswer", told)


@pytest.mark.slow
def test_words_begin_with_stopping_and_cost_and_give_each_cask_a_reason(oakpanel: Call) -> None:
    lines = oakpanel("session", "next", "Fen", "--best", "2").out
    told = oakpanel("session", "next", "Fen", "--best", "2", "--json").document
    head, _, tail = lines.partition("Why each cask:")
    assert head.index("Go on nosing") < head.index("Deciding today would cost")
    assert head.index("Deciding today would cost") < head.index("The best 2 casks today")
    for cask in told["casks"]:
        assert f"{cask['cask']} ({cask['n_glasses']} glass" in tail
    assert max(map(len, lines.splitlines())) <= 80


def test_where_it_says_stop_the_glasses_are_what_would_be_poured_all_the_same() -> None:
    heads = [list_words(answer_of(held)) for held in (2, 9)]
    assert heads[0].startswith("1 glass of 0 casks")
    assert heads[1].startswith("If you go on all the same, this would be poured: 1 glass of")


@pytest.mark.slow
def test_who_stays_away_gets_no_glass(oakpanel: Call) -> None:
    told = oakpanel("session", "next", "Fen", "--best", "2", "--without", "BB", "--json").document
    assert {glass["assessor"] for glass in told["glasses"]} == {"AA", "CC", "DD"}
    strange = oakpanel("session", "next", "Fen", "--with", "LD")
    assert strange.code == 1
    assert "LD" in strange.err


@pytest.mark.slow
def test_a_swap_changes_the_cask_and_has_a_price(oakpanel: Call) -> None:
    ask = ("session", "next", "Fen", "--best", "2", "--casks", "4", "--json")
    first = oakpanel(*ask).document
    poured = [cask["cask"] for cask in first["casks"]]
    out, into = poured[0], next(cask for cask in CASKS if cask not in poured)
    then = oakpanel(*ask, "--swap", f"{out}={into}").document
    assert into in {cask["cask"] for cask in then["casks"]}
    assert out not in {cask["cask"] for cask in then["casks"]}
    (swap,) = then["swaps"]
    assert swap["price"] == pytest.approx(first["saves"] - then["saves"])
    refused = oakpanel(*ask, "--swap", f"{into}={out}")
    assert refused.code == 1
    assert f"Cask {into} is not in the session" in refused.err


@pytest.mark.slow
def test_it_is_planned_as_it_was_proposed(oakpanel: Call, house: Store) -> None:
    ask = ("session", "next", "Fen", "--best", "2", "--glasses", "4", "--json")
    told = oakpanel(*ask, "--plan", "Monday").document
    assert told["planned"] == "Monday"
    shown = oakpanel("session", "show", "Monday", "--json")
    assert shown.code == 0
    with house.read() as db:
        trays = planned_again(db, "Monday").trays
    planned = {(who, sample) for who, samples in trays.items() for sample in samples}
    proposed = {(glass["assessor"], glass["sample"]) for glass in told["glasses"]}
    assert planned == proposed
    assert len(proposed) == len(told["glasses"]) >= 4


@pytest.mark.slow
def test_what_has_to_be_drawn_is_listed_and_stops_the_plan(oakpanel: Call, house: Store) -> None:
    with house.write() as db:
        db.add(HouseSetting(name="sample_good_years", value="0.05"))
    ask = ("session", "next", "Fen", "--best", "2")
    told = oakpanel(*ask, "--json").document
    shelf = told["casks"][0]["cask"]
    assert {draw["cask"] for draw in told["draws"]} == {cask["cask"] for cask in told["casks"]}
    assert all(draw["millilitres"] > 50 for draw in told["draws"])
    assert told["first_day"] == "2026-03-17"
    for more, why in (((), "to be drawn first"), (("--at-hand",), "an old one does not; `--shelf")):
        refused = oakpanel(*ask, *more, "--plan", "Monday")
        assert (refused.code, why in refused.err) == (1, True)
    kept = oakpanel(*ask, "--at-hand", "--shelf", f"D-{shelf}", "--json").document
    assert {cask["cask"] for cask in kept["casks"]} == {shelf}


def test_a_sample_gives_as_many_glasses_as_is_left(house: Store) -> None:
    with house.write() as db:
        for draw in db.scalars(select(Draw).where(Draw.label == "D-C3")):
            draw.volume_ml = 120.0
        for draw in db.scalars(select(Draw).where(Draw.label == "D-C4")):
            draw.fate = "poured away"
    with house.read() as db:
        found = samples_at_hand(db, TODAY)
    # A glass of 20 mL at 20 % with a tenth lost takes 7.66 mL of 58 %; two evenings poured 8 of
    # them, and 50 mL are kept back: 8.7 mL are left to pour.
    assert found["C3"].glasses == 1
    assert "C4" not in found


def test_tasting_is_limited_by_ethanol(house: Store) -> None:
    with house.read() as db:
        room = room_asked(db, RoomAsked(manner=Manner.TASTE), on=TODAY)
    each = 20.0 * 0.20 * 0.78924
    assert room.grams_a_glass == pytest.approx(each)
    assert room.grams["AA"] == pytest.approx(24.0 - 2 * each)


@pytest.mark.slow
def test_a_record_and_a_make(oakpanel: Call) -> None:
    wood = oakpanel("session", "next", "--record", "wood", "--json").document
    assert wood["question"] == "which record matters"
    assert {glass["reason"]["level"] for glass in wood["glasses"]} <= {
        "European oak",
        "American oak",
    }
    assert oakpanel("session", "next").code == 2
    assert oakpanel("session", "next", "--record", "wood", "--ready", "x").code == 2


@pytest.mark.slow
def test_power_grows_with_sessions_and_names_the_panel(oakpanel: Call) -> None:
    ask = ("session", "power", "--descriptor", "ember", "--sessions", "1", "--sessions", "4")
    told = oakpanel(*ask, "--json").document
    one, four = told["designs"]
    assert (one["assessors"], one["glasses"], four["glasses"]) == (4, 24, 96)
    assert four["exact"] >= one["exact"]
    assert four["smallest"] < one["smallest"]
    assert four["loss"] <= one["loss"]
    assert told["learned"] is True
    assert "are called surely more than 10 apart 8 times in 10" in " ".join(
        oakpanel(*ask).out.split()
    )
    assert json.loads(oakpanel(*ask, "--difference", "2", "--json").out)["points"] == 2
    assert "What does another glass save: ember?" in oakpanel(*ask, "--picture", "-").out


@pytest.mark.slow
def test_what_would_change_stands_beside_picks_where_it_is_asked_for(oakpanel: Call) -> None:
    best = ("match", "Fen", "--best", "2", "--would-change")
    asked = oakpanel(*best, "--json").document
    assert oakpanel("match", "Fen", "--json").document["would_change"] is None
    picks = set(asked["best"]["chosen"])
    told = {change["cask"]: change for change in asked["would_change"]}
    assert {cask for cask, change in told.items() if change["chosen"]} == picks
    assert all(0.0 <= change["crosses"] <= 1.0 for change in told.values())
    assert set(told) <= set(CASKS)
    assert all(change["one_glass"] <= change["crosses"] for change in told.values())
    lines = oakpanel(*best).out
    assert "What would change your mind" in lines


@pytest.mark.slow
def test_of_a_vatting_it_is_told_what_hangs_on_its_parts_and_of_no_other_cask(
    oakpanel: Call,
) -> None:
    vat = ("vat", "Fen", "--litres", "350", "--casks", "2-5", "--old-gauges", "flag", "--quick")
    found = oakpanel(*vat, "--would-change", "--json").document
    parts = {part["cask"]: part["litres"] for part in found["parts"]}
    mind = found["would_change"]
    assert {one["cask"]: one["litres"] for one in mind["parts"]} == {**parts, None: None}
    assert mind["chance"] == pytest.approx(found["probability"], abs=0.1)
    lines = oakpanel(*vat, "--would-change").out
    assert f"It hangs most on {mind['note']}" in lines
    assert "over the cut" not in lines
    bent = ("--exponent", f"{mind['note']}=0.5")
    potent = oakpanel(*vat, *bent, "--would-change", "--json").document
    assert potent["would_change"] != mind


def test_match_and_the_next_session_choose_the_same_casks_by_the_same_stop(oakpanel: Call) -> None:
    best = oakpanel("match", "Fen", "--top", "1", "--best", "2", "--would-change", "--json")
    told, asked = best.document, oakpanel("session", "next", "Fen", "--best", "2", "--json")
    proposed = asked.document
    assert len(told["casks"]) == 1
    for key in ("chosen", "cut", "expected_loss", "saves"):
        assert told["best"][key] == proposed[key]
    assert len(told["best"]["chosen"]) == told["best"]["n_wanted"] == 2
    assert told["best"]["stop"]["halt"] == proposed["halt"]
    assert told["would_change"] == proposed["changes"]
    cut = told["best"]["cut"]
    assert cut["within"] == told["best"]["chosen"][-1]
    assert cut["beyond"] not in told["best"]["chosen"]
    assert cut["within_off"] <= cut["beyond_off"]


def test_where_nobody_can_come_match_says_so_and_ranks_all_the_same() -> None:
    told = best_words(BestTold(None, "nobody can come."))
    assert told == ["Whether nosing on is worth it cannot be said: nobody can come."]


def test_the_best_of_another_day_are_not_said_to_be_what_session_next_proposes() -> None:
    found = replace(session(0.5, 0.4, stop_of(0.5, 2, NextSettings())), chosen=("C1", "C2"))
    later = BestTold(BestCasks(2, found, bottling_on=date(2027, 4, 1)))
    today = " ".join(best_words(BestTold(BestCasks(2, found))))
    assert "the session that `session next` proposes is expected to save" in today
    said = " ".join(best_words(later))
    assert "The best 2 casks on 2027-04-01" in said
    assert "; a session for these casks is expected to save" in said
    assert best_in_short(later).startswith("Best 2 on 2027-04-01: C1, C2")
    held = BestTold(BestCasks(2, found, with_held=True))
    assert "`session next`" not in " ".join(best_words(held))


@pytest.mark.slow
def test_a_plan_without_glasses_is_refused(house: Store) -> None:
    from panel.errors import PlanRefused
    from panel.questions.next_plan import plan_of
    from panel.questions.next_session import next_session
    from panel.questions.next_wanted import NextWanted

    with house.read() as db:
        wanted = NextWanted(target="Fen", best=2)
        answer = next_session(db, wanted, as_of=TODAY)
        plan = plan_of(db, answer, "Monday", held_on=TODAY)
        assert isinstance(plan, SessionPlan)
        assert plan.reference == "REF-1"
        assert plan.descriptors == ("ember",), "the other lines of the target are only tasted"
        tasted = plan_of(db, answer, "Monday", held_on=TODAY, manner=Manner.TASTE)
        assert set(tasted.descriptors) == set(NOTES)
        none = replace(answer, found=replace(answer.found, glasses=()))
        with pytest.raises(PlanRefused, match="No glass"):
            plan_of(db, none, "Monday", held_on=TODAY)


def test_what_is_poured_twice_is_told_to_nobody_without_a_pin(house: Store, oakpanel: Call) -> None:
    assert oakpanel("session", "next", "Fen", "--best", "2", "--plan", "spring").code == 0
    seen = oakpanel("session", "show", "spring")
    assert seen.code == 0
    refused = oakpanel("session", "show", "spring", "--pours")
    assert refused.code == 1
    assert "PIN" in refused.err
    assert refused.out == ""
