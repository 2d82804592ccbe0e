"""A kept answer is found by what it stands on, and by nothing else."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from importlib import metadata
from pathlib import Path

import pytest

import panel
from analysis.profile import settings as settings_of_profile
from panel.kept import keys
from panel.kept.keys import edition_of, key_at_head, key_by_records, sources
from panel.store.engine import Store
from panel.store.house_setting import HouseSetting
from panel.store.log import append_entry
from panel.store.people import Person
from panel.store.sessions import PanelSession
from tests.conftest import FIXED_NOW
from tests.houses.small import add_house

DAY = date(2026, 11, 1)


@pytest.fixture
def house(store: Store) -> Store:
    with store.write() as db:
        add_house(db, FIXED_NOW)
    return store


@dataclass(frozen=True)
class Keys:
    """All three parts of what a fit is found by."""

    edition: str
    at_head: str
    by_records: str


def keys_of(store: Store, day: date = DAY) -> Keys:
    with store.read() as db:
        return Keys(edition_of(db), key_at_head(db, day), key_by_records(db, day))


def sign_in(store: Store) -> None:
    with store.write() as db:
        append_entry(db, at=FIXED_NOW, by="M1", action="signed in", details={})


def test_nothing_changes_them_but_what_they_are_made_of(house: Store) -> None:
    before = keys_of(house)
    assert keys_of(house) == before
    assert keys_of(house, date(2029, 1, 1)) == before, "the day is in it"


def test_a_sign_in_moves_the_head_alone(house: Store) -> None:
    before = keys_of(house)
    sign_in(house)
    after = keys_of(house)
    assert after.at_head != before.at_head
    assert (after.edition, after.by_records) == (before.edition, before.by_records)


def test_the_last_session_that_counts_is_in_both(house: Store) -> None:
    on, before = keys_of(house), keys_of(house, date(2026, 3, 13))
    assert on.at_head != before.at_head
    assert on.by_records != before.by_records


def test_a_setting_of_the_house_is_in_both(house: Store) -> None:
    before = keys_of(house)
    with house.write() as db:
        db.add(HouseSetting(name="alike_tolerance", value="8"))
    after = keys_of(house)
    assert after.at_head != before.at_head
    assert after.by_records != before.by_records


def test_who_was_erased_is_in_the_edition(house: Store) -> None:
    before = keys_of(house)
    with house.write() as db:
        db.get_one(Person, 2).code = "gone-1a2b3c"
    assert keys_of(house).edition != before.edition


def test_another_house_has_another_edition(house: Store, tmp_path: Path) -> None:
    from panel.store.opening import make_database

    other = make_database(str(tmp_path / "other.sqlite"))
    with other.write() as db:
        add_house(db, FIXED_NOW)
    assert keys_of(other).by_records == keys_of(house).by_records
    assert keys_of(other).edition != keys_of(house).edition
    other.close()


@pytest.mark.parametrize("library", keys.LIBRARIES)
def test_the_version_of_a_library_is_in_it(
    house: Store, monkeypatch: pytest.MonkeyPatch, library: str
) -> None:
    before, told = keys_of(house), metadata.version
    monkeypatch.setattr(metadata, "version", lambda n: "0.0" if n == library else told(n))
    assert keys_of(house).edition != before.edition


def test_the_version_of_the_program_and_of_the_form_are_in_it(
    house: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = keys_of(house)
    monkeypatch.setattr(panel, "__version__", "9.9.9")
    second = keys_of(house)
    monkeypatch.setattr(keys, "FORMAT", 2)
    assert len({first.edition, second.edition, keys_of(house).edition}) == 3


def test_the_modules_that_reckon_are_in_it(tmp_path: Path) -> None:
    module = tmp_path / "part" / "fit.py"
    module.parent.mkdir()
    module.write_text("TOLERANCE = 0.03\n")
    before = sources((tmp_path,))
    module.write_text("TOLERANCE = 0.02\n")
    sources.cache_clear()
    after = sources((tmp_path,))
    module.rename(module.with_name("solver.py"))
    sources.cache_clear()
    assert len({before, after, sources((tmp_path,))}) == 3


def test_every_setting_of_a_fit_but_the_number_of_processes_is_in_it(
    house: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    made, first = settings_of_profile.ProfileSettings, keys_of(house)
    changed = {
        **{name: ("A2",) for name in ("standing_panel", "keep")},
        **{name: 3.5 for name in ("degrees", "scale_sd", "noise_weight")},
        **{name: True for name in ("equal_scale", "equal_noise", "fixed_samples")},
        **{name: False for name in ("inflate", "joint", "ends_of_the_line", "order")},
        **{"noise_levels": 4, "processes": 5},
    }
    assert set(changed) == set(made.__dataclass_fields__)
    for name, value in changed.items():
        one = made(**{name: value})  # type: ignore[arg-type]
        monkeypatch.setattr(settings_of_profile, "ProfileSettings", lambda one=one: one)
        after = keys_of(house)
        moved = (after.at_head != first.at_head, after.by_records != first.by_records)
        assert moved == ((False, False) if name == "processes" else (True, True)), name


def test_a_score_moves_the_digest_and_a_closed_evening_does_not(house: Store) -> None:
    before = keys_of(house)
    with house.write() as db:
        db.get_one(PanelSession, 1).note = "rain"
    assert keys_of(house).by_records == before.by_records
    with house.write() as db:
        db.get_one(PanelSession, 1).held_on = date(2026, 3, 15)
    assert keys_of(house).by_records != before.by_records
