"""A plan's casks kept and proposed, and the blind check of a batch named and kept: what is held."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from datetime import date
from math import inf
from types import SimpleNamespace
from typing import Any

import pytest
from sqlalchemy.orm import Session

from analysis.agreement import PairAsked
from panel.errors import NotAllowed, NotInStock, OakpanelError, ReleaseError, UnknownRecord
from panel.kinds import GlassKind, ReleaseStatus, SessionStatus
from panel.records.plan_names_taken import FROM_PLAN
from panel.release import batch_check
from panel.release.batch import AsBatch
from panel.release.batch_check import (
    batch_of,
    check_samples,
    checked_batch,
    keep_found,
    name_check,
    too_little,
)
from panel.release.batch_steps import keep_batch
from panel.release.bench import mix_bench
from panel.release.from_plan import FromPlan, drop_plan, keep_plan, planned_proposal
from panel.release.propose import ChanceSince
from panel.store.batches import ReleaseBatch
from panel.store.casks import Filling
from panel.store.engine import Store
from panel.store.key import KeyRow
from panel.store.sessions import PanelSession
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
            "agreed": [],
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
        assert "damp" not in (plan.found_json or "")
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


@pytest.fixture
def batches(house: Store) -> Store:
    with house.write() as db:
        add_release(db, "Spring", ("X1", 30.0), ("X2", 30.0))
        add_release(db, "Winter", ("X1", 30.0), ("X3", 30.0))
        add_release(db, "Given up", ("X1", 30.0), status=ReleaseStatus.CANCELLED)
        keep_batch(db, "Spring", AsBatch("Winter", within_points=8.0))
    return house


def test_a_batch_follows_another_that_was_not_given_up(batches: Store) -> None:
    with batches.write() as db:
        assert batch_of(db, "Spring").before.name == "Winter"
        assert db.query(ReleaseBatch).one().within_points == 8.0
        for name, said in (("Given up", "was cancelled"), ("Winter", "is this one")):
            with pytest.raises(ReleaseError, match=said):
                keep_batch(db, "Winter", AsBatch(name, within_points=8.0))
        with pytest.raises(ReleaseError, match="follows no batch"):
            batch_of(db, "Winter")


def test_both_samples_of_a_check_must_be_at_hand(batches: Store) -> None:
    with batches.write() as db:
        with pytest.raises(ReleaseError, match="no bench blend of Spring"):
            check_samples(db, "Spring", on=TODAY)
        mix_bench(db, "Spring", **MIX)
        with pytest.raises(ReleaseError, match="No bench blend of Winter"):
            check_samples(db, "Spring", on=TODAY)
        with pytest.raises(UnknownRecord):
            check_samples(db, "Spring", on=TODAY, beside="Winter-B1")
        mix_bench(db, "Winter", **MIX)
        mix_bench(db, "Winter", **MIX)
        with pytest.raises(ReleaseError, match="the sample of the new batch itself"):
            check_samples(db, "Spring", on=TODAY, beside="Spring-B1")
        for beside, label in ((None, "Winter-B2"), ("Winter-B1", "Winter-B1")):
            pair = check_samples(db, "Spring", on=TODAY, beside=beside)
            assert [draw.label for draw in pair] == ["Spring-B1", label]
        pair[1].fate = "poured away"
        assert check_samples(db, "Spring", on=TODAY)[1].label == "Winter-B2"


def reveal(db: Session, name: str, *labels: str, status: SessionStatus, warm: bool = False) -> None:
    """Add a session that poured some samples."""
    evening = PanelSession(name=name, held_on=TODAY, status=status, loaded=True)
    db.add(evening)
    db.flush()
    ids = {draw.label: draw.id for draw in check_samples(db, "Spring", on=TODAY)}
    kind = GlassKind.WARM_UP if warm else GlassKind.TEST
    for code, label in enumerate(labels, 101):
        told = {"session_id": evening.id, "code": str(code), "kind": kind, "replicate": 1}
        db.add(KeyRow(draw_id=ids[label], **told))
    db.flush()


def plan_of(*draws: str) -> Any:
    return SimpleNamespace(name="CHK1", draws=draws)


def found_pair(*_given: object, **more: object) -> Any:
    note = SimpleNamespace(descriptor="smoke", difference=3.0, se=1.5, at_most=5.5)
    note.verdict = SimpleNamespace(word=SimpleNamespace(value="alike"))
    return SimpleNamespace(notes=(note,), verdict=note.verdict, asked=more)


def test_a_check_that_does_not_go_round_says_how_many_it_serves(batches: Store) -> None:
    """Small samples are told before the seal, with whom they serve; ample ones are not."""
    with batches.write() as db:
        mix_bench(db, "Spring", **{**MIX, "volume_ml": 5000.0})
        mix_bench(db, "Winter", **MIX)
        people = tuple(f"P{at}" for at in range(20))
        plan: Any = SimpleNamespace(
            draws=("Spring-B1", "Winter-B1"), held_on=TODAY, assessors=people, replicates=2
        )
        (said,) = too_little(db, plan)
        serves = int(said.removeprefix("Winter-B1 serves ").split()[0])
        assert 0 < serves < 20
        plan.assessors = people[:serves]
        assert too_little(db, plan) == ()


def test_a_check_is_named_before_and_kept_once(
    batches: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("panel.questions.two_casks.two_named_casks", found_pair)
    name: Any = {"now": NOW, "by": "BL"}
    with batches.write() as db:
        for release in ("Spring", "Winter"):
            mix_bench(db, release, **MIX)
        assert checked_batch(db, "Spring").reason == "no blind check of it was planned yet"
        for draws in (("Spring-B1",), ("Spring-B1", "Spring-B1"), ("Spring-B1", "Z")):
            with pytest.raises(ReleaseError, match="two samples"):
                name_check(db, "Spring", plan_of(*draws), **name)
        name_check(db, "Spring", plan_of("Spring-B1", "Winter-B1"), **name)
        assert "batch check planned" in last_act(db)
        told = checked_batch(db, "Spring")
        assert (told.sample, told.before_sample) == ("Spring-B1", "Winter-B1")
        assert (told.release, told.before, told.within_points) == ("Spring", "Winter", 8.0)
        reveal(db, "Half", "Spring-B1", status=SessionStatus.REVEALED)
        reveal(db, "Warm", "Spring-B1", "Winter-B1", status=SessionStatus.REVEALED, warm=True)
        reveal(db, "Blind", "Spring-B1", "Winter-B1", status=SessionStatus.SEALED)
        assert checked_batch(db, "Spring").reason == "no revealed session has poured both samples"
        with pytest.raises(ReleaseError, match="nothing to keep of Spring"):
            keep_found(db, "Spring", **STEP)
        reveal(db, "Both", "Spring-B1", "Winter-B1", status=SessionStatus.REVEALED)
        told = checked_batch(db, "Spring", as_of=TODAY)
        assert told.sessions == ("Both",)
        assert told.kept is None
        assert told.found is not None
        assert vars(told.found)["asked"] == {
            "as_of": TODAY,
            "within": 8.0,
            "asked": PairAsked.BATCHES,
        }
        with pytest.raises(NotAllowed):
            keep_found(db, "Spring", **{**STEP, "by": "LD"})
        kept = keep_found(db, "Spring", **STEP)
        note = {"descriptor": "smoke", "difference": 3.0, "se": 1.5, "at_most": 5.5}
        assert kept.kept == {
            **{"word": "alike", "sessions": ["Both"]},
            "notes": [{**note, "word": "alike"}],
        }
        assert kept.kept_on == TODAY
        assert "batch check kept" in last_act(db)
        with pytest.raises(ReleaseError, match="was kept on 2026-03-14 already"):
            keep_found(db, "Spring", **STEP)
        with pytest.raises(ReleaseError, match="stays as it is"):
            name_check(db, "Spring", plan_of("Spring-B1", "Winter-B1"), **name)


def test_a_lot_with_an_open_remark_about_safety_is_not_checked(
    batches: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    with batches.write() as db:
        for release in ("Spring", "Winter"):
            mix_bench(db, release, **MIX)
        told: dict[str, list[str]] = {"Winter": ["an open remark"]}
        monkeypatch.setattr(
            batch_check, "nosing_forbidden", lambda _db, each: told.get(each.name, [])
        )
        with pytest.raises(OakpanelError, match="Winter is not nosed: an open remark"):
            check_samples(db, "Spring", on=TODAY)
        with pytest.raises(OakpanelError, match="is not nosed"):
            name_check(db, "Spring", plan_of("Spring-B1", "Winter-B1"), now=NOW, by="BL")
