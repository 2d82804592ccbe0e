"""Can this panel be trusted: one session from the scores frame to a verdict."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
import scipy.stats

from analysis.agreement.assessors import (
    Slope,
    median_repeat_sd,
    reading,
    reading_word,
    slopes,
)
from analysis.agreement.figures import Figures, descriptor_figures
from analysis.agreement.layout import Layout
from analysis.agreement.repeat import Repeat, Repeatability, repeatability
from analysis.agreement.result import (
    Agreement,
    AssessorAgreement,
    AssessorNote,
    DescriptorAgreement,
    Friedman,
    PrivateFact,
    RepeatFigures,
)
from analysis.agreement.settings import AgreementSettings
from analysis.agreement.verdict import (
    AssessorWord,
    DescriptorFacts,
    NoteFacts,
    assessor_verdict,
    descriptor_verdict,
    private_sentence,
    session_verdict,
)
from analysis.errors import NoScoresError, OneAssessorError, OneSampleError, SeveralSessionsError
from analysis.frames import TEST_KINDS, on_house_scale, usable

_COINCIDENCE = 1.96 * np.sqrt(2.0)
"""Two values of sd s lie within this times s, 19 times in 20."""


@dataclass(frozen=True)
class _Note:
    """One descriptor on its way to a verdict."""

    name: str
    scale: tuple[float, float]
    scores: pd.DataFrame
    n_missing: Mapping[str, int]
    figures: Figures
    repeat: Repeatability
    slopes: Mapping[str, Slope | str]
    past_slopes: Mapping[str, Sequence[Slope]]

    @property
    def per_point(self) -> float:
        """Points of the 0-100 line for one unit of the scale the scores were given on."""
        return 100.0 / (self.scale[1] - self.scale[0])

    def judges(self, settings: AgreementSettings) -> str | None:
        """Why nobody can be judged by this note; None when it may be done."""
        found, layout = self.figures.reliability, self.figures.layout
        if layout.n_assessors < settings.small_panel:
            return f"fewer than {settings.small_panel} assessors"
        if found is None or found.value < settings.second_look_reliability:
            return "the panel as a whole did not tell the samples apart"
        return None


def assess_agreement(
    scores: pd.DataFrame,
    *,
    recent: pd.DataFrame | None = None,
    settings: AgreementSettings = AgreementSettings(),  # noqa: B008  (frozen)
    seed: int = 1,
) -> Agreement:
    """Judge one session: which descriptors to believe, and how each assessor read.

    Per descriptor the sample effect is the F of the balanced mixed analysis of variance
    (sample over assessor by sample) where each assessor scored each sample equally often, and
    that of the REML fit with Satterthwaite degrees of freedom where not; where REML puts the
    interaction at zero, F is taken on assessor-by-sample means, and REML's stands beside it.
    References and the warm-up are no part of any index; references do count for repeats.

    Parameters
    ----------
    scores
        A scores frame (see :mod:`analysis`) of one session.
    recent
        Scores of earlier sessions; repeats are pooled with the last five of them.
    settings
        The house's thresholds.
    seed
        Seed of the permutations and of the redrawn panels.

    Returns
    -------
    Agreement
        ``verdict`` and ``sentence`` first. The same input gives the same result, whatever the
        order of the rows.

    Raises
    ------
    FrameError
        With every fault of the frame, duplicated glasses among them.
    NoScoresError, OneAssessorError, OneSampleError, SeveralSessionsError
        When there is nothing to compare.

    Examples
    --------
    >>> import numpy as np
    >>> rng = np.random.default_rng(1)
    >>> rows = [
    ...     {"session": "S1", "assessor": a, "sample": f"glass {s}", "replicate": r,
    ...      "descriptor": "smoke", "score": 12.0 * s + rng.normal(20, 4)}
    ...     for a in "ABCDEF" for s in range(6) for r in (1, 2)
    ... ]
    >>> found = assess_agreement(pd.DataFrame(rows))
    >>> found.descriptor("smoke").verdict
    'safe to act on'
    >>> found.descriptor("smoke").sample_effect.df_num
    5.0
    """
    used = usable(scores)
    everything, tests = _one_session(used.scores, used.left_out)
    past = _past(recent, everything["session"].iloc[0], settings)
    glasses = pd.concat([used.scores, used.blanks]) if len(used.blanks) else used.scores
    poured = glasses[glasses["kind"].isin(TEST_KINDS)]
    names = sorted(set(tests["descriptor"]))
    notes = [_note(name, everything, poured, past, settings, seed) for name in names]
    descriptors = _judge(notes, settings)
    assessors = tuple(_assessor(name, notes, settings) for name in sorted(set(tests["assessor"])))
    session = str(everything["session"].iloc[0])
    line = session_verdict(
        session,
        [(part.descriptor, part.verdict) for part in descriptors],
        len(assessors),
        settings.small_panel,
    )
    return Agreement(
        session=session,
        verdict=line.word,
        sentence=line.sentence,
        next_action=line.next_action,
        n_assessors=len(assessors),
        n_samples=tests["sample"].nunique(),
        n_scores=len(tests),
        left_out=used.left_out,
        n_recent_sessions=len(past),
        seed=seed,
        descriptors=descriptors,
        assessors=assessors,
        private=_private(notes, settings),
    )


def _one_session(
    scores: pd.DataFrame, left_out: Mapping[str, int]
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """All scores in use and those of test glasses; refuse what cannot be compared."""
    tests = scores[scores["kind"].isin(TEST_KINDS)]
    if tests.empty:
        raise NoScoresError(left_out)
    sessions = sorted(set(scores["session"]))
    if len(sessions) > 1:
        raise SeveralSessionsError(sessions)
    if tests["assessor"].nunique() == 1:
        raise OneAssessorError(sessions[0], str(tests["assessor"].iloc[0]))
    if tests["sample"].nunique() == 1:
        raise OneSampleError(sessions[0], str(tests["sample"].iloc[0]))
    return scores, tests


def _past(
    recent: pd.DataFrame | None, session: str, settings: AgreementSettings
) -> list[pd.DataFrame]:
    """The last sessions before this one, newest first."""
    if recent is None or recent.empty:
        return []
    scores = usable(recent).scores
    scores = scores[scores["session"] != session]
    dates = scores.groupby("session")["held_on"].max().reset_index()
    dates = dates.sort_values(["held_on", "session"], ascending=False, na_position="last")
    kept = dates["session"].tolist()[: settings.recent_sessions]
    return [scores[scores["session"] == name] for name in kept]


def _note(
    name: str,
    everything: pd.DataFrame,
    poured: pd.DataFrame,
    past: Sequence[pd.DataFrame],
    settings: AgreementSettings,
    seed: int,
) -> _Note:
    scores = everything[everything["descriptor"] == name]
    scores, scale = _one_scale(scores)
    tests = scores[scores["kind"].isin(TEST_KINDS)]
    figures = descriptor_figures(Layout.of(tests), settings, seed)
    earlier = [_rescaled(part[part["descriptor"] == name], scale) for part in past]
    earlier = [part for part in earlier if len(part)]
    own = slopes(figures.layout, figures.effect.f) if figures.effect.f is not None else {}
    return _Note(
        name=name,
        scale=scale,
        scores=tests,
        n_missing=_missing(tests, poured),
        figures=figures,
        repeat=repeatability([Layout.of(part) for part in (scores, *earlier)]),
        slopes=own,
        past_slopes=_past_slopes(earlier, settings, seed),
    )


def _one_scale(scores: pd.DataFrame) -> tuple[pd.DataFrame, tuple[float, float]]:
    """Scores as given when they share a scale, else on the house line."""
    if scores["scale_low"].nunique() > 1 or scores["scale_high"].nunique() > 1:
        scores = on_house_scale(scores)
    return scores, (float(scores["scale_low"].iloc[0]), float(scores["scale_high"].iloc[0]))


def _rescaled(scores: pd.DataFrame, scale: tuple[float, float]) -> pd.DataFrame:
    """Earlier scores on the scale of this session."""
    same = (scores["scale_low"] == scale[0]) & (scores["scale_high"] == scale[1])
    if same.all():
        return scores
    house = on_house_scale(scores)
    house["score"] = scale[0] + house["score"] * (scale[1] - scale[0]) / 100.0
    return house


_GLASS = ["assessor", "sample", "replicate"]


def _missing(tests: pd.DataFrame, poured: pd.DataFrame) -> dict[str, int]:
    """Glasses that were poured and scored on something, but not on this, by assessor."""
    all_glasses = poured[_GLASS].drop_duplicates().groupby("assessor").size()
    scored = tests.groupby("assessor").size().reindex(all_glasses.index, fill_value=0)
    return {str(name): int(n) for name, n in (all_glasses - scored).items()}


def _past_slopes(
    earlier: Sequence[pd.DataFrame], settings: AgreementSettings, seed: int
) -> dict[str, list[Slope]]:
    """Slopes of the earlier sessions in which the panel told this note apart."""
    found: dict[str, list[Slope]] = {}
    for part in earlier:
        tests = part[part["kind"].isin(TEST_KINDS)]
        if tests["assessor"].nunique() < settings.small_panel or tests["sample"].nunique() < 3:
            continue
        layout = Layout.of(tests)
        f = None if layout.constant else _quick_f(layout)
        if f is None or 1.0 - 1.0 / max(f, 1e-9) < settings.second_look_reliability:
            continue
        for name, slope in slopes(layout, f).items():
            if isinstance(slope, Slope):
                found.setdefault(name, []).append(slope)
    return found


def _quick_f(layout: Layout) -> float | None:
    from analysis.agreement.anova import cell_means_f

    found = cell_means_f(layout)
    return None if found is None else found.f


def _judge(notes: Sequence[_Note], settings: AgreementSettings) -> tuple[DescriptorAgreement, ...]:
    """Verdicts of all descriptors together, false alarms held down over the session."""
    p = [_leading_p(note, settings) for note in notes]
    adjusted = _adjusted(p)
    return tuple(_descriptor(note, q, settings) for note, q in zip(notes, adjusted, strict=True))


def _mostly_zero(note: _Note, settings: AgreementSettings) -> bool:
    zeros = note.scores["score"] == note.scale[0]
    return bool(zeros.mean() > settings.zero_share)


def _leading_p(note: _Note, settings: AgreementSettings) -> float | None:
    if _mostly_zero(note, settings):
        return note.figures.permutation_p
    return note.figures.effect.p


def _adjusted(p: Sequence[float | None]) -> list[float | None]:
    """Benjamini & Hochberg (1995) over the descriptors that have a p."""
    known = [value for value in p if value is not None]
    if not known:
        return [None] * len(p)
    found = iter(scipy.stats.false_discovery_control(known, method="bh").tolist())
    return [None if value is None else next(found) for value in p]


def _descriptor(
    note: _Note, p_adjusted: float | None, settings: AgreementSettings
) -> DescriptorAgreement:
    figures, layout = note.figures, note.figures.layout
    zeros = _mostly_zero(note, settings)
    score = note.scores["score"].to_numpy()
    there = score > note.scale[0]
    facts = _facts(note, p_adjusted, zeros, settings)
    said = descriptor_verdict(facts, settings)
    reliability = figures.reliability
    icc, order = figures.icc, figures.concordance
    return DescriptorAgreement(
        descriptor=note.name,
        scale_low=note.scale[0],
        scale_high=note.scale[1],
        n_scores=len(score),
        n_missing=sum(note.n_missing.values()),
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
        icc_note=figures.icc_note,
        kendall_w=order.w if order else None,
        friedman=Friedman(order.chi2, order.df, order.p) if order else None,
        kendall_note=figures.kendall_note,
        scaling=figures.scaling,
        repeat=_repeat_figures(note.repeat),
        presence_rate=float(there.mean()) if zeros else None,
        mean_if_present=float(score[there].mean()) if zeros and there.any() else None,
        means=figures.means,
        sample_span=figures.span,
        seen_difference=figures.seen_difference,
        note=_zero_note(zeros),
        verdict=said.word,
        sentence=said.sentence,
        next_action=said.next_action,
    )


def _zero_note(zeros: bool) -> str | None:
    if not zeros:
        return None
    return (
        "mostly zeros: F, REML and the intraclass correlations lean on a normal distribution "
        "that does not hold here; the verdict goes by permutation"
    )


def _repeat_figures(found: Repeatability) -> RepeatFigures:
    return RepeatFigures(
        sd=found.panel.sd,
        df=found.panel.df,
        n_duplicates=found.n_duplicates,
        n_sessions=found.n_sessions,
        reason=None if found.panel.df else "no glass was nosed twice",
    )


def _facts(
    note: _Note, p_adjusted: float | None, zeros: bool, settings: AgreementSettings
) -> DescriptorFacts:
    figures, layout = note.figures, note.figures.layout
    reliability = figures.reliability
    scale, sd = note.per_point, note.repeat.panel.sd
    seen = figures.seen_difference
    span = figures.span
    return DescriptorFacts(
        descriptor=note.name,
        n_assessors=layout.n_assessors,
        n_samples=layout.n_samples,
        n_duplicates=note.repeat.n_duplicates,
        reliability=reliability.value if reliability else None,
        reliability_low=reliability.low if reliability else None,
        significant=p_adjusted is not None and p_adjusted <= settings.false_share,
        span=None if span is None else span * scale,
        seen_difference=None if seen is None else seen * scale,
        repeat_points=None
        if sd is None
        else float(_COINCIDENCE * sd * scale / np.sqrt(layout.n_assessors)),
        mostly_zero=zeros,
        reason=figures.effect.reason,
    )


def _assessor(name: str, notes: Sequence[_Note], settings: AgreementSettings) -> AssessorAgreement:
    found = [_assessor_note(name, note, settings) for note in notes]
    facts = [_note_facts(note, part, settings) for note, part in zip(notes, found, strict=True)]
    judged = [part.correlation for part in found if part.verdict and part.correlation is not None]
    every = [part.correlation for part in found if part.correlation is not None]
    values = judged or every
    correlation = float(np.mean(values)) if values else None
    n_missing = sum(part.n_missing for part in found)
    said = assessor_verdict(name, facts, correlation, n_missing)
    return AssessorAgreement(
        assessor=name,
        verdict=said.word,
        sentence=said.sentence,
        next_action=said.next_action,
        n_scores=sum(part.n_scores for part in found),
        n_missing=n_missing,
        correlation=correlation,
        notes=tuple(found),
    )


def _assessor_note(name: str, note: _Note, settings: AgreementSettings) -> AssessorNote:
    layout = note.figures.layout
    slope = note.slopes.get(name)
    repeat = note.repeat.assessors.get(name, Repeat())
    word, reason = _word(slope, note, repeat, settings)
    row = layout.assessors.index(name) if name in layout.assessors else None
    own = None if row is None else layout.means[row][~np.isnan(layout.means[row])]
    known = slope if isinstance(slope, Slope) else None
    offset = None
    if row is not None and not layout.constant:
        left = layout.means - layout.adjusted
        offset = float(np.nanmean(left[row]))
    return AssessorNote(
        descriptor=note.name,
        n_scores=int(layout.counts[row].sum()) if row is not None else 0,
        n_missing=note.n_missing.get(name, 0),
        offset=offset,
        correlation=_finite(known.correlation) if known else None,
        slope=known.slope if known else None,
        slope_se=known.se if known else None,
        repeat_sd=repeat.sd,
        span=float(np.ptp(own)) if own is not None and len(own) > 1 else None,
        disagreement_f=note.figures.scaling.disagreement_by_assessor.get(name),
        verdict=None if word is None else str(word),
        reason=reason,
    )


def _word(
    slope: Slope | str | None, note: _Note, repeat: Repeat, settings: AgreementSettings
) -> tuple[AssessorWord | None, str | None]:
    if not isinstance(slope, Slope):
        return None, slope or note.figures.effect.reason or "not scored"
    reason = note.judges(settings)
    if reason:
        return None, reason
    median = median_repeat_sd(list(note.repeat.assessors.values()))
    word = reading_word(slope, reading([slope]), repeat, median, settings)
    return word, None if word else "too close to call from one session"


def _note_facts(note: _Note, found: AssessorNote, settings: AgreementSettings) -> NoteFacts:
    median = median_repeat_sd(list(note.repeat.assessors.values()))
    scale = note.per_point
    others = None
    if found.span is not None and found.slope:
        others = abs(found.span / found.slope) * scale
    return NoteFacts(
        descriptor=note.name,
        word=None if found.verdict is None else AssessorWord(found.verdict),
        span=None if found.span is None else found.span * scale,
        told_apart=note.judges(settings) is None,
        others_span=others,
        repeat_points=None
        if found.repeat_sd is None
        else float(_COINCIDENCE * found.repeat_sd * scale),
        median_repeat_points=None if median is None else float(_COINCIDENCE * median * scale),
    )


def _finite(value: float) -> float | None:
    return value if np.isfinite(value) else None


def _private(notes: Sequence[_Note], settings: AgreementSettings) -> tuple[PrivateFact, ...]:
    """Notes that an assessor seems not to smell, over three sessions or more."""
    facts = []
    for note in notes:
        now = {} if note.judges(settings) else note.slopes
        for name in sorted(set(now) | set(note.past_slopes)):
            current = now.get(name)
            found = [*note.past_slopes.get(name, ())]
            if isinstance(current, Slope):
                found.append(current)
            if len(found) < 3:
                continue
            chance = reading(found).flat
            if chance > settings.flag_probability:
                said, action = private_sentence(name, note.name, len(found))
                facts.append(PrivateFact(name, note.name, chance, len(found), said, action))
    return tuple(facts)
