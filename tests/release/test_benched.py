"""The bench blend as nosed: beside the target and the prediction, and in the way of a signature."""

from __future__ import annotations

import json

import pytest

from panel.release.against import BENCH
from panel.store.engine import Store
from panel.store.log import LogEntry
from panel.store.releases import Release
from tests.cli.calling import Call
from tests.houses.nosed import TODAY
from tests.release.test_release import disgorge, nose_blend, propose

ON, OFF = (30.0, 24.0, 44.0), (62.0, 24.0, 44.0)


def nosed(oakpanel: Call, house: Store, levels: tuple[float, ...]) -> dict[str, float]:
    """Propose, mix the blend and nose it; returns the litres planned."""
    parts = propose(oakpanel)
    oakpanel("release", "bench", "Spring")
    nose_blend(house, "Spring-B1", levels)
    return parts


@pytest.mark.slow
def test_nothing_is_said_of_a_blend_that_nobody_nosed(oakpanel: Call) -> None:
    propose(oakpanel)
    found = oakpanel("release", "show", "Spring", "--json").document
    assert (found["nosed"], found["nosed_reason"]) == (
        None,
        "no blend of it was mixed for the panel",
    )
    oakpanel("release", "bench", "Spring")
    found = oakpanel("release", "show", "Spring", "--json").document
    assert (found["nosed"], found["nosed_reason"]) == (
        *(None, "no revealed session has nosed its blend"),
    )
    assert "As nosed" not in oakpanel("release", "show", "Spring").out


@pytest.mark.slow
def test_what_was_nosed_stands_beside_target_and_prediction(oakpanel: Call, house: Store) -> None:
    nosed(oakpanel, house, ON)
    shown = oakpanel("release", "show", "Spring", "--json").document
    found = shown["nosed"]
    assert found["probability"] > 0.8
    assert found["predicted"] == shown["planned"]["probability"]
    lines = {line["descriptor"]: line for line in found["lines"]}
    assert lines["ember"]["estimate"] == pytest.approx(30.0, abs=4.0)
    before = {line["descriptor"]: line["estimate"] for line in shown["planned"]["prediction"]}
    assert {name: line["predicted"] for name, line in lines.items()} == before
    assert not any(line["is_out"] for line in lines.values())
    text = " ".join(oakpanel("release", "show", "Spring").out.split())
    assert "As nosed (blend Spring-B1, session EV-Spring-B1): within the target" in text
    assert f"predicted was {'>.99' if found['predicted'] > 0.995 else ''}" in text


@pytest.mark.slow
def test_signing_against_the_nosing_asks_for_a_reason(oakpanel: Call, house: Store) -> None:
    parts = nosed(oakpanel, house, OFF)
    disgorge(oakpanel, parts)
    found = oakpanel("release", "show", "Spring", "--json").document["nosed"]
    assert found["probability"] < 0.05
    assert [line["descriptor"] for line in found["lines"] if line["is_out"]] == ["ember"]
    refused = oakpanel("--by", "LD", "release", "sign", "Spring")
    assert refused.code == 1
    assert "within the target with chance <.01" in refused.err
    assert "Outside its tolerance: ember" in refused.err
    signed = oakpanel("--by", "LD", "release", "sign", "Spring", "--despite", "meant so", "--json")
    assert signed.document["nosed"]["sample"] == "Spring-B1"
    with house.read() as db:
        assert db.query(Release).one().signed_despite == "meant so"
        entry = db.query(LogEntry).order_by(LogEntry.id.desc()).first()
        assert entry is not None
        assert "chance <.01" in json.loads(entry.body_json or "{}")["nosed"]


@pytest.mark.slow
def test_what_is_against_it_has_a_key(oakpanel: Call, house: Store) -> None:
    from panel.release.against import NOT_NOSED, against_bench
    from panel.release.benched import nosed_blend

    nosed(oakpanel, house, OFF)
    with house.read() as db:
        found = nosed_blend(db, "Spring", as_of=TODAY)
    assert found is not None
    assert [each.key for each in against_bench(found)] == [BENCH]
    assert against_bench(None) == []
    assert [each.key for each in against_bench(None, "no blend of it was mixed")] == [NOT_NOSED]


@pytest.mark.slow
def test_one_nosed_on_the_target_is_signed_without_a_reason(oakpanel: Call, house: Store) -> None:
    disgorge(oakpanel, nosed(oakpanel, house, ON))
    said = oakpanel("--by", "LD", "release", "sign", "Spring")
    assert said.code == 0, said.err
    assert "As nosed" in said.out


def test_one_whose_blend_was_never_nosed_blind_asks_for_a_reason(oakpanel: Call) -> None:
    """What is foretold of a blend is a reckoning until somebody has nosed it."""
    disgorge(oakpanel, propose(oakpanel))
    refused = oakpanel("--by", "LD", "release", "sign", "Spring")
    assert refused.code == 1
    assert "never nosed blind: no blend of it was mixed for the panel" in refused.err
    shown = oakpanel("release", "show", "Spring", "--json").document
    assert [each["key"] for each in shown["against"]] == ["bench blend not nosed"]
    signed = oakpanel("--by", "LD", "release", "sign", "Spring", "--despite", "no time", "--json")
    assert signed.document["signed_despite"] == "no time"


@pytest.mark.slow
def test_disgorging_tells_what_was_nosed(oakpanel: Call, house: Store) -> None:
    parts = nosed(oakpanel, house, OFF)
    given = [word for cask, litres in parts.items() for word in ("--cask", f"{cask}={litres}@59.0")]
    said = oakpanel("release", "disgorge", "Spring", *given, "--try")
    assert "As nosed (blend Spring-B1" in said.out
    found = oakpanel("release", "disgorge", "Spring", *given, "--json").document
    assert found["nosed"]["probability"] < 0.05


@pytest.mark.slow
def test_the_sheet_says_that_a_blend_was_nosed_and_of_which_litres(
    oakpanel: Call, house: Store
) -> None:
    parts = nosed(oakpanel, house, ON)
    text = " ".join(oakpanel("release", "sheet", "Spring").out.split())
    assert "What was nosed is a bench blend, not the bottling." in text
    assert "by the litres planned, nosed at 20 % vol." in text
    first = next(iter(parts))
    disgorge(oakpanel, {**parts, first: parts[first] / 2.0})
    found = oakpanel("release", "sheet", "Spring", "--json").document["nosed"]
    assert found["litres"] == "planned"
    assert found["other_share"] > 0.05
    assert "of the whole is otherwise" in " ".join(
        oakpanel("release", "sheet", "Spring").out.split()
    )


@pytest.mark.slow
def test_a_line_that_was_not_scored_leaves_no_chance(oakpanel: Call, house: Store) -> None:
    nosed(oakpanel, house, OFF)
    oakpanel("target", "make", "More", "--from", "Fen")
    with house.write() as db:
        from panel.store.lexicon import Descriptor
        from panel.store.targets import StoredTargetLine
        from tests.houses.parts import descriptor

        db.add(descriptor("bonfire"))
        db.flush()
        word = db.query(Descriptor).filter_by(name="bonfire").one()
        line = StoredTargetLine(descriptor=word, place=4, aim=10.0, tolerance=5.0, weight=1.0)
        target = db.query(Release).one().target
        assert target is not None
        target.lines.append(line)
    found = oakpanel("release", "show", "Spring", "--json").document["nosed"]
    assert (found["probability"], found["reason"]) == (None, "bonfire was not scored in it")
    assert [line["descriptor"] for line in found["lines"] if line["is_out"]] == ["ember"]
