"""On which notes a panel stood in two camps, over all the scores that a profile reads."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping

import pandas as pd

from ...frames import TEST_KINDS, on_house_scale, usable
from ...profile.camps import NoteCamps
from ..indices.layout import ScoreLayout, layouts_of
from ..one_session.camps import two_camps
from ..settings import AgreementSettings
from ..verdict.over_sessions import in_two_camps
from ..verdict.words import PanelWord


def notes_in_camps(
    scores: pd.DataFrame,
    *,
    settings: AgreementSettings = AgreementSettings(),  # noqa: B008  (frozen)
) -> tuple[NoteCamps, ...]:
    """Find the notes on which a panel stood in two camps in most sessions that can tell.

    Choose it beside a profile: that takes either camp at its word. A session can tell of a note
    that as many people scored as judge one another at all; what the order of serving does is
    left in, which no camp hangs on.

    Parameters
    ----------
    scores
        A scores frame (see :mod:`analysis`) of any number of sessions.
    settings
        The house's thresholds.

    Returns
    -------
    tuple of NoteCamps
        By name; the rule is :func:`in_two_camps`.

    Examples
    --------
    >>> import numpy as np
    >>> rng = np.random.default_rng(4)
    >>> rows = [(f"S{t}", who, f"x{t}{s}", 1, "smoke",
    ...          50.0 + (1.0 if who in "ABCD" else -1.0) * (12.0 * s - 30.0) + rng.normal(0, 4))
    ...         for t in range(2) for who in "ABCDEFGH" for s in range(6)]
    >>> names = ["session", "assessor", "sample", "replicate", "descriptor", "score"]
    >>> notes_in_camps(pd.DataFrame(rows, columns=names))
    (NoteCamps(descriptor='smoke', n_sessions=2, of_sessions=2),)
    """
    return camps_among(usable(scores).scores, settings)


def camps_among(
    used: pd.DataFrame,
    settings: AgreementSettings = AgreementSettings(),  # noqa: B008  (frozen)
) -> tuple[NoteCamps, ...]:
    """Find them among scores that may be computed with."""
    used = on_house_scale(used)
    words: dict[str, Counter[PanelWord]] = {}
    for parts in layouts_of(used[used["kind"].isin(TEST_KINDS)]):
        for name, word in _of_evening(parts, settings).items():
            words.setdefault(name, Counter())[word] += 1
    return tuple(
        NoteCamps(name, found[PanelWord.CAMPS], sum(found.values()))
        for name, found in sorted(words.items())
        if in_two_camps(found)
    )


def _of_evening(
    parts: Mapping[str, ScoreLayout], settings: AgreementSettings
) -> Mapping[str, PanelWord]:
    """By note whether an evening is in two camps; nothing of those that too few scored."""
    if len({name for part in parts.values() for name in part.assessors}) < settings.small_panel:
        return {}
    return {
        name: PanelWord.TOO_LITTLE
        if two_camps(layout, len(parts), settings) is None
        else PanelWord.CAMPS
        for name, layout in parts.items()
        if layout.n_assessors >= settings.small_panel
    }
