"""What is said of people: their passes, and what an erasure would take."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from panel.questions.people import ConsentStanding, PersonLine
    from panel.records.consents import ConsentWithdrawn
    from panel.records.erase import Foreseen


def passes_words(ended: int) -> str:
    """Say how many passes ended."""
    what = {0: "There was no pass", 1: "1 pass ended"}.get(ended, f"{ended} passes ended")
    return f"{what}; the next act that binds asks for a PIN."


def foreseen_lines(code: str, foreseen: Foreseen) -> list[str]:
    """Say what an erasure of somebody takes for good, and what it leaves."""
    lines = [
        f"Goes for good: name, PIN, roles and the code {code}; {foreseen.notes} notes they wrote; "
        "their entries in the log are emptied, its chain holds.",
        f"Their {foreseen.scores:,} scores go too, or stay under a pseudonym that nothing leads "
        "back from: then the figures of past sessions stay as they are.",
        "Not reached from here: backups, saved files and printed sheets made before. Delete those "
        "too.",
    ]
    if foreseen.n_own_words:
        lines.append(
            f"Their {foreseen.n_own_words} own words become numbers, or go with the scores."
        )
    if foreseen.keys:
        names = ", ".join(foreseen.keys)
        lines.append(f"Keys that name their tray could not be checked again: {names}.")
    return lines


def consent_words(consent: ConsentStanding | None) -> str:
    """Say what somebody consented to, and since when."""
    if consent is None:
        return "Consent: none on record"
    if consent.withdrawn_on is not None:
        return f"Consent: withdrawn on {consent.withdrawn_on}"
    stay = "scores may stay under a pseudonym" if consent.keeps_scores else "scores go with them"
    return f"Consent: given on {consent.given_on} to text {consent.text_version}; erased, {stay}"


def past_lines(lines: Sequence[PersonLine]) -> list[str]:
    """Say whom the house keeps for longer than it says, and what to do."""
    past = [line for line in lines if line.past]
    if not past:
        return []
    return [
        "Kept longer than this house says; erase them as they agreed (`oakpanel people erase`):",
        *(f"  {line.code} {line.past}" for line in past),
    ]


def withdrawn_lines(done: ConsentWithdrawn) -> list[str]:
    """Say what a withdrawal took at once, and what is left to do."""
    drafts = f" They are out of {', '.join(done.drafts)}." if done.drafts else ""
    lines = [
        f"{done.person} withdrew their consent on {done.withdrawn_on}: they are no assessor any "
        f"more, and are planned into nothing.{drafts}"
    ]
    if done.sits_in:
        lines.append(
            f"They still have a tray in {', '.join(done.sits_in)}: say that they do not come "
            "(`oakpanel session seats NAME --absent CODE`), and reveal it before they are erased."
        )
    kept = "scores stay under a pseudonym" if done.keeps_scores else "scores go too"
    lines.append(f"What is kept about them goes by `{done.next_step}`: {kept}, as they agreed.")
    return lines
