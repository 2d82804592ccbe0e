"""Who may take records in, and who may take names out."""

from __future__ import annotations

from contextlib import nullcontext

import pytest

from panel.errors import NotAllowed
from panel.intake.kinds import Kind
from panel.intake.who_loads import loader, refuse_names
from panel.kinds import Role
from panel.store.engine import Store
from tests.houses.parts import person


@pytest.fixture
def house(store: Store) -> Store:
    with store.write() as db:
        db.add_all([person("LD", Role.LEAD), person("BL", Role.BLENDER), person("AA")])
    return store


def test_anyone_loads_while_nobody_leads(store: Store) -> None:
    with store.read() as db:
        assert loader(db, None, Kind.MAKES) == "nobody yet"
        assert loader(db, "AA", Kind.MAKES) == "AA"
        refuse_names(db, None)


@pytest.mark.parametrize(
    ("by", "kind", "may"),
    [
        ("LD", Kind.MAKES, True),
        ("LD", Kind.TARGETS, True),
        ("BL", Kind.TARGETS, True),
        ("BL", Kind.PLANS, True),
        ("BL", Kind.MAKES, False),
        ("AA", Kind.TARGETS, False),
        ("AA", Kind.PLANS, False),
    ],
)
def test_a_lead_loads_everything_and_a_blender_targets_and_plans(
    house: Store, by: str, kind: Kind, may: bool
) -> None:
    with house.read() as db, nullcontext() if may else pytest.raises(NotAllowed):
        assert loader(db, by, kind) == by


@pytest.mark.parametrize(("by", "may"), [("LD", True), ("BL", False), (None, True)])
def test_names_leave_the_house_by_its_lead_alone(house: Store, by: str | None, may: bool) -> None:
    """Where nobody is named the one lead there is is meant."""
    with house.read() as db, nullcontext() if may else pytest.raises(NotAllowed):
        refuse_names(db, by)
