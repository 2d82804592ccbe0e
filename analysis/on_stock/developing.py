"""How styles and casks develop, and when those that lie there meet a target."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

import pandas as pd

from ..ageing import Ageing, Asked, estimate_ageing
from ..influences.searched import Search, search_anew
from ..profile import Profile
from ..profile.latest import in_cask
from ..target import Target
from .barred import barred_fillings, held_against


def ageing_of_stock(
    profile: Profile,
    draws: pd.DataFrame,
    present: pd.DataFrame,
    casks: pd.DataFrame,
    *,
    as_of: date,
    asked: Asked = Asked(),  # noqa: B008  (frozen)
    targets: Sequence[Target] = (),
    seed: int = 1,
    search: Search = search_anew,
) -> Ageing:
    """Return how styles or casks develop, and when casks meet the targets.

    A cask that leaks, is on hold, reserved as a whole or of another owner is left out with
    every reason unless it is asked for by number.

    Parameters
    ----------
    draws, present
        What is known of each draw, and of what lies in the casks as if it were drawn now.
    casks
        A casks frame of the same day.
    search
        What was found before, see :mod:`analysis.influences.searched`.
    """
    lying = in_cask(casks)
    forbidden = barred_fillings(lying)
    barred = {} if asked.casks else forbidden
    found = estimate_ageing(
        profile,
        draws,
        stock=present[~present["filling"].isin(list(barred))],
        as_of=as_of,
        targets=targets,
        asked=asked,
        seed=seed,
        search=search,
        usable=present[~present["filling"].isin(list(forbidden))],
    )
    held = {f"cask {cask}": why for cask, why in barred.values()} if targets else {}
    named = lying[lying["cask"].isin(list(asked.casks))]
    cask_of = dict(zip(named["filling"].astype(str), named["cask"].astype(str), strict=True))
    return replace(
        found,
        left_out={**found.left_out, **held},
        held_against={cask_of[filling]: why for filling, why in held_against(named).items()},
    )
