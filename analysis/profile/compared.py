"""Which part of a stock is compared where its sessions share no glass: the one rule for it.

Between parts that nothing ties, no difference can be told from that of two evenings. So every
answer that puts casks beside each other keeps to one part: that with most casks that may be used.
Of parts with as many it is the one nosed last. `component` 0 of the estimates, and the first of a
profile's links, are that part.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from ..array_types import Ints
from .links import Link
from .words import apart, listed

if TYPE_CHECKING:
    from .result import Profile


@dataclass(frozen=True)
class Compared:
    """The part of the stock that is compared, and what that leaves out.

    Attributes
    ----------
    sessions
        The sessions of the part.
    n_casks
        Casks in it that may be used.
    left_out
        Casks that may be used and were nosed in other parts only.
    earlier
        Casks of which an earlier draw stands, because the latest was nosed in another part.
    is_tied
        Whether another part has as many casks.
    """

    sessions: tuple[str, ...]
    n_casks: int
    left_out: tuple[str, ...]
    earlier: tuple[str, ...] = ()
    is_tied: bool = False

    @property
    def sentence(self) -> str:
        """What is compared and what is not, and by which rule."""
        casks = "cask" if self.n_casks == 1 else "casks"
        evenings = "session" if len(self.sessions) == 1 else "sessions"
        of = f"the {self.n_casks} {casks} of {evenings} {listed(self.sessions)}"
        rule = "the part with most casks that may be used now"
        if self.is_tied:
            rule = "of the parts with most casks that may be used now, as many in each, the latest"
        said = [f"What puts casks beside each other keeps to {of}: {rule}."]
        if self.left_out:
            n = len(self.left_out)
            said.append(
                f"{n} {'cask is' if n == 1 else 'casks are'} left out of it "
                f"({listed(self.left_out)})."
            )
        if self.earlier:
            said.append(
                f"Of {listed(self.earlier)} an earlier draw stands, as the latest was nosed in "
                "another part."
            )
        return " ".join(said)


def compared_first(profile: Profile, fillings: Collection[str] | None = None) -> Profile:
    """Put the part that is compared first, in the links and as `component` 0 of every note.

    Parameters
    ----------
    profile
        What the samples are.
    fillings
        Those that may be used now; every cask counts without them.

    Notes
    -----
    A note's parts lie within those of the sessions. They go by the order of these, so that all
    notes keep to one part of the stock, then by casks and by the day nosed last. Without any
    cask the parts stay as they are, that with most samples first.

    Examples
    --------
    >>> from analysis.profile import estimate_profile
    >>> nosed = {"S1": ["x", "y"], "S2": ["u", "v", "w"]}
    >>> rows = [
    ...     {"session": evening, "assessor": a, "sample": s, "cask": s, "filling": s,
    ...      "replicate": r, "descriptor": "smoke", "score": 20.0 + 5 * k + r}
    ...     for evening, samples in nosed.items() for a in "AB"
    ...     for k, s in enumerate(samples) for r in (1, 2)
    ... ]
    >>> found = estimate_profile(pd.DataFrame(rows))
    >>> found.compared.sessions, compared_first(found, ["x", "y", "w"]).compared.sessions
    (('S2',), ('S1',))
    """
    rows = profile.estimates
    if not (rows["component"] > 0).any() and len(profile.links) < 2:
        return profile
    usable = _usable(rows, fillings)
    place = {name: i for i, link in enumerate(profile.links) for name in link.samples}
    of_link = usable["sample"].map(place)
    counts, order = _order(usable, of_link, len(profile.links))
    rank = np.argsort(order)
    links = tuple(profile.links[i] for i in order)
    component = _renumbered(rows, usable, rows["sample"].map(place).map(dict(enumerate(rank))))
    first = component == 0
    said = [_reason(why, is_first) for why, is_first in zip(rows["reason"], first, strict=True)]
    estimates = rows.assign(component=component, reason=pd.Series(said, rows.index, dtype="object"))
    compared = _compared(usable, links, [counts[i] for i in order])
    return replace(profile, estimates=estimates, links=links, compared=compared)


def _usable(rows: pd.DataFrame, fillings: Collection[str] | None) -> pd.DataFrame:
    of_casks = rows[rows["cask"].notna() & rows["estimate"].notna()]
    if fillings is None:
        return of_casks
    named = of_casks["filling"].astype("str").isin([str(name) for name in fillings])
    return of_casks[of_casks["filling"].isna() | named]


def _order(usable: pd.DataFrame, part: pd.Series, n_parts: int) -> tuple[list[int], list[int]]:
    """Casks of each part, and the parts by most casks, then nosed last, then as they were."""
    by_part = usable.groupby(part)
    casks, last = by_part["cask"].nunique(), by_part["last_nosed"].max()
    counts = [int(casks.get(i, 0)) for i in range(n_parts)]
    days = [_day(last.get(i)) for i in range(n_parts)]
    return counts, sorted(range(n_parts), key=lambda i: (-counts[i], -days[i], i))


def _day(value: Any) -> int:
    return 0 if value is None or pd.isna(value) else int(pd.Timestamp(value).toordinal())


def _renumbered(rows: pd.DataFrame, usable: pd.DataFrame, link: pd.Series) -> Ints:
    """Component of every row, counted anew within its note."""
    keys = ["descriptor", "component"]
    links = rows.assign(link=link).groupby(keys)["link"].min()
    parts = usable.groupby(keys)
    casks, last = parts["cask"].nunique().to_dict(), parts["last_nosed"].max().to_dict()
    order: dict[Any, int] = links.to_dict()
    places = list(order)
    places.sort(
        key=lambda part: (part[0], order[part], -casks.get(part, 0), -_day(last.get(part)), part[1])
    )
    numbers: dict[tuple[str, int], int] = {}
    seen: Counter[str] = Counter()
    for part in places:
        numbers[part] = seen[part[0]]
        seen[part[0]] += 1
    pairs = zip(rows["descriptor"].tolist(), rows["component"].tolist(), strict=True)
    return np.array([numbers[pair] for pair in pairs], dtype=np.intp)


def _reason(why: Any, is_first: bool) -> str | None:
    """The reason of a row in its new part; other reasons stay."""
    if not isinstance(why, str) or why == apart(1):
        return apart(0 if is_first else 1)
    return why


def _compared(
    usable: pd.DataFrame, links: Sequence[Link], counts: Sequence[int]
) -> Compared | None:
    if len(links) < 2 or not counts[0]:
        return None
    first = set(links[0].samples)
    here = usable["sample"].isin(first)
    casks = set(usable.loc[here, "cask"].astype("str"))
    rest = sorted(set(usable.loc[~here, "cask"].astype("str")) - casks)
    earlier = _earlier(usable, first, casks)
    return Compared(links[0].sessions, counts[0], tuple(rest), earlier, counts[1] == counts[0])


def _earlier(usable: pd.DataFrame, first: set[str], casks: Collection[str]) -> tuple[str, ...]:
    from .latest import by_draw

    latest: Mapping[str, str] = dict(
        zip(*(by_draw(usable)[name].astype("str") for name in ("cask", "sample")), strict=True)
    )
    return tuple(sorted(cask for cask in casks if latest[cask] not in first))
