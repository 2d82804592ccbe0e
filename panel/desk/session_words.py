"""What each step of a session will do, said before it is taken."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from panel.desk.session_jobs import Step, Told


def what_will_happen(step: Step, told: Told) -> tuple[str, list[str]]:
    """Return the heading and the sentences of a step's question."""
    title = {
        "seal": f"Seal {told.name}?",
        "sheets": f"Write the sheets of {told.name}?",
        "open": f"Open {told.name}?",
        "close": f"Close {told.name}?",
        "reveal": f"Reveal {told.name}?",
    }[step]
    return title, _sentences(step, told)


def _sentences(step: Step, told: Told) -> list[str]:
    if step == "seal":
        return [
            "Codes, serving orders and the key are fixed now, before a glass is poured.",
            "The plan cannot be changed any more.",
            "You will see the key's hash: the reveal checks the key against it.",
        ]
    if step == "sheets":
        return _sheets(told)
    if step == "open":
        return [
            "The assessors can sign in and score from now on.",
            "Have all glasses on their trays, lids on, and the key out of the room.",
        ]
    if step == "close":
        return _closing(told)
    return [
        "The key is checked against its hash and then shown to whoever sits here.",
        "After that no score can change; a glass is taken out or brought back with a reason only.",
        "What one nose held is to be nosed again; what two noses held is held."
        if told.kind.facts.passes
        else "Two fault marks on one cask put it on hold.",
        *_in_doubt(told),
    ]


def _sheets(told: Told) -> list[str]:
    from panel.desk.session_jobs import sheet_paths

    return [
        "The pour sheet tells which cask is behind which code. Who prints it is recorded.",
        "The day sheet: what to weigh by code, when to pour, seats, breaks. For the pourer too.",
        *(f"! {cost}" for cost in told.costs),
        "",
        "New files, which only you may read:",
        *(f"  {path}" for path in sheet_paths(told)),
    ]


def _in_doubt(told: Told) -> list[str]:
    words = told.progress.suspected_words()
    return [f"! {words}"] if words else []


def _closing(told: Told) -> list[str]:
    sentences = ["No booth can save a score any more. What was kept stays."]
    if left := told.progress.unfinished:
        sentences.append(f"! Not finished yet: {', '.join(left)}.")
    if told.progress.calls:
        sentences.append(f"! {len(told.progress.calls)} calls are not answered.")
    return [
        *sentences,
        *_in_doubt(told),
        "It can be opened again before the reveal, with a reason.",
    ]
