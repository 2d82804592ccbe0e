"""Answers reckoned from the fit are kept by it, by what they read, and by their options."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

import pandas as pd
import pytest

from analysis.profile import Profile
from panel.errors import UnknownRecord
from panel.kept.answers import kept_answer, note_fit
from panel.kinds import SessionStatus
from panel.questions.agreement import session_agreement
from panel.questions.profile import house_profile
from panel.store.engine import Store
from panel.store.kept_files import place_of
from panel.store.log import append_entry
from panel.store.sessions import PanelSession
from tests.conftest import FIXED_NOW
from tests.houses.small import add_house

STOCK = pd.DataFrame({"cask": ["C1"], "litres": [190.0]})


@pytest.fixture
def house(store: Store) -> Store:
    with store.write() as db:
        add_house(db, FIXED_NOW)
    return store


def sign_in(store: Store) -> None:
    with store.write() as db:
        append_entry(db, at=FIXED_NOW, by="M1", action="signed in", details={})


class Asking:
    """Asks of one house, and counts what was reckoned and what was read."""

    def __init__(self, store: Store) -> None:
        self.store, self.reckoned, self.read = store, 0, 0

    def __call__(self, *, stock: pd.DataFrame = STOCK, options: object = "a", **more: Any) -> Any:
        def reads() -> pd.DataFrame:
            self.read += 1
            return stock

        def reckon() -> int:
            self.reckoned += 1
            return self.reckoned

        with self.store.read() as db:
            return kept_answer(db, "stock", options=options, reads=reads, reckon=reckon, **more)


def test_while_the_log_stands_nothing_is_read(house: Store) -> None:
    ask = Asking(house)
    assert [ask(), ask(), ask()] == [1, 1, 1]
    assert (ask.reckoned, ask.read) == (1, 1)


def test_where_it_moved_what_is_read_decides(house: Store) -> None:
    ask = Asking(house)
    ask()
    sign_in(house)
    assert ask() == 1
    sign_in(house)
    assert ask(stock=STOCK.assign(litres=180.0)) == 2
    sign_in(house)
    assert ask() == 1


def test_each_option_has_an_answer_of_its_own(house: Store) -> None:
    ask = Asking(house)
    days = [date(2026, 3, 1), date(2026, 3, 2), date(2026, 3, 1)]
    assert [ask(options=[day, 1]) for day in days] == [1, 2, 1]


def test_it_goes_by_the_fit_it_is_reckoned_from(house: Store) -> None:
    ask = Asking(house)
    with house.read() as db:
        ours = house_profile(db, as_of=date(2026, 11, 1))
        again = house_profile(db, as_of=date(2026, 11, 1))
    assert [ask(profile=ours), ask(profile=again)] == [1, 1]
    foreign = Profile(ours.estimates, ours.fits, ours.links, ours.as_of, ours.n_scores, {})
    assert [ask(profile=foreign), ask(profile=foreign)] == [2, 3]
    assert ask(profile=note_fit(foreign, "another key")) == 4
    assert ask(profile=ours) == 1


def test_what_may_not_be_kept_is_not(house: Store) -> None:
    ask = Asking(house)
    assert [ask(keeps=False), ask(keeps=False)] == [1, 2]
    assert place_of(house.url).files() == []


def agreement_files(store: Store) -> list[str]:
    return [each.name for each in place_of(store.url).files() if "-agreement-" in each.name]


@pytest.mark.parametrize(
    ("status", "kept"), [(SessionStatus.CLOSED, 0), (SessionStatus.REVEALED, 1)]
)
def test_nothing_of_a_session_that_is_not_revealed_is_kept(
    house: Store, status: SessionStatus, kept: int
) -> None:
    with house.write() as db:
        db.get_one(PanelSession, 1).status = status
    with house.read() as db:
        first = session_agreement(db, "EV1")
        second = session_agreement(db, "EV1")
    assert first == second
    assert len(agreement_files(house)) == kept
    content = b"".join(each.read_bytes() for each in place_of(house.url).files())
    for code in (b'"351"', "351".encode("utf-32-le")):  # as text and as an array of names keep it
        assert code not in content


def test_an_error_is_no_answer(house: Store) -> None:
    def refuse() -> int:
        raise UnknownRecord("none")

    reckon: Callable[[], int] = refuse
    with house.read() as db, pytest.raises(UnknownRecord):
        kept_answer(db, "stock", options="a", reads=lambda: STOCK, reckon=reckon)
    assert place_of(house.url).files() == []
