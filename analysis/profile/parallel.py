"""Fits of many descriptors."""

from __future__ import annotations

from collections.abc import Sequence

from analysis.profile.alone import Alone, Column, fit_alone
from analysis.profile.settings import ProfileSettings


def fit_each(columns: Sequence[Column], settings: ProfileSettings) -> list[Alone]:
    """Fit every descriptor, in the order given."""
    return [fit_alone(column, settings) for column in columns]
