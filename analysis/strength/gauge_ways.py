"""How a gauge was taken, as a number that stands in an array, and how far off its litres are."""

from __future__ import annotations

from enum import IntEnum


class GaugeWay(IntEnum):
    """What errs alike: gauges of one way share the size of their error, and a round its offset."""

    FILLED = 0
    """What was measured as the cask was filled; it has no rounds."""
    WEIGHED = 1
    DIPPED = 2


LITRES_ERROR = {GaugeWay.FILLED: 0.005, GaugeWay.WEIGHED: 0.004, GaugeWay.DIPPED: 0.015}
"""Relative standard deviation of litres by the way of gauging: common practice, no source."""
