"""Sentences of the evening note: to one assessor alone, about that assessor alone.

They speak to the person, name nobody else, and hold no rank.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ...counted import count
from ...digits import in_digits
from ..one_session.swaps import Exchange, Swap
from .words import AssessorWord, points


@dataclass(frozen=True)
class Repeated:
    """One person's glasses that came back; distances in points of the 0-100 line.

    Attributes
    ----------
    samples
        What was in them.
    middle
        Middle distance between two nosings, over the notes.
    closest, furthest
        Note and distance.
    """

    samples: tuple[str, ...]
    middle: float
    closest: tuple[str, float]
    furthest: tuple[str, float]


@dataclass(frozen=True)
class Clearest:
    """The note on which one person told the glasses apart most clearly, as the others did.

    `low` and `high` hold a sample, the person's score and the others' mean.
    """

    descriptor: str
    low: tuple[str, float, float]
    high: tuple[str, float, float]


@dataclass(frozen=True)
class Earliest:
    """The first glass of the tray in which a note stood out that the others found there too."""

    descriptor: str
    sample: str
    place: int
    own: float
    others: float


@dataclass(frozen=True)
class AloneOnNote:
    """A note found in both glasses of a sample by one who was nearly alone with it."""

    descriptor: str
    sample: str
    own: float


@dataclass(frozen=True)
class Apart:
    """A glass in which one person and the others differ, levels taken out."""

    descriptor: str
    sample: str
    own: float
    others: float


@dataclass(frozen=True)
class OwnDrift:
    """Whether one person has moved beside the others; None where not, points upward positive.

    `charted` is False where there are too few sessions to tell.
    """

    n_sessions: int
    charted: bool
    points: float | None = None
    bounds: tuple[float, float] | None = None
    since: str | None = None
    earliest: str | None = None
    latest: str | None = None


@dataclass(frozen=True)
class OwnWay:
    """One person tonight beside the same person before."""

    n_sessions: int
    correlation: float | None
    correlation_before: float | None
    repeat_points: float | None
    repeat_points_before: float | None
    n_missing: int


def repeated_sentence(found: Repeated | None) -> str:
    """What came back, and how near the two nosings lie."""
    if found is None:
        return "No glass came back to you tonight, so this evening says nothing of repeating."
    what = (
        f"{found.samples[0]} came back to you unmarked"
        if len(found.samples) == 1
        else f"{count(len(found.samples), 'sample')} came back to you unmarked"
    )
    said = f"{what}: on the middle note your nosings lie {points(found.middle)} apart"
    if found.closest[0] == found.furthest[0]:
        return f"{said}."
    return (
        f"{said}, closest on {found.closest[0]} ({points(found.closest[1])}), furthest on "
        f"{found.furthest[0]} ({points(found.furthest[1])})."
    )


def clearest_sentence(found: Clearest) -> str:
    """Where the person told the glasses apart most clearly."""
    (low, own_low, others_low), (high, own_high, others_high) = found.low, found.high
    return (
        f"You told the glasses apart most clearly on {found.descriptor}: {low} at "
        f"{_whole(own_low)} and {high} at {_whole(own_high)}, where the others put "
        f"{_whole(others_low)} and {_whole(others_high)}."
    )


def earliest_sentence(found: Earliest) -> str:
    """What the person found first."""
    return (
        f"What you found first was {found.descriptor}: in your {_ordinal(found.place)} glass, "
        f"{found.sample}, you put it at {_whole(found.own)}, and the others found it there as well "
        f"({_whole(found.others)})."
    )


def alone_sentence(found: AloneOnNote) -> str:
    """What the person found nearly alone, and found again."""
    return (
        f"You found {found.descriptor} in {found.sample} ({found.own:.0f}) and found it again when "
        "the glass came back, though hardly anybody else did: tell the lead what you mean by it."
    )


def apart_sentence(found: Apart) -> str:
    """Where the person and the others differ most."""
    where = "above" if found.own > found.others else "below"
    return (
        f"On {found.descriptor} you put {found.sample} {points(abs(found.own - found.others))} "
        f"{where} the others, your own level taken out."
    )


def word_sentence(descriptor: str, word: AssessorWord) -> str | None:
    """What the word of a note means for the person; None when there is nothing to do."""
    said = {
        AssessorWord.REVERSED: (
            f"On {descriptor} your glasses stand the opposite way round from the others': the lead "
            "looks at the glasses first."
        ),
        AssessorWord.WIDER: (
            f"On {descriptor} you use a wider line than the others; that is no fault, look at the "
            "words at both ends together."
        ),
        AssessorWord.NARROWER: (
            f"On {descriptor} you use a narrower line than the others; that is no fault, look at "
            "the words at both ends together."
        ),
        AssessorWord.UNSTEADY: (
            f"On {descriptor} your scores lie further apart from one nosing to the next than is "
            "usual: take the reference before each flight."
        ),
        AssessorWord.FLAT: (
            f"On {descriptor} you did not separate tonight's glasses: nose the two references "
            "again."
        ),
    }
    return said.get(word)


def next_step(words: Sequence[AssessorWord], n_missing: int) -> str:
    """One thing for the person to do, the most urgent first."""
    steps = (
        (AssessorWord.REVERSED, "let the lead look at your glasses first"),
        (AssessorWord.FLAT, "nose the two references of that note again"),
        (AssessorWord.UNSTEADY, "take the reference before each flight"),
        (AssessorWord.NARROWER, "look at the words at both ends of the line together"),
        (AssessorWord.WIDER, "look at the words at both ends of the line together"),
    )
    for word, step in steps:
        if word in words:
            return step
    return "write 0 where a note is not there" if n_missing else "nothing to do"


def private_note(descriptor: str, n_sessions: int) -> str:
    """Say to the person what is for this person and the lead alone."""
    return (
        f"For you and the lead only: over {count(n_sessions, 'session')} you have not separated "
        f"the glasses on {descriptor} where the others did. It may be nothing; if you like, the "
        "lead sets out the reference for you at two strengths, in private."
    )


def together_sentence(n_notes: int) -> str:
    """When there is no difference worth a word."""
    if n_notes == 0:
        return (
            "Tonight the panel was too small, or told too little apart, to say where you and the "
            "others differ."
        )
    return f"You and the others read {count(n_notes, 'note')} alike."


def progress_sentences(found: OwnWay) -> list[str]:
    """The person tonight beside the same person before."""
    blank = []
    if found.n_missing:
        blank.append(
            f"You left {count(found.n_missing, 'line')} blank: blank is not zero; a note that is "
            "not there is a 0."
        )
    if found.n_sessions == 0:
        return ["This is your first session here; the next one can be laid beside it.", *blank]
    over = f"your last {count(found.n_sessions, 'session')}"
    if found.n_sessions == 1:
        over = "your last session"
    said = []
    if found.repeat_points is not None and found.repeat_points_before is not None:
        word = _compared(found.repeat_points, found.repeat_points_before, "steadier", "less steady")
        said.append(
            f"You repeat within {points(found.repeat_points)} tonight, "
            f"{points(found.repeat_points_before)} over {over}: {word}."
        )
    if found.correlation is not None and found.correlation_before is not None:
        word = _compared(
            1.0 - found.correlation,
            1.0 - found.correlation_before,
            "closer to the others",
            "further from the others",
        )
        said.append(
            f"Your correlation with the others is {in_digits(found.correlation, '.2f')} tonight, "
            f"{in_digits(found.correlation_before, '.2f')} over {over}: {word}."
        )
    return [*(said or [f"There is too little to lay tonight beside {over}."]), *blank]


def _compared(now: float, before: float, less: str, more: str) -> str:
    """Which way a distance went; a fifth either way is the same."""
    if now < 0.8 * before:
        return less
    return more if now > 1.25 * before else "as before"


def _whole(value: float) -> str:
    """A score as a whole number, zero without a sign."""
    return str(round(value))


def _ordinal(number: int) -> str:
    names = ("first", "second", "third", "fourth", "fifth", "sixth")
    return names[number - 1] if 1 <= number <= len(names) else f"{number}th"


def swap_note(swap: Swap) -> str:
    """Tell the person what may have happened to the tray; nobody else is named."""
    reads = {
        Exchange.PAIR: "Your glasses {} and {} read as if they had changed places",
        Exchange.MOVED: "Your tray reads as if it had moved on by one glass",
        Exchange.TRAYS: "Your tray reads as if it had been exchanged with another",
    }[swap.kind]
    return (
        f"{reads.format(*swap.samples)} on the way to you; the lead looks at that, it is not held "
        "against you."
    )


def own_drift_sentence(found: OwnDrift) -> str:
    """Tell a person whether their own place on the line has moved."""
    over = count(found.n_sessions, "session")
    if not found.charted:
        return f"Whether your place on the line has moved cannot be told yet, after {over}."
    if found.points is None or found.bounds is None:
        return f"Your place on the line beside the others has not surely moved over {over}."
    way = "higher" if found.points > 0 else "lower"
    near, far = sorted(abs(end) for end in found.bounds)
    begun = f"since {found.since}"
    if found.earliest != found.latest:
        begun += f" (between {found.earliest} and {found.latest})"
    return (
        f"You have scored about {points(abs(found.points))} {way} than you used to, beside the "
        f"others on the same glasses, {begun}; {near:.0f} to {far:.0f} points hold it. Set the "
        "reference glass beside its place on the line again."
    )
