"""Every act of the house writes one entry in the log, its own, and a refused one writes none."""

from __future__ import annotations

import inspect
import json
from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from sqlalchemy import select

import panel.records
from panel.errors import NotAllowed
from panel.kinds import Fault, Role
from panel.records import (
    consents,
    erase,
    lifting,
    looks,
    people,
    planting,
    register,
    reviewing,
    rules,
    settings,
    targets,
    training,
)
from panel.records.casks import hold_filling
from panel.records.restore import restore
from panel.records.reviewing import SeenTo
from panel.records.taking_back import take_back_last
from panel.records.targets import Likeness
from panel.store.casks import Filling
from panel.store.engine import Store
from panel.store.log import LogEntry
from panel.store.people import PersonRole
from panel.store.pins import hash_pin
from panel.store.who import person_by_code
from tests.conftest import FIXED_NOW
from tests.houses.kept import kept
from tests.houses.parts import add_filling, add_make
from tests.houses.small import add_house

LEAD, PIN = "M1", "135790"
LIKE = Likeness("cask C100", {"bonfire": 30.0}, {}, {})
ACTS: dict[str, tuple[Callable[..., object], tuple[Any, ...], dict[str, Any]]] = {
    "person added": (people.add_person, ("A3", ["assessor"]), {}),
    "PIN set": (people.set_pin, ("A2", "2486"), {}),
    "PINs set": (people.set_first_pins, ({"A2": hash_pin("2486")},), {}),
    "roles changed": (people.change_roles, ("A2", ["+pourer"]), {}),
    "person left": (people.record_leaving, ("A2", date(2026, 3, 1)), {}),
    "private record given out": (people.give_out_private, ("A2",), {}),
    "person erased": (erase.erase_person, ("A2",), {"keep_scores": False}),
    "setting changed": (settings.change_setting, ("pour_ml", "25"), {}),
    "rule put off": (rules.set_in_force, ("Scotch whisky", False), {}),
    "rule changed": (rules.change_rule, ("Scotch whisky", "minimum age", 4.0, "our own"), {}),
    "sample accounted for": (register.account_for, ("D-C100",), {"reason": "why", "fate": None}),
    "register line reversed": (
        *(register.reverse_line, ("D-C100",)),
        {"because": "another", "fate": "kept"},
    ),
    "samples of a session accounted for": (
        *(register.account_for_session, ("EV1",)),
        {"leftovers": "poured away"},
    ),
    "consent given": (consents.give_consent, ("M1",), {"text_version": "2026-01"}),
    "consent withdrawn": (consents.withdraw_consent, ("M1",), {}),
    "sample looked at": (looks.note_look, ("D-C100",), {"colour": "amber"}),
    "known-sound spirit kept": (planting.keep_sound, ("D-C100",), {}),
    "training begun": (training.begin_training, ("A2",), {"begun_on": date(2026, 3, 14)}),
    "review ticked": (
        *(reviewing.tick_matters, ([SeenTo(1, "C100", "leaks", date(2026, 3, 1))],)),
        {},
    ),
    "target made": (targets.make_target, ("Lantern", LIKE), {}),
}


@kept
def fill(store: Store) -> None:
    with store.write() as db:
        add_house(db, FIXED_NOW)
        lead = person_by_code(db, LEAD)
        lead.pin_hash = hash_pin(PIN)
        lead.roles.append(PersonRole(role=Role.BLENDER))
        add_filling(db, "C7", add_make(db))


@pytest.fixture
def house(store: Store) -> Store:
    fill(store)
    return store


def entries(store: Store) -> list[dict[str, Any]]:
    with store.read() as db:
        bodies = db.scalars(select(LogEntry.body_json).order_by(LogEntry.id))
        return [json.loads(body or "{}") for body in bodies]


@pytest.mark.parametrize("name", ACTS)
def test_an_act_writes_one_entry_of_its_own(house: Store, name: str) -> None:
    act, given, more = ACTS[name]
    before = len(entries(house))
    with house.write() as db:
        act(db, *given, **more, now=FIXED_NOW, by=LEAD)
    after = entries(house)
    assert len(after) == before + 1
    assert (after[-1]["by"], after[-1]["at"]) == (LEAD, FIXED_NOW.isoformat())


@pytest.mark.parametrize("name", ACTS)
def test_who_may_not_changes_and_logs_nothing(house: Store, name: str) -> None:
    act, given, more = ACTS[name]
    before = entries(house)
    with pytest.raises(NotAllowed), house.write() as db:
        act(db, *given, **more, now=FIXED_NOW, by="A2")
    assert entries(house) == before


def test_a_hold_is_kept_and_lifted_with_an_entry_each(house: Store) -> None:
    before = len(entries(house))
    assert hold_filling(house, "C7/1", "a leak", "2026-04-01", now=FIXED_NOW, by=LEAD).written
    with house.read() as db:
        kept = db.scalars(select(Filling).where(Filling.label == "C7/1")).one()
        assert (kept.hold_reason, kept.hold_until) == ("a leak", date(2026, 4, 1))
    assert hold_filling(house, "C7/1", "", "", now=FIXED_NOW, by=LEAD).written
    assert len(entries(house)) == before + 2
    refused = hold_filling(house, "C7/1", "", "2026-04-01", now=FIXED_NOW, by=LEAD)
    assert [problem.column for problem in refused.problems] == ["hold_reason"]
    assert len(entries(house)) == before + 2


def test_a_spike_on_known_sound_spirit_is_kept_with_an_entry(house: Store) -> None:
    parts = ("spike 1", Fault.SULPHUR, "D-C100", "sulphur in spirit", "file 3")
    made = planting.SpikeMade(*parts, abv_percent=20.0)
    with house.write() as db:
        planting.keep_sound(db, "D-C100", now=FIXED_NOW, by=LEAD)
    before = len(entries(house))
    with pytest.raises(NotAllowed), house.write() as db:
        planting.keep_spike(db, made, now=FIXED_NOW, by="A2")
    assert len(entries(house)) == before
    with house.write() as db:
        planting.keep_spike(db, made, now=FIXED_NOW, by=LEAD)
    assert len(entries(house)) == before + 1


def test_every_act_of_the_room_is_held_to_this() -> None:
    from importlib import import_module
    from pkgutil import iter_modules

    found = {
        each
        for module in iter_modules(panel.records.__path__, "panel.records.")
        for each in vars(import_module(module.name)).values()
        if inspect.isfunction(each)
        and each.__module__ == module.name
        and not each.__name__.startswith("_")
        and {"now", "by"} <= inspect.signature(each).parameters.keys()
    }
    from panel.records.deed import deed
    from panel.records.forgetting import erase_and_overwrite
    from panel.records.lists_back import take_edit_back
    from panel.records.proving import asked_of
    from panel.records.restore import look_at  # writes nothing

    # They have tests of their own: one writes through a file, two reverse what such a one wrote,
    # two write a whole file anew, a spike wants its base, a hold of passing two noses, and who is
    # taken in has to be ready.
    apart = {hold_filling, take_back_last, take_edit_back, restore, erase_and_overwrite}
    apart |= {planting.keep_spike, lifting.lift_passing_hold, training.take_in}
    assert found - {deed, asked_of, look_at} == {act for act, _, _ in ACTS.values()} | apart
