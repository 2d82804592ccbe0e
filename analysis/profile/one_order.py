"""What a profile has to say of samples that everybody had in one and the same order."""

from __future__ import annotations

from dataclasses import dataclass

from ..digits import in_digits

_NAMED = 3


@dataclass(frozen=True)
class OneOrder:
    """Samples nosed only in sessions in which everybody had the glasses in one order.

    Attributes
    ----------
    n_samples
        How many.
    sessions
        Where they were nosed, by name.
    """

    n_samples: int
    sessions: tuple[str, ...]


def place_or_cask(found: OneOrder | None) -> str | None:
    """Say what cannot be told apart; None where every sample stood in several places."""
    if found is None:
        return None
    named = ", ".join(found.sessions[:_NAMED])
    more = len(found.sessions) - _NAMED
    where = f"{named} and {more} more sessions" if more > 0 else named
    samples = (
        "1 sample was"
        if found.n_samples == 1
        else (f"{in_digits(found.n_samples, ',')} samples were")
    )
    return (
        f"{samples} nosed only where everybody had the glasses in one order ({where}): what the "
        "place on the tray did to them cannot be told from what they are like. Plan the next "
        "session with an order for each person."
    )
