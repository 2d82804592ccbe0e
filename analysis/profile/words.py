"""What a profile has to say before its figures are read."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from ..array_types import Vector
from ..frames import WAITING, reason_of
from ..score_statuses import OFF_THE_LINE
from .ends import ReadAs
from .links import Link

if TYPE_CHECKING:
    import pandas as pd

    from .result import DescriptorFit, Profile

_NAMED = 4
"""Sessions or samples that a sentence names."""


def unsettled(reason: str, assessor: str | None, scores: Vector) -> str:
    """Say what to look at where a fit did not settle; `scores` are that assessor's."""
    if assessor is None:
        return f"{reason}: look for a session or an assessor with hardly any scores on it"
    zeros = 100.0 * float(np.mean(scores == 0.0))
    return (
        f"{reason}: {assessor} has no steady scale on it, so look at those {len(scores)} scores "
        f"first ({zeros:.0f} in 100 of them are 0)"
    )


def found_or_not(found: int, glasses: int, mean: float, at_most: float) -> str:
    """Say in how many of its glasses a sample showed a note that most samples lack.

    Examples
    --------
    >>> found_or_not(0, 8, 0.0, 0.31)
    'not found in 8 glasses (at most 31 in 100 would show it)'
    >>> found_or_not(5, 8, 21.9, 0.86)
    'found in 5 of 8 glasses, 35 where found'
    """
    if found == 0:
        share = f"at most {100.0 * at_most:.0f} in 100 would show it"
        return f"not found in {glasses} {'glass' if glasses == 1 else 'glasses'} ({share})"
    return f"found in {found} of {glasses} glasses, {mean * glasses / found:.0f} where found"


def waiting_note(left_out: Mapping[str, int]) -> str | None:
    """Say how many scores nobody reckons with: a swap was never cleared up, or they are none.

    Examples
    --------
    >>> waiting_note({"void": 3, "swap suspected": 8})
    '8 scores are not used: their glasses may have changed places, and that was not cleared up \
before the reveal.'
    """
    why = {
        WAITING: "their glasses may have changed places, and that was not cleared up before the "
        "reveal.",
        OFF_THE_LINE: "what is stored is no number on the line (`oakpanel db check` names it).",
    }
    said = [
        f"{'1 score is' if count == 1 else f'{count} scores are'} not used: {words}"
        for status, words in why.items()
        if (count := left_out.get(reason_of(status), 0))
    ]
    return " ".join(said) or None


def read_as_below(fits: Sequence[DescriptorFit]) -> str | None:
    """Say on which notes a zero was not taken for a measurement, and where it had to be."""
    below = [fit.descriptor for fit in fits if fit.reading is ReadAs.BELOW]
    said = []
    if below:
        said.append(
            f"Scores at an end of the line are read as beyond it on {listed(below)}: a 0 says "
            "no more than below what that person writes down."
        )
    said += [f"On {fit.descriptor} {fit.reading_reason}." for fit in fits if fit.reading_reason]
    return " ".join(said) or None


def apart(component: int) -> str | None:
    """Why a sample cannot be compared with most others."""
    if component == 0:
        return None
    return (
        "scored on this note only in sessions that share no glass with those compared: do not "
        "compare it with their samples until a reference or a returning cask ties them together"
    )


def apart_notes(
    estimates: pd.DataFrame, links: Sequence[Link], names: Sequence[str] | None = None
) -> str | None:
    """Say on which notes some samples cannot be compared though their sessions hang together.

    A note that only some evenings score may be tied by no glass at all.
    """
    tied = links[0].samples if links else ()
    rows = estimates[estimates["sample"].isin(list(tied)) & estimates["estimate"].notna()]
    if names is not None:
        rows = rows[rows["descriptor"].isin(list(names))]
    counts = rows.assign(apart=rows["component"] > 0).groupby("descriptor")["apart"]
    table = counts.agg(["sum", "size"])
    found = [f"{name} ({n} of {of})" for name, n, of in table.itertuples() if n]
    if not found:
        return None
    return (
        "The evenings that score some notes share no glass, so that a part of their samples cannot "
        f"be compared with the rest: {listed(found)}. Pour one sample in each such evening, and "
        "score these notes on it."
    )


def unlinked(links: Sequence[Link], reference: str | None) -> str | None:
    """Say where sessions do not hang together, or by one sample only, and what would tie them.

    None where every session shares two samples or more with the others.
    """
    said = [_apart_sessions(links, reference), _weak_sessions(links)]
    return " ".join(part for part in said if part) or None


def _apart_sessions(links: Sequence[Link], reference: str | None) -> str | None:
    if len(links) < 2:
        return None
    tie = f"Pour {bridge(links, reference)} in each part."
    if all(len(link.sessions) == 1 for link in links):
        return (
            f"No sample was nosed in two of the {len(links)} sessions: what differs between "
            "their samples cannot be told from what differs between the evenings, and much of "
            "it is put down to the evenings. Compare samples of one session only. "
            f"{tie}"
        )
    sessions = [name for link in links[1:] for name in link.sessions]
    stand = "stands" if len(sessions) == 1 else "stand"
    return (
        f"The sessions fall into {len(links)} parts that share no glass: samples of different "
        f"parts cannot be compared (session {listed(sessions)} {stand} apart). {tie}"
    )


def _weak_sessions(links: Sequence[Link]) -> str | None:
    """Name the sessions that a single sample ties to the others."""
    tied = [link for link in links if len(link.sessions) > 1]
    weak = {
        session: sample
        for link in tied
        for session, sample in zip(link.weak, link.hangs_on, strict=False)
    }
    if not weak:
        return None
    every = len(weak) == sum(len(link.sessions) for link in links)
    who = f"All {len(weak)} sessions" if every else f"Session {listed(list(weak))}"
    hang = "hangs" if len(weak) == 1 else "hang"
    samples = list(dict.fromkeys(weak.values()))
    return (
        f"{who} {hang} on a single sample, {listed(samples)}: if it was mistaken or has changed, "
        "whole evenings are off by as much. Pour a second sample that another session has nosed "
        f"as well, such as {_second(tied, samples)}."
    )


def _second(links: Sequence[Link], besides: Sequence[str]) -> str:
    """A sample to tie an evening by, other than those it hangs on; one in many sessions first."""
    known = [name for link in links for name in (*link.ties, *link.samples)]
    return next((name for name in known if name not in besides), known[0])


def undated(n_draws: int) -> str | None:
    """Say of how many draws the day they were nosed stands for the day they were drawn.

    Examples
    --------
    >>> undated(1)
    'Of 1 draw the day is not on record: the day it was nosed last stands for it. Load draws with \
`drawn_on` to mend that.'
    """
    if not n_draws:
        return None
    of, it = ("1 draw", "it was") if n_draws == 1 else (f"{n_draws} draws", "they were")
    return (
        f"Of {of} the day is not on record: the day {it} nosed last stands for it. Load draws "
        "with `drawn_on` to mend that."
    )


def listed(names: Sequence[str]) -> str:
    """Names in a row; of many the first few and how many more."""
    shown = names if len(names) <= _NAMED else [*names[:_NAMED], f"{len(names) - _NAMED} more"]
    return shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} and {shown[-1]}"


def bridge(links: Sequence[Link], reference: str | None) -> str:
    """What to pour to tie the parts together: a known sample, and what it may be."""
    if reference is not None:
        return f"the house reference or a returning cask (such as {reference})"
    known = (*links[0].ties, *links[0].samples)
    return f"the house reference or a returning cask (such as {known[0]})"


def not_comparable(first: str, second: str, links: Sequence[Link], reference: str | None) -> str:
    """Say why two samples cannot be compared, and what would help."""
    return (
        f"{first} and {second} were never tied together by a common glass: their difference "
        "cannot be told from the difference of two evenings. Pour "
        f"{bridge(links, reference)} beside both, or both in one session."
    )


def profile_lines(profile: Profile) -> Iterator[str]:
    """Give what a profile holds, and what to know before its samples are compared."""
    n_samples, n_notes = profile.estimates["sample"].nunique(), len(profile.fits)
    by = f" by {profile.as_of}" if profile.as_of else ""
    yield f"{n_samples} samples on {n_notes} notes, from {profile.n_scores} scores{by}."
    if profile.note:
        yield profile.note
    if profile.left_out:
        told = (f"{count} {reason}" for reason, count in profile.left_out.items())
        yield f"Left out: {', '.join(told)}."
    for fit in profile.fits:
        if fit.reason:
            yield f"{fit.descriptor}: {fit.reason}"
