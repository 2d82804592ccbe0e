"""Who saw it differently: one note, a row a glass, everybody by two letters drawn for the page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from hashlib import sha256
from itertools import product
from string import ascii_lowercase

from ..agreement import DescriptorAgreement
from .marks import Facet, Legend, Mark, Picture, Row, Shape, Sign

MOST_LETTERED, FARTHEST = 6, 4
"""People whose letters all stand in a row; of more, those who lie farthest from the panel there:
letters of all would push each other away from where they belong."""
EXAMPLE = "xy"

SignedMeans = Mapping[str, Mapping[str, float]]


def page_signs(people: Sequence[str], drawn_from: str) -> dict[str, str]:
    """Return two letters for each person, that say nothing of who it is.

    The same `drawn_from` draws the same letters, another one others; no letters are part of
    anybody's code.

    Examples
    --------
    >>> first, again = page_signs(["A1", "B2"], "one page"), page_signs(["A1", "B2"], "one page")
    >>> first == again, len(set(first.values()))
    (True, 2)
    """

    def drawn(what: str) -> str:
        return sha256(f"{drawn_from}\n{what}".encode()).hexdigest()

    codes = " ".join(people).casefold()
    pairs = [a + b for a, b in product(ascii_lowercase, repeat=2) if a != b]
    pairs = [pair for pair in pairs if pair not in codes and pair != EXAMPLE]
    ranked = sorted(pairs, key=lambda pair: drawn(f"letters {pair}"))
    return dict(zip(sorted(people, key=lambda who: drawn(f"person {who}")), ranked, strict=False))


def who_saw_it(
    note: DescriptorAgreement,
    means: SignedMeans,
    signs: Mapping[str, str],
    *,
    session: str,
    own: str | None = None,
) -> Picture:
    """Return the glasses of one note, lowest of the panel first, with everybody's mean of each.

    Parameters
    ----------
    means
        Points of the 0-100 line by assessor and sample.
    signs
        Two letters for each assessor.
    own
        Whose page it is: their letters are bold, and named to them.
    """
    per_point = 100.0 / (note.scale_high - note.scale_low)
    ranked = sorted(note.means, key=lambda part: (part.mean, part.sample))
    panel = {part.sample: (part.mean - note.scale_low) * per_point for part in ranked}
    marks: list[Mark] = []
    for row, (sample, middle) in enumerate(panel.items()):
        theirs = {who: line[sample] for who, line in means.items() if sample in line}
        far = sorted(theirs, key=lambda who: (who != own, -abs(theirs[who] - middle), signs[who]))
        most = MOST_LETTERED if len(theirs) <= MOST_LETTERED else FARTHEST + (own in theirs)
        shown, rest = sorted(far[:most]), [theirs[who] for who in far[most:]]
        marks += [Mark(Shape.BAND, row, min(rest), max(rest))] if rest else []
        marks.append(Mark(Shape.POINT, row, middle, sign=Sign.DIAMOND))
        marks += [
            Mark(Shape.LETTERS, row, theirs[who], text=_sign(who, signs, own), strong=who == own)
            for who in shown
        ]
    return Picture(
        title=f"Who saw {note.descriptor} differently in {session}?",
        says=f"{note.verdict.sentence} Letters were drawn for this page; they are no codes.",
        rows=tuple(Row(sample) for sample in panel),
        facets=(_line([mark.x for mark in marks]),),
        marks=tuple(marks),
        legend=tuple(_legend(marks, signs, own)),
    )


def _line(values: Sequence[float]) -> Facet:
    """The stretch in use, in tens: people who lie close are told apart on it."""
    low = 10.0 * (min(values, default=0.0) // 10.0)
    high = 10.0 * -(-max(values, default=100.0) // 10.0)
    return Facet(low, max(high, low + 10.0), unit="points, everybody's mean")


def _sign(who: str, signs: Mapping[str, str], own: str | None) -> str:
    """Capitals are one's own: bold is not seen in every terminal."""
    return signs[who].upper() if who == own else signs[who]


def _legend(marks: Sequence[Mark], signs: Mapping[str, str], own: str | None) -> list[Legend]:
    found = [Legend(Shape.POINT, "the panel", Sign.DIAMOND)]
    if own is not None and own in signs:
        found.append(Legend(Shape.LETTERS, f"{own}, whose page this is", text=signs[own].upper()))
    nearer = any(mark.shape is Shape.BAND for mark in marks)
    told = f"one person, the {FARTHEST} farthest from the panel" if nearer else "one person"
    found.append(Legend(Shape.LETTERS, told, text=EXAMPLE))
    if nearer:
        found.append(Legend(Shape.BAND, "everybody else"))
    return found
