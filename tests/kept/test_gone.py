"""What is kept is gone with an erasure or another database, and a check finds what is wrong."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from analysis.profile import Profile
from panel.kept.form import to_bytes
from panel.kept.keeping import read_kept, shelf_of
from panel.questions import profile as questions
from panel.questions.kept_fits import check_fits, told_apart
from panel.records.erase import erase_person
from panel.records.restore import restore
from panel.records.traces import touched_tables
from panel.store import kept_files
from panel.store.backup import back_up_file
from panel.store.engine import Store
from panel.store.erasing import overwrite
from panel.store.findings import Level
from panel.store.kept_files import FIT
from panel.store.opening import file_of
from tests.conftest import FIXED_NOW
from tests.kept.test_keeping import ask, files, house

__all__ = ["house"]


def test_an_erasure_leaves_nothing_kept(house: Store) -> None:
    assert b"A2" in from_file(house)
    with house.write() as db:
        erase_person(db, "A2", keep_scores=True, now=FIXED_NOW, by="M1")
    assert overwrite(house, touched_tables()).overwritten
    assert files(house) == []
    ask(house)
    assert b"A2" not in from_file(house)


def from_file(store: Store) -> bytes:
    ask(store)
    return b"".join(each.read_bytes() for each in files(store))


@pytest.mark.slow
def test_what_is_reckoned_while_somebody_is_erased_is_taken_back(
    house: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    reckon = questions.reckoned_profile

    def slowly(db: Any, *, as_of: date, start: Profile | None = None) -> Profile:
        found = reckon(db, as_of=as_of, start=start)
        with house.write() as other:
            erase_person(other, "A2", keep_scores=True, now=FIXED_NOW, by="M1")
        kept_files.drop_kept(house.url)
        return found

    monkeypatch.setattr(questions, "reckoned_profile", slowly)
    ask(house)
    assert not [each for each in files(house) if f"-{FIT}-" in each.name]


def test_a_restored_database_keeps_nothing(house: Store, tmp_path: Path) -> None:
    ask(house)
    back_up_file(file_of(house.url), tmp_path / "copy.sqlite")
    house.close()
    restore(str(file_of(house.url)), tmp_path / "copy.sqlite", now=FIXED_NOW, by="M1")
    assert files(house) == []


@pytest.mark.slow
def test_the_check_finds_a_fit_that_is_not_what_the_records_give(house: Store) -> None:
    ask(house)
    with house.read() as db:
        assert [each.level for each in check_fits(db)] == [Level.GOOD]
    with house.read() as db:
        shelf = shelf_of(db)
        assert shelf is not None
        key = shelf.keys(FIT)[0]
        kept = read_kept(shelf, FIT, key)
        assert kept is not None
        rows = kept[0].estimates.assign(estimate=5.0, se=1.0)
        told = {"key": key, "kind": FIT, "edition": shelf.edition}
        shelf.write(FIT, key, to_bytes({**told, "answer": replace(kept[0], estimates=rows)}))
        found = list(check_fits(db))
        assert (found[0].level, shelf.keys(FIT)) == (Level.FAULT, [])
        assert "of other samples than the records give" in found[0].words


@pytest.mark.parametrize(
    ("moved", "wider", "said"),
    [(0.09, 1.019, False), (0.11, 1.0, True), (0.0, 1.021, True), (0.0, 0.979, True)],
)
def test_a_tenth_of_a_standard_error_and_a_fiftieth_of_its_size_are_let_pass(
    moved: float, wider: float, said: bool
) -> None:
    anew = pd.DataFrame(
        {"sample": ["x", "y"], "descriptor": "smoke", "estimate": [20.0, 30.0], "se": 2.0}
    )
    kept = anew.assign(estimate=anew["estimate"] - 2.0 * moved, se=2.0 * wider)
    assert (told_apart(kept.iloc[::-1], anew) is not None) is said
    assert told_apart(anew.iloc[:1], anew) is not None


def test_the_check_finds_a_fit_of_records_that_were_edited_past_the_program(house: Store) -> None:
    ask(house)
    with house.engine.begin() as past:
        past.exec_driver_sql("UPDATE score SET value = 99 WHERE serving_id = 1")
    with house.read() as db:
        found = list(check_fits(db))
        assert [each.level for each in found] == [Level.FAULT]
        assert "edited past the program" in found[0].words
        assert "0 fits are kept" in next(check_fits(db)).words
