"""Many mornings of passing: what noses catch, which families are not shown, which holds are true.

The share of holds that is true is 1 - (1 - p) f / h: h the share of casks held, f what a nose stops
of known-sound glasses, p the share of faulty casks, which follows from what it catches of planted
faults, c: 1 - p = (c - h) / (c - f).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from .morning import (
    CASK,
    KNEW_KEY,
    SOUND,
    SPIKE,
    check_glasses,
    named_rightly,
    noses_found,
    sound_found,
)
from .result import FamilyFound, FamilyWord, MorningsFound, TrueHolds
from .shares import LEVEL, exact_interval, share_of
from .verdict import mornings_sentences

if TYPE_CHECKING:
    import pandas as pd

LEAST_MORNINGS = 10
UNEQUAL_PARTS = 0.15
"""By how much a nose's part of the casks may differ from that of the known-sound glasses."""
FAMILY_MONTHS = 12
CHANCE = 0.05
"""A family is shown only where it was caught more often than chance would, so rarely."""


def mornings_found(glasses: pd.DataFrame, families: Sequence[str], *, until: date) -> MorningsFound:
    """Return what many sessions tell of the noses, up to a day.

    Parameters
    ----------
    glasses
        The frame of `passing_found`, of as many sessions as there are.
    families
        Every family of faults that a nose may name; one that was not caught in twelve months is
        "not shown", whether it was planted or not; so is one that was caught no more often than
        known-sound glasses are stopped.
    until
        The last day that counts.

    Raises
    ------
    FrameError
        Columns are missing.
    """
    import pandas as pd

    check_glasses(glasses)
    held_on = pd.to_datetime(glasses["held_on"])
    counted = glasses[held_on <= pd.Timestamp(until)]
    days = pd.to_datetime(counted["held_on"]).dropna()
    since = months_before(until, FAMILY_MONTHS)
    recent = counted[pd.to_datetime(counted["held_on"]) > pd.Timestamp(since)]
    found = MorningsFound(
        since=days.min().date() if len(days) else None,
        until=until,
        families_since=since,
        mornings=int(days.nunique()),
        noses=noses_found(counted),
        families=tuple(families_found(recent, families)),
        true_holds=true_holds(counted),
        sound=tuple(sound_found(counted)),
    )
    return replace(found, sentences=tuple(mornings_sentences(found)))


def months_before(day: date, months: int) -> date:
    """Return the same day of the month so many months before, or the last one of that month.

    Examples
    --------
    >>> months_before(date(2026, 3, 31), 13)
    datetime.date(2025, 2, 28)
    """
    from calendar import monthrange

    year, month = divmod(day.year * 12 + day.month - 1 - months, 12)
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))


def families_found(recent: pd.DataFrame, families: Sequence[str]) -> Iterator[FamilyFound]:
    """Give whether each family was caught among the glasses given, and not by chance alone."""
    counted = recent[recent["status"] != KNEW_KEY]
    spikes = counted[counted["there_for"] == SPIKE]
    sound = counted[counted["there_for"] == SOUND]["held"]
    stopped = (int(sound.sum()), len(sound))
    for family in families:
        mine = spikes[spikes["family"] == family]
        caught = share_of(int(mine["held"].sum()), len(mine))
        shown = caught.hits > 0 and by_chance((caught.hits, caught.of), stopped) <= CHANCE
        word = FamilyWord.SHOWN if shown else FamilyWord.NOT_SHOWN
        yield FamilyFound(family, caught, word, named_rightly(mine))


def by_chance(caught: tuple[int, int], stopped: tuple[int, int]) -> float:
    """Chance that so many spikes or more are held if a nose told them from sound ones by nothing.

    One-sided exact test of two shares (Fisher 1935, The Design of Experiments); each pair is hits
    and tries.

    Examples
    --------
    >>> round(by_chance((8, 10), (1, 20)), 6), by_chance((1, 10), (2, 20)) > 0.5
    (6.4e-05, True)
    """
    from scipy.stats import hypergeom

    tries, hits = caught[1] + stopped[1], caught[0] + stopped[0]
    return float(hypergeom.sf(caught[0] - 1, tries, hits, caught[1]))


def true_holds(glasses: pd.DataFrame) -> TrueHolds:
    """Return what share of the holds by one nose is likely true, once ten mornings are there.

    A hold is one nose's on the first glass of a cask. The interval is made of exact ones, each wide
    enough that together they miss as often as one would: at its low end noses stop as many
    known-sound casks, and hold as few, as may be, and catch everything; at its high end the other
    way round. It leans on planted faults only from above, since real ones may be harder to find.
    """
    counted = glasses[glasses["status"] != KNEW_KEY]
    casks = counted[(counted["there_for"] == CASK) & (counted["replicate"] == 1)]
    sound = counted[counted["there_for"] == SOUND]
    spikes = counted[counted["there_for"] == SPIKE]
    mornings = int(counted["held_on"].dropna().nunique())
    n, held = len(casks), int(casks["held"].sum())
    reason = _too_little(mornings, held, len(sound), len(spikes)) or _unequal(casks, sound)
    if reason is not None:
        return TrueHolds(mornings, n, held, None, None, reason)
    low, high = true_share(
        (held, n), (int(sound["held"].sum()), len(sound)), (int(spikes["held"].sum()), len(spikes))
    )
    return TrueHolds(mornings, n, held, low, high)


def _too_little(mornings: int, held: int, sound: int, spikes: int) -> str | None:
    if mornings < LEAST_MORNINGS:
        return f"said over {LEAST_MORNINGS} mornings or more; there {_are(mornings)} yet"
    if not held:
        return "no cask was held"
    if not sound or not spikes:
        return "no known-sound glass, or no planted fault, was poured"
    return None


def _are(number: int) -> str:
    return f"is {number}" if number == 1 else f"are {number}"


def _unequal(casks: pd.DataFrame, sound: pd.DataFrame) -> str | None:
    """Say where noses that may differ had other parts of the casks than of the known-sound."""
    parts = [frame["assessor"].value_counts(normalize=True) for frame in (casks, sound)]
    apart = float(parts[0].sub(parts[1], fill_value=0.0).abs().max())
    if apart > UNEQUAL_PARTS:
        return (
            "noses had other parts of the casks than of the known-sound glasses, and one may stop "
            "more than another"
        )
    return None


def true_share(
    held: tuple[int, int],
    stopped: tuple[int, int],
    caught: tuple[int, int],
    level: float = LEVEL,
) -> tuple[float, float]:
    """Return between which shares of the holds are true; each pair is hits and tries.

    Examples
    --------
    >>> low, high = true_share((60, 1000), (4, 150), (120, 150))
    >>> 0.0 <= low < 1.0 - 4 / 150 / 0.06 < high <= 1.0
    True
    """
    miss = 1.0 - level
    _, most_stopped = exact_interval(*stopped, level=1.0 - miss / 2.0)
    least_held, _ = exact_interval(*held, level=1.0 - miss / 2.0)
    least_stopped, _ = exact_interval(*stopped, level=1.0 - miss / 3.0)
    _, most_held = exact_interval(*held, level=1.0 - miss / 3.0)
    least_caught, _ = exact_interval(*caught, level=1.0 - miss / 3.0)
    return (
        _true(least_held, most_stopped, 1.0),
        1.0 if least_caught <= most_held else _true(most_held, least_stopped, least_caught),
    )


def _true(held: float, stopped: float, caught: float) -> float:
    """Return the share of true holds; 0 where so many would be stopped were all casks sound."""
    if held <= stopped or caught <= stopped:
        return 0.0
    sound = min(1.0, max(0.0, (caught - held) / (caught - stopped)))
    return min(1.0, max(0.0, 1.0 - sound * stopped / held))
