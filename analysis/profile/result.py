"""What a profile says: estimates with their uncertainty, and how the fits went."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

import pandas as pd

from analysis.agreement.result import Json, plain
from analysis.profile.links import Link


@dataclass(frozen=True)
class DescriptorFit:
    """The fit of one descriptor; variances in squared points of the 0-100 line.

    Attributes
    ----------
    variances
        Component of each term in the model, zero among them.
    residual
        Residual variance; None when there was no fit.
    left_out
        Terms that could not be estimated, each with its reason.
    panel
        The assessors whose mean score the estimates are.
    reason
        Why there was no fit.
    """

    descriptor: str
    n_scores: int
    variances: Mapping[str, float]
    residual: float | None
    log_likelihood: float | None
    left_out: Mapping[str, str]
    panel: tuple[str, ...]
    reason: str | None = None


@dataclass(frozen=True)
class Profile:
    """What each sample is, over all sessions.

    Attributes
    ----------
    estimates
        One row a sample and descriptor: `sample, cask, filling, kind, drawn_on, age_years,
        descriptor, estimate, se, raw_mean, n_scores, n_sessions, last_nosed, component,
        reason`. `estimate` is the mean score the standing panel would be expected to give, in
        points of the 0-100 line, no session's mood in it; `se` the standard error of its
        prediction for that panel, missing with `reason` where there is none. Samples of
        different `component` were never tied together by a common glass: do not compare them.
    fits
        One a descriptor.
    links
        The sessions that hang together, with their samples; more than one means that not all
        samples can be compared.
    as_of
        Only sessions held on or before were used.
    left_out
        Scores not used, by reason.
    """

    estimates: pd.DataFrame
    fits: tuple[DescriptorFit, ...]
    links: tuple[Link, ...]
    as_of: date | None
    n_scores: int
    left_out: Mapping[str, int]

    @property
    def linked(self) -> bool:
        """Whether all samples can be compared."""
        return len(self.links) == 1

    @property
    def descriptors(self) -> tuple[str, ...]:
        """Names of the descriptors, sorted."""
        return tuple(fit.descriptor for fit in self.fits)

    def to_dict(self) -> Json:
        """Plain values, ready for JSON; a quantity without a value is None."""
        return {
            "as_of": plain(self.as_of),
            "n_scores": self.n_scores,
            "left_out": plain(self.left_out),
            "note": self.note,
            "links": [plain(asdict(link)) for link in self.links],
            "fits": [plain(asdict(fit)) for fit in self.fits],
            "samples": [_record(row) for row in self.estimates.to_dict("records")],
        }

    @property
    def note(self) -> str | None:
        """One sentence where not all samples can be compared."""
        if self.linked:
            return None
        sessions = ", ".join(self.links[1].sessions[:3])
        return (
            f"The sessions fall into {len(self.links)} parts that share no glass: samples of "
            f"different parts cannot be compared (session {sessions} stands apart). Pour the "
            "house reference or a returning cask in both."
        )


def _record(row: Mapping[Any, Any]) -> Json:
    return {str(key): _cell(value) for key, value in row.items()}


def _cell(value: Any) -> Any:
    if isinstance(value, pd.Timestamp):
        return value.date().isoformat()
    if value is None or pd.isna(value):
        return None
    return plain(value.item() if hasattr(value, "item") else value)
