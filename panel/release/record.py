"""What the record of a release holds, key by key, as `record_of` tells it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any, TypedDict

from analysis.json_types import Kept

if TYPE_CHECKING:
    from datetime import date

    from analysis.vatting import Limits, Line, ShareReached
    from panel.kinds import ReleaseStatus
    from panel.release.against import Against
    from panel.release.benched import BenchNosed
    from panel.release.holding import Agreed
    from panel.release.outcome import Outcome
    from panel.release.trace import Traced


class PartTold(TypedDict):
    """A cask of a release: planned, and what it gave."""

    cask: str
    filling: str
    wood: str
    litres: float
    abv_percent: float | None
    whole: bool
    planned: bool
    emptied: bool | None
    given_litres: float | None
    given_abv_percent: float | None


class PlannedTold(TypedDict):
    """What was reckoned as the release was proposed; null where an earlier version kept none."""

    target: str | None
    probability: float | None
    worst_descriptor: str | None
    prediction: tuple[Line, ...] | None
    bulk_litres: float | None
    lpa: float | None
    abv_percent: float | None
    water_litres: float | None
    final_litres: float | None
    bottles: int | None
    bottles_high: int | None
    sentence: str | None
    shares: tuple[ShareReached, ...] | None
    exponents: dict[str, float] | None


class NoteKept(TypedDict):
    """One note of a blind check, as it was kept: this batch less the one before, points."""

    descriptor: str
    difference: float | None
    se: float | None
    at_most: float | None
    word: str


class CheckKept(TypedDict):
    """What was kept of a blind check."""

    word: str
    sessions: list[str]
    notes: list[NoteKept]


class BatchTold(TypedDict):
    """Which batch a release follows, and its blind check."""

    before: str
    within_points: float
    sample: str | None
    before_sample: str | None
    kept: CheckKept | None
    kept_on: date | None


class ReleaseRecord(TypedDict):
    """Everything that is kept of a release, from the proposal to the bottles."""

    release: str
    planned_on: date
    proposed_by: str | None
    reason: str | None
    bottling_on: date | None
    age_statement_years: int | None
    bottles: int | None
    bottle_ml: float
    loss_fraction: float
    chill_filtered: bool
    disgorged_on: date | None
    lot_code: str | None
    signed_by: str | None
    signed_at: str | None
    signed_despite: str | None
    bottled_on: date | None
    cancelled_on: date | None
    cancelled_because: str | None
    status: ReleaseStatus
    target: str | None
    bottling_abv_percent: float | None
    parts: list[PartTold]
    agreed: list[Agreed]
    since: list[str]
    against: list[Against]
    planned: PlannedTold
    limits: Annotated[dict[str, Any], Kept(Limits)]
    found: Annotated[dict[str, Any] | None, Kept(Outcome)]
    as_signed: bool | None
    found_reason: str | None
    bench: list[str]
    nosed: BenchNosed | None
    nosed_reason: str | None
    draws: list[Traced]
    batch: BatchTold | None
