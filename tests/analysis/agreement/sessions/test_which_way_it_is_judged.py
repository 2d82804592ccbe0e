"""By which of two ways a note is judged over sessions."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from analysis.agreement.sessions import span_people


@pytest.mark.parametrize(
    ("facts", "leads", "way"),
    [("facts", True, "over sessions"), ("facts", False, "by session"), (None, True, "by session")],
)
def test_a_note_is_judged_over_sessions_where_these_lead(
    monkeypatch: pytest.MonkeyPatch, facts: str | None, leads: bool, way: str
) -> None:
    monkeypatch.setattr(span_people, "span_descriptor_verdict", lambda *_given: "by session")
    monkeypatch.setattr(span_people, "over_sessions_verdict", lambda *_given: "over sessions")
    monkeypatch.setattr(span_people, "with_moving", lambda verdict, _moving: verdict)
    over = SimpleNamespace(facts=lambda _duplicates: facts, leads=leads)
    note: Any = SimpleNamespace(
        over=over, repeat=SimpleNamespace(n_duplicates=2), descriptor="smoke"
    )
    settings: Any = None
    found: Any = span_people._descriptor_verdict(note, {}, None, settings)
    assert found == way
