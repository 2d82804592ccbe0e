"""From the figures of all descriptors to their verdicts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np

from ..indices.distributions import adjusted_for_many
from ..indices.repeat import Repeat, Repeatability
from ..sessions.over_sessions import NoteOverSessions
from ..settings import AgreementSettings
from ..verdict import (
    DescriptorFacts,
    blanks_sentence,
    descriptor_verdict,
    never_scored_sentence,
)
from ..verdict.over_sessions import beside_evening
from ..verdict.serving import Served
from .figure_values import (
    Friedman,
    OrderFigures,
    RepeatFigures,
)
from .notes import COINCIDENCE, LEAST_REPEATS, Note
from .result import DescriptorAgreement


def judge_descriptors(
    notes: Sequence[Note],
    settings: AgreementSettings,
    house: Mapping[str, NoteOverSessions],
) -> tuple[DescriptorAgreement, ...]:
    """Verdicts of all descriptors together, false alarms held down over the session.

    `house` says beside each what all sessions to date say of it.
    """
    p = [_leading_p(note, settings) for note in notes]
    adjusted = _adjusted(p)
    judged = [_descriptor(note, q, settings) for note, q in zip(notes, adjusted, strict=True)]
    return tuple(_beside(part, house.get(part.descriptor), settings) for part in judged)


def _beside(
    judged: DescriptorAgreement, house: NoteOverSessions | None, settings: AgreementSettings
) -> DescriptorAgreement:
    """Lay what the one model says over all sessions beside the verdict of one."""
    if house is None:
        return judged
    facts = house.facts(judged.repeat.n_duplicates)
    said = None if facts is None else beside_evening(facts, judged.verdict.word, settings)
    return replace(
        judged,
        n_sessions_over=house.n_sessions,
        reliability_over_sessions=house.reliability,
        reliability_over_sessions_low=house.reliability_low,
        over_sessions_note=house.reason,
        over_sessions_sentence=said,
    )


def _mostly_zero(note: Note, settings: AgreementSettings) -> bool:
    zeros = note.scores["score"] == note.scale[0]
    return bool(zeros.mean() > settings.zero_share)


def _leading_p(note: Note, settings: AgreementSettings) -> float | None:
    if _mostly_zero(note, settings):
        return note.figures.permutation_p
    return note.figures.effect.p


def _adjusted(p: Sequence[float | None]) -> list[float | None]:
    """Benjamini & Hochberg (1995) over the descriptors that have a p."""
    known = [value for value in p if value is not None]
    if not known:
        return [None] * len(p)
    found = iter(adjusted_for_many(np.array(known)).tolist())
    return [None if value is None else next(found) for value in p]


def _descriptor(
    note: Note, p_adjusted: float | None, settings: AgreementSettings
) -> DescriptorAgreement:
    figures, layout = note.figures, note.figures.layout
    zeros = _mostly_zero(note, settings)
    score = note.scores["score"].to_numpy()
    there = score > note.scale[0]
    facts = _facts(note, p_adjusted, zeros, settings)
    reliability = figures.reliability
    icc, order = figures.icc, figures.concordance
    n_missing = sum(note.n_missing.values())
    return DescriptorAgreement(
        descriptor=note.name,
        scale_low=note.scale[0],
        scale_high=note.scale[1],
        n_scores=len(score),
        n_missing=n_missing,
        missing_rate=n_missing / max(len(score) + n_missing, 1),
        n_assessors=layout.n_assessors,
        n_samples=layout.n_samples,
        sample_effect=figures.effect,
        sample_effect_reml=figures.effect_reml,
        variance=figures.variance,
        permutation_p=figures.permutation_p,
        p_adjusted=p_adjusted,
        reliability=reliability.value if reliability else None,
        reliability_low=reliability.low if reliability else None,
        reliability_high=reliability.high if reliability else None,
        icc={form: part.value for form, part in icc.items()} if icc else None,
        icc_bounds={form: (part.low, part.high) for form, part in icc.items()} if icc else None,
        icc_unbalanced=figures.unbalanced.icc,
        icc_note=figures.icc_note,
        kendall_w=order.w if order else None,
        friedman=Friedman(order.chi2, order.df, order.p) if order else None,
        rank_test=figures.unbalanced.order,
        kendall_note=figures.kendall_note,
        scaling=figures.scaling,
        repeat=_repeat_figures(note.repeat, note.n_hidden),
        presence_rate=float(there.mean()) if zeros else None,
        mean_if_present=float(score[there].mean()) if zeros and there.any() else None,
        means=figures.means,
        sample_span=figures.span,
        seen_difference=figures.seen_difference,
        alike_below=None if note.flight is None else note.flight.limit,
        at_most_apart=None if note.flight is None else note.flight.at_most,
        low_blanks=note.low_blanks,
        order=_order_figures(note),
        camps=note.camps,
        never_scored=note.never_scored,
        blanks_note="; ".join(_blank_notes(note)) or None,
        note="; ".join(filter(None, (_zero_note(zeros), *_blank_notes(note)))) or None,
        verdict=descriptor_verdict(facts, settings),
    )


def _zero_note(zeros: bool) -> str | None:
    if not zeros:
        return None
    return (
        "mostly zeros: F, REML and the intraclass correlations lean on a normal distribution "
        "that does not hold here; the verdict goes by permutation"
    )


def _blank_notes(note: Note) -> Iterator[str]:
    found = note.low_blanks
    if found is not None:
        yield blanks_sentence(found.n, found.below * note.per_point)
    if note.never_scored:
        yield never_scored_sentence(note.never_scored)


HIDDEN = "which glasses were poured twice is told at the reveal"


def _repeat_figures(found: Repeatability, n_hidden: int) -> RepeatFigures:
    return RepeatFigures(
        sd=found.panel.sd,
        df=found.panel.df,
        n_duplicates=found.n_duplicates,
        n_sessions=found.n_sessions,
        reason=None if found.panel.df else HIDDEN if n_hidden else "no glass was nosed twice",
    )


def _order_figures(note: Note) -> OrderFigures | None:
    found = note.order
    if found is None:
        return None
    sd = np.sqrt(np.diag(found.effect.covariance))
    (place, carry), (place_sd, carry_sd) = found.effect.mean.tolist(), sd.tolist()
    return OrderFigures(place, place_sd, carry, carry_sd, found.kept, found.n_again)


def _within(repeat: Repeat, scale: float, n_assessors: int) -> float | None:
    """Within how many points the panel mean of a glass nosed again would lie."""
    if repeat.sd is None or repeat.df < LEAST_REPEATS:
        return None
    return float(COINCIDENCE * repeat.sd * scale / np.sqrt(n_assessors))


def _over_visits(note: Note, scale: float) -> float | None:
    """How far apart the means over several visits to the samples are; None for one visit."""
    again = sum(part is not None for part in note.visits) > 1
    return note.flight.span * scale if note.flight is not None and again else None


def _facts(
    note: Note, p_adjusted: float | None, zeros: bool, settings: AgreementSettings
) -> DescriptorFacts:
    figures, layout = note.figures, note.figures.layout
    reliability = figures.reliability
    scale = note.per_point
    seen = figures.seen_difference
    span, flight = figures.span, note.flight
    return DescriptorFacts(
        descriptor=note.name,
        n_assessors=layout.n_assessors,
        n_samples=layout.n_samples,
        n_duplicates=note.repeat.n_duplicates,
        n_hidden=note.n_hidden,
        reliability=reliability.value if reliability else None,
        reliability_low=reliability.low if reliability else None,
        significant=p_adjusted is not None and p_adjusted <= settings.false_share,
        span=None if span is None else span * scale,
        seen_difference=None if seen is None else seen * scale,
        repeat_points=_within(note.repeat.panel, scale, layout.n_assessors),
        alike=flight is not None and flight.alike,
        at_most=None if flight is None else flight.at_most * scale,
        over_visits=_over_visits(note, scale),
        more=None if flight is None else flight.sessions,
        absent=layout.constant and layout.score[0] == note.scale[0],
        one_mind=figures.one_mind,
        one_order=note.serving.served is Served.ONE_ORDER,
        camps=None if note.camps is None else (note.camps.one, note.camps.other),
        mostly_zero=zeros,
        reason=figures.effect.reason,
    )
