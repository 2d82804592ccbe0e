"""A release chosen by command and one blended at the desk are proposed in the same words."""

from __future__ import annotations

import pytest

from panel.questions.blending import blend_start, try_litres
from panel.questions.vat_limits import read_limits
from panel.records.rules import change_rule
from panel.release.lists import listed_releases
from panel.release.propose import Proposal, from_litres, from_tried, propose
from panel.release.trace import record_of
from panel.store.engine import Store
from tests.houses.nosed import NOW, TODAY

LITRES = {"C8": 100.0, "C9": 100.0}


def both(house: Store) -> tuple[Proposal, Proposal]:
    """Return what the command proposes of these litres, and what the desk does."""
    limits = read_limits(litres=200.0, abv_percent=40.0, whole=False)
    with house.read() as db:
        by_command = from_litres(db, "Fen", limits, LITRES, as_of=TODAY)
        start = blend_start(db, "Fen", limits, as_of=TODAY)
    tried = try_litres(start.house, LITRES, start.aim, start.limits)
    return by_command, from_tried(start.house, "Fen", start.limits, tried)


@pytest.mark.slow
def test_command_and_desk_propose_alike(house: Store) -> None:
    by_command, at_desk = both(house)
    assert by_command.document == at_desk.document
    assert by_command.limits == at_desk.limits
    assert {part.cask: part.litres for part in at_desk.mixture.parts} == LITRES


def test_a_rule_that_is_not_met_is_told_of_both(house: Store) -> None:
    with house.write() as db:
        change_rule(db, "Scotch whisky", "largest cask", 150.0, "our own", now=NOW, by="LD")
    by_command, at_desk = both(house)
    assert at_desk.document["checks"] == by_command.document["checks"]
    assert any("more than 150 L" in str(check) for check in at_desk.document["checks"])


def test_what_the_desk_proposed_is_read_like_any_other(house: Store) -> None:
    _, at_desk = both(house)
    with house.write() as db:
        propose(db, "Spring", at_desk, as_of=TODAY, now=NOW, by="BL")
    with house.read() as db:
        (line,) = listed_releases(db)
        found = record_of(db, "Spring", as_of=TODAY)
    assert (line.name, line.status, line.target, line.casks) == ("Spring", "proposed", "Fen", 2)
    assert found["planned"]["bulk_litres"] == at_desk.document["bulk_litres"]
