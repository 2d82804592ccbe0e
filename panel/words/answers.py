"""Answers as lines of text: the words first, the figures after, nothing wider than asked."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from textwrap import wrap
from typing import TYPE_CHECKING

from panel.words.columns import columns

if TYPE_CHECKING:
    from enum import StrEnum

    from analysis.agreement import (
        Agreement,
        AssessorAgreement,
        AssessorNote,
        DescriptorAgreement,
        PrivateFact,
        Verdict,
    )
    from analysis.target import Match

INDENT = "    "


def paragraph(text: str, width: int = 80, indent: str = "") -> list[str]:
    """Return *text* wrapped at *width*, every line indented."""
    return wrap(text, width, initial_indent=indent, subsequent_indent=indent) or [""]


def entry(heading: str, text: str, width: int = 80) -> list[str]:
    """Return a heading and, below it, its indented sentence."""
    return [heading, *paragraph(text, width, INDENT)]


def verdict_line(verdict: Verdict[StrEnum]) -> str:
    """Return a verdict with its word first."""
    return f"{verdict.label.upper()}. {verdict.sentence}"


def judged_entry(name: str, verdict: Verdict[StrEnum], width: int) -> list[str]:
    """Return who or what is judged with the word, and below it the sentence."""
    return entry(f"{name}: {verdict.label}", verdict.sentence, width)


def agreement_lines(
    result: Agreement, width: int = 80, *, private: bool = False, figures: bool = True
) -> list[str]:
    """Return a session's agreement: verdict, notes, assessors, then the figures."""
    from panel.words.agreement_words import over_sessions_lines, swap_lines

    lines = [*paragraph(verdict_line(result.verdict), width), ""]
    if result.small_panel is not None:
        lines += [*paragraph(result.small_panel.sentence, width), ""]
    for note in result.descriptors:
        lines += judged_entry(note.descriptor, note.verdict, width)
        lines += over_sessions_lines(note, width)
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
        parts = ", ".join(f"{count} {reason}" for reason, count in result.left_out.items())
        yield ""
        yield from paragraph(f"Left out: {parts}.", width)


def private_lines(facts: Sequence[PrivateFact], width: int = 80) -> list[str]:
    """Return what is for one person and the lead only."""
    if not facts:
        return ["", "Nothing that is for one person's eyes only."]
    lines = ["", "For the person named and the lead only:"]
    for fact in facts:
        lines += paragraph(fact.sentence, width, INDENT)
    return lines


def figure_lines(result: Agreement) -> list[str]:
    """Return the figures behind the verdicts, one line a descriptor."""
    headings = ("note", "F", "df", "p", "reliab.", "to date", "repeat sd", "span", "blank")
    return columns(headings, [_figures(note) for note in result.descriptors])


def _figures(note: DescriptorAgreement) -> tuple[str, ...]:
    effect = note.sample_effect
    df = "-"
    if effect.df_num is not None and effect.df_den is not None:
        df = f"{effect.df_num:.0f}/{effect.df_den:.0f}"
    return (
        *(note.descriptor, number(effect.f, 2), df, probability(effect.p)),
        *(number(note.reliability, 2), number(note.reliability_over_sessions, 2)),
        number(note.repeat.sd, 1),
        *(number(note.sample_span, 0), str(note.n_missing)),
    )


def number(value: float | None, places: int) -> str:
    """Return a figure, or a dash where there is none."""
    return "-" if value is None else f"{value:.{places}f}"


def probability(value: float | None) -> str:
    """Return a probability to three places, a very small one as below .001."""
    if value is None:
        return "-"
    return "<.001" if value < 0.001 else f"{value:.3f}".lstrip("0") if value < 1 else "1"


def descriptor_lines(note: DescriptorAgreement, width: int = 80) -> list[str]:
    """Return one descriptor: sentence, sample means, and how the tests came out."""
    from panel.words.agreement_words import over_sessions_lines

    lines = judged_entry(note.descriptor, note.verdict, width)
    lines += over_sessions_lines(note, width)
    if note.note:
        lines += paragraph(note.note, width, INDENT)
    rows = [(m.sample, f"{m.mean:.1f}", number(m.se, 1), str(m.n_scores)) for m in note.means]
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
    from panel.words.agreement_words import over_sessions_lines

    lines = judged_entry(person.assessor, person.verdict, width)
    lines += over_sessions_lines(person, width)
    headings = ("note", "with others", "slope", "share", "repeat", "span", "offset", "verdict")
    return [*lines, "", *columns(headings, [_note_figures(note) for note in person.notes])]


def _note_figures(note: AssessorNote) -> tuple[str, ...]:
    from panel.words.agreement_words import short_word

    return (
        *(note.descriptor, number(note.correlation, 2), number(note.slope, 2)),
        *(number(note.signal_share, 2), number(note.repeat_sd, 1), number(note.span, 0)),
        *(number(note.offset, 1), short_word(note.verdict)),
    )


def match_lines(result: Match, width: int = 80, *, top: int | None = None) -> list[str]:
    """Return which casks suit a target: how sure that is first, then the casks, best first."""
    lines = [*paragraph(result.note, width), ""] if result.note else []
    lines += [*paragraph(result.sentence, width), ""]
    headings = ("cask", "chance", "distance", "furthest off", "by", "scores", "last nosed")
    rows = [
        (
            *(cask.cask, chance(cask.probability), number(cask.distance, 2)),
            *(cask.worst_descriptor, f"{cask.worst_off:+.1f}", cask.n_scores),
            cask.last_nosed or "-",
        )
        for cask in result.casks[:top]
    ]
    lines += columns(headings, rows) if rows else []
    lines += ["", *paragraph(MATCH_KEY, width)] if rows else []
    return lines + _not_ranked(result, width)


MATCH_KEY = (
    "chance: that every note lies within its tolerance. distance: expected squared distance in "
    "tolerances, uncertainty counted in. by: how many tolerances the worst note is off."
)
NOT_RANKED_SHOWN = 6


def _not_ranked(result: Match, width: int) -> list[str]:
    if not result.left_out:
        return []
    shown = result.left_out[:NOT_RANKED_SHOWN]
    more = len(result.left_out) - len(shown)
    text = "; ".join(f"{part.cask} ({part.reason})" for part in shown)
    tail = f"; and {more} more (see --json)" if more else ""
    return ["", *entry("Not ranked:", f"{text}{tail}.", width)]


def chance(probability: float) -> str:
    """Return a chance in hundredths; never 0 or 1, which no panel can know."""
    if probability < 0.005:
        return "<.01"
    return ">.99" if probability > 0.995 else f"{probability:.2f}".lstrip("0")
