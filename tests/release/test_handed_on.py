"""What a step of a release hands on to the next: casks, strengths, limits and rules, by name."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from math import inf
from types import SimpleNamespace
from typing import Any

import pytest

from analysis.bars import Bar
from analysis.target import Target, TargetLine
from analysis.vatting import Limits, NoteBefore
from panel.errors import ReleaseError
from panel.release import batch, doubts
from panel.release.batch import batch_before
from panel.release.doubts import still_agreed
from panel.release.given import Given
from panel.release.holding import Agreed
from panel.release.outcome import MEASURED, as_given
from panel.release.propose import _all_of_it, from_answer
from panel.release.recipe import BenchPart, _chance
from panel.store.engine import Store
from tests.houses.stocks import stock_of
from tests.release.bare import FIRST, TODAY, add_release, build_bare

LIMITS = Limits(bottles=985)
FEN = Target("Fen", (TargetLine("smoke", 40.0, 6.0), TargetLine("wax", 10.0, 4.0)))
NONE: Any = None


@pytest.fixture
def house(store: Store) -> Store:
    build_bare(store)
    return store


def answer_of(target: str = "Fen") -> Any:
    mixture = SimpleNamespace(to_dict=lambda: {"casks": 1})
    plan = SimpleNamespace(answers=(), mixture=mixture, target=target)
    return SimpleNamespace(plan=plan, limits=LIMITS, to_dict=lambda: {"kept": 5}, found=plan)


def test_rules_of_mixing_go_with_a_proposal() -> None:
    assert from_answer(answer_of()).exponents == {}
    assert from_answer(answer_of(), 1, {"smoke": 0.5}).exponents == {"smoke": 0.5}
    assert from_answer(answer_of("Moor")).target == "Moor"


@pytest.mark.parametrize(
    ("cask", "litres", "taken"),
    [
        ("C001", 50.0, 50.0),
        ("C001", inf, 150.0),
        ("C001", 150.04, 150.0),
        ("C001", 149.96, 150.0),
        ("C001", 150.2, 150.2),
        ("Z", 50.0, 50.0),
        ("Z", inf, inf),
    ],
)
def test_all_of_a_cask_is_what_its_records_say(cask: str, litres: float, taken: float) -> None:
    stock = stock_of(2, bulk_l=[100.0, 150.0])
    assert _all_of_it(stock, cask, litres) == taken


def test_casks_that_gave_are_as_they_gave() -> None:
    """What was poured is known; a cask that gave more than its records held had it."""
    known: dict[str, Any] = {name: [0.02, 0.03, 0.04] for name in MEASURED}
    ends: dict[str, Any] = {"abv_low": [57.0] * 3, "abv_high": [59.0] * 3}
    ends |= {"bulk_low": [90.0] * 3, "bulk_high": [110.0] * 3}
    stock = stock_of(
        3, bulk_l=[100.0] * 3, abv=[58.0] * 3, gauge_age_years=[5.0] * 3, **known, **ends
    )
    given = {"C000": Given(80.0, 57.5), "C001": Given(104.0, 60.0)}
    found = as_given(stock, given, set()).casks.set_index("cask")
    assert found["bulk_l"].tolist() == [100.0, 104.0, 100.0]
    assert found["abv"].tolist() == [57.5, 60.0, 58.0]
    assert found["gauge_age_years"].tolist() == [0.0, 0.0, 5.0]
    for at, name in enumerate(MEASURED):
        assert found[name].tolist() == [0.0, 0.0, 0.04], at
    for end in ("low", "high"):
        assert found[f"bulk_{end}"].tolist()[:2] == [100.0, 104.0]
        assert found[f"abv_{end}"].tolist()[:2] == [57.5, 60.0]
    assert found["bulk_low"].iloc[2] == 90.0
    emptied = as_given(stock, given, {"C000"}).casks.set_index("cask")
    assert emptied["bulk_l"].tolist() == [80.0, 104.0, 100.0]
    assert stock.casks["bulk_l"].tolist() == [100.0] * 3, "the stock itself stays"


@pytest.mark.parametrize("disgorged", [False, True])
def test_the_chance_of_a_bench_blend_is_that_of_what_is_poured(
    monkeypatch: pytest.MonkeyPatch, disgorged: bool
) -> None:
    asked: list[Any] = []
    stock = SimpleNamespace(stock="the house's", rule="its rule")

    def given(of: object, poured: object, emptied: object) -> str:
        asked.append((of, poured, emptied))
        return "as poured"

    def tried(*told: object) -> Any:
        asked.append(told)
        return SimpleNamespace(mixture=SimpleNamespace(probability=0.3))

    monkeypatch.setattr("panel.release.outcome.as_given", given)
    monkeypatch.setattr("panel.release.planned.limits_of", lambda _: LIMITS)
    monkeypatch.setattr("panel.release.planned.stock_for", lambda *_, **__: ("Fen", stock))
    monkeypatch.setattr("analysis.vatting.try_shares", tried)
    parts = (BenchPart("X1", "X1/1", 60.0, 58.0), BenchPart("X2", "X2/1", 40.0, 61.0))
    release: Any = SimpleNamespace(disgorged_on=TODAY if disgorged else None)
    assert _chance(NONE, release, parts, TODAY, None) == 0.3
    litres = {"X1": 0.06, "X2": 0.04}
    told: Any = ("as poured" if disgorged else "the house's", litres, "Fen", LIMITS, "its rule")
    poured = {"X1": Given(0.06, 58.0), "X2": Given(0.04, 61.0)}
    assert asked == ([("the house's", poured, set()), told] if disgorged else [told])


def test_a_batch_before_is_as_nosed_else_as_it_was_reckoned(
    house: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    evening = SimpleNamespace(session="S1", nosing_abv_percent=22.0)
    nosed: Any = SimpleNamespace(sample="Winter-B1", evenings=(evening,))
    notes: tuple[NoteBefore, ...] = (NoteBefore("smoke", 41.0, 1.0),)
    told_notes = [notes]
    profile: Any = object()
    asked: list[Any] = []
    monkeypatch.setattr(batch, "bench_nosed", lambda *_, **__: nosed)

    def notes_of(*told: Any) -> tuple[NoteBefore, ...]:
        asked.append(told)
        return told_notes[0]

    monkeypatch.setattr("analysis.vatting.notes_found", notes_of)
    prediction = '{"prediction": [{"descriptor": "smoke", "estimate": 38.0, "sd": 2.0}]}'
    lot: dict[str, Any] = {"lot_code": "L1", "disgorged_on": FIRST, "signed_by": "LD"}
    with house.write() as db:
        release = add_release(db, "Winter", ("X1", 30.0), predicted_json=prediction, **lot)
        found = batch_before(db, release, FEN, as_of=TODAY, profile=profile)
        assert asked == [(profile, "Winter-B1", ["smoke", "wax"])]
        assert (found.lot, found.release, found.sample) == ("L1", "Winter", "Winter-B1")
        assert (found.notes, found.sessions) == (notes, ("S1",))
        assert (found.nosing_abv_percent, found.only_proposed) == (22.0, False)
        assert found.other_target is None
        told_notes[0] = ()
        reckoned = batch_before(db, release, FEN, as_of=TODAY, profile=profile)
        assert (reckoned.lot, reckoned.release, reckoned.sample) == ("L1", "Winter", None)
        assert [note.descriptor for note in reckoned.notes] == ["smoke"]
        release.lot_code, release.disgorged_on = None, None
        moor = batch_before(db, release, replace(FEN, name="Moor"), as_of=TODAY, profile=profile)
        assert (moor.lot, moor.only_proposed, moor.other_target) == ("Winter", True, "Fen")
        release.predicted_json = None
        with pytest.raises(ReleaseError, match="Nothing is known of the notes of Winter"):
            batch_before(db, release, FEN, as_of=TODAY, profile=profile)


def test_what_was_agreed_counts_for_the_casks_that_gave(monkeypatch: pytest.MonkeyPatch) -> None:
    bar, other = list(Bar)[:2]
    now = Agreed("A", other, "A is held now.")
    monkeypatch.setattr(
        doubts, "agreed_by_name", lambda cask, _lying, _limits: [now] if cask == "A" else []
    )
    casks: list[Any] = [
        SimpleNamespace(cask="A", given_litres=30.0, lying=object(), planned=None),
        SimpleNamespace(cask="B", given_litres=0.0, lying=object(), planned=None),
        SimpleNamespace(cask="C", given_litres=5.0, lying=None, planned=None),
    ]
    before = [{"cask": cask, "bar": bar.value, "sentence": f"{cask}, then."} for cask in "ABC"]
    found = list(still_agreed({"agreed": before}, casks, LIMITS))
    assert found == [Agreed("A", bar, "A, then."), Agreed("C", bar, "C, then."), now]
    assert list(still_agreed({}, casks[1:], LIMITS)) == []


@pytest.mark.parametrize(
    ("day", "bottling"), [(date(2026, 6, 29), date(2026, 6, 30)), (date(2026, 6, 30), None)]
)
def test_a_planned_day_that_has_come_is_no_day_ahead(
    house: Store, monkeypatch: pytest.MonkeyPatch, day: date, bottling: date | None
) -> None:
    from panel.release import from_plan

    asked: list[Any] = []
    part = SimpleNamespace(
        place=1,
        litres=10.0,
        held_l=100.0,
        filling=SimpleNamespace(cask=SimpleNamespace(number="X")),
    )
    line = SimpleNamespace(release="Fen 2026", year=2026, target="Fen")
    plan = SimpleNamespace(
        name="Years", parts=[part], releases=[SimpleNamespace(name="Fen 2026", place=1)]
    )

    def proposed(*told: Any, **_: Any) -> Any:
        asked.append(told[2].bottling_on)
        return replace(from_answer(answer_of()), document={})

    monkeypatch.setattr("panel.release.propose.from_litres", proposed)
    for name, given in (
        ("stored_plan", lambda *_: plan),
        ("_line", lambda *_: line),
        ("changed_since", lambda *_, **__: []),
        ("line_limits", lambda _: LIMITS),
        ("_chance_since", lambda *_: None),
    ):
        monkeypatch.setattr(from_plan, name, given)
    from_plan.planned_proposal(NONE, from_plan.FromPlan("Years", "Fen 2026"), as_of=day)
    assert asked == [bottling]
