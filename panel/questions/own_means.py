"""What each assessor's scores of each sample come to, beside those of the panel."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd
    from sqlalchemy.orm import Session

OwnMeans = Mapping[str, Mapping[str, Mapping[str, float]]]
"""Points of the 0-100 line by descriptor, assessor and sample."""


def own_means(db: Session, name: str, *, as_of: date | None = None) -> OwnMeans:
    """Return each assessor's mean of each sample in a closed or revealed session.

    The scores are those that agreement is reckoned from: no references, nothing left out of it.

    Raises
    ------
    UnknownRecord, WrongState
        No such session; or still open.
    """
    from panel.frames import finished_session, scores_frame

    finished_session(db, name)
    return means_of(scores_frame(db, sessions=[name], as_of=as_of))


def means_of(scores: pd.DataFrame) -> OwnMeans:
    """Return the means of a scores frame on the 0-100 line."""
    from analysis.frames import TEST_KINDS, on_house_scale, usable

    used = on_house_scale(usable(scores).scores)
    tests = used[used["kind"].isin(TEST_KINDS)]
    found: dict[str, dict[str, dict[str, float]]] = {}
    means = tests.groupby(["descriptor", "assessor", "sample"], sort=True)["score"].mean()
    for row in means.reset_index().itertuples():
        people = found.setdefault(str(row.descriptor), {})
        people.setdefault(str(row.assessor), {})[str(row.sample)] = float(str(row.score))
    return found
