"""Which scores count, by what became of their glass; apart, so that helpers start light."""

from __future__ import annotations

USED = ("kept",)
"""Statuses of the scores that everything is computed with."""
IN_TRAINING = "in_training"
"""Scored on a day on which its assessor was in training."""
OFF_THE_LINE = "off_the_line"
"""What was stored is no score of its line: infinite, no number, or beyond an end."""
