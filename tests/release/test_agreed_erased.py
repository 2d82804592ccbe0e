"""What was agreed to by name once somebody is erased who is named in it: agreed, and nobody's."""

from __future__ import annotations

import json
from collections.abc import Callable
from hashlib import sha256
from typing import Any

import pytest

from analysis.as_json import as_json
from analysis.bar_words import sentence
from analysis.bars import ASKED, Bar, Barred
from panel.frames.bars import bars_by_filling
from panel.questions.agreed import AGREED, AGREED_THEN, as_agreed, lifted_by_name
from panel.questions.come_between import come_between
from panel.questions.plan_since import changed_since
from panel.records.erase import Erasure, erase_person
from panel.release.from_plan import keep_plan
from panel.release.holding import Agreed
from panel.release.trace import as_signed
from panel.store.casks import Filling
from panel.store.engine import Store
from panel.store.log import LogEntry, append_entry
from panel.store.log_check import broken_link
from panel.store.people import PersonName
from panel.store.releases import Release
from panel.store.stock_plans import PlannedRelease, StoredPlan
from panel.store.targets import StoredTarget
from tests.cli.calling import Call
from tests.houses import nosed
from tests.release.bare import NOW, TODAY, add_release, build_bare
from tests.release.test_agreed import BY_HAND, GAVE
from tests.release.test_barred import filling_of
from tests.release.test_from_plan import chosen

Keep = Callable[[str, Barred], dict[str, Any]]


@pytest.fixture
def bare(store: Store) -> Store:
    build_bare(store)
    with store.write() as db:
        db.add(PersonName(person_id=3, full_name="Jörg Weir"))
    return store


def erase(store: Store) -> Erasure:
    with store.write() as db:
        return erase_person(db, "AA", keep_scores=True, now=NOW, by="LD")


def now_kept(cask: str, barred: Barred) -> dict[str, Any]:
    kept: dict[str, Any] = as_json(as_agreed(cask, barred))
    return kept


def kept_before(cask: str, barred: Barred) -> dict[str, Any]:
    """Return what an older version kept: of words a digest."""
    words = {Bar.HOLD: barred.facts.hold_reason, Bar.OWNER: barred.facts.owner}[barred.bar] or ""
    stood = sha256(words.encode()).hexdigest()[:16]
    return {"cask": cask, "bar": barred.bar.value, "stood": stood}


def agree(store: Store, keep: Keep = now_kept) -> None:
    """Propose X1, and agree to whatever bars it today."""
    with store.write() as db:
        _, bars = bars_by_filling(db, TODAY, only_casks=["X1"])["X1/1"]
        by_name = list(lifted_by_name(bars, ASKED))
        told = [as_json(Agreed("X1", each.bar, sentence("X1", each))) for each in by_name]
        kept = {AGREED: told, AGREED_THEN: [keep("X1", each) for each in by_name]}
        add_release(db, "Spring", ("X1", 40.0), predicted_json=json.dumps(kept))


def since(store: Store) -> list[str]:
    with store.read() as db:
        return [each.sentence for each in come_between(db, db.query(Release).one(), TODAY)]


def kept_of(store: Store) -> str:
    with store.read() as db:
        return str(db.query(Release.predicted_json).scalar())


@pytest.mark.slow
def test_a_hold_that_names_somebody_stays_agreed_from_proposal_to_disgorging(
    oakpanel: Call, house: Store
) -> None:
    filling_of(house, "C8", hold_reason="sulphur, says AA")
    assert oakpanel("release", "propose", "Spring", *BY_HAND, "--with", "C8").code == 0
    with house.write() as db:
        gone = erase_person(db, "AA", keep_scores=True, now=nosed.NOW, by="LD").pseudonym
    assert oakpanel("release", "show", "Spring", "--json").document["since"] == []
    found = oakpanel("release", "disgorge", "Spring", *GAVE, "--json").document
    assert found["doubts"] == []
    told = [each["sentence"] for each in found["agreed"]]
    assert told == [f"Cask C8 is on hold: sulphur, says {gone}."]


@pytest.mark.parametrize(
    "reason", ["sulphur, says AA", "AA", "asked for by\nJörg Weir", "jörg weir's, and aa's"]
)
def test_no_code_that_is_tried_on_what_is_kept_tells_who_was_erased(
    bare: Store, reason: str
) -> None:
    """Also where the reason reads like the name of a record, and in letters that JSON escapes."""
    filling_of(bare, "X1", hold_reason=reason)
    filling_of(bare, "X2", owner="AA")
    agree(bare)
    assert since(bare) == []
    done = erase(bare)
    assert since(bare) == []
    kept = kept_of(bare).replace(done.pseudonym, "")  # its digits may hold the code
    tried = [sha256(reason.encode()).hexdigest(), sha256(b"AA").hexdigest()]
    assert not [each for each in tried if each[:16] in kept]
    words = [str(each) for one in json.loads(kept)[AGREED] for each in one.values()]
    assert not [each for each in words if "aa" in each.casefold() or "weir" in each.casefold()]
    filling_of(bare, "X1", hold_reason="sold")
    assert since(bare) == ["Cask X1 is on hold: sold."]


def test_no_code_that_is_tried_on_signed_figures_tells_who_was_erased(bare: Store) -> None:
    """The log keeps a digest of them: with the words it goes, and the chain holds."""
    sentence = "Cask X1 is on hold: sulphur, says AA."
    found = json.dumps({AGREED: [{"cask": "X1", "bar": "on hold", "sentence": sentence}]})
    with bare.write() as db:
        for name, said in (("Spring", found), ("Summer", "{}")):
            add_release(db, name, found_json=said)
            details = {"release": name, "found": sha256(said.encode()).hexdigest()}
            append_entry(db, at=NOW, by="BL", action="release signed", details=details)
    done = erase(bare)
    with bare.read() as db:
        kept = db.query(Release.found_json).filter_by(name="Spring").scalar()
        told = " ".join(str(body) for (body,) in db.query(LogEntry.body_json))
        assert broken_link(db) is None
    assert done.pseudonym in kept
    tried = kept.replace(done.pseudonym, "AA")
    assert tried == found
    assert sha256(tried.encode()).hexdigest() not in told
    assert sha256(b"{}").hexdigest() in told, "what names nobody stays signed"
    assert done.log_entries_cleared == 1


def test_an_erasure_is_no_change_of_what_was_signed(bare: Store) -> None:
    """The figures bear a pseudonym then: that was told as a change after the signature."""
    names = json.dumps({AGREED: [{"cask": "X1", "sentence": "on hold: sulphur, says AA."}]})
    with bare.write() as db:
        for name, said in (("Spring", names), ("Summer", "{}")):
            add_release(db, name, found_json=said, signed_by="LD")
            details = {"release": name, "found": sha256(said.encode()).hexdigest()}
            append_entry(db, at=NOW, by="LD", action="release signed", details=details)
    assert stand_as_signed(bare) == {"Spring": True, "Summer": True}
    erase(bare)
    assert stand_as_signed(bare) == {"Spring": None, "Summer": True}
    with bare.write() as db:
        db.query(Release).filter_by(name="Summer").one().found_json = '{"litres": 1}'
    assert stand_as_signed(bare) == {"Spring": None, "Summer": False}


def stand_as_signed(store: Store) -> dict[str, bool | None]:
    """Return by release whether it is as it was signed."""
    with store.read() as db:
        return {release.name: as_signed(db, release) for release in db.query(Release)}


@pytest.mark.parametrize("values", [{"hold_reason": "sulphur, says AA"}, {"owner": "AA & Sons"}])
def test_what_an_older_version_kept_is_read_and_loses_its_digest(
    bare: Store, values: dict[str, str]
) -> None:
    """Without the digest nobody knows which hold was meant: any of that cask is."""
    filling_of(bare, "X1", **values)
    agree(bare, kept_before)
    assert since(bare) == []
    filling_of(bare, "X1", **dict.fromkeys(values, "Mill Trust"))
    assert len(since(bare)) == 1
    filling_of(bare, "X1", **values)
    erase(bare)
    assert since(bare) == []
    assert "stood" not in kept_of(bare)


def test_an_erasure_of_somebody_else_takes_digests_too(bare: Store) -> None:
    """Whose words a digest was of, nobody can see."""
    filling_of(bare, "X1", hold_reason="damp cellar")
    agree(bare, kept_before)
    done = erase(bare)
    assert "stood" not in kept_of(bare)
    assert since(bare) == []
    assert done.releases_no_longer_checkable == ()


def test_days_that_an_older_version_kept_stay(bare: Store) -> None:
    old = {"cask": "X1", "bar": "leaking", "stood": "2026-03-01"}
    with bare.write() as db:
        add_release(db, "Spring", ("X1", 9.0), predicted_json=json.dumps({AGREED_THEN: [old]}))
    erase(bare)
    assert json.loads(kept_of(bare)) == {AGREED_THEN: [old]}


@pytest.mark.parametrize("owner", ["AA", "Jörg Weir"])
def test_no_pseudonym_stands_where_the_owner_of_that_cask_bears_the_name(
    bare: Store, owner: str
) -> None:
    """The cask keeps its owner, as the house's own name: beside it the pseudonym would tell all."""
    filling_of(bare, "X1", owner=owner)
    agree(bare)
    done = erase(bare)
    assert done.still_named == (f"filling owner: {owner}",)
    assert since(bare) == []
    assert done.pseudonym not in kept_of(bare)


def test_an_owner_who_is_one_no_longer_is_replaced(bare: Store) -> None:
    filling_of(bare, "X1", owner="Jörg Weir")
    agree(bare)
    filling_of(bare, "X1", owner="Mill Trust")
    done = erase(bare)
    assert done.still_named == ()
    assert "Weir" not in kept_of(bare)
    assert since(bare) == ["Cask X1 belongs to Mill Trust."]


@pytest.mark.parametrize("old", [False, True])
def test_a_plan_keeps_what_was_agreed_to_and_nobody(bare: Store, old: bool) -> None:
    filling_of(bare, "X1", hold_reason="sulphur, says AA")
    with bare.write() as db:
        told = {"name": "Fen 2027", "year": 2027, "bottles": 100, "abv": 46.0}
        fen = db.query(StoredTarget).one()
        one = PlannedRelease(place=1, target=fen, limits="with X1", **told)
        db.add(StoredPlan(name="Years", releases=[one], parts=[]))
        db.flush()
        plan = keep_plan(db, chosen(("Fen 2027", {"X1": 40.0})), on=TODAY, now=NOW, by="BL")
        found = json.loads(plan.found_json or "")
        assert [each["cask"] for each in found[AGREED_THEN]] == ["X1"]
        if old:
            digest = sha256(b"sulphur, says AA").hexdigest()[:16]
            kept = [{"cask": "X1", "bar": "on hold", "stood": digest}]
            del found[AGREED_THEN]  # an older version kept it under a plain `agreed`
            plan.found_json = json.dumps({**found, AGREED: kept})
    done = erase(bare)
    with bare.read() as db:
        plan = db.query(StoredPlan).one()
        assert changed_since(db, plan, as_of=TODAY) == ()
        assert "stood" not in (plan.found_json or "")
        assert "AA" not in (plan.found_json or "")
    assert done.releases_no_longer_checkable == ()


def test_a_hold_that_came_after_the_plan_is_told_after_an_erasure(bare: Store) -> None:
    test_a_plan_keeps_what_was_agreed_to_and_nobody(bare, old=False)
    with bare.write() as db:
        db.query(Filling).filter_by(label="X1/1").one().hold_reason = "sold"
        db.flush()
        told = changed_since(db, db.query(StoredPlan).one(), as_of=TODAY)
    assert [each.what.value for each in told] == ["on hold"]
