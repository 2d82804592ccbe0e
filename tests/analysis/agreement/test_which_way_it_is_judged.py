"""By which of two ways a note is judged, and whose glasses are looked at once more."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from analysis.agreement.one_session import assess
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


def test_only_who_waits_with_a_swap_is_judged_once_more(monkeypatch: pytest.MonkeyPatch) -> None:
    """Teal waits, perhaps with two glasses changed; Rowan waits for else, Alder for nothing."""
    people = [
        SimpleNamespace(assessor=name, swap=swap)
        for name, swap in (("Teal", "two glasses"), ("Rowan", None), ("Alder", "two glasses"))
    ]
    judged = SimpleNamespace(assessors=people)
    looked: list[Any] = []
    monkeypatch.setattr(assess, "who_waits", lambda _scores: ("Teal", "Rowan"))
    monkeypatch.setattr(
        assess, "usable", lambda *_given, **_more: SimpleNamespace(scores=0, blanks=0)
    )
    monkeypatch.setattr(assess, "_notes", lambda *_given: ())
    monkeypatch.setattr(assess, "_judge", lambda *_given: judged)
    monkeypatch.setattr(assess, "_reading", lambda one: one)
    monkeypatch.setattr(assess, "lay_beside", lambda *_given, **_more: "beside")

    def check(*given: Any) -> str:
        looked.append(given[:2])
        return "checked"

    monkeypatch.setattr(assess, "_swap_check", check)
    nothing: Any = SimpleNamespace(coded=None)
    found: Any = assess._in_doubt(nothing, nothing, nothing, nothing, 1)
    assert looked == [(people[0], judged)]
    assert (found.people, found.waiting, found.swaps) == (("Teal", "Rowan"), "beside", ("checked",))
    monkeypatch.setattr(assess, "who_waits", lambda _scores: ())
    assert assess._in_doubt(nothing, nothing, nothing, nothing, 1) == assess._InDoubt()
