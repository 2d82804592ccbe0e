"""One descriptor of a session on its way to a verdict."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pandas as pd

from analysis.agreement.indices.anova import cell_means_f
from analysis.agreement.indices.layout import ScoreLayout
from analysis.agreement.indices.repeat import Repeatability, repeatability
from analysis.agreement.one_session.assessors import PanelSlope, slopes
from analysis.agreement.one_session.figures import Figures, descriptor_figures
from analysis.agreement.one_session.swaps import SwapNote
from analysis.agreement.settings import AgreementSettings
from analysis.frames import TEST_KINDS, on_house_scale

COINCIDENCE = 1.96 * np.sqrt(2.0)
"""Two values of sd s lie within this times s, 19 times in 20."""


@dataclass(frozen=True)
class Note:
    """One descriptor on its way to a verdict."""

    name: str
    scale: tuple[float, float]
    scores: pd.DataFrame
    n_missing: Mapping[str, int]
    figures: Figures
    repeat: Repeatability
    slopes: Mapping[str, PanelSlope | str]
    past_slopes: Mapping[str, Sequence[PanelSlope]]
    n_hidden: int = 0
    """Blind duplicates that were poured and that only the reveal tells."""

    @property
    def per_point(self) -> float:
        """Points of the 0-100 line for one unit of the scale the scores were given on."""
        return 100.0 / (self.scale[1] - self.scale[0])

    @cached_property
    def swap_note(self) -> SwapNote:
        """The same scores as swaps are looked for."""
        return SwapNote.of(self.figures.layout, self.scores)

    def judges(self, settings: AgreementSettings) -> str | None:
        """Why nobody can be judged by this note; None when it may be done."""
        least_span = settings.tolerance / self.per_point
        return _too_little_told(self.figures.layout, self.figures.effect.f, least_span, settings)


def lay_out_note(
    name: str,
    rows: pd.DataFrame,
    poured: Mapping[str, int],
    past: Sequence[Mapping[str, pd.DataFrame]],
    settings: AgreementSettings,
    seed: int,
    n_hidden: int = 0,
) -> Note:
    """Compute what one descriptor needs before all of them are judged together.

    `rows` holds its scores of the session, `poured` how many test glasses each assessor had,
    `past` the scores of each recent session by descriptor, `n_hidden` how many blind duplicates
    only the reveal tells.
    """
    scores, scale = _one_scale(rows)
    tests = scores[scores["kind"].isin(TEST_KINDS)]
    figures = descriptor_figures(ScoreLayout.of(tests), settings, seed)
    earlier = [_rescaled(part[name], scale) for part in past if name in part]
    own = slopes(figures.layout, figures.effect.f) if figures.effect.f is not None else {}
    return Note(
        name=name,
        scale=scale,
        scores=tests,
        n_missing=_missing(tests, poured),
        figures=figures,
        repeat=repeatability([ScoreLayout.of(part) for part in (scores, *earlier)]),
        slopes=own,
        past_slopes=told_slopes(earlier, scale, settings),
        n_hidden=n_hidden,
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


def glasses_poured(glasses: pd.DataFrame) -> dict[str, int]:
    """Test glasses that each assessor scored or left blank on anything."""
    tests = glasses[glasses["kind"].isin(TEST_KINDS)]
    each = tests[["assessor", "sample", "replicate"]].drop_duplicates()
    return {str(name): int(n) for name, n in each.groupby("assessor").size().items()}


def _missing(tests: pd.DataFrame, poured: Mapping[str, int]) -> dict[str, int]:
    """Glasses that were poured and scored on something, but not on this, by assessor."""
    scored = tests["assessor"].value_counts().to_dict()
    return {name: n - int(scored.get(name, 0)) for name, n in poured.items()}


def told_slopes(
    sessions: Sequence[pd.DataFrame], scale: tuple[float, float], settings: AgreementSettings
) -> dict[str, list[PanelSlope]]:
    """Slopes of the assessors in those sessions in which the panel told one note apart.

    `sessions` holds the scores of that note, one frame a session, on one `scale`.
    """
    found: dict[str, list[PanelSlope]] = {}
    least_span = settings.tolerance * (scale[1] - scale[0]) / 100.0
    for part in sessions:
        tests = part[part["kind"].isin(TEST_KINDS)]
        if tests.empty:
            continue
        layout = ScoreLayout.of(tests)
        f = _cell_means_f(layout)
        if _too_little_told(layout, f, least_span, settings):
            continue
        for name, slope in slopes(layout, f).items():
            if isinstance(slope, PanelSlope):
                found.setdefault(name, []).append(slope)
    return found


def _cell_means_f(layout: ScoreLayout) -> float | None:
    if layout.constant:
        return None
    found = cell_means_f(layout)
    return None if found is None else found.f


def _too_little_told(
    layout: ScoreLayout, f: float | None, least_span: float, settings: AgreementSettings
) -> str | None:
    """Why nobody can be judged by these scores; None when it may be done."""
    if layout.n_assessors < settings.small_panel:
        return f"fewer than {settings.small_panel} assessors"
    if not f or 1.0 - 1.0 / f < settings.second_look_reliability:
        return "the panel as a whole did not tell the samples apart"
    if float(np.ptp(np.nanmean(layout.adjusted, axis=0))) < least_span:
        return f"the samples lie within {settings.tolerance:g} points of one another"
    return None
