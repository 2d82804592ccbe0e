"""A signed release is bottled: how many bottles, and which casks are empty afterwards."""

from __future__ import annotations

import json
from datetime import date
from typing import Any

import pytest

from panel.errors import NotAllowed, ReleaseError, WrongStage
from panel.kinds import EventKind, ReleaseStatus
from panel.release.steps import bottle, lot_code, second_person
from panel.store.casks import FillingEvent
from panel.store.engine import Store
from panel.store.releases import Release
from tests.release.bare import NOW, TODAY, add_release, build_bare, last_act

VAT = {"final_litres": 700.0, "bottles": 985}
ACT: Any = {"on": TODAY, "now": NOW, "by": "BL"}


@pytest.fixture
def house(store: Store) -> Store:
    build_bare(store)
    return store


def add_signed(db: Any, found: dict[str, Any] | None, **more: Any) -> Release:
    told: dict[str, Any] = {"status": ReleaseStatus.SIGNED, "disgorged_on": date(2026, 3, 5)}
    told |= {"signed_by": "LD", "lot_code": "L26067-1", "disgorged_by": "BL"}
    told |= {"found_json": None if found is None else json.dumps(found), **more}
    release = add_release(db, "Spring", ("X1", 30.0), ("X2", 30.0), ("X3", 30.0), **told)
    for part, (whole, given) in zip(
        sorted(release.parts, key=lambda each: each.filling.label),
        ((True, 30.0), (True, 0.0), (False, 20.0)),
        strict=True,
    ):
        part.whole, part.given_l = whole, given
    db.flush()
    return release


@pytest.mark.parametrize(
    ("bottles", "filled"),
    [(None, 985), (1, 1), (1000, 1000), (0, None), (1001, None), (-1, None)],
)
def test_as_many_bottles_as_the_vat_gives(
    house: Store, bottles: int | None, filled: int | None
) -> None:
    """700 L in bottles of 0.7 L are 1,000 at most; 985 are what is left after filling."""
    with house.write() as db:
        add_signed(db, VAT)
        if filled is None:
            with pytest.raises(ReleaseError, match="the vat gives 1,000 at most"):
                bottle(db, "Spring", bottles=bottles, **ACT)
            return
        found = bottle(db, "Spring", bottles=bottles, **ACT)
        assert (found.status, found.bottles) == (ReleaseStatus.BOTTLED, filled)
        assert found.bottled_on == TODAY
        assert "release bottled" in last_act(db)
        with pytest.raises(WrongStage):
            bottle(db, "Spring", bottles=bottles, **ACT)


@pytest.mark.parametrize(
    ("more", "empty"),
    # Before each cask's end was told apart, one that gave nothing was not known to be empty.
    [({}, ["X1"]), ({"casks": []}, ["X1", "X2"])],
)
def test_casks_that_gave_all_are_emptied_in_the_records(
    house: Store, more: dict[str, Any], empty: list[str]
) -> None:
    with house.write() as db:
        release = add_signed(db, {**VAT, **more})
        bottle(db, "Spring", bottles=None, **ACT)
        whole = sorted(part.filling.cask.number for part in release.parts if part.whole)
        events = db.query(FillingEvent).filter_by(kind=EventKind.EMPTIED).all()
        assert whole == sorted(event.filling.cask.number for event in events) == empty
        assert {event.happened_on for event in events} == {date(2026, 3, 5)}


def test_nothing_is_bottled_that_was_never_found_or_before_it_was_signed(house: Store) -> None:
    with house.write() as db:
        add_signed(db, None)
        with pytest.raises(ReleaseError, match="the vat gives 0 at most"):
            bottle(db, "Spring", bottles=None, **ACT)
        with pytest.raises(ReleaseError, match="before release Spring was signed, 2026-03-08"):
            bottle(db, "Spring", bottles=1, **{**ACT, "on": date(2026, 3, 7)})
        with pytest.raises(NotAllowed):
            bottle(db, "Spring", bottles=1, **{**ACT, "by": "LD"})


def test_a_lot_is_numbered_by_its_day_and_signed_by_a_second_person(house: Store) -> None:
    with house.write() as db:
        assert lot_code(db, date(2026, 3, 8)) == "L26067-1"
        release = add_signed(db, VAT)
        assert lot_code(db, date(2026, 3, 8)) == "L26067-2"
        assert lot_code(db, date(2026, 1, 1)) == "L26001-1"
        assert second_person(db, release, "LD", on=TODAY).code == "LD"
        with pytest.raises(NotAllowed, match="BL proposed release Spring"):
            second_person(db, release, "BL", on=TODAY)
        release.proposed_by = "XX"
        with pytest.raises(NotAllowed, match="BL gave the litres of release Spring"):
            second_person(db, release, "BL", on=TODAY)
        release.disgorged_by = "YY"
        assert second_person(db, release, "BL", on=TODAY).code == "BL"
        with pytest.raises(NotAllowed):
            second_person(db, release, "AA", on=TODAY)
