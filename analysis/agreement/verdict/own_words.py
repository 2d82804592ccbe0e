"""Sentences on a session in own words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from ...counted import count, plural
from ...digits import in_digits
from ..settings import AgreementSettings
from .words import AssessorWord, PanelWord, Verdict, listed

NEAR = 0.05
"""A note of the house is proposed when chance comes as near in one of twenty or fewer."""
_PERHAPS = 0.2
APART_FROM = 0.3
"""Who is told to stand apart does no better than chance so often; between this and the share of
false words it cannot be told. With six glasses a nose that reads as the others do comes over a
twentieth in a third of all sessions, over this in a twenty-fifth (tests/bench/words_own.py)."""
_MOST_SAMPLES = 6
"""With fewer glasses a map of two directions fits nearly anything."""


class ChanceFigures(Protocol):
    """What is said of one RV: against chance only."""

    @property
    def standardised(self) -> float:
        """Standard deviations above what chance gives."""

    @property
    def p(self) -> float:
        """How often chance does as well."""


@dataclass(frozen=True)
class WordsFacts:
    """What the verdict on a session in own words leans on.

    Attributes
    ----------
    n_axes, percent
        Directions that are more than chance, and their share of all that was scored.
    ends
        Words that stand for the two ends of the first direction.
    second_p
        P of the second opinion.
    coded
        The session is not revealed: a glass poured twice counts as two samples.
    far
        Assessors whose words lay the glasses out no nearer to the others' than chance would.
    """

    session: str
    n_assessors: int
    n_samples: int
    n_words: int
    n_axes: int
    percent: float
    ends: tuple[tuple[str, ...], tuple[str, ...]]
    second_p: float
    far: tuple[str, ...]
    coded: bool = False


@dataclass(frozen=True)
class WordFacts:
    """One word beside the nearest note of the house."""

    assessor: str
    word: str
    on_map: float
    nearest: str | None
    closeness: float | None
    chance: float | None
    likeness: float | None = None
    by_scores: str | None = None
    best_likeness: float | None = None
    chance_by_scores: float | None = None

    @property
    def fits_better(self) -> bool:
        """Whether another note than the nearest on the map fits the word's own scores best.

        The map may have no direction for that one: a note that is best on the map only was mostly
        the wrong one. So it is too where no note lies near on the map, and one fits the scores as
        chance hardly does.
        """
        if self.best_likeness is None or self.chance_by_scores is None or self.chance is None:
            return False
        if self.nearest is None or self.likeness is None or self.chance > _PERHAPS:
            return self.chance_by_scores <= NEAR
        return self.by_scores != self.nearest


def words_session_verdict(facts: WordsFacts, settings: AgreementSettings) -> Verdict[PanelWord]:
    """Sum up a session in own words."""
    over = (
        f"{count(facts.n_samples, 'code')} (one poured twice has two codes until the reveal)"
        if facts.coded
        else count(facts.n_samples, "sample")
    )
    heading = (
        f"Session {facts.session} in own words, {count(facts.n_words, 'word')} of "
        f"{count(facts.n_assessors, 'assessor')} over {over}"
    )
    sure = facts.second_p <= settings.false_share
    if facts.n_samples < _MOST_SAMPLES or facts.n_assessors < 3:
        return _too_little(facts, heading)
    if facts.n_axes == 0:
        doubt = "" if not sure else ", although the second opinion sees more than chance"
        said = f"{heading}: no direction that they share is more than chance{doubt}"
        action = "nose the extremes together and agree on what the words mean"
        word = PanelWord.SECOND_LOOK if sure else PanelWord.DO_NOT
        return Verdict(word, said, action)
    said = f"{heading}: {_shared(facts)}{_between(facts.ends)}"
    if not sure:
        said += ", but the second opinion sees no more than chance"
        return Verdict(PanelWord.SECOND_LOOK, said, "repeat the session before leaning on the map")
    if facts.n_assessors < settings.small_panel:
        said += f", by {count(facts.n_assessors, 'assessor')} only"
        return Verdict(PanelWord.SECOND_LOOK, said, _confirm(facts))
    if facts.far:
        action = f"ask {listed(facts.far[:3])} what their words mean, then confirm the house notes"
        return Verdict(PanelWord.SAFE, said, action)
    return Verdict(PanelWord.SAFE, said, _confirm(facts))


def _confirm(facts: WordsFacts) -> str:
    """Say the way on: house notes lie beside words, and people are judged, from the reveal on."""
    confirm = "confirm the words that have a house note"
    return f"reveal the session, then {confirm}" if facts.coded else confirm


def _too_little(facts: WordsFacts, heading: str) -> Verdict[PanelWord]:
    missing = []
    if facts.n_samples < _MOST_SAMPLES:
        more = _MOST_SAMPLES - facts.n_samples
        missing.append(f"{more} more {plural('sample', more)}")
    if facts.n_assessors < 3:
        missing.append("a third assessor")
    action = f"add {listed(missing)} before anybody leans on the map"
    return Verdict(PanelWord.TOO_LITTLE, heading, action)


def _shared(facts: WordsFacts) -> str:
    number = "one direction" if facts.n_axes == 1 else f"{facts.n_axes} directions"
    return f"they share {number}, {facts.percent:.0f} in 100 of all that was scored"


def _between(ends: tuple[tuple[str, ...], tuple[str, ...]]) -> str:
    low, high = (listed(list(part)) if part else "" for part in ends)
    if low and high:
        return f", first from {low} to {high}"
    one = low or high
    return f", first by {one}" if one else ""


def stands_apart(p: float, n_samples: int) -> bool:
    """Say whether an assessor lays the glasses out so unlike the others that it can be said."""
    return n_samples >= _MOST_SAMPLES and p > APART_FROM


def words_assessor_verdict(
    assessor: str, weight: float, test: ChanceFigures, n_samples: int, settings: AgreementSettings
) -> Verdict[AssessorWord]:
    """Say whether an assessor's words lay the glasses out like the others'."""
    if test.p > settings.false_share and not stands_apart(test.p, n_samples):
        said = (
            f"whether {assessor} lays the glasses out as the others do cannot be told from "
            f"{count(n_samples, 'sample')}"
        )
        return Verdict(AssessorWord.CANNOT_TELL, said, "nose more samples in own words")
    if test.p > settings.false_share:
        said = (
            f"{assessor} stands apart: these words lay the glasses out no nearer to the others' "
            f"than chance would (weight {in_digits(weight, '.1f')} where 1 is usual)"
        )
        action = "ask what the words mean with two unlike glasses in hand"
        return Verdict(AssessorWord.APART, said, action)
    said = (
        f"{assessor} lays the glasses out as the others do, in words of their own "
        f"({in_digits(test.standardised, '.1f')} standard deviations above chance, weight "
        f"{in_digits(weight, '.1f')} where "
        "1 is usual)"
    )
    return Verdict(AssessorWord.WITH, said, "nothing to do")


def coded_assessor_verdict(assessor: str) -> Verdict[AssessorWord]:
    """Say that nobody is judged before the reveal."""
    return Verdict(
        AssessorWord.CANNOT_TELL,
        f"whether {assessor} lays the glasses out as the others do is told from the reveal on: "
        "until then a glass poured twice counts as two samples",
        "reveal the session",
    )


def word_sentence(facts: WordFacts) -> tuple[str | None, str, str]:
    """The note of the house proposed for a word, the sentence and the next action."""
    name = f"{facts.assessor}'s {facts.word!r}"
    if facts.chance is None:
        action = "nose these samples by the house's notes to match the word"
        share = f"{100.0 * facts.on_map:.0f} in 100 of it lies on the map the panel shares"
        return None, f"{name}: {share}: {action}.", action
    if facts.fits_better:
        return _by_scores(name, facts)
    if facts.nearest is None or facts.chance > _PERHAPS:
        action = "ask what is meant; it may be a note the house has no line for"
        return None, f"{name} moves with no note of the house: {action}.", action
    near = (
        f"moves with {facts.nearest} (correlation {in_digits(facts.closeness, '.2f')} on "
        "the map; on it or by the word's own scores chance comes "
        f"as near {in_digits(max(100.0 * facts.chance, 0.1), '.2g')} times in 100)"
    )
    if facts.chance > NEAR:
        action = f"nose it beside the reference of {facts.nearest} before confirming"
        return facts.nearest, f"{name} perhaps {near}: {action}.", action
    action = f"confirm that it means {facts.nearest}"
    return facts.nearest, f"{name} {near}: {action}.", action


def _by_scores(name: str, facts: WordFacts) -> tuple[None, str, str]:
    """Say that the map and the word's own scores point to different notes: none is proposed."""
    best = f"{in_digits(facts.best_likeness, '.2f')} with {facts.by_scores}"
    far = facts.nearest is None or facts.chance is None or facts.chance > _PERHAPS
    said = (
        f"moves with no note of the house on the map, but its own scores correlate {best}"
        if far
        else f"lies nearest to {facts.nearest} on the map, but its own scores correlate "
        f"{in_digits(facts.likeness, '.2f')} with that and {best}"
    )
    action = f"ask what is meant, with the reference of {facts.by_scores} in hand"
    return None, f"{name} {said}: {action}.", action


def not_seen(n_axes: int, percent: float) -> str | None:
    """Say what a map of one direction cannot show."""
    if n_axes != 1:
        return None
    return (
        f"The map has one direction only, {percent:.0f} in 100 of all that was scored: what words "
        "tell across it, and notes of the house that lie across it, are not seen on it."
    )
