"""From the scores frame to a profile of every sample."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
import pandas as pd
import threadpoolctl

from ..errors import NoScoresError
from ..frames import on_house_scale, usable
from .assembly import assessor_frame, descriptor_fit, estimate_frame, posterior
from .column import Alone, Column
from .compared import compared_first
from .layout import Glasses
from .links import links
from .parallel import Crew, crew
from .result import DescriptorFit, Profile
from .settings import ProfileSettings
from .start import start_of
from .table import (
    NoteGlasses,
    ScoreTable,
    about_samples,
    design_of,
    part_of,
    tabulate,
)

_KINDS = ("test", "trial", "market", "reference")


def estimate_profile(
    scores: pd.DataFrame,
    *,
    as_of: date | None = None,
    settings: ProfileSettings = ProfileSettings(),  # noqa: B008  (frozen)
    covariates: pd.DataFrame | None = None,
    start: Profile | None = None,
    meanwhile: Callable[[], object] = lambda: None,
) -> Profile:
    """Estimate what each sample is on each descriptor, over all sessions.

    One hierarchical model a descriptor: each assessor has an offset, a scale and a noise of his
    own, each session and each assessor in it a mood, each assessor a lasting opinion of each
    sample; draws of one filling are alike. Terms that the data cannot tell apart are left out
    with the reason. A sample nosed once is drawn towards the mean of all (or to what its
    covariates say), one nosed often hardly; then the descriptors of a sample inform each other.

    Parameters
    ----------
    scores
        A scores frame (see :mod:`analysis`) of any number of sessions. The warm-up is no part
        of it; references are, they tie sessions together.
    as_of
        Use sessions held on or before this date only; one without a date is used.
    settings
        The standing panel, the statuses to use, and the model.
    covariates
        What is known of the samples otherwise, one row a sample (its index) and one column of
        numbers each. Samples without a row have a mean of their own.
    start
        An earlier profile to start from, such as the one before the last session.
    meanwhile
        What this process has to do besides, done while helpers fit.

    Returns
    -------
    Profile
        In points of the 0-100 line; estimates are kept inside it.

    Raises
    ------
    FrameError
        With every fault of the frame, or a sample that belongs to two casks.
    NoScoresError
        When nothing is left to compute with.

    Notes
    -----
    For assessor j, session s, sample i::

        y = mu + a_j + s_s + o_js + g_j tau_i + d_ij + p' b + e
        tau_i = x_i' gamma + f_filling + u_i

    with all effects but mu and gamma normal, ``g_j ~ N(1, .3^2)`` with mean one over the
    standing panel, and e Student's with 4 degrees of freedom, its scale each assessor's own and
    another one for low, middle and high samples. Of a note with 5 to 90 in 100 scores at an end
    of the line these say no more than beyond it, e is normal and some scores are slips; what
    nearly every glass lacks is counted (see :mod:`analysis.profile.ends`). Where places on the
    tray are on record, p is a glass's place and the smoke of the one before it, about the means of
    its session, with b drawn to nothing (see :mod:`analysis.profile.serving`): an estimate is that
    of the middle of the tray. Variances by
    restricted maximum likelihood (Patterson & Thompson 1971), which with equal scales and noise
    is the classical mixed model.

    Examples
    --------
    >>> rows = [
    ...     {"session": "S1", "assessor": a, "sample": s, "replicate": r, "descriptor": "smoke",
    ...      "score": level + shift + 3 * (r == 2) + ("AC".find(a) > 0) * (s == "y") * 4}
    ...     for a, shift in [("A", 0), ("B", 6), ("C", -2)]
    ...     for s, level in [("x", 10), ("y", 40), ("z", 70)] for r in (1, 2)
    ... ]
    >>> found = estimate_profile(pd.DataFrame(rows)).estimates
    >>> found.loc[found["sample"] == "z", "estimate"].round().tolist()
    [73.0]
    """
    with crew(len(scores), settings) as helpers:
        used = usable(scores, keep=settings.keep, kinds=_KINDS)
        if as_of is not None:
            used = used.until(as_of)
        if used.n_used == 0:
            raise NoScoresError(used.left_out)
        about = about_samples(used.scores, used.codes)
        table = tabulate(on_house_scale(used.scores), used.codes)
        fitted = _fit(table, settings, covariates, start, helpers, meanwhile)
    joint = posterior(table, fitted.parts, fitted.alone, joint=settings.joint)
    found = Profile(
        estimates=estimate_frame(table, fitted.parts, fitted.alone, joint, about),
        fits=fitted.fits(table),
        links=links(table.sessions, table.samples, table.session, table.sample),
        as_of=as_of,
        n_scores=used.n_used,
        left_out=used.left_out,
        assessors=assessor_frame(table, fitted.parts, fitted.alone, fitted.panels),
        posterior=joint,
    )
    return compared_first(found)


@dataclass(frozen=True)
class _Fitted:
    """What came of each descriptor, in the table's order."""

    parts: Sequence[NoteGlasses]
    panels: Sequence[np.ndarray]
    alone: Sequence[Alone]
    covariates: tuple[str, ...]

    def fits(self, table: ScoreTable) -> tuple[DescriptorFit, ...]:
        return tuple(
            descriptor_fit(table, k, part, panel, found, self.covariates)
            for k, (part, panel, found) in enumerate(
                zip(self.parts, self.panels, self.alone, strict=True)
            )
        )


def _fit(
    table: ScoreTable,
    settings: ProfileSettings,
    covariates: pd.DataFrame | None,
    start: Profile | None,
    helpers: Crew,
    meanwhile: Callable[[], object],
) -> _Fitted:
    x, covariate_names = design_of(covariates, table.samples.tolist())
    parts = _on_shared_glasses([part_of(table, k) for k in range(len(table.descriptors))])
    standing = settings.standing_panel
    wanted = np.isin(table.assessors, table.assessors if standing is None else list(standing))
    panels = [np.flatnonzero(wanted[part.assessor_ids]) for part in parts]
    columns = []
    for k, (part, panel) in enumerate(zip(parts, panels, strict=True)):
        column = Column(part.glasses, part.y, x[part.sample_ids], panel, part.order)
        if start is not None:
            names = table.assessors[part.assessor_ids].tolist()
            column = replace(column, start=start_of(start, str(table.descriptors[k]), names))
        columns.append(column)
    with threadpoolctl.threadpool_limits(limits=1, user_api="blas"):
        alone = helpers.fit_each(columns, settings, meanwhile)
    return _Fitted(parts, panels, alone, covariate_names)


def _on_shared_glasses(parts: Sequence[NoteGlasses]) -> list[NoteGlasses]:
    """Parts that were scored on the same glasses share them."""
    known: dict[bytes, Glasses] = {}
    found = []
    for part in parts:
        g = part.glasses
        key = b"".join(codes.tobytes() for codes in (g.session, g.assessor, g.sample, g.filling))
        found.append(replace(part, glasses=known.setdefault(key, g)))
    return found
