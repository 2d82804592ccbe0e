"""Settings of the house changed: within their bounds, else refused in words."""

from __future__ import annotations

import pytest

from panel.errors import OakpanelError, UnknownRecord
from panel.records.settings import change_setting
from panel.store.engine import Store
from panel.store.house import number_setting
from tests.conftest import FIXED_NOW


def test_a_change_is_kept_and_may_be_changed_again(store: Store) -> None:
    for value, number in (("25", 25.0), ("12.5", 12.5)):
        with store.write() as db:
            change_setting(db, "pour_ml", value, now=FIXED_NOW, by=None)
        with store.read() as db:
            assert number_setting(db, "pour_ml") == number


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("pour_ml", "4.9", "pour_ml lies between 5 and 50 mL"),
        ("pour_ml", "51", "pour_ml lies between 5 and 50 mL"),
        ("pour_ml", "nan", "pour_ml is a number in mL, not 'nan'"),
        ("pour_ml", "much", "pour_ml is a number in mL, not 'much'"),
        ("time_zone", "Mars/North", "'Mars/North' is not a time zone"),
        ("time_zone", "../../etc/passwd", "is not a time zone"),
        ("time_zone", "", "is not a time zone"),
    ],
)
def test_a_value_out_of_bounds_is_refused(store: Store, name: str, value: str, said: str) -> None:
    with store.read() as db, pytest.raises(OakpanelError, match=said):
        change_setting(db, name, value, now=FIXED_NOW, by=None)


def test_a_setting_that_is_none_is_told_which_there_are(store: Store) -> None:
    with store.read() as db, pytest.raises(UnknownRecord, match="There are: time_zone, "):
        change_setting(db, "colour", "red", now=FIXED_NOW, by=None)
