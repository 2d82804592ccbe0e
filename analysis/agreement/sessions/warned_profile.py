"""The profile of all sessions, with what to know of them before it is read."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from typing import Any

import pandas as pd

from ...frames import usable
from ...profile import Profile, estimate_profile
from .camps_in_house import camps_among
from .orders_in_house import one_order_among


def warned_profile(
    scores: pd.DataFrame,
    *,
    as_of: date | None = None,
    start: Profile | None = None,
    meanwhile: Callable[[], object] = lambda: None,
) -> Profile:
    """Return what each sample is, with the notes that were read two ways and what had one order.

    Parameters
    ----------
    scores
        A scores frame of all sessions.
    as_of
        Use sessions held on or before this date only.
    start
        An earlier profile that the fit may begin from.
    meanwhile
        What this process has to do besides, done while helpers fit.
    """
    warned: dict[str, Any] = {}

    def besides() -> None:
        used = usable(scores).scores
        warned.update(one_order=one_order_among(used), camps=camps_among(used))
        meanwhile()

    found = estimate_profile(scores, as_of=as_of, start=start, meanwhile=besides)
    return replace(found, **warned)
