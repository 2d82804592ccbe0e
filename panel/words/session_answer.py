"""One session's agreement as lines of text: the words first, the figures after."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from panel.figures import in_digits
from panel.words.agreement_words import (
    over_sessions_lines,
    short_word,
    swap_lines,
    waiting_lines,
)
from panel.words.answers import (
    INDENT,
    judged_entry,
    number,
    paragraph,
    private_lines,
    probability,
    share,
    verdict_line,
)
from panel.words.columns import columns
from panel.words.left_out import left_out_words

if TYPE_CHECKING:
    from analysis.agreement import (
        Agreement,
        AssessorAgreement,
        AssessorNote,
        DescriptorAgreement,
    )


def agreement_lines(
    result: Agreement, width: int = 80, *, private: bool = False, figures: bool = True
) -> list[str]:
    """Return a session's agreement: verdict, notes, assessors, then the figures."""
    lines = [*paragraph(verdict_line(result.verdict), width), ""]
    if result.order.sentence is not None:
        lines += [*paragraph(result.order.sentence, width), ""]
    if result.small_panel is not None:
        lines += [*paragraph(result.small_panel.sentence, width), ""]
    lines += waiting_lines(result.waiting, width)
    for note in result.descriptors:
        lines += judged_entry(note.descriptor, note.verdict, width)
        lines += over_sessions_lines(note, width)
        lines += _blanks_lines(note, width)
    lines.append("")
    for person in result.assessors:
        lines += judged_entry(person.assessor, person.verdict, width)
        lines += over_sessions_lines(person, width)
    lines += swap_lines(result.swaps, width)
    lines += _left_out(result, width)
    if private:
        lines += private_lines(result.private, width)
    if figures:
        lines += ["", *figure_lines(result)]
    return lines


def _left_out(result: Agreement, width: int) -> Iterator[str]:
    if result.left_out:
        yield ""
        yield from paragraph(left_out_words(result.left_out), width)


def _blanks_lines(note: DescriptorAgreement, width: int) -> list[str]:
    said = blanks_words(note)
    return paragraph(said, width, INDENT) if said else []


def blanks_words(note: DescriptorAgreement) -> str:
    """Return what lines that were left blank did to a note; nothing where they did nothing."""
    said = note.blanks_note
    return f"{said[0].upper()}{said[1:]}." if said else ""


def figure_lines(result: Agreement) -> list[str]:
    """Return the figures behind the verdicts, one line a descriptor."""
    headings = ("note", "F", "df", "p", "reliab.", "to date", "repeat sd", "span", "blank")
    return columns(headings, [figures_of(note) for note in result.descriptors])


def figures_of(note: DescriptorAgreement) -> tuple[str, ...]:
    """Return the figures behind one descriptor's verdict."""
    effect = note.sample_effect
    df = "-"
    if effect.df_num is not None and effect.df_den is not None:
        df = f"{effect.df_num:.0f}/{effect.df_den:.0f}"
    return (
        *(note.descriptor, number(effect.f, 2), df, probability(effect.p)),
        *(share(note.reliability), share(note.reliability_over_sessions)),
        number(note.repeat.sd, 1),
        *(number(note.sample_span, 0), str(note.n_missing)),
    )


def descriptor_lines(note: DescriptorAgreement, width: int = 80) -> list[str]:
    """Return one descriptor: sentence, sample means, and how the tests came out."""
    lines = judged_entry(note.descriptor, note.verdict, width)
    lines += over_sessions_lines(note, width)
    if note.note:
        lines += paragraph(note.note, width, INDENT)
    rows = [
        (m.sample, in_digits(m.mean, ".1f"), number(m.se, 1), str(m.n_scores)) for m in note.means
    ]
    lines += ["", *columns(("sample", "mean", "se", "scores"), rows), ""]
    effect = note.sample_effect
    lines += paragraph(_effect_words(note), width)
    if effect.reason:
        lines += paragraph(effect.reason, width)
    return lines


def _effect_words(note: DescriptorAgreement) -> str:
    effect, parts = note.sample_effect, note.variance
    words = f"Samples: F {number(effect.f, 3)}, p {probability(effect.p)} ({effect.method})."
    words += f" By permutation p {probability(note.permutation_p)}."
    words += (
        f" Variance between assessors {number(parts.assessor, 2)}, assessor by sample "
        f"{number(parts.interaction, 2)}, left over {number(parts.residual, 2)}."
    )
    return f"{words} Kendall's W {number(note.kendall_w, 2)}."


def assessor_lines(person: AssessorAgreement, width: int = 80) -> list[str]:
    """Return one assessor: sentence first, then a line a descriptor."""
    lines = judged_entry(person.assessor, person.verdict, width)
    lines += over_sessions_lines(person, width)
    headings = ("note", "with others", "slope", "share", "repeat", "span", "offset", "verdict")
    return [*lines, "", *columns(headings, [_note_figures(note) for note in person.notes])]


def _note_figures(note: AssessorNote) -> tuple[str, ...]:
    return (
        *(note.descriptor, number(note.correlation, 2), number(note.slope, 2)),
        *(number(note.signal_share, 2), number(note.repeat_sd, 1), number(note.span, 0)),
        *(number(note.offset, 1), short_word(note.verdict)),
    )
