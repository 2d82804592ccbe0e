"""Plans that are read, batches beside each other, and remarks and bottles that are refused."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import date
from types import SimpleNamespace
from typing import Any, cast

import pytest

from analysis.vatting import Limits, NoteBefore
from panel.errors import EntriesAtFault, OakpanelError
from panel.kinds import BottleKind
from panel.release.batch_steps import against_target
from panel.release.batches import BatchesFound, BatchOfYear
from panel.release.lot_bottles import _refuse_bottles, _refuse_remark
from panel.release.propose import Proposal, from_answer, read_plan
from tests.release.bare import TODAY

LIMITS = Limits(bottles=985)


def year(lot: str, on: date, smoke: float, plum: float) -> BatchOfYear:
    notes = (NoteBefore("smoke", smoke, 1.0), NoteBefore("plum", plum, 1.0))
    return BatchOfYear(lot, lot, on, "bottled", 100, None, True, notes)


def test_batches_of_the_years_in_a_sentence() -> None:
    bands = {"smoke": (25.0, 35.0), "plum": (15.0, 25.0), "wax": (0.0, 5.0)}
    first = year("L1", date(2023, 1, 1), 20.0, 30.0)
    second, third = year("L2", date(2024, 1, 1), 26.0, 12.0), year("L3", TODAY, 30.0, 20.0)
    assert "No release of Fen" in BatchesFound("Fen", (), bands).sentence
    assert BatchesFound("Fen", (first,), bands).sentence == "One batch of Fen so far, L1."
    assert BatchesFound("Fen", (first, second, third), bands).sentence == (
        "3 batches of Fen since 2023. Furthest apart they lie on plum: 12 (L2) to 30 (L1), "
        "as estimated."
    )


def plan_text(**more: Any) -> str:
    def answer(cask: str) -> dict[str, Any]:
        note = {"descriptor": "smoke", "exponent": 0.5}
        return {"parts": [{"cask": cask, "litres": 30}], "prediction": [note, {"descriptor": "x"}]}

    told = {"target": "Fen", "limits": {"bottles": 100}, **answer("A")}
    return json.dumps({**told, "answers": [answer("A"), answer("B")], **more})


def test_a_plan_is_read_answer_by_answer() -> None:
    first, second = read_plan(plan_text()), read_plan(plan_text(), 2)
    assert (first.target, first.litres, second.litres) == ("Fen", {"A": 30.0}, {"B": 30.0})
    assert first.exponents == {"smoke": 0.5}
    assert first.limits.bottles == 100
    for text, number, said in (
        (plan_text(), 3, "There are 2 answers; there is no number 3"),
        (plan_text(answers=[]), 2, "There are 1 answers"),
        (plan_text(parts=[]), 1, "holds no casks"),
        ("[]", 1, "not a plan"),
        ("{", 1, "not a plan"),
        ('{"parts": []}', 1, "not a plan"),
    ):
        with pytest.raises(OakpanelError, match=said):
            read_plan(text, number)


def test_one_of_the_answers_is_proposed() -> None:
    mixtures = [SimpleNamespace(to_dict=lambda n=n: {"casks": n}) for n in range(2)]
    plan = SimpleNamespace(answers=tuple(mixtures), mixture=mixtures[0], target="Fen")
    told = {"prices": 1, "stand_ins": 2, "tightening": 3, "answers": 4, "kept": 5}
    answer: Any = SimpleNamespace(plan=plan, limits=LIMITS, to_dict=lambda: dict(told))
    found = from_answer(answer, 2)
    assert found.mixture is cast(Any, mixtures[1])
    assert found.document == {"kept": 5, "casks": 1}
    for number in (0, 3):
        with pytest.raises(OakpanelError, match="There are 2 answers"):
            from_answer(answer, number)
    plan.answers = ()
    assert from_answer(answer).mixture is cast(Any, mixtures[0])


def faults(act: Callable[[], None]) -> list[str]:
    """The entries that were refused."""
    try:
        act()
    except EntriesAtFault as refused:
        return sorted(refused.faults)
    return []


LOT: Any = SimpleNamespace(id=1, name="Spring", bottled_on=date(2026, 3, 1))


@pytest.mark.parametrize(
    ("said", "day", "who", "reach", "wrong"),
    [
        ("Cork.", date(2026, 3, 1), None, None, []),
        ("Cork.", TODAY, "Ostrow", "by post", []),
        (" ", TODAY, None, None, ["said"]),
        ("Cork.", date(2026, 2, 28), None, None, ["made_on"]),
        ("Cork.", date(2026, 3, 15), None, None, ["made_on"]),
        ("Cork.", TODAY, " ", "by post", ["who"]),
        ("", date(2026, 3, 15), None, "by post", ["made_on", "said", "who"]),
    ],
)
def test_a_remark_has_words_a_day_and_whom_it_came_from(
    said: str, day: date, who: str | None, reach: str | None, wrong: list[str]
) -> None:
    assert faults(lambda: _refuse_remark(LOT, said, day, TODAY, who=who, reach=reach)) == wrong


@pytest.mark.parametrize(
    ("place", "count", "kind", "about", "wrong"),
    [
        ("shelf", 1, BottleKind.RETAINED, None, []),
        ("shelf", 100, BottleKind.OPENED, 1, []),
        (" ", 1, BottleKind.RETAINED, None, ["place"]),
        ("shelf", 0, BottleKind.RETAINED, None, ["count"]),
        ("shelf", 101, BottleKind.RETAINED, None, ["count"]),
        ("shelf", 1, BottleKind.OPENED, None, ["remark"]),
        ("shelf", 1, BottleKind.OPENED, 2, ["remark"]),
    ],
)
def test_bottles_stand_somewhere_and_an_opened_one_has_a_remark(
    place: str, count: int, kind: BottleKind, about: int | None, wrong: list[str]
) -> None:
    remark: Any = about and SimpleNamespace(id=7, release_id=about, release=LOT)
    assert faults(lambda: _refuse_bottles(LOT, place, count, kind, remark)) == wrong


def test_a_batch_is_proposed_with_its_prediction_for_the_target(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Casks, litres and reason are those that were chosen beside the batch before."""
    asked: list[Any] = []

    def reckoned(*given: Any, **more: Any) -> Proposal:
        asked.append((given[1:], more))
        return Proposal("Fen", LIMITS, cast(Any, "against the target"), {})

    monkeypatch.setattr("panel.release.propose.from_litres", reckoned)
    parts = [SimpleNamespace(cask="A", litres=30.0), SimpleNamespace(cask="B", litres=20.0)]
    mixture: Any = SimpleNamespace(parts=parts)
    chosen = Proposal("Fen", LIMITS, mixture, {}, {"smoke": 0.5}, "like the last", True)
    found = against_target(cast(Any, None), chosen, as_of=TODAY, with_held=True)
    assert (found.reason, found.chill_filtered) == ("like the last", True)
    assert cast(Any, found.mixture) == "against the target"
    assert found.beside is mixture
    told = {"as_of": TODAY, "with_held": True, "exponents": {"smoke": 0.5}}
    assert asked == [(("Fen", LIMITS, {"A": 30.0, "B": 20.0}), told)]
