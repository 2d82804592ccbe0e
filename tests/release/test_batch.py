"""A batch like the one before: chosen beside it, its recipe as limits, nosed blind, kept, drawn."""

from __future__ import annotations

import json
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select

from analysis.as_json import as_json
from analysis.vatting import GaugeRule, Limits
from analysis.vatting.faults import LimitsError
from panel.kinds import RemarkKind
from panel.questions.blending import try_litres
from panel.questions.change_of_mind import would_change_of
from panel.release.batch import AsBatch, house_batch
from panel.release.batch_steps import batch_proposal, batch_start
from panel.report.asked_stock import blend_report
from panel.store.batches import ReleaseBatch
from panel.store.bottle_remarks import BottleRemark
from panel.store.casks import Filling
from panel.store.draws import Draw
from panel.store.engine import Store
from panel.store.lexicon import DescriptorVersion
from panel.store.releases import Release
from tests.cli.calling import Call
from tests.houses.nosed import LEVELS, TODAY, add_evening
from tests.release.test_release import nose_blend

pytestmark = pytest.mark.usefixtures("weighed")
LIMITS = ("--litres", "120", "--casks", "1-5", "--old-gauges", "flag", "--over", "40")
LIKE = ("--target", "Fen", *LIMITS, "--as-batch", "Spring", "--free-recipe")


def propose(oakpanel: Call) -> None:
    said = oakpanel("release", "propose", "Spring", "--target", "Fen", *LIMITS)
    assert said.code == 0, said.err


def vat(oakpanel: Call, *more: str) -> dict[str, object]:
    said = oakpanel("vat", "Fen", *LIMITS, "--quick", "--json", "--as-batch", "Spring", *more)
    assert said.code == 0, said.err + said.out
    found: dict[str, object] = said.document
    return found


@pytest.mark.slow
def test_what_the_panel_found_in_the_batch_before_is_the_aim(oakpanel: Call, house: Store) -> None:
    propose(oakpanel)
    reckoned = vat(oakpanel, "--free-recipe")["as_batch"]
    assert isinstance(reckoned, dict)
    assert (reckoned["nosed"], reckoned["sample"]) == (False, None)
    oakpanel("release", "bench", "Spring")
    nose_blend(house, "Spring-B1", (50.0, 24.0, 44.0))
    found = vat(oakpanel, "--free-recipe")
    near = found["as_batch"]
    assert isinstance(near, dict)
    assert (near["nosed"], near["sample"], near["within_points"]) == (True, "Spring-B1", 10.0)
    ember = next(line for line in near["lines"] if line["descriptor"] == "ember")
    assert ember["before"] == pytest.approx(50.0, abs=5.0)
    assert ember["difference"] == pytest.approx(ember["estimate"] - ember["before"])
    assert near["probability"] == found["probability"]
    assert near["bottles_safe"] == found["bottles"] <= near["bottles"]
    said = str(found["sentence"])
    assert "lie within 10 points of each other on every note with a chance of" in said
    assert f"safe to number: {near['bottles_safe']}" in said
    assert "tell" not in said


@pytest.mark.slow
def test_what_would_change_about_it_is_held_to_the_batch_before_as_at_the_desk(
    oakpanel: Call, house: Store
) -> None:
    propose(oakpanel)
    found = vat(oakpanel, "--free-recipe", "--within", "4", "--would-change")
    parts: Any = found["parts"]
    with house.read() as db:
        start = batch_start(
            *(db, "Fen", Limits(litres=120.0), AsBatch("Spring", 4.0, None)), as_of=TODAY
        )
        litres = {part["cask"]: part["litres"] for part in parts}
        mind = would_change_of(db, start.aim, litres, as_of=TODAY, house=start.house)
    assert mind is not None
    assert found["would_change"] == json.loads(json.dumps(as_json(mind)))


@pytest.mark.slow
def test_the_page_of_a_blend_like_a_batch_is_held_to_that_batch(
    oakpanel: Call, house: Store
) -> None:
    """The page told the chance against the target, the desk beside it that against the batch."""
    propose(oakpanel)
    limits = Limits(litres=120.0, casks_max=5, gauge_rule=GaugeRule.FLAG, excess_fraction=0.4)
    like = AsBatch("Spring", 4.0, None)
    with house.read() as db:
        start = batch_start(db, "Fen", limits, like, as_of=TODAY)
        answer = start.answer
        assert answer is not None
        litres = {part.cask: part.litres for part in answer.plan.mixture.parts}
        here = try_litres(start.house, litres, start.aim, start.limits)
        plain = blend_report(db, "Fen", limits, today=TODAY, litres=litres)
        held = blend_report(db, "Fen", limits, today=TODAY, litres=litres, like=like)
    assert here.sentence in unescape(held)
    assert here.sentence not in unescape(plain)
    assert "for Fen, like Spring" in held
    assert "like Spring" not in plain


@pytest.mark.slow
def test_a_narrower_band_is_less_likely_kept(oakpanel: Call) -> None:
    propose(oakpanel)
    wide, narrow = (
        vat(oakpanel, "--free-recipe", "--within", points)["probability"] for points in ("12", "3")
    )
    assert isinstance(wide, float)
    assert isinstance(narrow, float)
    assert narrow < wide


@pytest.mark.slow
def test_shares_by_wood_and_make_are_limits(oakpanel: Call) -> None:
    propose(oakpanel)
    found = vat(oakpanel, "--part", "--recipe", "5")
    shares = found["shares"] or []
    assert isinstance(shares, list)
    assert shares
    assert all(share["high"] - share["low"] < 0.13 for share in shares)
    limits = found["limits"]
    assert isinstance(limits, dict)
    assert {share["column"] for share in limits["shares"]} <= {"wood", "make"}


@pytest.mark.slow
def test_a_batch_is_proposed_by_the_answer_that_was_chosen(oakpanel: Call, house: Store) -> None:
    """With what was asked of it: the casks on hold it may have, and how a note is mixed."""
    propose(oakpanel)
    with house.write() as db:
        for filling in db.scalars(select(Filling)):
            filling.hold_reason = "stock-take"
    limits = Limits(litres=120.0, casks_max=5, gauge_rule=GaugeRule.FLAG, excess_fraction=0.4)
    about: Any = ("Fen", limits, AsBatch("Spring", None, None))
    asked: Any = {"as_of": TODAY, "with_held": True, "exponents": {"ember": 0.5}}
    with house.read() as db:
        answers = house_batch(db, *about, **asked).answer.plan.answers or ()
        first, second = (batch_proposal(db, *about, number=n, **asked) for n in (1, 2))
        with pytest.raises(LimitsError, match="10 on hold"):
            batch_proposal(db, *about, as_of=TODAY)
    for found, answer in zip((first, second), answers[:2], strict=True):
        assert {part.cask for part in found.mixture.parts} == {part.cask for part in answer.parts}
        assert found.exponents == {"ember": 0.5}
        assert found.beside is not None
        assert found.beside.probability == answer.probability
    assert {part.cask for part in first.mixture.parts} != {
        part.cask for part in second.mixture.parts
    }


@pytest.mark.slow
def test_a_batch_of_nothing_in_common_is_refused_in_words(oakpanel: Call) -> None:
    propose(oakpanel)
    for lot, said in (("Winter", "No lot has that code"), ("", "No lot has that code")):
        refused = oakpanel("vat", "Fen", *LIMITS, "--as-batch", lot)
        assert refused.code == 1
        assert said in refused.err
    assert "go with --as-batch" in oakpanel("vat", "Fen", *LIMITS, "--free-recipe").err


def nose_both(house: Store) -> None:
    """Let the evening of the check be held: both blends, and two casks beside them."""
    names = ("D-C1", "D-C5", "Summer-B1", "Spring-B1")
    blends = {"Summer-B1": (30.0, 24.0, 44.0), "Spring-B1": (31.0, 24.0, 44.0)}
    with house.write() as db:
        draws = [db.query(Draw).filter_by(label=name).one() for name in names]
        words = db.query(DescriptorVersion).order_by(DescriptorVersion.id).all()
        add_evening(db, "Both held", TODAY, draws, words, {**LEVELS, **blends}, seed=9)


@pytest.mark.slow
def test_the_blind_check_is_named_before_it_is_nosed_and_kept_after(
    oakpanel: Call, house: Store, tmp_path: Path
) -> None:
    propose(oakpanel)
    assert "follows no batch" in oakpanel("release", "check", "Spring").err
    taken = oakpanel("release", "propose", "Summer", *LIKE)
    assert taken.code == 0, taken.err
    assert "mix one first" in oakpanel("release", "check", "Summer", "--session", "Both").err
    oakpanel("release", "bench", "Summer")
    gone = oakpanel("release", "check", "Summer", "--session", "Both")
    assert "No bench blend of Spring gives a glass" in gone.err
    oakpanel("release", "bench", "Spring", "--ml", "300")
    planned = oakpanel("release", "check", "Summer", "--session", "Both")
    assert planned.code == 0, planned.err
    assert "Summer-B1 and Spring-B1" in " ".join(planned.out.split())
    assert "nothing to keep" in oakpanel("release", "check", "Summer", "--keep").err
    nose_both(house)
    found = oakpanel("release", "check", "Summer", "--json").document
    assert found["found"]["first"] == "Summer-B1"
    assert found["found"]["tolerance"] == 10.0
    assert oakpanel("release", "check", "Summer", "--keep").code == 0
    kept = oakpanel("release", "show", "Summer", "--json").document["batch"]
    assert kept["kept"]["word"] == found["found"]["verdict"]
    assert len(kept["kept"]["notes"]) == 3
    assert "was kept on" in oakpanel("release", "check", "Summer", "--keep").err
    with house.read() as db:
        assert db.query(ReleaseBatch).one().found_on is not None
    told = oakpanel("release", "batches", "Fen", "--json").document
    assert [batch["release"] for batch in told["batches"]] == ["Spring", "Summer"]
    assert [batch["follows"] for batch in told["batches"]] == [None, "Spring"]
    drawn = oakpanel("release", "batches", "Fen", "--picture", "-").out
    assert "Do the batches of Fen stay where they were?" in drawn
    path = tmp_path / "years.svg"
    assert oakpanel("release", "batches", "Fen", "--picture", str(path)).code == 0
    assert "2026 Summer" in path.read_text(encoding="utf-8")


def test_no_batch_is_made_like_one_that_nobody_may_nose(oakpanel: Call, house: Store) -> None:
    propose(oakpanel)
    with house.write() as db:
        spring = db.scalars(select(Release).where(Release.name == "Spring")).one()
        db.add(
            BottleRemark(
                release_id=spring.id,
                kind=RemarkKind.ILLNESS,
                said="unwell after it",
                made_on=TODAY,
                kept_on=TODAY,
                by_code="LD",
            )
        )
    said = oakpanel("vat", "Fen", *LIMITS, "--quick", "--as-batch", "Spring")
    assert said.code == 1
    assert "nobody noses it until that is closed (`oakpanel bottles safety 1`)" in said.err
