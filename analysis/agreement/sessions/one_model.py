"""The one model over several sessions, read for a panel: its reliability, and each assessor."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from ...errors import NoScoresError
from ...frames import TEST_KINDS, on_house_scale, usable
from ...house_line import Z_95_ONE_SIDED
from ..indices.flight import (
    MOST_SAMPLES,
    FlightSpan,
    flight_span,
    over_visits,
)
from ..indices.layout import ScoreLayout
from ..one_session.serving import all_without_order
from ..settings import AgreementSettings
from .model_draws import (
    Draws,
    PanelFit,
    drawn,
    reliability_low,
    repeated_cells,
)
from .over_sessions import (
    MOSTLY_ZEROS,
    NoteOverSessions,
    PersonOverSessions,
)

if TYPE_CHECKING:
    from ...profile import Profile

_LEAST_SESSIONS = 2


def over_sessions(
    scores: pd.DataFrame,
    *,
    settings: AgreementSettings = AgreementSettings(),  # noqa: B008  (frozen)
    panel: Sequence[str] | None = None,
    coded: Collection[str] = (),
    seed: int = 1,
) -> Mapping[str, NoteOverSessions]:
    """Fit the one model to several sessions and read the panel and its assessors from it.

    Choose it wherever more than one session is at hand: it takes missing cells, unequal visits
    and returning samples, which the analysis of one session does not. A note scored in a single
    session has a reason instead of a figure: there that session's own ``1 - 1/F`` stands.

    Parameters
    ----------
    scores
        A scores frame (see :mod:`analysis`) of any number of sessions.
    settings
        The house's thresholds; the number of draws is that of its redrawn panels.
    panel
        Whose reliability is asked for; by default that of as many of all who scored as sit in
        the middle session.
    coded
        Sessions not revealed yet: their codes are samples of their own, whatever other session
        used the same number.
    seed
        Of the draws.

    Returns
    -------
    mapping
        By descriptor.

    Raises
    ------
    FrameError, NoScoresError
        A frame that cannot be used, or nothing left of it.

    Notes
    -----
    ``R = v W / (1 + v W)``, ``W = sum g_j^2 / (noise_j^2 + disagreement)``, and the signal share
    of an assessor ``g_j^2 v / (g_j^2 v + disagreement + noise_j^2)``, with v the variance between
    samples, g scale and noise the sd of each assessor: see
    :func:`analysis.profile.estimate_profile`. Chances are shares of draws of these; how much
    wider a line is, is reckoned against those who follow the note, so that one who has it the
    wrong way round makes nobody else look wide. Noise is weighed against the line where that is
    a wide one.

    Examples
    --------
    >>> rng = np.random.default_rng(4)
    >>> rows = [(f"S{t}", who, f"x{t}{s}", r, "smoke", 12.0 * s + rng.normal(20, 3))
    ...         for t in range(3) for who in "ABCDEF" for s in range(6) for r in (1, 2)]
    >>> names = ["session", "assessor", "sample", "replicate", "descriptor", "score"]
    >>> found = over_sessions(pd.DataFrame(rows, columns=names))["smoke"]
    >>> found.reliability > found.reliability_low > 0.9, found.people["A"].signal_share > 0.9
    (True, True)
    """
    found = usable(scores)
    if found.scores.empty:
        raise NoScoresError(found.left_out)
    used = own_codes(found.scores, coded)
    return read_model(used, settings=settings, panel=panel, seed=seed)


def read_model(
    scores: pd.DataFrame,
    *,
    settings: AgreementSettings,
    panel: Sequence[str] | None = None,
    seed: int = 1,
) -> Mapping[str, NoteOverSessions]:
    """Fit and read the one model; `scores` hold what is to be used and nothing else."""
    from ...profile import ProfileSettings, estimate_profile

    house = all_without_order(on_house_scale(scores))
    tests = house[house["kind"].isin(TEST_KINDS)]
    parts = {str(name): part for name, part in tests.groupby("descriptor")}
    bare = {name: _counted(name, part, settings) for name, part in parts.items()}
    wanted = [name for name, note in bare.items() if note.reason is None]
    if not wanted:
        return bare
    known = house[house["descriptor"].isin(wanted)]
    standing = None if panel is None else tuple(panel)
    # What is said of people is set on scores at their word: scales and noises on the line.
    # The order of serving is out of them already.
    chosen = ProfileSettings(
        standing_panel=standing, inflate=False, joint=False, ends_of_the_line=False, order=False
    )
    profile = estimate_profile(known, settings=chosen)
    repeats = repeated_cells(known)
    seated = None if panel is not None else _usually_seated(tests)
    found = {
        name: _described(profile, bare[name], parts[name], repeats[name], settings, seed, seated)
        for name in wanted
    }
    return bare | found


def own_codes(scores: pd.DataFrame, coded: Collection[str]) -> pd.DataFrame:
    """Samples of a session not revealed yet apart from any other with the same name."""
    own = scores["session"].isin(list(coded))
    if not own.any():
        return scores
    names = scores["session"].astype(str) + " " + scores["sample"].astype(str)
    return scores.assign(sample=scores["sample"].astype(str).where(~own, names))


def _counted(name: str, tests: pd.DataFrame, settings: AgreementSettings) -> NoteOverSessions:
    """What can be said before any fit, and why there is to be none."""
    n = int(tests["session"].nunique())
    zeros = bool((tests["score"] == 0.0).mean() > settings.zero_share)
    reason = "scored in one session only" if n < _LEAST_SESSIONS else None
    reason = MOSTLY_ZEROS if zeros and reason is None else reason
    return NoteOverSessions(
        name, n, int(tests["sample"].nunique()), mostly_zero=zeros, reason=reason
    )


def _usually_seated(tests: pd.DataFrame) -> int:
    """How many sit together: where sessions have people of their own, never all who scored."""
    return max(int(tests.groupby("session")["assessor"].nunique().median()), 1)


def _described(
    profile: Profile,
    bare: NoteOverSessions,
    tests: pd.DataFrame,
    repeats: int,
    settings: AgreementSettings,
    seed: int,
    seated: int | None,
) -> NoteOverSessions:
    fit = profile.fit(bare.descriptor)
    if fit.reliability is None:
        reason = fit.reason or "all assessors gave exactly the same differences"
        return NoteOverSessions(bare.descriptor, bare.n_sessions, bare.n_samples, reason=reason)
    rng = np.random.default_rng(seed)
    people = PanelFit.of(profile, bare.descriptor, repeats, seated)
    draws = drawn(people, settings.bootstraps, rng)
    estimates = profile.estimates.loc[
        (profile.estimates["descriptor"] == bare.descriptor)
        & profile.estimates["kind"].isin(TEST_KINDS),
        "estimate",
    ]
    return NoteOverSessions(
        descriptor=bare.descriptor,
        n_sessions=bare.n_sessions,
        n_samples=bare.n_samples,
        n_assessors=people.n_visit,
        reliability=fit.reliability if seated is None else people.reliability,
        reliability_low=reliability_low(people, draws, rng),
        seen_difference=float(settings.power_multiple * np.sqrt(2.0 / people.weight)),
        span=float(np.ptp(estimates)),
        flight=_flight(tests, settings),
        people=_people(people, draws, tests, settings),
    )


def _flight(tests: pd.DataFrame, settings: AgreementSettings) -> FlightSpan | None:
    """How far apart all samples are, over the sessions that tie them together."""
    samples = sorted(set(tests["sample"].astype(str)))
    if len(samples) > MOST_SAMPLES:
        return None
    visits = [ScoreLayout.of(rows) for _, rows in tests.groupby("session")]
    found = over_visits(visits, samples)
    if found is None:
        return None
    return flight_span(found.fit, settings.tolerance, found.error)


def _people(
    fit: PanelFit, draws: Draws, tests: pd.DataFrame, settings: AgreementSettings
) -> dict[str, PersonOverSessions]:
    """Everybody who scored a test glass on it."""
    counts = {
        str(name): (int(part.nunique()), len(part))
        for name, part in tests.groupby("assessor")["session"]
    }
    share = draws.signal_share
    p_with = np.mean((share > settings.least_signal_share) & (draws.scale > 0.0), axis=0)
    typical = max(float(fit.typical(fit.scale[None])[0]), 1e-6)
    width, half = fit.scale / typical, Z_95_ONE_SIDED * fit.scale_se / typical
    noise = draws.noise / np.maximum(draws.scale / typical, 1.0)
    usual = np.median(noise[:, fit.in_panel], axis=1, keepdims=True)
    p_unsteady = np.mean(noise > settings.unsteady_multiple * usual, axis=0)
    return {
        name: PersonOverSessions(
            assessor=name,
            n_sessions=counts[name][0],
            n_scores=counts[name][1],
            signal_share=float(fit.signal_share[k]),
            p_with=float(p_with[k]),
            scale=float(width[k]),
            scale_low=float(width[k] - half[k]),
            scale_high=float(width[k] + half[k]),
            noise=float(fit.noise[k]),
            usual_noise=float(np.median(fit.noise[fit.in_panel])),
            p_unsteady=float(p_unsteady[k]),
            p_flat=float(fit.flat[k]),
            p_reversed=float(fit.reversed_[k]),
        )
        for k, name in enumerate(fit.names)
        if name in counts
    }
