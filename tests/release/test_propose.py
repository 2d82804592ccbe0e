"""What is proposed: a plan that is read, one of several answers."""

from __future__ import annotations

import json
from types import SimpleNamespace
from typing import Any, cast

import pytest

from analysis.vatting import Limits
from panel.errors import OakpanelError
from panel.release.propose import from_answer, read_plan

LIMITS = Limits(bottles=985)


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
