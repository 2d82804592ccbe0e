"""Ages by calendar and what a re-racked filling inherits."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from panel.store.ages import Origin, ParentShare, anniversary, calendar_years, inheritance

DAYS = st.dates(date(1950, 1, 1), date(2080, 1, 1))


def test_whole_years_by_calendar() -> None:
    # Common practice, no source: an age statement counts birthdays, not days over 365.25.
    assert calendar_years(date(2014, 3, 14), date(2026, 3, 14)) == 12
    assert int(calendar_years(date(2014, 3, 14), date(2026, 3, 13))) == 11


def test_leap_day_has_its_birthday_in_every_year() -> None:
    assert anniversary(date(2016, 2, 29), 1) == date(2017, 2, 28)
    assert calendar_years(date(2016, 2, 29), date(2020, 2, 29)) == 4


@given(DAYS, DAYS)
def test_years_have_the_sign_of_the_order(start: date, end: date) -> None:
    years = calendar_years(start, end)
    assert (years > 0) == (end > start)
    assert abs(years - (end - start).days / 365.25) < 0.01


def test_a_re_rack_takes_the_youngest_parent_and_phenols_by_pure_alcohol() -> None:
    origins = {
        1: Origin(date(2010, 1, 1), 40.0),
        2: Origin(date(2014, 1, 1), 1.0),
        3: Origin(
            date(2020, 1, 1),
            None,
            (ParentShare(1, date(2020, 1, 1), 100.0), ParentShare(2, date(2020, 1, 1), 50.0)),
        ),
    }
    child = inheritance(origins)[3]
    assert child.years_before == 6
    assert child.phenol_ppm == pytest.approx((100 * 40 + 50 * 1) / 150)


def test_only_days_in_wood_count() -> None:
    origins = {
        1: Origin(date(2010, 1, 1), 2.0),
        2: Origin(date(2019, 1, 1), None, (ParentShare(1, date(2018, 1, 1), 90.0),)),
        3: Origin(date(2021, 1, 1), None, (ParentShare(2, date(2021, 1, 1), 80.0),)),
    }
    # A year between 2018 and 2019 in a tank is not in wood.
    assert inheritance(origins)[3].years_before == 8 + 2


def test_a_parent_of_unknown_malt_makes_the_phenols_unknown() -> None:
    day = date(2020, 1, 1)
    shares = (ParentShare(1, day, 10.0), ParentShare(2, day, 10.0))
    origins = {1: Origin(day, 5.0), 2: Origin(day, None), 3: Origin(day, None, shares)}
    assert inheritance(origins)[3].phenol_ppm is None


def test_records_that_go_in_a_circle_end() -> None:
    day = date(2020, 1, 1)
    origins = {
        1: Origin(day, None, (ParentShare(2, day, 1.0),)),
        2: Origin(day, None, (ParentShare(1, day, 1.0),)),
    }
    assert inheritance(origins)[1].phenol_ppm is None
