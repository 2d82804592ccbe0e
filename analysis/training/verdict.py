"""The word on a person in training, and its sentence."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from ..agreement.one_session.with_panel import WithPanel
from ..agreement.verdict.words import MORE_IS_NOT_IT, Verdict
from ..counted import count, plural
from ..digits import in_digits
from .settings import TrainingSettings


class TrainingWord(StrEnum):
    """How far somebody in training is."""

    READY = "ready"
    NOT_YET = "not yet"
    CANNOT_TELL = "cannot tell yet"


@dataclass(frozen=True)
class TrainingFacts:
    """What the sentence stands on.

    Attributes
    ----------
    reading
        The person beside the panel, over all exercises: the figures of *reads with the panel*.
    n_exercises, n_told
        How many there were, and in how many the panel's own values tell the samples apart.
    n_samples
        Different samples in those.
    rules
        What the house asks.
    """

    reading: WithPanel
    n_exercises: int
    n_told: int
    n_samples: int
    rules: TrainingSettings

    @property
    def more_samples(self) -> int:
        """How many different samples are missing."""
        return max(self.rules.least_samples - self.n_samples, 0)


def word_of(facts: TrainingFacts) -> TrainingWord:
    """Return the word that exercises come to.

    *Ready* is said only where *reads with the panel* would be: `reading` is what `reads_with` found
    over all exercises. *Not yet* where enough is known and it falls short, or points the other way.

    Examples
    --------
    >>> read = WithPanel(0.8, 0.001, 12, 4, passed=True)
    >>> word_of(TrainingFacts(read, 4, 4, 24, TrainingSettings())).value
    'ready'
    >>> word_of(TrainingFacts(read, 4, 4, 6, TrainingSettings())).value
    'cannot tell yet'
    """
    reading = facts.reading
    if facts.n_told < facts.rules.least_exercises or facts.more_samples:
        return TrainingWord.CANNOT_TELL
    if reading.passed:
        return TrainingWord.READY
    return TrainingWord.NOT_YET if reading.short or reading.against else TrainingWord.CANNOT_TELL


def training_verdict(assessor: str, facts: TrainingFacts) -> Verdict[TrainingWord]:
    """Say how far somebody is, and what to do next."""
    word = word_of(facts)
    if word is TrainingWord.READY:
        said = f"{assessor} reads with the panel over {_over(facts)}"
        return Verdict(word, said, "the lead may take them in; nothing counts for the house before")
    if word is TrainingWord.NOT_YET:
        return _not_yet(assessor, facts)
    return _cannot_tell(assessor, facts)


def _over(facts: TrainingFacts) -> str:
    shown = facts.reading.correlation
    of = f" (correlation {in_digits(shown, '.2f')})" if shown is not None else ""
    return f"{count(facts.n_told, 'exercise')}{of}"


def _not_yet(assessor: str, facts: TrainingFacts) -> Verdict[TrainingWord]:
    if facts.reading.against:
        said = f"{assessor} has the notes the other way round over {_over(facts)}"
        action = "go through the words at both ends of the line with the reference in hand"
        return Verdict(TrainingWord.NOT_YET, said, action)
    said = f"{assessor} does not read with the panel yet over {_over(facts)}"
    return Verdict(TrainingWord.NOT_YET, said, MORE_IS_NOT_IT)


def _cannot_tell(assessor: str, facts: TrainingFacts) -> Verdict[TrainingWord]:
    word, least = TrainingWord.CANNOT_TELL, facts.rules.least_exercises
    if not facts.n_exercises:
        said = f"{assessor} has sat in no exercise yet that is revealed"
        return Verdict(word, said, f"plan {count(least, 'exercise')} of samples the panel knows")
    if not facts.n_told:
        of = plural("exercise", facts.n_exercises)
        said = f"in {facts.n_exercises} {of} of {assessor} no sample is one the panel tells apart"
        return Verdict(word, said, "pour samples that five of the panel have nosed and told apart")
    said = f"{assessor} can neither be called ready nor not over {_over(facts)}"
    more = count(max(least - facts.n_told, facts.reading.more or 0, 1), "more exercise")
    if facts.more_samples:
        others = count(facts.more_samples, "sample")
        return Verdict(word, said, f"{more}, with {others} that were in none of these, would do")
    return Verdict(word, said, f"about {more} would decide")
