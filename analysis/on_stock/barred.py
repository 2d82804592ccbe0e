"""Which fillings may not be chosen unasked, and every reason why."""

from __future__ import annotations

import pandas as pd

from ..bar_words import told
from ..bars import NOTHING_AGREED, Allowed, Purpose, forbidding
from ..profile.latest import in_cask
from ..vatting.records import bars_in


def held_against(casks: pd.DataFrame) -> dict[str, str]:
    """Everything that the records hold against each filling, whether it forbids a use or not."""
    rows = zip(casks["filling"].tolist(), bars_in(casks), strict=True)
    return {str(filling): told(bars) for filling, bars in rows if bars}


def barred_fillings(
    casks: pd.DataFrame, allowed: Allowed = NOTHING_AGREED
) -> dict[str, tuple[str, str]]:
    """Number of the cask and every reason, for each filling that may not be chosen unasked."""
    columns = (casks[name].tolist() for name in ("filling", "cask"))
    rows = zip(*columns, bars_in(casks), strict=True)
    return {
        str(filling): (str(cask), told(against))
        for filling, cask, bars in rows
        if bars and (against := forbidding(bars, Purpose.MATCH, allowed))
    }


def usable_fillings(casks: pd.DataFrame) -> list[str]:
    """Return the fillings that lie in their casks and may be chosen unasked."""
    lying = in_cask(casks)
    barred = barred_fillings(lying)
    return [name for name in lying["filling"].astype(str).tolist() if name not in barred]
