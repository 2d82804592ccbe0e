"""Of how many casks each note is known: what a target can ask of a stock at all."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import pandas as pd

from ..profile.latest import in_cask, latest_draws
from ..profile.result import Profile


@dataclass(frozen=True)
class NoteReach:
    """Of how many casks a note is known.

    Attributes
    ----------
    n_casks
        Casks whose latest draw has an estimate of it that can be compared.
    n_nosed
        Casks nosed on anything.
    """

    n_casks: int
    n_nosed: int

    @property
    def is_common(self) -> bool:
        """Whether at least half of the casks have it."""
        return 2 * self.n_casks >= self.n_nosed


def note_reach(profile: Profile, casks: pd.DataFrame) -> Mapping[str, NoteReach]:
    """Count the casks that can be compared on each note.

    A cask without an estimate on every line of a target cannot be ranked for it. Notes that
    rotate, a few of them an evening, are known of few casks each.

    Parameters
    ----------
    profile
        What was nosed; of each current filling the latest draw counts.
    casks
        A casks frame.

    Examples
    --------
    >>> from oakpanel.analysis.profile import estimate_profile
    >>> both, one = ("smoke", "plum"), ("smoke",)
    >>> notes = {"a": both, "b": both, "c": one, "d": one, "e": one}
    >>> rows = [
    ...     {"session": "S1", "assessor": who, "sample": s, "cask": s, "filling": s,
    ...      "replicate": r, "descriptor": note, "score": 20 + 10 * k + r}
    ...     for who in "AB" for k, s in enumerate(notes) for r in (1, 2) for note in notes[s]
    ... ]
    >>> casks = pd.DataFrame({"cask": list(notes), "filling": list(notes)})
    >>> found = note_reach(estimate_profile(pd.DataFrame(rows)), casks)
    >>> {name: (each.n_casks, each.n_nosed) for name, each in sorted(found.items())}
    {'plum': (2, 5), 'smoke': (5, 5)}
    """
    rows = profile.estimates
    rows = rows[rows["cask"].notna() & rows["estimate"].notna() & rows["se"].notna()]
    if rows.empty:
        return {}
    latest = latest_draws(rows, in_cask(casks)["filling"])
    samples = latest.loc[latest["is_current"], "sample"]
    here = rows[rows["sample"].isin(samples)]
    counts = here[here["component"] == 0].groupby("descriptor")["sample"].nunique()
    return {
        str(name): NoteReach(int(counts.get(name, 0)), len(samples))
        for name in sorted(set(rows["descriptor"]))
    }
