"""Sentences on two glasses that may have changed places."""

from __future__ import annotations

from dataclasses import dataclass

from ...counted import count
from ...digits import in_digits
from ..one_session.swaps import Exchange, Swap
from .words import AssessorWord, PanelWord, Verdict, listed, points

_MARK = (
    "look at these two glasses first, mark them as suspected before the reveal, and clear the mark "
    "as exchanged if they were"
)


@dataclass(frozen=True)
class SwapFacts:
    """Both readings of a session, for the sentence; `changed` holds note, word and other word."""

    assessor: str
    swap: Swap
    correlation_as_scored: float | None
    correlation_exchanged: float | None
    word_exchanged: AssessorWord
    changed: tuple[tuple[str, PanelWord, PanelWord], ...]


def glasses(swap: Swap) -> str:
    """The two glasses, by sample and, where it takes one to tell them, replicate."""
    if swap.replicates is None or swap.replicates == (1, 1):
        return f"{swap.samples[0]} and {swap.samples[1]}"
    named = [
        f"{name} (glass {replicate})"
        for name, replicate in zip(swap.samples, swap.replicates, strict=True)
    ]
    return f"{named[0]} and {named[1]}"


def odds_words(odds: float) -> str:
    """Odds as people say them."""
    if odds >= 1000.0:
        return "more than 1000 to 1"
    if odds >= 1.0:
        return f"{odds:.0f} to 1"
    return "less than 1 to 1000" if odds < 0.001 else f"1 to {1.0 / odds:.0f}"


def swap_verdict(assessor: str, swap: Swap) -> Verdict[AssessorWord]:
    """Say what a tray reads like, other than it was recorded."""
    if swap.kind is not Exchange.PAIR:
        odds = f"on {count(swap.n_notes, 'note')} (odds {odds_words(swap.odds)})"
        said = f"{_tray(assessor, swap)} {odds}"
        return Verdict(_WORDS[swap.kind], said, _sheet(assessor, swap))
    sentence = (
        f"{assessor} has samples {glasses(swap)} the opposite way round on "
        f"{count(swap.n_notes, 'note')} (odds of a swap {odds_words(swap.odds)})"
    )
    return Verdict(AssessorWord.REVERSED, sentence, _MARK)


def swap_check_sentence(facts: SwapFacts) -> Verdict[AssessorWord]:
    """Say what hangs on the two glasses; nothing has been changed."""
    swap = facts.swap
    sentence = f"{_reads_as(facts.assessor, swap)}, odds {odds_words(swap.odds)}"
    one, other = facts.correlation_as_scored, facts.correlation_exchanged
    if one is not None and other is not None:
        sentence += (
            f"; {_OTHERWISE[swap.kind]} {facts.assessor} {_reads(facts.word_exchanged)}, "
            f"correlation {in_digits(other, '.2f')} instead of {in_digits(one, '.2f')}"
        )
    sentence += f", and {_changes(facts.changed)}"
    return Verdict(_WORDS[swap.kind], sentence, _action(facts.assessor, swap))


_WORDS = {
    Exchange.PAIR: AssessorWord.REVERSED,
    Exchange.MOVED: AssessorWord.MOVED,
    Exchange.TRAYS: AssessorWord.TRAYS,
}
_OTHERWISE = {
    Exchange.PAIR: "the other way round",
    Exchange.MOVED: "moved back",
    Exchange.TRAYS: "each under the other's tray",
}


def _reads_as(assessor: str, swap: Swap) -> str:
    if swap.kind is not Exchange.PAIR:
        return _tray(assessor, swap)
    how = "are marked as exchanged" if swap.marked else "read as if exchanged"
    apart = "" if swap.apart is None else f" ({points(swap.apart)} apart to the others)"
    return f"{assessor}'s glasses {glasses(swap)}{apart} {how}"


def _tray(assessor: str, swap: Swap) -> str:
    if swap.kind is Exchange.TRAYS:
        return f"The trays of {assessor} and {swap.other} read as if they had been exchanged"
    which = "next" if swap.by == 1 else "previous"
    return f"{assessor}'s tray reads as if it had moved on by one, each glass as the {which} one"


def _sheet(assessor: str, swap: Swap) -> str:
    who = f"{assessor} and {swap.other}" if swap.kind is Exchange.TRAYS else assessor
    return f"lay the tray sheet of {who} beside the glasses, and mark the glasses as suspected"


def _reads(word: AssessorWord) -> str:
    if word is AssessorWord.TOO_LITTLE:
        return "is neither surely with the panel nor against it"
    if word is AssessorWord.UNSTEADY:
        return "is unsteady on one note"
    if word is AssessorWord.REVERSED:
        return "still has something the opposite way round"
    return str(word)


def _changes(changed: tuple[tuple[str, PanelWord, PanelWord], ...]) -> str:
    if not changed:
        return "no note would get another verdict"
    named = [f"{note} would be '{after}' instead of '{before}'" for note, before, after in changed]
    more = len(named) - 3
    return listed(named[:3]) + (f" and {count(more, 'more note')} would change" if more > 0 else "")


def _action(assessor: str, swap: Swap) -> str:
    if swap.kind is not Exchange.PAIR:
        return f"nothing has been changed: {_sheet(assessor, swap)}"
    if swap.marked and swap.odds < 1.0:
        return "the scores do not bear the mark out; look again before the reveal"
    return "nothing has been changed" if swap.marked else f"nothing has been changed: {_MARK}"


@dataclass(frozen=True)
class WaitingFacts:
    """Scores that are not used yet; `changed` holds note, word without and word with them.

    It is None where notes get no verdict of their own.
    """

    n_scores: int
    n_glasses: int
    assessors: tuple[str, ...]
    without: PanelWord
    with_them: PanelWord
    changed: tuple[tuple[str, PanelWord, PanelWord], ...] | None
    revealed: bool


def waiting_sentence(facts: WaitingFacts) -> Verdict[PanelWord]:
    """Say how many scores wait until a suspected swap is cleared, and what hangs on them."""
    scores = count(facts.n_scores, "score")
    wait, them = ("waits", "it") if facts.n_scores == 1 else ("wait", "them")
    sentence = (
        f"{scores} on {count(facts.n_glasses, 'glass', 'glasses')} of {listed(facts.assessors)} "
        f"{wait} because glasses may have changed places; with {them} as recorded the session "
        f"would be {_instead(facts)}"
    )
    if facts.changed is not None:
        sentence += f", and {_changes(facts.changed)}"
    action = (
        "they were not cleared before the reveal and stay out"
        if facts.revealed
        else "clear them up before the reveal"
    )
    return Verdict(facts.with_them, sentence, action)


def _instead(facts: WaitingFacts) -> str:
    if facts.with_them is facts.without:
        return f"'{facts.with_them}' all the same"
    return f"'{facts.with_them}' instead of '{facts.without}'"
