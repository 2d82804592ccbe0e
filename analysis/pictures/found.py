"""What did we find: a row a note, the glasses on its line."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from string import ascii_lowercase, ascii_uppercase

from ..agreement import Agreement, DescriptorAgreement, PanelWord
from .marks import Facet, Legend, Mark, Picture, Row, Shape, Sign, Trust

NOT_BELIEVED = frozenset(
    {
        PanelWord.DO_NOT,
        PanelWord.CANNOT_TELL,
        PanelWord.TOO_LITTLE,
        PanelWord.ORDER,
        PanelWord.CAMPS,
    }
)
"""Words after which nothing is read out of a note's means."""
LOOK_TWICE = frozenset({PanelWord.SECOND_LOOK, PanelWord.ONE_MIND})
SIGNS = {Trust.FIRM: Sign.FULL, Trust.LOOK_TWICE: Sign.HOLLOW, Trust.DOUBTFUL: Sign.CROSS}
TOLD = {
    Trust.FIRM: "to be believed",
    Trust.LOOK_TWICE: "look twice first",
    Trust.DOUBTFUL: "not to be believed",
}
_ORDER = tuple(Trust)
LETTERS = ascii_lowercase + ascii_uppercase
CODE_LENGTH, SHOWN_DIGITS = 3, 2


def what_was_found(result: Agreement) -> Picture:
    """Return every glass on the line of every note.

    Notes to look at twice stand apart below the others, and below those the notes not to be
    believed, each with a sign before its name.

    Before the reveal a glass is the last two digits of its code, which no other on a tray shares;
    after it a letter, with its name in the legend. The length below a line is the smallest
    difference that this panel can be trusted with, laid out from the lowest glass.
    """
    notes = sorted(result.descriptors, key=lambda note: _ORDER.index(trust_in(note)))
    names = signs_of(sorted({mean.sample for note in result.descriptors for mean in note.means}))
    marks = [mark for at, note in enumerate(notes) for mark in _marks(at, note, names)]
    kinds = [trust for trust in Trust if trust in {trust_in(note) for note in notes}]
    legend = [Legend(Shape.POINT, _told(trust, notes), SIGNS[trust]) for trust in kinds]
    legend.append(Legend(Shape.SIZE, "smallest difference to trust, from the lowest glass"))
    if any(sign != name[-SHOWN_DIGITS:] for name, sign in names.items()):
        legend += [Legend(Shape.LETTERS, name, text=sign) for name, sign in names.items()]
    else:
        legend.append(Legend(Shape.LETTERS, "a glass, by the last two digits", text="00"))
    return Picture(
        title=f"What did we find in {result.session}?",
        says=" ".join([result.verdict.sentence, *_doubted(notes)]),
        rows=tuple(
            Row(n.descriptor, n.verdict.label, trust_in(n), SIGNS[trust_in(n)]) for n in notes
        ),
        facets=(Facet(0.0, 100.0, unit="points, mean of the panel"),),
        marks=tuple(marks),
        legend=tuple(legend),
    )


def _told(trust: Trust, notes: Sequence[DescriptorAgreement]) -> str:
    """Return what a sign says; of a note with too little behind it nobody has found a fault."""
    words = {note.verdict.word for note in notes if trust_in(note) is trust}
    if PanelWord.TOO_LITTLE not in words:
        return TOLD[trust]
    little = PanelWord.TOO_LITTLE.value
    return little if len(words) == 1 else f"{TOLD[trust]}, or {little}"


def _doubted(notes: Sequence[DescriptorAgreement]) -> Iterator[str]:
    """Yield which notes are not to be believed, and of which too little is known yet."""
    doubtful = [note for note in notes if trust_in(note) is Trust.DOUBTFUL]
    for heading, little in (("Not to be believed", False), ("Too little yet", True)):
        names = [
            n.descriptor for n in doubtful if (n.verdict.word is PanelWord.TOO_LITTLE) is little
        ]
        if names:
            yield f"{heading}: {', '.join(names)}."


def trust_in(note: DescriptorAgreement) -> Trust:
    """Return how far the means of a note can be leaned on."""
    if note.verdict.word in NOT_BELIEVED:
        return Trust.DOUBTFUL
    return Trust.LOOK_TWICE if note.verdict.word in LOOK_TWICE else Trust.FIRM


def signs_of(samples: Sequence[str]) -> dict[str, str]:
    """Return a short sign for each sample: the end of a code where all are codes, else a letter."""
    coded = all(len(name) == CODE_LENGTH and name.isdigit() for name in samples)
    ends = [name[-SHOWN_DIGITS:] for name in samples]
    if coded and len(set(ends)) == len(ends):
        return dict(zip(samples, ends, strict=True))
    return {name: sign_at(at) for at, name in enumerate(samples)}


def sign_at(at: int) -> str:
    """Return the letter of a place; past the letters a letter and a number."""
    times, rest = divmod(at, len(LETTERS))
    return LETTERS[rest] if times == 0 else f"{LETTERS[rest]}{times + 1}"


def _marks(at: int, note: DescriptorAgreement, names: dict[str, str]) -> list[Mark]:
    span = note.scale_high - note.scale_low

    def on_line(value: float) -> float:
        return 100.0 * (value - note.scale_low) / span

    found = [
        Mark(Shape.LETTERS, at, on_line(mean.mean), text=names[mean.sample]) for mean in note.means
    ]
    if note.seen_difference is not None and note.means:
        lowest = min(mean.x for mean in found)
        found.append(
            Mark(Shape.SIZE, at, lowest, min(lowest + 100.0 * note.seen_difference / span, 100.0))
        )
    return found
