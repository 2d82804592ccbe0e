"""A plan's casks kept and proposed: what is held."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass, field, replace
from datetime import date
from math import inf
from types import SimpleNamespace
from typing import Any

import pytest
from sqlalchemy.orm import Session

from analysis.bars import Marks
from panel.errors import NotAllowed, NotInStock, ReleaseError, UnknownRecord
from panel.frames.bars import facts_of
from panel.questions.plan_since import Since, changed_since
from panel.records.plan_names_taken import FROM_PLAN
from panel.release.from_plan import FromPlan, drop_plan, keep_plan, planned_proposal
from panel.release.propose import ChanceSince
from panel.store.casks import Filling
from panel.store.engine import Store
from panel.store.stock_plans import PlannedRelease, StoredPlan
from panel.store.targets import StoredTarget
from panel.words.plan_words import chance_since_words
from tests.release.bare import NOW, TODAY, add_release, build_bare, last_act

STEP: Any = {"on": TODAY, "now": NOW, "by": "BL"}
MIX: Any = {"volume_ml": 100.0, "as_of": TODAY, "now": NOW, "by": "BL"}


@pytest.fixture
def house(store: Store) -> Store:
    build_bare(store)
    with store.write() as db:
        fen = db.query(StoredTarget).one()
        plan = StoredPlan(name="Years", limits=None, releases=[], parts=[])
        for place, year in ((1, 2027), (2, 2026)):
            told = {"name": f"Fen {year}", "year": year, "bottles": 100, "abv": 46.0}
            plan.releases.append(PlannedRelease(place=place, target=fen, **told))
        db.add(plan)
    return store


def chosen(*releases: tuple[str, dict[str, float]], changed: tuple[str, ...] = ()) -> Any:
    made = []
    for name, litres in releases:
        parts = [SimpleNamespace(filling=f"{c}/1", litres=given) for c, given in litres.items()]
        mixture = SimpleNamespace(parts=parts) if litres else None
        made.append(SimpleNamespace(name=name, mixture=mixture, probability=0.6))
    found = SimpleNamespace(releases=made, joint=0.5, bound=1.5, gap=0.25)
    return SimpleNamespace(plan="Years", changed=changed, found=found)


def parts_of(db: Session) -> list[tuple[int, str, float]]:
    plan = db.query(StoredPlan).one()
    found = [(part.place, part.filling.cask.number, part.litres) for part in plan.parts]
    return sorted(found)


def test_the_casks_of_a_plan_are_kept_by_place_with_what_lay_in_them(house: Store) -> None:
    """A filling that is only expected, and a release that is not in the plan, keep nothing."""
    two = chosen(("Fen 2027", {"X1": 40.0, "Z9": 5.0}), ("Fen 2026", {"X2": 30.0}), ("Moor", {}))
    with house.write() as db:
        keep_plan(db, chosen(("Fen 2027", {"X3": 10.0}), ("Moor", {"X1": 9.0})), **STEP)
        assert parts_of(db) == [(1, "X3", 10.0)]
        plan = keep_plan(db, two, **STEP)
        assert parts_of(db) == [(1, "X1", 40.0), (2, "X2", 30.0)]
        assert plan.kept_on == TODAY
        assert json.loads(plan.found_json or "") == {
            **{"joint": 0.5, "bound": 1.5, "gap": 0.25},
            "chances": {"Fen 2027": 0.6, "Fen 2026": 0.6, "Moor": 0.6},
            "agreed_then": [],
        }
        assert "stock plan kept" in last_act(db)
        held = [(part.held_l, part.abv) for part in plan.parts]
        assert held == [(190.0, 60.0)] * 2  # as filled: nothing was gauged since


def test_a_plan_is_kept_as_it_is_recorded_by_a_blender_and_not_ahead(house: Store) -> None:
    with house.write() as db:
        with pytest.raises(ReleaseError, match="bottles is not what plan Years says"):
            keep_plan(db, chosen(changed=("bottles",)), **STEP)
        with pytest.raises(ReleaseError, match="is after today"):
            keep_plan(db, chosen(), **{**STEP, "on": date(2026, 3, 15)})
        with pytest.raises(NotAllowed):
            keep_plan(db, chosen(), **{**STEP, "by": "LD"})


@dataclass(frozen=True)
class Proposed:
    """What is proposed, as far as it is looked at here."""

    document: dict[str, Any]
    mixture: Any = field(
        default_factory=lambda: SimpleNamespace(told_probability=None, told_probability_se=None)
    )
    since_kept: Any = None


def test_a_hold_older_than_the_keeping_is_agreed_by_naming_the_cask(
    house: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A cask that nobody named, and a hold or leak that came later, stay what has changed."""
    monkeypatch.setattr("panel.release.propose.from_litres", lambda *_, **__: Proposed({}))
    two = chosen(("Fen 2027", {"X1": 40.0}), ("Fen 2026", {"X2": 30.0}))
    with house.write() as db:
        plan = db.query(StoredPlan).one()
        plan.releases[0].limits = "with X1"
        named, other = (db.query(Filling).filter_by(label=f"X{n}/1").one() for n in (1, 2))
        named.hold_reason = other.hold_reason = "damp cellar"
        db.flush()
        keep_plan(db, two, **STEP)
        (kept,) = json.loads(plan.found_json or "")["agreed_then"]
        assert (kept["cask"], kept["hold_reason"]) == (
            "X1",
            "damp cellar",
        )  # erasing goes there too
        found = planned_proposal(db, FromPlan("Years", "Fen 2027"), as_of=TODAY)
        assert found.document == {FROM_PLAN: "Years"}
        with pytest.raises(NotInStock, match="Cask X2, meant for Fen 2026, is on hold: damp"):
            planned_proposal(db, FromPlan("Years", "Fen 2026"), as_of=TODAY)
        named.hold_reason = "sold"
        db.flush()
        with pytest.raises(NotInStock, match="Cask X1, meant for Fen 2027, is on hold: sold"):
            planned_proposal(db, FromPlan("Years", "Fen 2027"), as_of=TODAY)
        keep_plan(db, two, **STEP)
        found = planned_proposal(db, FromPlan("Years", "Fen 2027"), as_of=TODAY)
        assert found.document == {FROM_PLAN: "Years"}


MARKED = "has sulphur marked by 2 assessors in session March"


@pytest.mark.parametrize(
    ("later", "said"),
    [
        ({"owner": "Mill Trust"}, "belongs to Mill Trust"),
        ({"marks": (Marks(("sulphur",), 2, "March"),)}, MARKED),
        (
            {"topped_on": TODAY, "nosed_before_topping": True},
            "was nosed before its topping of 2026-03-14: draw it again",
        ),
    ],
    ids=["of another owner", "marked for a fault", "topped"],
)
def test_naming_a_cask_in_a_plan_agrees_to_nothing_that_came_later(
    house: Store, monkeypatch: pytest.MonkeyPatch, later: dict[str, Any], said: str
) -> None:
    """Whatever bars it: also a fault marked on a cask whose hold was agreed to."""
    monkeypatch.setattr("panel.release.propose.from_litres", lambda *_, **__: Proposed({}))
    came: dict[str, Any] = {}

    def facts_then(*given: Any, **more: Any) -> Any:
        facts = facts_of(*given, **more)
        return replace(facts, **came) if came and given[0].cask == "X1" else facts

    monkeypatch.setattr("panel.frames.bars.facts_of", facts_then)
    asked = FromPlan("Years", "Fen 2027")
    with house.write() as db:
        plan = db.query(StoredPlan).one()
        plan.releases[0].limits = "with X1"
        db.query(Filling).filter_by(label="X1/1").one().hold_reason = "damp cellar"
        db.flush()
        keep_plan(db, chosen(("Fen 2027", {"X1": 40.0})), **STEP)
        planned_proposal(db, asked, as_of=TODAY)
        came.update(later)
        (told,) = changed_since(db, plan, as_of=TODAY)
        whole = f"Cask X1, meant for Fen 2027, {said}."
        assert (told.cask, told.what, told.sentence) == ("X1", Since.BARRED, whole)
        with pytest.raises(NotInStock, match=re.escape(whole)):
            planned_proposal(db, asked, as_of=TODAY)
        keep_plan(db, chosen(("Fen 2027", {"X1": 40.0})), **STEP)
        planned_proposal(db, asked, as_of=TODAY)


def test_what_was_kept_for_a_year_is_proposed_for_its_day(
    house: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nine tenths of what lay in a cask mean the whole of it: it loses some until its year."""
    asked: list[tuple[Any, ...]] = []

    def proposed(*given: Any, **_more: Any) -> Proposed:
        asked.append(given[1:])
        return Proposed({"casks": 2})

    monkeypatch.setattr("panel.release.propose.from_litres", proposed)
    with house.write() as db:
        held = keep_plan(db, chosen(("Fen 2027", {"X1": 1.0})), **STEP).parts[0].held_l
        litres = {"X1": 0.91 * held, "X2": 0.89 * held}
        keep_plan(db, chosen(("Fen 2027", litres), ("Fen 2026", {"X3": 10.0})), **STEP)
        for name in ("Fen 2027", "Fen 2026"):
            found = planned_proposal(db, FromPlan("Years", name), as_of=TODAY)
            assert found.document == {"casks": 2, FROM_PLAN: "Years"}
        (aim, limits, given), (_, sooner, other) = asked
        assert (aim, given) == ("Fen", {"X1": inf, "X2": litres["X2"]})
        assert other == {"X3": 10.0}
        assert (limits.bottling_on, sooner.bottling_on) == (date(2027, 6, 30), date(2026, 6, 30))
        with pytest.raises(UnknownRecord, match="no release 'Fen 2028'"):
            planned_proposal(db, FromPlan("Years", "Fen 2028"), as_of=TODAY)
        keep_plan(db, chosen(("Fen 2026", {"X3": 10.0})), **STEP)
        with pytest.raises(ReleaseError, match="No casks are kept for Fen 2027"):
            planned_proposal(db, FromPlan("Years", "Fen 2027"), as_of=TODAY)


@pytest.mark.parametrize(
    ("then", "now", "error", "told"),
    [
        (0.6, 0.589, 0.003, True),
        (0.6, 0.592, 0.001, False),
        (0.6, 0.575, 0.01, False),
        (0.6, 0.8, 0.01, True),
        (0.6, None, None, False),
        (None, 0.8, 0.01, False),
    ],
)
def test_a_chance_that_is_another_since_the_plan_was_kept_is_told_then_and_now(
    house: Store,
    monkeypatch: pytest.MonkeyPatch,
    then: float | None,
    now: float | None,
    error: float | None,
    told: bool,
) -> None:
    """What the draws of both may differ by of themselves is no other chance."""
    mixture = SimpleNamespace(told_probability=now, told_probability_se=error)
    monkeypatch.setattr("panel.release.propose.from_litres", lambda *_, **__: Proposed({}, mixture))
    kept = chosen(("Fen 2027", {"X1": 40.0}))
    kept.found.releases[0].probability = then
    with house.write() as db:
        keep_plan(db, kept, **STEP)
        found = planned_proposal(db, FromPlan("Years", "Fen 2027"), as_of=TODAY)
    assert (found.since_kept is not None) == told
    if told and then is not None and now is not None:
        assert found.since_kept == ChanceSince("Years", TODAY, then, now)
        assert chance_since_words(ChanceSince("Years", TODAY, 0.6, 0.8)) == (
            "When plan Years was kept on 2026-03-14, its chance was 60 in 100; with the same casks "
            "it is 80 in 100 now."
        )


def test_a_cask_that_another_release_took_since_is_told(house: Store) -> None:
    with house.write() as db:
        keep_plan(db, chosen(("Fen 2027", {"X1": 40.0}), ("Fen 2026", {"X2": 10.0})), **STEP)
        held = db.query(StoredPlan).one().parts[0].held_l
        add_release(db, "Taken", ("X1", held))
    with house.read() as db, pytest.raises(NotInStock, match="Fen 2027 cannot be made as plan"):
        planned_proposal(db, FromPlan("Years", "Fen 2027"), as_of=TODAY)


def test_one_release_of_a_plan_goes_with_its_casks_or_the_whole_plan(house: Store) -> None:
    with house.write() as db:
        keep_plan(db, chosen(("Fen 2027", {"X1": 40.0}), ("Fen 2026", {"X2": 10.0})), **STEP)
        with pytest.raises(NotAllowed):
            drop_plan(db, "Years", **{**STEP, "by": "LD"})
        with pytest.raises(UnknownRecord):
            drop_plan(db, "Years", release="Fen 2028", **STEP)
        drop_plan(db, "Years", release="Fen 2027", **STEP)
        assert parts_of(db) == [(2, "X2", 10.0)]
        assert [one.name for one in db.query(StoredPlan).one().releases] == ["Fen 2026"]
        assert '"release":"Fen 2027"' in last_act(db)
        drop_plan(db, "Years", **STEP)
        assert db.query(StoredPlan).count() == 0
        assert '"release"' not in last_act(db)
