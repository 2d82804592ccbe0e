"""Which scores count, by what became of their glass; apart, so that helpers start light."""

from __future__ import annotations

USED = ("kept",)
"""Statuses of the scores that everything is computed with."""
IN_TRAINING = "in_training"
"""Scored on a day on which its assessor was in training."""
NOT_REACHED = "not_reached_before_the_close"
"""A line of a glass that its assessor was still at as the session closed: no blank of theirs."""
OFF_THE_LINE = "off_the_line"
"""What was stored is no score of its line: infinite, no number, or beyond an end."""
