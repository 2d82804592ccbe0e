"""A note that nearly every glass lacks, against exact binomial bounds (Clopper & Pearson 1934)."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import binomtest

from analysis.profile import DescriptorFit
from analysis.profile.ends import ReadAs
from analysis.profile.found import FoundOrNot, at_most
from analysis.profile.words import found_or_not, read_as_below


@pytest.mark.parametrize(("found", "glasses"), [(0, 8), (0, 16), (2, 9), (5, 8), (1, 1)])
def test_the_bound_is_clopper_and_pearsons(found: int, glasses: int) -> None:
    interval = binomtest(found, glasses).proportion_ci(0.90, method="exact")
    assert at_most(np.array([found]), np.array([glasses]))[0] == pytest.approx(interval.high)


def counted() -> FoundOrNot:
    """Sample 0 in three of four glasses, sample 1 in one of two, sample 2 in none of eight."""
    y = np.array([30.0, 40.0, 50.0, 0.0, 20.0, 0.0, *np.zeros(8)])
    return FoundOrNot.of(np.repeat([0, 1, 2], [4, 2, 8]), y)


def test_the_estimate_is_the_plain_mean_and_its_error_that_of_the_found() -> None:
    line = counted()
    assert line.mean.tolist() == [30.0, 10.0, 0.0]
    # Found scores lie 10, 0 and 10 from their mean; two more of sd 10 stand beside them.
    variance = (200.0 + 200.0) / (2 + 2)
    assert line.error_variance == pytest.approx([3 * variance / 16, variance / 4, variance / 64])


def test_bands_start_at_nothing_where_one_glass_at_most_showed_it() -> None:
    line = counted()
    sd = np.sqrt(line.error_variance)
    low, high = line.band(line.mean, sd, 0.95)
    assert low == pytest.approx([30.0 - 1.959964 * sd[0], 0.0, 0.0])
    assert high[0] == pytest.approx(30.0 + 1.959964 * sd[0])
    # Nobody found it: at most 31 in 100 glasses of the 35 points that found ones have.
    assert high[2] == pytest.approx(0.3123 * 35.0, abs=0.01)


def test_it_is_said_in_words() -> None:
    line = counted()
    said = [
        found_or_not(int(k), int(n), float(mean), float(share))
        for k, n, mean, share in zip(line.found, line.glasses, line.mean, line.at_most, strict=True)
    ]
    assert said == [
        "found in 3 of 4 glasses, 40 where found",
        "found in 1 of 2 glasses, 20 where found",
        "not found in 8 glasses (at most 31 in 100 would show it)",
    ]


def fit_read(descriptor: str, reading: ReadAs, reason: str | None = None) -> DescriptorFit:
    return DescriptorFit(
        descriptor, 90, {}, 9.0, None, {}, ("A",), reading=reading, reading_reason=reason
    )


def test_what_was_made_of_zeros_is_said() -> None:
    said = read_as_below(
        [
            fit_read("damp wool", ReadAs.BELOW),
            fit_read("toffee", ReadAs.AS_WRITTEN),
            fit_read("struck match", ReadAs.AS_WRITTEN, "scores are taken at their word"),
        ]
    )
    assert said == (
        "Scores at an end of the line are read as beyond it on damp wool: a 0 says no more than "
        "below what that person writes down. On struck match scores are taken at their word."
    )
    assert read_as_below([fit_read("toffee", ReadAs.AS_WRITTEN)]) is None
