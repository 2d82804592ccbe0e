"""A batch like another is proposed with its prediction for the target."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, cast

import pytest

from analysis.vatting import Limits
from panel.release.batch_steps import against_target
from panel.release.propose import Proposal
from tests.release.bare import TODAY

LIMITS = Limits(bottles=985)


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
