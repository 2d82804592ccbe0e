"""A release from its proposal to the sheet; two of them cannot spend one cask."""

from __future__ import annotations

import json
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Barrier

import pytest
from sqlalchemy.exc import IntegrityError

from panel.errors import NotInStock
from panel.kinds import ReleaseStatus
from panel.release.mixing import learn_from_benches
from panel.release.propose import from_litres
from panel.release.propose import propose as propose_now
from panel.store.casks import Filling
from panel.store.draws import Draw
from panel.store.engine import Store
from panel.store.filling_states import filling_states
from panel.store.lexicon import DescriptorVersion
from panel.store.log import LogEntry
from panel.store.releases import Release
from tests.cli.calling import Call
from tests.houses.nosed import LEVELS, NOW, TODAY, add_evening, build_nosed
from tests.release.signing import UNNOSED

LIMITS = ("--litres", "350", "--casks", "2-5", "--old-gauges", "flag")


def propose(oakpanel: Call, name: str = "Spring") -> dict[str, float]:
    said = oakpanel("release", "propose", name, "--target", "Fen", *LIMITS, "--json")
    assert said.code == 0, said.err
    return {part["cask"]: part["litres"] for part in said.document["parts"]}


def disgorge(oakpanel: Call, parts: dict[str, float], *more: str, abv: float = 59.0) -> None:
    given = [w for cask, litres in parts.items() for w in ("--cask", f"{cask}={litres}@{abv}")]
    said = oakpanel("release", "disgorge", "Spring", *given, *more)
    assert said.code == 0, said.err


@pytest.mark.usefixtures("gauged")
def test_two_releases_cannot_spend_one_cask(oakpanel: Call) -> None:
    parts = propose(oakpanel)
    taken = [w for cask, litres in parts.items() for w in ("--take", f"{cask}={litres}")]
    said = oakpanel("release", "propose", "Summer", "--target", "Fen", *LIMITS, *taken)
    assert said.code == 1
    assert "reserved for Spring" in said.err
    chosen = oakpanel("vat", "Fen", *LIMITS, "--quick", "--json").document
    assert not parts.keys() & {part["cask"] for part in chosen["parts"]}
    assert chosen["barred"]["reserved elsewhere"] == len(parts)
    matched = oakpanel("match", "Fen", "--json").document
    assert not parts.keys() & {part["cask"] for part in matched["casks"]}
    cask = next(iter(parts))
    assert "for release Spring" in oakpanel("cask", cask).out


@pytest.mark.slow
def test_a_cancelled_release_gives_its_casks_back(oakpanel: Call) -> None:
    parts = propose(oakpanel)
    assert oakpanel("release", "cancel", "Spring", "--reason", "").code == 1
    assert oakpanel("release", "cancel", "Spring", "--reason", "no bottles to be had").code == 0
    again = propose(oakpanel, "Summer")
    assert again == parts


def test_a_cask_on_hold_is_not_taken_by_hand_unasked(oakpanel: Call, house: Store) -> None:
    with house.write() as db:
        db.query(Filling).filter_by(label="C8/1").one().hold_reason = "damp cellar"
    asked = ("--target", "Fen", "--litres", "260", "--part", "--old-gauges", "flag")
    taken = ("--take", "C8=100", "--take", "C9=100")
    said = oakpanel("release", "propose", "Spring", *asked, *taken)
    assert said.code == 1
    assert "on hold: damp cellar" in said.err
    assert oakpanel("release", "propose", "Spring", *asked, *taken, "--with", "C8").code == 0


def test_two_people_at_once_get_the_cask_once(house: Store) -> None:
    spend_at_once(house)


def test_two_people_at_once_get_the_cask_once_on_a_server(postgres_store: Store) -> None:
    build_nosed(postgres_store)
    spend_at_once(postgres_store)


def spend_at_once(store: Store) -> None:
    """Let two propose the same casks from what both saw before either wrote."""
    from analysis.vatting import Drawing, Limits

    limits = Limits(litres=260, drawing=Drawing.PART)
    with store.read() as db:
        wanted = from_litres(db, "Fen", limits, {"C8": 100.0, "C9": 100.0}, as_of=TODAY)
    start = Barrier(2)

    def one(name: str) -> str:
        start.wait(timeout=30)
        try:
            with store.write() as db:
                propose_now(db, name, wanted, as_of=TODAY, now=NOW, by="BL")
        except NotInStock:
            return "refused"
        return "kept"

    with ThreadPoolExecutor(max_workers=2) as pool:
        said = sorted(pool.map(one, ("Spring", "Summer")))
    assert said == ["kept", "refused"]
    with store.read() as db:
        assert db.query(Release).count() == 1


@pytest.mark.slow
def test_a_plan_that_was_saved_can_be_proposed(oakpanel: Call, tmp_path: Path) -> None:
    plan = oakpanel("vat", "Fen", *LIMITS, "--quick", "--json")
    path = tmp_path / "plan.json"
    path.write_text(plan.out, encoding="utf-8")
    said = oakpanel("release", "propose", "Spring", "--plan", str(path), "--json")
    assert [p["litres"] for p in said.document["parts"]] == pytest.approx(
        [p["litres"] for p in plan.document["parts"]]
    )
    path.write_text("{}", encoding="utf-8")
    assert "not a plan" in oakpanel("release", "propose", "Autumn", "--plan", str(path)).err


def test_only_a_blender_proposes(oakpanel: Call) -> None:
    said = oakpanel("--by", "AA", "release", "propose", "Spring", "--target", "Fen", *LIMITS)
    assert said.code == 1
    assert "does not have the role" in said.err


@pytest.mark.slow
def test_the_bench_blend_has_the_shares_of_the_release(oakpanel: Call, house: Store) -> None:
    parts = propose(oakpanel)
    blend = oakpanel("release", "bench", "Spring", "--json").document
    whole = sum(parts.values())
    for part in blend["parts"]:
        assert part["millilitres"] == pytest.approx(100 * parts[part["cask"]] / whole, abs=0.25)
        assert part["millilitres"] % 0.5 == 0.0
    assert blend["planned_probability"] == pytest.approx(blend["probability"], abs=0.02)
    with house.read() as db:
        draw = db.query(Draw).filter_by(label="Spring-B1").one()
        assert {part.filling.cask.number for part in draw.parts} == parts.keys()
        assert draw.reason == "bench blend for release Spring"
        assert draw.volume_ml == pytest.approx(blend["volume_ml"], abs=0.006)
        assert draw.abv == pytest.approx(blend["abv_percent"], abs=0.006)
    assert "already" in oakpanel("release", "bench", "Spring", "--sample", "Spring-B1").err


@pytest.mark.slow
@pytest.mark.usefixtures("weighed")
def test_a_different_outcome_is_told_before_anybody_signs(oakpanel: Call) -> None:
    parts = propose(oakpanel)
    first = next(iter(parts))
    short = {**parts, first: parts[first] - 12.0}
    given = [w for cask, litres in short.items() for w in ("--cask", f"{cask}={litres}@59.0")]
    tried = oakpanel("release", "disgorge", "Spring", *given, "--try", "--json").document
    assert any(f"Cask {first} gave" in words for words in tried["differences"])
    assert any("strength" in words for words in tried["differences"])
    assert "not disgorged" in oakpanel("--by", "LD", "release", "sign", "Spring").err
    disgorge(oakpanel, short)
    said = oakpanel("--by", "LD", "release", "sign", "Spring")
    assert said.code == 1
    assert "less than the 350.0 asked for" in said.err
    assert f"Cask {first} gave" in said.out
    said = oakpanel("--by", "LD", "release", "sign", "Spring", "--despite", "agreed")
    assert said.code == 0, said.err
    assert f"Cask {first} gave" in said.out


@pytest.mark.slow
def test_water_comes_from_the_measured_strength_of_the_vat(oakpanel: Call) -> None:
    parts = propose(oakpanel)
    disgorge(oakpanel, parts, "--vat-litres", "458.1", "--vat-abv", "58")
    found = oakpanel("release", "show", "Spring", "--json").document["found"]
    # 100 L at 58 % need 26.93 L of water for 46 % (OIML R 22, 1975; reckoned from its formula).
    assert found["water_litres"] == pytest.approx(4.581 * 26.93, abs=0.05)
    assert found["final_litres"] == pytest.approx(458.1 * 58 / 46)
    assert any("Measure again" in words for words in found["differences"])


def test_a_second_person_signs(oakpanel: Call, house: Store) -> None:
    disgorge(oakpanel, propose(oakpanel))
    assert "second person" in oakpanel("release", "sign", "Spring").err
    assert "a second person signs it" in oakpanel("--by", "BL", "release", "sign", "Spring").err
    assert "neither lead nor blender" in oakpanel("--by", "AA", "release", "sign", "Spring").err
    assert oakpanel("--by", "LD", "release", "sign", "Spring", *UNNOSED).code == 0
    with house.read() as db:
        release = db.query(Release).one()
        assert (release.signed_by, release.lot_code) == ("LD", "L26073-1")
        assert db.query(LogEntry).order_by(LogEntry.id.desc()).first() is not None


def test_the_database_itself_refuses_one_person_for_both(oakpanel: Call, house: Store) -> None:
    propose(oakpanel)
    with house.engine.begin() as db, pytest.raises(IntegrityError):
        db.exec_driver_sql("UPDATE release SET signed_by = proposed_by")


@pytest.mark.slow
@pytest.mark.usefixtures("gauged")
def test_too_few_bottles_are_signed_only_with_a_reason(oakpanel: Call) -> None:
    said = oakpanel(
        *("release", "propose", "Spring", "--target", "Fen", "--bottles", "480"),
        *("--casks", "2-5", "--old-gauges", "flag", "--json"),
    )
    parts = {part["cask"]: part["litres"] - 15.0 for part in said.document["parts"]}
    disgorge(oakpanel, parts)
    refused = oakpanel("--by", "LD", "release", "sign", "Spring")
    assert refused.code == 1
    assert "fewer than the 480 asked for" in refused.err
    assert oakpanel("--by", "LD", "release", "sign", "Spring", "--despite", "agreed").code == 0
    assert "agreed" in oakpanel("release", "show", "Spring").out


@pytest.mark.slow
def test_frozen_and_traced_from_its_lot(oakpanel: Call, house: Store) -> None:
    parts = propose(oakpanel)
    disgorge(oakpanel, parts)
    assert oakpanel("release", "bottle", "Spring").code == 1
    oakpanel("--by", "LD", "release", "sign", "Spring", *UNNOSED)
    assert "at most" in oakpanel("release", "bottle", "Spring", "--bottles", "99999").err
    assert oakpanel("release", "bottle", "Spring").code == 0
    found = oakpanel("release", "show", "L26073-1", "--json").document
    assert found["status"] == "bottled"
    assert {part["cask"] for part in found["parts"]} == parts.keys()
    assert {each["session"] for each in found["draws"]} == {"EV1", "EV2"}
    again = oakpanel("release", "disgorge", "Spring", "--cask", "C1=1@50")
    assert "is bottled" in again.err
    with house.read() as db:
        states = {state.cask: state for state in filling_states(db, TODAY)}
        assert all(states[cask].emptied_on == TODAY for cask in parts)


def test_figures_that_change_after_the_signature_are_told(oakpanel: Call, house: Store) -> None:
    disgorge(oakpanel, propose(oakpanel))
    assert oakpanel("release", "show", "Spring", "--json").document["as_signed"] is None
    oakpanel("--by", "LD", "release", "sign", "Spring", *UNNOSED)
    shown = oakpanel("release", "show", "Spring", "--json").document
    assert (shown["as_signed"], shown["signed_at"]) == (True, "2026-03-14 18:00:00+00:00")
    with house.write() as db:
        release = db.query(Release).one()
        release.found_json = (release.found_json or "").replace("59.0", "58.0", 1)
    assert "NOT AS SIGNED" in oakpanel("release", "show", "Spring").out


@pytest.mark.slow
@pytest.mark.usefixtures("gauged")
def test_a_part_that_was_drawn_is_missing_in_its_cask(oakpanel: Call, house: Store) -> None:
    taken = ("--take", "C8=100", "--take", "C9=100")
    said = oakpanel(
        *("release", "propose", "Spring", "--target", "Fen", "--litres", "260", "--part"),
        *("--old-gauges", "flag", *taken, "--json"),
    )
    assert said.code == 0, said.err
    with house.read() as db:
        before = {state.cask: state for state in filling_states(db, TODAY)}
        assert before["C8"].reserved_l == pytest.approx(100.0)
    disgorge(oakpanel, {"C8": 90.0, "C9": 100.0})
    with house.read() as db:
        after = {state.cask: state for state in filling_states(db, TODAY)}
        assert after["C8"].bulk_l == pytest.approx(before["C8"].bulk_l - 90.0)
        assert (after["C8"].reserved_l, after["C8"].emptied_on) == (None, None)


def nose_blend(house: Store, label: str, levels: tuple[float, ...]) -> None:
    with house.write() as db:
        draws = [db.query(Draw).filter_by(label=name).one() for name in ("D-C1", "D-C5", label)]
        words = db.query(DescriptorVersion).order_by(DescriptorVersion.id).all()
        known = {**LEVELS, label: levels}
        add_evening(db, f"EV-{label}", TODAY, draws, words, known, seed=9)


@pytest.mark.slow
def test_the_sheet_traces_every_claim_to_a_session(oakpanel: Call, house: Store) -> None:
    propose(oakpanel)
    before = oakpanel("release", "sheet", "Spring").out
    assert "Nothing can be told of smell and taste" in before
    oakpanel("release", "bench", "Spring")
    nose_blend(house, "Spring-B1", (30.0, 24.0, 44.0))
    sheet = oakpanel("release", "sheet", "Spring", "--json").document
    assert {claim["stage"] for claim in sheet["claims"]} == {"nose", "arrival", "finish"}
    assert all(claim["sessions"] == ["EV-Spring-B1"] for claim in sheet["claims"])
    text = " ".join(oakpanel("release", "sheet", "Spring").out.split())
    for words in ("Arrival: honeycomb", "Finish: smoke at the end", "ppm of phenols", "DRAFT"):
        assert words in text
    assert "C5" not in text
    assert "may cloud" not in text
    like = oakpanel("target", "make", "Again", "--like-release", "Spring", "--json").document
    assert "as the panel found its blend" in like["source"]


@pytest.mark.slow
def test_below_46_without_chill_filtration_it_may_cloud(oakpanel: Call) -> None:
    oakpanel("release", "propose", "Low", "--target", "Fen", *LIMITS, "--abv", "43")
    assert "may cloud" in oakpanel("release", "sheet", "Low").out
    oakpanel("release", "cancel", "Low", "--reason", "again")
    oakpanel(
        *("release", "propose", "Cold", "--target", "Fen", *LIMITS, "--abv", "43"),
        "--chill-filtered",
    )
    assert "may cloud" not in oakpanel("release", "sheet", "Cold").out


@pytest.mark.slow
@pytest.mark.usefixtures("gauged")
def test_mixing_is_learnt_from_nosed_blends_and_kept(oakpanel: Call, house: Store) -> None:
    assert "mix one" in oakpanel("release", "mixing").err
    propose(oakpanel)
    oakpanel("release", "bench", "Spring")
    nose_blend(house, "Spring-B1", (45.0, 24.0, 44.0))
    found = oakpanel("release", "mixing", "--json").document
    ember = next(note for note in found["notes"] if note["descriptor"] == "ember")
    assert (ember["n_blends"], ember["learnt"]) == (1, False)
    assert ember["bias"] > 5
    assert "Nothing to keep" in oakpanel("release", "mixing", "--keep").err
    assert oakpanel("release", "mixing", "--set", "ember=0.6").code == 0
    prediction = oakpanel("vat", "Fen", *LIMITS, "--quick", "--json").document["prediction"]
    assert {line["descriptor"]: line["exponent"] for line in prediction}["ember"] == 0.6


@pytest.mark.slow
def test_what_was_proposed_is_kept_with_its_reason(oakpanel: Call) -> None:
    oakpanel("release", "propose", "Spring", "--target", "Fen", *LIMITS, "--reason", "[/x]")
    assert "[/x]" in oakpanel("release", "show", "Spring").out
    listed = oakpanel("release", "list", "--json").document["releases"]
    assert [(each["release"], each["status"]) for each in listed] == [("Spring", "proposed")]
    assert json.loads(oakpanel("release", "show", "Spring", "--json").out)["reason"] == "[/x]"
    assert ReleaseStatus.PROPOSED.value == listed[0]["status"]


def test_learning_needs_a_nosed_blend(house: Store) -> None:
    from analysis.errors import TooLittleError

    with house.read() as db, pytest.raises(TooLittleError):
        learn_from_benches(db, as_of=TODAY)
