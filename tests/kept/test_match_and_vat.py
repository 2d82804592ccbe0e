"""A match and a vatting that are kept are what is reckoned, and nothing they rest on is missed."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date, timedelta
from types import SimpleNamespace
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

import analysis.on_stock.matching as matching
import analysis.vatting.plan as planning
import panel.questions.matching as match_questions
import panel.questions.vatting as vat_questions
from analysis import on_stock, vatting
from analysis.profile import Profile
from analysis.target import Match
from analysis.vatting import Limits, NoVatting
from panel.kept import stock
from panel.kept.answers import note_fit
from panel.kinds import EventKind, ReleaseStatus, RuleKind
from panel.questions.matching import target_match
from panel.questions.profile import house_profile
from panel.questions.vatting import VatAnswer, house_vatting
from panel.store.casks import Filling, FillingEvent, Regauge
from panel.store.engine import Store
from panel.store.house_setting import HouseSetting
from panel.store.kept_files import place_of
from panel.store.lexicon import Descriptor
from panel.store.log import append_entry
from panel.store.mixing_notes import MixingNote
from panel.store.opening import open_store
from panel.store.releases import Release, ReleasePart
from panel.store.rule_sets import RuleLine, RuleSet
from panel.store.targets import StoredTarget
from tests.conftest import FIXED_NOW
from tests.houses.invented import PROFILES, invented_house

DAY = date(2026, 11, 20)
LATER = date(2027, 6, 1)
QUICK = Limits(bottles=600)
Edit = Callable[[Session], None]


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    opened = open_store(invented_house(tmp_path_factory.mktemp("kept")))
    yield opened
    opened.close()


@pytest.fixture(autouse=True)
def large(monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep the frames of this stock too, as those of a large one are."""
    monkeypatch.setattr(stock, "WORTH_KEEPING", 100)


@pytest.fixture
def reckoned(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What was reckoned and not read."""
    made: list[str] = []

    def counted(kind: str, reckon: Callable[..., Any]) -> Callable[..., Any]:
        def told(*given: Any, **more: Any) -> Any:
            made.append(kind)
            return reckon(*given, **more)

        return told

    monkeypatch.setattr(on_stock, "match_stock", counted("match", matching.match_stock))
    monkeypatch.setattr(vatting, "plan_vatting", counted("vat", planning.plan_vatting))
    return made


@pytest.fixture
def asked_for(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What was asked to be reckoned, where only that counts: nothing is."""
    made: list[str] = []

    def match(*_: Any, **__: Any) -> Match:
        made.append("match")
        return Match("Lantern", f"{len(made)}", "", (), (), 0, None, None, None, 1)

    def plan(*_: Any, **__: Any) -> VatAnswer:
        made.append("vat")
        none = NoVatting("Lantern", f"{len(made)}", (), (), True, 0, {})
        return VatAnswer(none, QUICK, DAY, (), (), DAY)

    monkeypatch.setattr(on_stock, "match_stock", match)
    monkeypatch.setattr(match_questions, "notes_on", lambda *_, **__: None)
    monkeypatch.setattr(vat_questions, "house_stock", lambda *_, **__: SimpleNamespace(stock=None))
    monkeypatch.setattr(vat_questions, "lawful_limits", lambda _, limits: limits)
    monkeypatch.setattr(vat_questions, "all_asked", lambda _, limits: limits)
    monkeypatch.setattr(vat_questions, "_planned", plan)
    return made


def matched(store: Store, *, day: date = DAY, **more: Any) -> Any:
    with store.read() as db:
        asked = {"profile": known(db), **more}
        return target_match(db, "Lantern", as_of=day, **asked)


def planned(store: Store, *, limits: Limits = QUICK, day: date = DAY, **more: Any) -> VatAnswer:
    with store.read() as db:
        asked = {"in_full": False, "profile": known(db), **more}
        return house_vatting(db, "Lantern", limits, as_of=day, **asked)


def known(db: Session) -> Profile:
    """The house's profile, estimated once for all tests of a worker."""
    if DAY not in PROFILES:
        PROFILES[DAY] = house_profile(db, as_of=DAY)
    return note_fit(PROFILES[DAY], "a fit")


def foreign(store: Store) -> Profile:
    """The house's profile under no key: what is reckoned from it is never kept."""
    with store.read() as db:
        return replace(known(db))


@pytest.mark.slow
def test_a_match_is_read_as_it_was_reckoned(house: Store, reckoned: list[str]) -> None:
    first, second = matched(house, top=5), matched(house, top=5)
    assert reckoned == ["match"]
    assert first == second
    alone = matched(house, top=5, profile=foreign(house))
    assert alone == second
    assert repr(alone.to_dict()) == repr(second.to_dict())
    assert len(second.casks) == 5
    assert reckoned == ["match", "match"]


def test_a_vatting_is_read_as_it_was_reckoned(house: Store, reckoned: list[str]) -> None:
    first, second = planned(house), planned(house)
    assert reckoned == ["vat"]
    assert first == second
    alone = planned(house, profile=foreign(house))
    assert reckoned == ["vat", "vat"]
    assert said(alone) == said(second)
    assert second.plan.mixture.parts


@pytest.mark.slow
def test_prices_stand_ins_and_other_answers_are_kept(house: Store, reckoned: list[str]) -> None:
    asked: dict[str, Any] = {"in_full": True, "with_foretold": True}
    first, second = planned(house, **asked), planned(house, **asked)
    assert reckoned == ["vat"]
    assert first == second
    assert second.plan.prices
    assert second.plan.stand_ins
    assert second.plan.answers


def said(answer: VatAnswer) -> str:
    """All that an answer says but how long the solver took."""
    return re.sub(r"seconds': [^,}]*", "", repr(answer.to_dict()))


@pytest.mark.parametrize(
    "more",
    [
        {"day": DAY + timedelta(days=1)},
        {"bottling_on": LATER},
        {"top": 3},
        {"with_held": True},
        {"seed": 2},
    ],
)
def test_each_option_of_a_match_has_its_own(
    house: Store, asked_for: list[str], more: dict[str, Any]
) -> None:
    matched(house)
    asked_for.clear()
    found = matched(house, **more)
    assert asked_for == ["match"]
    assert found == matched(house, **more)
    assert asked_for == ["match"]


@pytest.mark.parametrize(
    "more",
    [
        {"day": DAY + timedelta(days=1)},
        {"limits": replace(QUICK, bottles=700)},
        {"limits": replace(QUICK, bottling_on=LATER)},
        {"with_held": True},
        {"exponents": {"plum stone": 0.8}},
        {"with_foretold": True},
        {"besides_release": "Nobody"},
        {"in_full": True},
    ],
)
def test_each_option_of_a_vatting_has_its_own(
    house: Store, asked_for: list[str], more: dict[str, Any]
) -> None:
    planned(house)
    asked_for.clear()
    found = planned(house, **more)
    assert asked_for == ["vat"]
    assert found == planned(house, **more)
    assert asked_for == ["vat"]


def first_filling(db: Session) -> Filling:
    return db.scalars(select(Filling).order_by(Filling.id)).first() or Filling()


def hold(db: Session) -> None:
    first_filling(db).hold_reason = "a second look"


def lift(db: Session) -> None:
    first_filling(db).hold_reason = None


def gauge(db: Session) -> None:
    on, filling = DAY - timedelta(days=3), first_filling(db)
    db.add(Regauge(filling=filling, gauged_on=on, bulk_l=90.0, abv=58.0, method="dipped"))


def leak(db: Session) -> None:
    kind, on = EventKind.LEAK_FOUND, DAY - timedelta(days=2)
    db.add(FillingEvent(filling=first_filling(db), kind=kind, happened_on=on))


def rule(db: Session) -> None:
    own = RuleSet(name="Own", in_force=True)
    own.lines.append(RuleLine(kind=RuleKind.MINIMUM_AGE, value=4.0, cites="the house"))
    db.add(own)


def setting(db: Session) -> None:
    db.add(HouseSetting(name="regauge_old_years", value="9"))


def reserve(db: Session) -> None:
    status = ReleaseStatus.PROPOSED
    kept = Release(name="Cinder", status=status, planned_on=DAY, proposed_by="M1", reason="-")
    kept.parts.append(ReleasePart(filling=first_filling(db), litres=20.0, whole=False))
    db.add(kept)


def aim(db: Session) -> None:
    stored = db.scalars(select(StoredTarget).where(StoredTarget.name == "Lantern")).one()
    stored.lines[0].tolerance += 1.0


def mixing(db: Session) -> None:
    note = db.scalars(select(Descriptor).order_by(Descriptor.name)).first()
    db.add(MixingNote(descriptor=note, exponent=0.7, source="bench", kept_on=DAY))


BOTH = ["match", "vat"]


@pytest.mark.parametrize(
    ("edit", "anew"),
    [
        *((each, BOTH) for each in (hold, lift, gauge, leak, rule, setting, reserve, aim)),
        (mixing, ["vat"]),
    ],
)
def test_each_record_that_they_rest_on_makes_them_anew(
    house: Store, asked_for: list[str], edit: Edit, anew: list[str]
) -> None:
    matched(house), planned(house)
    asked_for.clear()
    with house.write() as db:
        append_entry(db, at=FIXED_NOW, by="M1", action="signed in", details={})
    matched(house), planned(house)
    assert asked_for == []
    with house.write() as db:
        edit(db)
        append_entry(db, at=FIXED_NOW, by="M1", action="tried", details={})
    found = matched(house), planned(house)
    assert asked_for == anew
    assert found == (matched(house), planned(house))
    assert asked_for == anew


@pytest.mark.slow
def test_another_fit_makes_them_anew(house: Store, asked_for: list[str]) -> None:
    other = note_fit(foreign(house), "another fit")
    matched(house), planned(house)
    asked_for.clear()
    matched(house, profile=other), planned(house, profile=other)
    assert asked_for == BOTH


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["match", "vat", "search"])
def test_a_damaged_file_is_dropped_and_made_anew(
    house: Store, reckoned: list[str], kind: str
) -> None:
    first = matched(house, seed=7), planned(house, limits=replace(QUICK, bottles=650))
    files = [each for each in place_of(house.url).files() if f"-{kind}-" in each.name]
    assert files
    for each in files:
        content = bytearray(each.read_bytes())
        content[-20] ^= 0xFF
        each.write_bytes(bytes(content))
    if kind == "search":
        for other in BOTH:
            drop(house, other)
    reckoned.clear()
    second = matched(house, seed=7), planned(house, limits=replace(QUICK, bottles=650))
    assert reckoned == (BOTH if kind == "search" else [kind])
    assert first[0] == second[0]
    assert said(first[1]) == said(second[1])
    assert matched(house, seed=7) == first[0]


def drop(store: Store, kind: str) -> None:
    for each in place_of(store.url).files():
        if f"-{kind}-" in each.name:
            each.unlink()
