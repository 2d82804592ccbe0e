"""Lines of a sheet that were asked and left without a score: blank is never zero.

The store keeps scores that were given, so that a blank is what a row lacks. A line counts as asked
of a person where the person scored it on any glass of the session; a glass counts as nosed where
it was put down as finished or has a score. Glasses that the lead took out, those that may have
changed places, the warm-up, and all of somebody who knew the key have no blanks.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.kinds import GlassKind, ServingStatus

if TYPE_CHECKING:
    import numpy as np
    import pandas as pd


def blank_lines(
    glasses: pd.DataFrame, lines: pd.DataFrame, glass: np.ndarray, line: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Return the rows of `glasses` and of `lines` that lack a score.

    `glass` and `line` are the rows that each score belongs to.
    """
    import numpy as np
    import pandas as pd

    if not len(glass):
        return glass[:0], line[:0]
    seat = glasses.groupby(["session_id", "assessor"]).ngroup().to_numpy()
    place, at = _sheets(lines)
    asked = np.zeros((seat.max() + 1, at.shape[1]), dtype=np.bool_)
    asked[seat[glass], place[line]] = True
    n_scored = np.bincount(glass, minlength=len(glasses))
    short = np.flatnonzero(_nosed(glasses, n_scored) & (n_scored < asked.sum(axis=1)[seat]))
    row_of = np.full(len(glasses), -1)
    row_of[short] = np.arange(len(short))
    mine = row_of[glass] >= 0
    lacking = asked[seat[short]]
    lacking[row_of[glass[mine]], place[line[mine]]] = False
    row, column = np.nonzero(lacking)
    found = short[row]
    sheets = pd.Index(lines["session_id"].unique())
    sheet = sheets.get_indexer(pd.Index(glasses["session_id"].to_numpy()[found]))
    return found, at[sheet, column]


def _nosed(glasses: pd.DataFrame, n_scored: np.ndarray) -> np.ndarray:
    """Glasses in use that somebody put the nose to."""
    kept = (glasses["status"] == ServingStatus.KEPT.value) & (
        glasses["kind"] != GlassKind.WARM_UP.value
    )
    nosed: np.ndarray = kept.to_numpy() & ((n_scored > 0) | glasses["finished"].to_numpy(bool))
    return nosed


def _sheets(lines: pd.DataFrame) -> tuple[np.ndarray, np.ndarray]:
    """Place of each line on its sheet, and the line that stands at each place of each sheet."""
    import numpy as np
    import pandas as pd

    sheet, sheets = pd.factorize(lines["session_id"])
    place = lines.groupby(sheet).cumcount().to_numpy()
    at = np.full((len(sheets), int(place.max()) + 1), -1)
    at[sheet, place] = np.arange(len(lines))
    return place, at
