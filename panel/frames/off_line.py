"""Scores that are none: not finite, or off their line; written by another tool, never by a booth.

One of them must not shut a whole house. It is left out under a status of its own, counted wherever
others that are left out are told of, and `oakpanel db check` names it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from analysis.score_statuses import OFF_THE_LINE
from panel.kinds import ServingStatus

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np
    import pandas as pd

HOUSE_ENDS = {"scale_low": 0.0, "scale_high": 100.0}


def number_of(stored: object) -> float:
    """Return a stored score as a number; infinity for what is none, as a blank is no fault."""
    number = float(stored) if isinstance(stored, int | float) else float("inf")
    return number if number == number else float("inf")  # noqa: PLR0124 - false of a NaN alone


def numbers_of(rows: Sequence[Any]) -> np.ndarray:
    """Return serving, line and score of fetched rows, as numbers."""
    import numpy as np

    try:
        found = np.array(list(zip(*rows, strict=True)), dtype=np.float64)
    except (TypeError, ValueError):
        plain = [(serving, line, number_of(value)) for serving, line, value in rows]
        return np.array(list(zip(*plain, strict=True)), dtype=np.float64)
    found[2, np.isnan(found[2])] = np.inf
    return found


def off_line_told(frame: pd.DataFrame) -> pd.DataFrame:
    """Give scores off their line, in glasses in use, a status of their own; none keeps its value.

    `frame` has score and status, and scale_low and scale_high unless its line is the house's. A
    line whose ends are no numbers takes no score at all.
    """
    import numpy as np
    import pandas as pd

    ends = {name: frame.get(name, pd.Series(end, frame.index)) for name, end in HOUSE_ENDS.items()}
    low, high = (pd.to_numeric(end, errors="coerce").to_numpy() for end in ends.values())
    score = frame["score"].to_numpy(dtype=np.float64)
    lined = np.isfinite(low) & np.isfinite(high)
    off = ~np.isnan(score) & ~(lined & (score >= low) & (score <= high))
    if lined.all() and not off.any():
        return frame
    kept = (frame["status"] == ServingStatus.KEPT.value).to_numpy()
    straight = {
        name: np.where(lined, frame[name], end)
        for name, end in HOUSE_ENDS.items()
        if name in frame.columns
    }
    return frame.assign(
        score=np.where(off, np.nan, score),
        status=frame["status"].astype("object").mask(off & kept, OFF_THE_LINE),
        **{name: pd.to_numeric(values) for name, values in straight.items()},
    )
