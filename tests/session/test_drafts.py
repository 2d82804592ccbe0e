"""A draft dropped."""

from __future__ import annotations

from datetime import datetime

import pytest

from panel.errors import WrongState
from panel.session.drafts import drop_draft
from panel.session.plan import plan_session
from panel.session.seal import seal_session
from panel.session.summary import summarise
from panel.store.engine import Store
from panel.store.key import KeySecret
from panel.store.sessions import PanelSession
from tests.houses.to_plan import plan


def test_a_draft_is_dropped_and_what_was_sealed_stays(house: Store, fixed_now: datetime) -> None:
    with house.write() as db:
        plan_session(db, plan(), now=fixed_now, by="L1")
        drop_draft(db, plan().name, now=fixed_now, by="L1")
    with house.read() as db:
        assert db.query(PanelSession).count() == db.query(KeySecret).count() == 0
    with house.write() as db:
        plan_session(db, plan(), now=fixed_now, by="L1")
        seal_session(db, plan().name, now=fixed_now, by="L1")
    with house.write() as db, pytest.raises(WrongState, match="What was sealed stays"):
        drop_draft(db, plan().name, now=fixed_now, by="L1")


def test_a_draft_that_gives_way_is_said(house: Store, fixed_now: datetime) -> None:
    with house.write() as db:
        first = plan_session(db, plan(), now=fixed_now, by="L1")
    with house.write() as db:
        again = plan_session(db, plan(), now=fixed_now, by="L1")
    many = len(plan().assessors)
    said = f"The draft {plan().name} of {first.held_on}, for {many} assessors, is replaced by this"
    assert first.replaces is None
    assert not any("is replaced" in line for line in first.lines())
    assert [line for line in again.lines() if line.startswith(said)]
    with house.read() as db:
        assert summarise(db, plan().name).replaces is None
