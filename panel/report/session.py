"""The page of a session on the house's notes: can its panel be trusted, and what was found."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analysis.agreement import AgreementSettings, PanelWord
from panel.figures import in_digits
from panel.report.common import CARE, foot
from panel.report.html import to_html
from panel.report.readers import may_name
from panel.report.values import Column, Opening, Report, Said, Section, Table, action, sentences
from panel.words.answers import number
from panel.words.glass_words import NOTES_BESIDE
from panel.words.left_out import left_out_words
from panel.words.session_answer import blanks_words, figures_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from analysis.agreement import Agreement, AssessorAgreement, DescriptorAgreement
    from analysis.pictures import Picture, Plane
    from panel.questions.stands_on import StandsOn
    from panel.report.readers import Reader
    from panel.session.facts import SessionFacts

SOURCES = (
    "Restricted likelihood for unbalanced scores: Gilmour, Thompson & Cullis (1995). Degrees of "
    "freedom: Satterthwaite (1946); Fai & Cornelius (1996).",
    "Bounds of the reliability by panels redrawn: Hesterberg (2015), The American Statistician "
    "69:371-386.",
    "False alarms held down over all notes: Benjamini & Hochberg (1995).",
)


def session_page(
    found: Agreement,
    facts: SessionFacts,
    stands: StandsOn,
    *,
    reader: Reader,
    pictures: tuple[Picture | Plane, ...],
) -> str:
    """Return the page of one session."""
    return to_html(session_report_of(found, facts, stands, reader=reader, pictures=pictures))


def session_report_of(
    found: Agreement,
    facts: SessionFacts,
    stands: StandsOn,
    *,
    reader: Reader,
    pictures: tuple[Picture | Plane, ...],
) -> Report:
    """Return what stands on the page of one session."""
    named = may_name(reader, found.n_assessors)
    return Report(
        kind="Session",
        name=found.session,
        fact=fact_words(facts, found.n_assessors, found.n_samples, named=named),
        reader=reader.words,
        opening=_opening(found, named=named),
        pictures=pictures,
        sections=tuple(_sections(found, named=named)),
        reckoned=tuple(_reckoned(found, facts)),
        sources=SOURCES,
        cautions=CARE,
        foot=foot(stands),
    )


def fact_words(facts: SessionFacts, n_assessors: int, n_samples: int, *, named: bool) -> str:
    """Return when it was held, how many sat in it, and whether the key is known."""
    held = f"held on {facts.held_on}" if facts.held_on else "on a day not recorded"
    key = "revealed" if facts.revealed else "not revealed yet: glasses are told by their codes"
    marks = [*(["a rehearsal"] if facts.rehearsal else []), *([] if facts.blind else ["not blind"])]
    parts = [held, f"assessors: {n_assessors}", f"samples: {n_samples}", key, *marks]
    words = "; ".join(parts)
    late = f" {facts.after_reopening.words(named=named)}" if facts.after_reopening else ""
    return f"{words[0].upper()}{words[1:]}.{late}"


def _opening(found: Agreement, *, named: bool) -> Opening:
    verdict = found.verdict
    small = found.small_panel
    said = sentences(
        f"{verdict.said}.",
        small.sentence if small and named else None,
        found.waiting.sentence if found.waiting and named else None,
    )
    return Opening(verdict.label, said, action(verdict.next_action))


def _sections(found: Agreement, *, named: bool) -> Iterator[Section]:
    notes = tuple(_note(note, named=named) for note in found.descriptors)
    yield Section("Note by note", sentences(found.order.sentence), notes)
    yield Section("What each glass was given", tables=tuple(_means(found.descriptors)))
    if named:
        yield Section("The assessors", said=tuple(map(_person, found.assessors)))
    if named and found.swaps:
        swaps = tuple(swap.sentence for swap in found.swaps)
        yield Section("Glasses that may have changed places", swaps)
    yield Section("Figures behind the words", tables=(_figures(found),))


def _note(note: DescriptorAgreement, *, named: bool) -> Said:
    """What is said of a note; two camps are told by their members, so only where it may be."""
    hidden = note.verdict.word is PanelWord.CAMPS and not named
    verdict = action(note.verdict.next_action) if hidden else note.verdict.sentence
    said = sentences(verdict, note.over_sessions_sentence, blanks_words(note))
    return Said(note.descriptor, note.verdict.label, said)


def _person(person: AssessorAgreement) -> Said:
    said = sentences(person.verdict.sentence, person.over_sessions_sentence)
    return Said(person.assessor, person.verdict.label, said)


def _means(notes: tuple[DescriptorAgreement, ...]) -> Iterator[Table]:
    """The means of the panel, a row a sample, a few notes side by side."""
    samples = sorted({mean.sample for note in notes for mean in note.means})
    for start in range(0, len(notes), NOTES_BESIDE):
        beside = notes[start : start + NOTES_BESIDE]
        cells = {
            (mean.sample, note.descriptor): f"{number(mean.mean, 1)} ± {number(mean.se, 1)}"
            for note in beside
            for mean in note.means
        }
        yield Table(
            "",
            (Column("sample"), *(Column(note.descriptor, figures=True) for note in beside)),
            [
                (sample, *(cells.get((sample, note.descriptor), "-") for note in beside))
                for sample in samples
            ],
            f"Mean of the panel ± its standard error, in points of {_lines(beside)}.",
        )


def _lines(notes: tuple[DescriptorAgreement, ...]) -> str:
    ends = sorted({(note.scale_low, note.scale_high) for note in notes})
    return " or ".join(
        (f"a line from {in_digits(low, 'g')} to {in_digits(high, 'g')}") for low, high in ends
    )


def _figures(found: Agreement) -> Table:
    columns = (
        Column("note"),
        Column("F", figures=True),
        Column("degrees of freedom", figures=True),
        Column("p", figures=True),
        Column("reliability", figures=True),
        Column("reliability to date", figures=True),
        Column("repeat sd", "points", figures=True),
        Column("lowest to highest", "points", figures=True),
        Column("left blank", "scores", figures=True),
    )
    return Table("", columns, [figures_of(note) for note in found.descriptors])


def _reckoned(found: Agreement, facts: SessionFacts) -> Iterator[str]:
    rule = AgreementSettings()
    blind = "without knowing the glass" if facts.blind else "by people who could know the glass"
    yield (
        f"It rests on {in_digits(found.n_scores, ',')} scores, given {blind}. "
        f"{left_out_words(found.left_out)}"
    )
    yield (
        "Assessors and their disagreement about the samples are random effects of a mixed model. "
        "Reliability is 1 - 1/F of the samples: the share of what parts their means that is not "
        f"noise. A note is safe to act on from {in_digits(rule.safe_reliability, 'g')} with "
        "a lower 80 % bound "
        f"of {in_digits(rule.safe_low, 'g')}, wants a second look from "
        f"{in_digits(rule.second_look_reliability, 'g')}, and in "
        "both cases its difference has to stand among all notes."
    )
    yield (
        f"Repeats pool over the last {found.n_recent_sessions} sessions. Seed of the rearranged "
        f"codes and redrawn panels: {found.seed}."
    )
