"""Rows of a profile's frames, as they are told."""

from __future__ import annotations

from datetime import date
from typing import NotRequired, TypedDict

from ..as_json import Json


class EstimateRow(TypedDict):
    """A sample on a note: the score to expect of the panel, or the reason why there is none.

    Of what nobody nosed nothing was found: those keys may lack.
    """

    sample: str
    cask: str | None
    filling: str | None
    kind: str
    drawn_on: date | None
    age_years: float | None
    descriptor: str
    estimate: float | None
    se: float | None
    low: float | None
    high: float | None
    raw_mean: float | None
    n_scores: int
    n_found: NotRequired[int | None]
    found_at_most: NotRequired[float | None]
    n_sessions: int
    last_nosed: date | None
    component: int | None
    reason: str | None


class AssessorRow(TypedDict):
    """How an assessor uses the line on a note; `note` where that is for them and the lead only."""

    assessor: str
    descriptor: str
    in_panel: bool
    n_scores: int
    offset: float | None
    offset_se: float | None
    scale: float | None
    scale_low: float | None
    scale_high: float | None
    noise: float | None
    noise_low: float | None
    noise_high: float | None
    signal_share: float | None
    p_flat: NotRequired[float | None]
    p_reversed: float | None
    note: NotRequired[str | None]


_OF_SCALE = ("scale", "scale_low", "scale_high", "signal_share", "offset", "offset_se")


def public_row(found: Json) -> Json:
    """Return how an assessor uses the line without what nears their health."""
    hidden = (found.pop("p_flat") or 0.0) > 0.5
    found["note"] = "for the person and the lead only" if hidden else None
    return found | dict.fromkeys(_OF_SCALE) if hidden else found
