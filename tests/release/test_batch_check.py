"""The blind check of a batch named and kept: what is held."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest
from sqlalchemy.orm import Session

from analysis.agreement import PairAsked
from panel.errors import NotAllowed, OakpanelError, ReleaseError, UnknownRecord
from panel.kinds import GlassKind, ReleaseStatus, SessionStatus
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
from panel.store.batches import ReleaseBatch
from panel.store.engine import Store
from panel.store.key import KeyRow
from panel.store.sessions import PanelSession
from tests.release.bare import NOW, TODAY, add_release, build_bare, last_act

STEP: Any = {"on": TODAY, "now": NOW, "by": "BL"}
MIX: Any = {"volume_ml": 100.0, "as_of": TODAY, "now": NOW, "by": "BL"}


@pytest.fixture
def batches(store: Store) -> Store:
    build_bare(store)
    with store.write() as db:
        add_release(db, "Spring", ("X1", 30.0), ("X2", 30.0))
        add_release(db, "Winter", ("X1", 30.0), ("X3", 30.0))
        add_release(db, "Given up", ("X1", 30.0), status=ReleaseStatus.CANCELLED)
        keep_batch(db, "Spring", AsBatch("Winter", within_points=8.0))
    return store


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
