"""Rules in the tables bite by their names, in a file and on a server."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from sqlalchemy import text

from panel.errors import StoreError
from panel.store.engine import Store
from panel.store.opening import make_database
from tests.conftest import FIXED_NOW, server_database
from tests.houses.small import add_house

BROKEN = [
    ("ck_make_phenol_ppm_not_negative", "UPDATE make SET phenol_ppm = -1"),
    ("ck_cask_size_l_positive", "UPDATE cask SET size_l = 0"),
    ("ck_cask_number_not_empty", "UPDATE cask SET number = '' WHERE number = 'C100'"),
    ("ck_filling_fill_abv_in_range", "UPDATE filling SET fill_abv = 101"),
    ("ck_filling_fill_number_from_one", "UPDATE filling SET fill_number = 0"),
    ("ck_filling_hold_has_reason", "UPDATE filling SET hold_until = '2027-01-01'"),
    (
        "ck_filling_event_parent_if_re_racked",
        "INSERT INTO filling_event (id, filling_id, kind, happened_on, entry, litres) "
        "SELECT 1, min(id), 're-racked', '2020-01-01', 1, 50 FROM filling",
    ),
    (
        "ck_filling_event_event_kind",
        "INSERT INTO filling_event (id, filling_id, kind, happened_on, entry) "
        "SELECT 1, min(id), 'sold', '2020-01-01', 1 FROM filling",
    ),
    (
        "ck_regauge_bulk_l_not_negative",
        "INSERT INTO regauge (id, filling_id, gauged_on, bulk_l, abv, method) "
        "SELECT 1, min(id), '2020-01-01', -1, 60, 'dipped' FROM filling",
    ),
    ("ck_draw_filling_if_cask", "UPDATE draw SET kind = 'market'"),
    ("ck_person_code_not_empty", "UPDATE person SET code = '' WHERE code = 'A2'"),
    ("ck_panel_session_session_status", "UPDATE panel_session SET status = 'over'"),
    ("ck_panel_session_sealed_has_hash", "UPDATE panel_session SET key_hash = NULL"),
    ("ck_session_descriptor_scale_has_length", "UPDATE session_descriptor SET scale_high = 0"),
    ("ck_serving_pouring_from_one", "UPDATE serving SET pouring = 0"),
    ("ck_key_row_replicate_from_one", "UPDATE key_row SET replicate = 0"),
]


@pytest.fixture(scope="module", params=["file", "server"])
def house(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Store]:
    """Give one house for all: every broken write is rolled back."""
    if request.param == "file":
        yield filled(str(tmp_path_factory.mktemp("rules") / "panel.sqlite"))
        return
    with server_database(request.getfixturevalue("postgres_server")) as url:
        store = filled(url)
        yield store
        store.close()


def filled(named: str) -> Store:
    store = make_database(named)
    with store.write() as db:
        add_house(db, FIXED_NOW)
    return store


def run(store: Store, statement: str) -> None:
    with store.write() as db:
        db.execute(text(statement))


@pytest.mark.parametrize(("name", "statement"), BROKEN, ids=[name for name, _ in BROKEN])
def test_a_rule_bites(house: Store, name: str, statement: str) -> None:
    with pytest.raises(StoreError, match=rf"\b{name}\b"):
        run(house, statement)


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE person SET code = 'A2'",
        "UPDATE key_row SET code = '351'",
        "UPDATE filling SET cask_id = 999",
        "DELETE FROM person WHERE code = 'A2'",
        "DELETE FROM cask",
    ],
)
def test_doubles_and_loose_references_are_refused(house: Store, statement: str) -> None:
    with pytest.raises(StoreError, match=r"(?i)unique|foreign key"):
        run(house, statement)


def test_an_event_without_a_parent_is_told_once(house: Store) -> None:
    insert = (
        "INSERT INTO filling_event (id, filling_id, kind, happened_on, entry) "
        "SELECT {0}, min(id), 'moved', '2020-01-01', {1} FROM filling"
    )
    run(house, insert.format(1, 1))
    run(house, insert.format(2, 2))
    with pytest.raises(StoreError, match=r"(?i)unique"):
        run(house, insert.format(3, 1))
