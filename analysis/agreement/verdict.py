"""Every sentence that is said of a panel, in one place.

A sentence names points on the 0-100 line and ends in what to do next, so that the screen, the
command line and the report all say the same.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from analysis.agreement.settings import AgreementSettings


class PanelWord(StrEnum):
    """What a panel's scores of one descriptor are good for."""

    SAFE = "safe to act on"
    SECOND_LOOK = "act with a second look"
    DO_NOT = "do not act on"
    ALIKE = "casks alike on this note"
    TOO_LITTLE = "too little yet"


class AssessorWord(StrEnum):
    """How one assessor read the glasses."""

    WITH = "reads with the panel"
    WIDER = "uses a wider line"
    NARROWER = "uses a narrower line"
    UNSTEADY = "unsteady on this note"
    REVERSED = "opposite way round, check the glass first"
    FLAT = "did not separate these glasses"
    TOO_LITTLE = "too little yet"


@dataclass(frozen=True)
class Verdict:
    """A word, a sentence that ends in the next action, and that action."""

    word: str
    sentence: str
    next_action: str


@dataclass(frozen=True)
class DescriptorFacts:
    """What the verdict on a descriptor leans on; distances in points of the 0-100 line.

    Attributes
    ----------
    span
        From the lowest to the highest sample mean.
    seen_difference
        Difference between two samples that this panel sees four times in five.
    repeat_points
        Within so many points the panel mean of a glass nosed again would lie, 19 times in 20.
    significant
        Whether the sample effect stands among all descriptors of the session.
    mostly_zero
        Whether the sample effect was judged by permutation because zeros prevail.
    """

    descriptor: str
    n_assessors: int
    n_samples: int
    n_duplicates: int
    reliability: float | None
    reliability_low: float | None
    significant: bool
    span: float | None
    seen_difference: float | None
    repeat_points: float | None
    mostly_zero: bool
    reason: str | None


@dataclass(frozen=True)
class NoteFacts:
    """One assessor on one descriptor, for the sentence; distances in points of the 0-100 line.

    `told_apart` says whether the panel as a whole separated the samples on it, without which
    nobody is judged by it.
    """

    descriptor: str
    word: AssessorWord | None
    told_apart: bool
    span: float | None
    others_span: float | None
    repeat_points: float | None
    median_repeat_points: float | None


def descriptor_verdict(facts: DescriptorFacts, settings: AgreementSettings) -> Verdict:
    """Judge one descriptor of a session."""
    lacking = _lacking(facts, settings)
    if lacking:
        return _too_little(facts, lacking)
    small = facts.n_assessors < settings.small_panel
    reliability = facts.reliability
    if reliability is not None and _safe(facts, settings) and not small:
        return _safe_sentence(facts)
    if reliability is not None and _second(facts, settings):
        return _second_sentence(facts, small)
    seen = facts.seen_difference
    if seen is not None and seen <= settings.tolerance:
        return _alike_sentence(facts)
    return _do_not_sentence(facts, small)


def _safe(facts: DescriptorFacts, settings: AgreementSettings) -> bool:
    value, low = facts.reliability, facts.reliability_low
    return (
        value is not None
        and low is not None
        and value >= settings.safe_reliability
        and low >= settings.safe_low
        and facts.significant
    )


def _second(facts: DescriptorFacts, settings: AgreementSettings) -> bool:
    enough = facts.reliability is not None and (
        facts.reliability >= settings.second_look_reliability
    )
    return enough and (facts.significant or not facts.mostly_zero)


def _lacking(facts: DescriptorFacts, settings: AgreementSettings) -> list[str]:
    """What is missing for a verdict, most to be done first."""
    missing = []
    if facts.n_assessors < 2:
        missing.append("a second assessor")
    if facts.n_samples < settings.least_samples:
        more = settings.least_samples - facts.n_samples
        missing.append(f"{more} more {_plural('sample', more)} in the session")
    if facts.n_duplicates < settings.least_duplicates:
        more = settings.least_duplicates - facts.n_duplicates
        missing.append(f"{more} more blind {_plural('duplicate', more)}")
    return missing


def _too_little(facts: DescriptorFacts, lacking: Sequence[str]) -> Verdict:
    action = f"add {_listed(lacking)} before anybody leans on this note"
    seen = ""
    if facts.span is not None and facts.n_assessors > 1:
        seen = f"; so far the sample means lie {_points(facts.span)} apart"
    sentence = (
        f"{_name(facts.descriptor)} has {facts.n_samples} {_plural('sample', facts.n_samples)}, "
        f"{facts.n_duplicates} blind {_plural('duplicate', facts.n_duplicates)} and "
        f"{facts.n_assessors} {_plural('assessor', facts.n_assessors)} behind it{seen}"
    )
    return _verdict(PanelWord.TOO_LITTLE, sentence, action)


def _safe_sentence(facts: DescriptorFacts) -> Verdict:
    sentence = (
        f"The panel told the samples apart on {facts.descriptor}, "
        f"{_points(facts.span)} from lowest to highest, and would place them so again "
        f"(reliability {facts.reliability:.2f}, at least {facts.reliability_low:.2f})"
    )
    return _verdict(PanelWord.SAFE, sentence, "use these means as they stand")


def _second_sentence(facts: DescriptorFacts, small: bool) -> Verdict:
    why = (
        f"with {_count(facts.n_assessors, 'assessor')} one nose can decide it, and "
        if small
        else ""
    )
    seen = ""
    if facts.seen_difference is not None:
        seen = f" and trust differences of {_points(facts.seen_difference)} or more only"
    sentence = (
        f"The panel puts the samples {_points(facts.span)} apart on {facts.descriptor}, but "
        f"{why}the order may change (reliability {facts.reliability:.2f})"
    )
    return _verdict(PanelWord.SECOND_LOOK, sentence, f"nose the deciding pair once more{seen}")


def _alike_sentence(facts: DescriptorFacts) -> Verdict:
    repeats = ""
    if facts.repeat_points is not None:
        repeats = f"repeats within {_points(facts.repeat_points)} and "
    sentence = (
        f"The casks are alike on {facts.descriptor}{_within(facts.span)}: the panel {repeats}would have seen a "
        f"difference of {_points(facts.seen_difference)}"
    )
    return _verdict(PanelWord.ALIKE, sentence, "choose between them by another note")


def _within(span: float | None) -> str:
    return "" if span is None else f", {_points(span)} from lowest to highest"


def _do_not_sentence(facts: DescriptorFacts, small: bool) -> Verdict:
    if facts.reason is not None and facts.seen_difference is None:
        sentence = f"{_name(facts.descriptor)} cannot be judged: {facts.reason}"
        return _verdict(PanelWord.DO_NOT, sentence, "nose it again before deciding by it")
    repeats = ""
    if facts.repeat_points is not None:
        repeats = f", and repeats only within {_points(facts.repeat_points)}"
    who = f"A panel of {facts.n_assessors}" if small else "The panel"
    sentence = (
        f"{who} did not agree on {facts.descriptor}: it would miss a difference of less than "
        f"{_points(facts.seen_difference)}{repeats}"
    )
    action = "nose the reference of this note together, then repeat the flight"
    if small:
        action = "decide by it only where casks differ by more, or ask two more assessors"
    return _verdict(PanelWord.DO_NOT, sentence, action)


def assessor_verdict(
    assessor: str, notes: Sequence[NoteFacts], correlation: float | None, n_missing: int
) -> Verdict:
    """Sum up one assessor in a sentence: the rule first, then the note that needs work."""
    judged = [note for note in notes if note.word is not None]
    if not judged:
        return _unjudged(assessor, notes, correlation)
    word = _main_word(judged)
    if word is not AssessorWord.WITH:
        worst = _worst([note for note in judged if note.word is word])
        also = sum(note.word is word for note in judged) - 1
        return _note_sentence(assessor, worst, also)
    others = [note for note in judged if note.word is not AssessorWord.WITH]
    closeness = "" if correlation is None else f" (correlation {correlation:.2f})"
    told = sum(note.told_apart for note in notes)
    read = sum(note.word is not AssessorWord.UNSTEADY for note in judged) - sum(
        note.word in (AssessorWord.FLAT, AssessorWord.REVERSED) for note in judged
    )
    sentence = (
        f"{assessor} reads with the panel on {read} of the {_count(told, 'note')} it told apart"
        f"{closeness}"
    )
    if others:
        worst = _worst(others)
        what, action = _note_words(worst)
        return _verdict(AssessorWord.WITH, f"{sentence} but {what}", action)
    if n_missing:
        blank = f"{n_missing} {_plural('line', n_missing)}"
        action = f"ask why {blank} {'was' if n_missing == 1 else 'were'} left blank"
        return _verdict(AssessorWord.WITH, sentence, action)
    return _verdict(AssessorWord.WITH, sentence, "nothing to do")


def _main_word(judged: Sequence[NoteFacts]) -> AssessorWord:
    """The word that holds for this assessor as a whole."""

    def share(word: AssessorWord) -> float:
        return sum(note.word is word for note in judged) / len(judged)

    if share(AssessorWord.REVERSED) >= 1 / 3:
        return AssessorWord.REVERSED
    for word in (AssessorWord.FLAT, AssessorWord.UNSTEADY, AssessorWord.NARROWER):
        if share(word) > 1 / 2:
            return word
    if share(AssessorWord.WIDER) > 1 / 2:
        return AssessorWord.WIDER
    return AssessorWord.WITH


_URGENCY = (
    AssessorWord.REVERSED,
    AssessorWord.FLAT,
    AssessorWord.UNSTEADY,
    AssessorWord.NARROWER,
    AssessorWord.WIDER,
)


def _worst(notes: Sequence[NoteFacts]) -> NoteFacts:
    """The note to speak of first: the most urgent word, then the first name."""
    ranks = {word: rank for rank, word in enumerate(_URGENCY)}
    return min(notes, key=lambda note: (ranks.get(note.word, 9), note.descriptor))  # type: ignore[arg-type]


def _note_sentence(assessor: str, note: NoteFacts, also: int) -> Verdict:
    what, action = _note_words(note)
    more = f" (and likewise on {_count(also, 'more note')})" if also else ""
    word = note.word or AssessorWord.WITH
    return _verdict(word, f"{assessor} {what}{more}", action)


def _note_words(note: NoteFacts) -> tuple[str, str]:
    on = note.descriptor
    if note.word is AssessorWord.REVERSED:
        return (
            f"has {on} the opposite way round over {_points(note.span)}",
            "check for a swapped glass first",
        )
    if note.word is AssessorWord.FLAT:
        return (
            f"did not separate these glasses on {on}, {_points(note.span)} in all",
            "nose the two references again",
        )
    if note.word is AssessorWord.UNSTEADY:
        usual = _points(note.median_repeat_points)
        return (
            f"is unsteady on {on}, {_points(note.repeat_points)} between one nosing and the "
            f"next where {usual} is usual",
            "slow down on this note and nose the reference before each flight",
        )
    wide = note.word is AssessorWord.WIDER
    return (
        f"uses a {'wider' if wide else 'narrower'} line on {on}, {_points(note.span)} where the "
        f"others use {_points(note.others_span)}",
        "look at the words at both ends of the line together",
    )


def _unjudged(assessor: str, notes: Sequence[NoteFacts], correlation: float | None) -> Verdict:
    told = [note for note in notes if note.told_apart]
    if told and correlation is not None:
        sentence = (
            f"{assessor} is neither surely with the panel nor against it on the "
            f"{_count(len(told), 'note')} it told apart (correlation {correlation:.2f})"
        )
        return _verdict(AssessorWord.TOO_LITTLE, sentence, "let the next session decide")
    repeats = [note.repeat_points for note in notes if note.repeat_points is not None]
    closeness = "" if correlation is None else f", correlation with the others {correlation:.2f}"
    if repeats:
        middle = sorted(repeats)[len(repeats) // 2]
        said = f"{assessor} repeats within {_points(middle)}{closeness}"
        action = "judge nobody by a session in which the panel told so little apart"
    else:
        said = f"{assessor} nosed no glass twice{closeness}"
        action = "pour a blind duplicate next time"
    return _verdict(AssessorWord.TOO_LITTLE, said, action)


def session_verdict(
    session: str, descriptors: Sequence[tuple[str, str]], n_assessors: int, small_panel: int
) -> Verdict:
    """Sum up a session in one line from each descriptor's name and word."""
    names: dict[str, list[str]] = {word: [] for word in PanelWord}
    for name, word in descriptors:
        names[word].append(name)
    order = [
        (PanelWord.SAFE, "safe to act on"),
        (PanelWord.SECOND_LOOK, "to act on with a second look"),
        (PanelWord.ALIKE, "on which the casks are alike"),
        (PanelWord.DO_NOT, "not to act on"),
        (PanelWord.TOO_LITTLE, "with too little yet"),
    ]
    parts = [f"{len(names[word])} {said}" for word, said in order if names[word]]
    word = _session_word(names)
    small = f" by {n_assessors} assessors only" if n_assessors < small_panel else ""
    sentence = f"Session {session}, {_count(len(descriptors), 'note')}{small}: {', '.join(parts)}"
    return _verdict(word, sentence, _session_action(word, names))


def _session_word(names: dict[str, list[str]]) -> PanelWord:
    total = sum(len(part) for part in names.values())
    if len(names[PanelWord.TOO_LITTLE]) * 2 > total:
        return PanelWord.TOO_LITTLE
    usable = len(names[PanelWord.SAFE]) + len(names[PanelWord.ALIKE])
    if names[PanelWord.SAFE] and usable * 2 > total:
        return PanelWord.SAFE
    if names[PanelWord.SAFE] or names[PanelWord.SECOND_LOOK]:
        return PanelWord.SECOND_LOOK
    if len(names[PanelWord.ALIKE]) * 2 > total:
        return PanelWord.ALIKE
    return PanelWord.DO_NOT


def _session_action(word: PanelWord, names: dict[str, list[str]]) -> str:
    if word is PanelWord.TOO_LITTLE:
        return "pour at least six samples and two blind duplicates next time"
    doubtful = names[PanelWord.DO_NOT]
    if doubtful:
        return f"leave {_listed(doubtful[:3])}{' and others' if len(doubtful) > 3 else ''} aside"
    if names[PanelWord.SECOND_LOOK]:
        return f"look twice at {_listed(names[PanelWord.SECOND_LOOK][:3])}"
    if word is PanelWord.ALIKE:
        return "choose between these casks by something else"
    return "use the means"


def private_sentence(assessor: str, descriptor: str, n_sessions: int) -> tuple[str, str]:
    """Say, to the person and the lead only, that a note seems not to be smelled."""
    action = "offer the reference at two strengths, in private, and leave it at that if declined"
    said = (
        f"{assessor} has not separated the glasses on {descriptor} over {n_sessions} sessions "
        f"in which the others did: {action}."
    )
    return said, action


def _verdict(word: str, sentence: str, action: str) -> Verdict:
    return Verdict(word=str(word), sentence=f"{sentence}: {action}.", next_action=action)


def _points(value: float | None) -> str:
    if value is None:
        return "an unknown number of points"
    whole = f"{value:.0f}" if value >= 1.0 or value < 0.05 else f"{value:.1f}"
    return f"{whole} point" if whole == "1" else f"{whole} points"


def _plural(word: str, count: int) -> str:
    return word if count == 1 else f"{word}s"


def _count(count: int, word: str) -> str:
    return f"{count} {_plural(word, count)}"


def _name(descriptor: str) -> str:
    return descriptor[:1].upper() + descriptor[1:]


def _listed(parts: Sequence[str]) -> str:
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"
