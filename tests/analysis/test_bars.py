"""May a filling be used: every bar, for every purpose, with and without what was agreed to."""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import replace
from datetime import date
from itertools import product
from pathlib import Path

import pytest

from analysis.bar_words import flagged, said, sentence, told
from analysis.bars import (
    ASKED,
    NOTHING_AGREED,
    Allowed,
    Bar,
    Barred,
    BarRules,
    FillingFacts,
    Marks,
    Purpose,
    Status,
    bars_of,
    forbidding,
    measured,
    status_of,
)

ROOT = Path(__file__).parents[2]
SOUND = FillingFacts(bulk_litres=180.0, abv_percent=58.0, gauge_age_years=2.0)
RULES = BarRules(legal_abv_percent=40.0, gauge_most_years=3.0)
MARKED = Marks(("mould or cork",), 2, "EV3")
SINCE = date(2025, 3, 1)
FACTS = {
    Bar.GONE: replace(SOUND, gone=True, gone_on=SINCE, leaking=True, owner="Mill Trust"),
    Bar.EMPTY: replace(SOUND, bulk_litres=0.0),
    Bar.UNGAUGED: replace(SOUND, abv_percent=None),
    Bar.TWO_FILLINGS: replace(SOUND, others=("C8/1",)),
    Bar.LEAKING: replace(SOUND, leaking=True, leaking_since=SINCE),
    Bar.TOPPED: replace(SOUND, topped_on=SINCE, nosed_before_topping=True),
    Bar.HOLD: replace(SOUND, on_hold=True, hold_reason="damp cellar"),
    Bar.FAULT: replace(SOUND, on_hold=True, hold_reason="mould", marks=(MARKED,)),
    Bar.OWNER: replace(SOUND, owner="Mill Trust"),
    Bar.GAUGE: replace(SOUND, gauge_age_years=3.1),
    Bar.STRENGTH: replace(SOUND, abv_percent=39.9),
    Bar.WEAKENS: replace(
        SOUND, abv_percent=40.4, weak_from=date(2027, 5, 11), used_on=date(2028, 6, 1)
    ),
    Bar.RESERVED: replace(SOUND, reserved_litres=180.0, reserved_for=("Spring",)),
    Bar.PARTLY_RESERVED: replace(SOUND, reserved_litres=50.0, reserved_for=("Spring",)),
}
ALWAYS = {"nose", "match", "like", "vat", "bottle"}
# Written out by hand: which uses each bar forbids, and whether asking by name lifts it.
TABLE = {
    Bar.GONE: ({"nose", "match", "vat", "bottle"}, False),
    Bar.EMPTY: ({"nose", "match", "vat", "bottle"}, False),
    Bar.UNGAUGED: ({"vat", "bottle"}, False),
    Bar.TWO_FILLINGS: (ALWAYS, False),
    Bar.LEAKING: ({"match", "like", "vat", "bottle"}, True),
    Bar.TOPPED: ({"match", "like", "vat", "bottle"}, True),
    Bar.HOLD: ({"match", "vat", "bottle"}, True),
    Bar.FAULT: ({"match", "vat", "bottle"}, True),
    Bar.OWNER: ({"match", "vat", "bottle"}, True),
    Bar.GAUGE: ({"bottle"}, False),
    Bar.STRENGTH: ({"bottle"}, False),
    Bar.WEAKENS: ({"match", "vat", "bottle"}, True),
    Bar.RESERVED: ({"match", "vat", "bottle"}, False),
    Bar.PARTLY_RESERVED: ({"vat", "bottle"}, False),
}


def kinds(bars: tuple[Barred, ...]) -> set[Bar]:
    return {each.bar for each in bars}


@pytest.mark.parametrize("bar", Bar)
def test_the_facts_make_the_bar_and_no_other(bar: Bar) -> None:
    beside = {Bar.HOLD} if bar is Bar.FAULT else set()
    assert kinds(bars_of(FACTS[bar], RULES)) == {bar} | beside
    assert bars_of(SOUND, RULES) == ()


@pytest.mark.parametrize(("bar", "purpose"), product(Bar, Purpose))
def test_what_forbids_which_use_and_what_lifts_it(bar: Bar, purpose: Purpose) -> None:
    bars = bars_of(FACTS[bar], RULES)
    uses, by_name = TABLE[bar]
    forbids = purpose.value in uses
    assert (bar in kinds(forbidding(bars, purpose))) is forbids
    assert (bar in kinds(forbidding(bars, purpose, ASKED))) is (forbids and not by_name)
    one = Allowed(bars=frozenset({bar}))
    assert bar not in kinds(forbidding(bars, purpose, one))
    other = Allowed(bars=frozenset(Bar) - {bar}, owners=frozenset({"Reed House"}))
    assert (bar in kinds(forbidding(bars, purpose, other))) is forbids
    owner = Allowed(owners=frozenset({"Mill Trust"}))
    lifted = bar is Bar.OWNER
    assert (bar in kinds(forbidding(bars, purpose, owner))) is (forbids and not lifted)


def test_every_reason_is_told_at_once() -> None:
    facts = replace(
        FACTS[Bar.FAULT],
        leaking=True,
        nosed_before_topping=True,
        owner="Mill Trust",
        others=("C8/1",),
        reserved_litres=180.0,
        gauge_age_years=9.0,
        abv_percent=39.0,
        weak_from=date(2024, 1, 1),
        used_on=date(2025, 3, 1),
    )
    expected = set(Bar) - {Bar.GONE, Bar.EMPTY, Bar.UNGAUGED, Bar.PARTLY_RESERVED}
    assert kinds(bars_of(facts, RULES)) == expected
    against = forbidding(bars_of(facts, RULES), Purpose.VAT)
    assert [each.bar for each in against] == [
        *(Bar.TWO_FILLINGS, Bar.HOLD, Bar.FAULT, Bar.LEAKING, Bar.TOPPED, Bar.OWNER),
        *(Bar.WEAKENS, Bar.RESERVED),
    ]


def test_marks_of_fault_bar_until_the_lead_lifts_the_hold() -> None:
    lifted = replace(FACTS[Bar.FAULT], on_hold=False, hold_reason=None)
    assert bars_of(lifted, RULES) == ()


def test_rules_that_are_not_in_force_bar_nothing() -> None:
    old_and_weak = replace(SOUND, abv_percent=39.9, gauge_age_years=30.0)
    assert bars_of(old_and_weak) == ()
    assert kinds(bars_of(old_and_weak, RULES)) == {Bar.GAUGE, Bar.STRENGTH}
    at_the_limit = replace(SOUND, abv_percent=40.0, gauge_age_years=3.0)
    assert bars_of(at_the_limit, RULES) == ()


def test_a_cask_poured_and_measured_no_longer_rests_on_its_records() -> None:
    facts = replace(FACTS[Bar.LEAKING], bulk_litres=0.0, abv_percent=None, gauge_age_years=9.0)
    assert kinds(measured(bars_of(facts, RULES))) == {Bar.LEAKING}


def test_litres_nobody_was_promised() -> None:
    assert SOUND.free_litres == 180.0
    assert FACTS[Bar.PARTLY_RESERVED].free_litres == 130.0
    assert replace(SOUND, reserved_whole=True).free_litres == 0.0
    assert kinds(bars_of(replace(SOUND, reserved_whole=True))) == {Bar.RESERVED}


@pytest.mark.parametrize(
    ("bars", "status"),
    [
        ((Bar.GONE,), Status.EMPTIED),
        ((Bar.HOLD, Bar.LEAKING, Bar.RESERVED), Status.LEAKING),
        ((Bar.HOLD, Bar.PARTLY_RESERVED), Status.ON_HOLD),
        ((Bar.OWNER, Bar.PARTLY_RESERVED), Status.RESERVED),
        ((Bar.OWNER, Bar.GAUGE), Status.NOT_OURS),
        ((Bar.GAUGE,), Status.FILLED),
        ((), Status.FILLED),
    ],
)
def test_one_word_for_a_list(bars: tuple[Bar, ...], status: Status) -> None:
    assert status_of(tuple(Barred(bar, SOUND) for bar in bars)) is status


WORDS = {
    Bar.GONE: ("emptied on 2025-03-01", "Cask C8 is emptied on 2025-03-01."),
    Bar.EMPTY: ("nothing in it", "Cask C8 holds nothing."),
    Bar.LEAKING: ("leaking since 2025-03-01", "Cask C8 has leaked since 2025-03-01."),
    Bar.TOPPED: (
        "nosed before its topping of 2025-03-01",
        "Cask C8 was nosed before its topping of 2025-03-01: draw it again.",
    ),
    Bar.HOLD: ("on hold: damp cellar", "Cask C8 is on hold: damp cellar."),
    Bar.OWNER: ("belongs to Mill Trust", "Cask C8 belongs to Mill Trust."),
    Bar.GAUGE: ("litres and strength are 3.1 years old", "Cask C8 was gauged 3.1 years ago."),
    Bar.RESERVED: ("reserved for release Spring", "Cask C8 is reserved for release Spring."),
    Bar.PARTLY_RESERVED: (
        *("50 L reserved for release Spring", "Cask C8 has 50 L reserved for release Spring."),
    ),
    Bar.FAULT: (
        "mould or cork marked by 2 assessors in session EV3",
        "Cask C8 has mould or cork marked by 2 assessors in session EV3.",
    ),
    Bar.STRENGTH: (
        "39.9 % vol at the last gauge, below the legal 40 %",
        "Cask C8 has 39.9 % vol at the last gauge, below the legal 40 %.",
    ),
    Bar.WEAKENS: (
        "40.4 % vol at the last gauge, and by its loss below the legal 40 % from about 2027-05-11",
        "Cask C8 has 40.4 % vol at the last gauge, and by its loss below the legal 40 % from "
        "about 2027-05-11.",
    ),
}


@pytest.mark.parametrize("bar", Bar)
def test_a_bar_is_said_with_its_facts(bar: Bar) -> None:
    barred = next(each for each in bars_of(FACTS[bar], RULES) if each.bar is bar)
    if bar in WORDS:
        assert (said(barred), sentence("C8", barred)) == WORDS[bar]
    assert flagged(barred).startswith(said(barred))
    assert sentence("[/x]", barred).startswith("Cask [/x] ")
    assert sentence("C8", barred).endswith(".")


def test_several_bars_make_one_reason() -> None:
    facts = replace(FACTS[Bar.OWNER], leaking=True)
    against = forbidding(bars_of(facts), Purpose.MATCH, NOTHING_AGREED)
    assert told(against) == (
        "belongs to Mill Trust: not to be used unasked; leaking, no repair recorded"
    )


def test_a_list_that_asks_waits_for_no_numbers() -> None:
    program = "import json, sys\nimport analysis.bar_words\nprint(json.dumps(sorted(sys.modules)))"
    ended = subprocess.run(
        [sys.executable, "-c", program],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    loaded = {name.partition(".")[0] for name in json.loads(ended.stdout)}
    plain = subprocess.run(
        [sys.executable, "-c", "import json, sys; print(json.dumps(sorted(sys.modules)))"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    before = {name.partition(".")[0] for name in json.loads(plain.stdout)}
    assert loaded - before - set(sys.stdlib_module_names) == {"analysis"}


def test_a_cask_that_was_never_gauged_is_not_told_of_a_gauge() -> None:
    facts = FillingFacts(180.0, 58.0, gauge_age_years=3.1, never_gauged=True)
    barred = next(each for each in bars_of(facts, RULES) if each.bar is Bar.GAUGE)
    assert said(barred) == "never gauged, litres and strength are 3.1 years old"
