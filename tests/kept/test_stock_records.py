"""The digest of what casks are on record holds every column that the frames of the stock read."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from sqlalchemy import Table
from sqlalchemy.orm import Session

from panel import frames
from panel.frames import draws
from panel.kept.stock_records import WHOLE, stock_digest
from panel.store.draws import Draw
from panel.store.engine import Store
from panel.store.opening import make_database
from panel.store.tables import METADATA
from tests.kept.test_records import DAY, edited, fill

TABLES = {kind.__table__.name for kind in WHOLE}  # type: ignore[attr-defined]


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """Give a house whose edits are all taken back: it is made once."""
    made = make_database(str(tmp_path_factory.mktemp("edited") / "panel.sqlite"))
    fill(made)
    with made.write() as db:
        db.get_one(Draw, 2).drawn_on = None
    yield made
    made.close()


@pytest.fixture(scope="module")
def as_it_is(house: Store) -> tuple[str, str]:
    with house.read() as db:
        return stock_digest(db, DAY), frames_text(db)


def frames_text(db: Session) -> str:
    db.info.clear()
    made = (
        frames.stock_frame(db, DAY),
        draws.present_frame(db, DAY),
        draws.draws_frame(db, DAY),
        draws.parents_frame(db, DAY),
    )
    return "".join(str(each.to_csv()) for each in made)


@pytest.mark.parametrize("table", METADATA.sorted_tables, ids=lambda table: table.name)
def test_no_column_changes_a_frame_and_not_the_digest(
    house: Store, as_it_is: tuple[str, str], table: Table
) -> None:
    digest, text = as_it_is
    for column in table.columns:
        with house.read() as db:
            if not edited(db, table, column):
                continue
            db.info.clear()
            now = stock_digest(db, DAY)
            if table.name in TABLES:
                assert now != digest, f"{table.name}.{column.name} is not in the digest"
            elif now == digest:
                assert frames_text(db) == text, f"a frame reads {table.name}.{column.name}"


def test_one_reading_reckons_it_once(house: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    with house.read() as db:
        first = stock_digest(db, DAY)
        monkeypatch.setattr("panel.kept.stock_records._digest", lambda *_: "anew")
        assert stock_digest(db, DAY) == first
