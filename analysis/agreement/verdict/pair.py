"""Sentences on two casks that were named before anybody looked at their means."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from ...counted import count
from ..settings import AgreementSettings
from .words import IS_ABSENT, OWN_ORDER, Verdict, capital, cared_for, listed, points


class PairWord(StrEnum):
    """How two named casks lie to one another."""

    ALIKE = "alike"
    APART = "surely apart"
    CANNOT_TELL = "cannot tell yet"
    ORDER = "order and cask cannot be told apart"


class PairAsked(StrEnum):
    """What was asked of two liquids: which of two casks to take, or whether batch follows batch."""

    CASKS = "casks"
    BATCHES = "batches"


@dataclass(frozen=True)
class _Advice:
    """What to do by each answer; `{}` stands for the note or notes it is about."""

    alike: str
    alike_on: str
    apart: str
    apart_on: str
    too_near: str


_ADVICE = {
    PairAsked.CASKS: _Advice(
        alike="choose between them by something else",
        alike_on="choose by another note",
        apart="choose between them by {}",
        apart_on="choose by it, if {} matters",
        too_near="choose by another note",
    ),
    PairAsked.BATCHES: _Advice(
        alike="the one may follow the other, as far as these notes go",
        alike_on="it does not speak against the one following the other",
        apart="change the blend on {} and nose it again, or let it differ on purpose",
        apart_on="change the blend, if {} matters",
        too_near="whoever signs decides",
    ),
}


@dataclass(frozen=True)
class PairFacts:
    """Two casks on one descriptor; distances in points of the 0-100 line.

    Attributes
    ----------
    difference
        First less second; None where the two cannot be compared.
    at_most
        They differ by no more, 19 times in 20.
    apart
        Whether they are surely further apart than is cared for, among all notes.
    more
        About so many more sessions would decide; None where a few would not.
    absent
        Whether it was found in neither.
    one_order
        Whether everybody had all glasses in one order.
    """

    descriptor: str
    difference: float | None
    at_most: float | None
    apart: bool
    more: int | None
    absent: bool
    one_order: bool = False


def pair_verdict(
    named: tuple[str, str],
    facts: PairFacts,
    settings: AgreementSettings,
    asked: PairAsked = PairAsked.CASKS,
) -> Verdict[PairWord]:
    """Judge two named casks on one descriptor."""
    first, second = named
    advice = _ADVICE[asked]
    if facts.difference is None or facts.at_most is None:
        said = f"{first} and {second} cannot be compared on {facts.descriptor}"
        return Verdict(PairWord.CANNOT_TELL, said, "let two assessors nose both in one session")
    if facts.absent:
        fault = facts.descriptor in settings.ought_to_be_absent
        said = f"{capital(facts.descriptor)} is not there in either"
        return Verdict(PairWord.ALIKE, said, IS_ABSENT if fault else advice.alike_on)
    if facts.one_order:
        said = (
            f"Everybody had {first} and {second} in one order, which {facts.descriptor} may follow"
        )
        return Verdict(PairWord.ORDER, said, OWN_ORDER)
    apart = f"{points(abs(facts.difference))} apart"
    most = f"they differ by no more than {points(facts.at_most)}"
    on = f"{first} and {second} lie {apart} on {facts.descriptor}"
    if facts.at_most <= settings.tolerance:
        said = f"{first} and {second} are alike on {facts.descriptor}, {apart}: {most}"
        return Verdict(PairWord.ALIKE, said, advice.alike_on)
    if facts.apart:
        high, low = named if facts.difference > 0.0 else (second, first)
        said = f"{on}, {high} above {low}, and surely more than {cared_for(settings.tolerance)}"
        return Verdict(PairWord.APART, said, advice.apart_on.format(facts.descriptor))
    return Verdict(PairWord.CANNOT_TELL, f"{on}; {most}", _more(facts.more, settings, advice))


def _more(more: int | None, settings: AgreementSettings, advice: _Advice) -> str:
    if more is None:
        near = cared_for(settings.tolerance)
        return f"at so near {near} a few more sessions would not decide; {advice.too_near}"
    return f"about {count(more, 'more session')} with both would decide"


def two_casks_verdict(
    named: tuple[str, str],
    notes: Sequence[tuple[str, PairWord]],
    more: int | None,
    settings: AgreementSettings,
    asked: PairAsked = PairAsked.CASKS,
) -> Verdict[PairWord]:
    """Sum two named casks up over all notes; `more` sessions would settle all of them."""
    advice = _ADVICE[asked]
    by_word = _by_word(notes)
    alike, apart = by_word[PairWord.ALIKE], by_word[PairWord.APART]
    parts = [f"alike on {len(alike)} of {count(len(notes), 'note')}"]
    if apart:
        beyond = cared_for(settings.tolerance)
        parts.append(f"surely more than {beyond} apart on {listed(apart)}")
    open_notes, in_order = by_word[PairWord.CANNOT_TELL], by_word[PairWord.ORDER]
    if open_notes:
        parts.append(f"not to be told yet on {_few(open_notes)}")
    if in_order:
        parts.append(f"nosed in one order by everybody on {_few(in_order)}")
    said = f"{named[0]} and {named[1]}: {'; '.join(parts)}"
    if apart:
        return Verdict(PairWord.APART, said, advice.apart.format(listed(apart)))
    if open_notes:
        return Verdict(PairWord.CANNOT_TELL, said, _more(more, settings, advice))
    if in_order:
        return Verdict(PairWord.ORDER, said, OWN_ORDER)
    return Verdict(PairWord.ALIKE, said, advice.alike)


_FEW = 3


def _few(names: Sequence[str]) -> str:
    return listed(names) if len(names) <= _FEW else count(len(names), "note")


def _by_word(notes: Sequence[tuple[str, PairWord]]) -> Mapping[PairWord, list[str]]:
    found: dict[PairWord, list[str]] = {word: [] for word in PairWord}
    for name, word in notes:
        found[word].append(name)
    return found
