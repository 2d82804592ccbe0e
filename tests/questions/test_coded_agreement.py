"""A session that is closed and not revealed: judged by codes, with what its plan tells."""

from __future__ import annotations

from datetime import datetime

import numpy as np
import pytest
from sqlalchemy import select

from panel.frames import n_doubled
from panel.questions.agreement import session_agreement
from panel.session.plan import plan_session
from panel.session.seal import seal_session
from panel.session.stages import close_session, open_session
from panel.store.engine import Store
from panel.store.sessions import PanelSession, Score
from tests.houses.to_plan import furnish, plan, score_all


@pytest.mark.parametrize(("duplicates", "doubled"), [((), 0), (("D2", "D3"), 2)])
def test_duplicates_that_were_poured_are_not_asked_for(
    store: Store, fixed_now: datetime, duplicates: tuple[str, ...], doubled: int
) -> None:
    noise = np.random.default_rng(1)
    with store.write() as db:
        furnish(db)
        made = plan(duplicates=duplicates, reference=None, seed=3)
        plan_session(db, made, now=fixed_now, by="L1")
        seal_session(db, "spring", now=fixed_now, by="L1")
        open_session(db, "spring", now=fixed_now, by="L1")
        score_all(db, fixed_now)
        for score in db.scalars(select(Score)):
            score.value = float(noise.integers(20, 80))
        close_session(db, "spring", now=fixed_now, by="L1")
    with store.read() as db:
        assert n_doubled(db, db.scalars(select(PanelSession)).one()) == doubled
        said = session_agreement(db, "spring").descriptors[0].verdict.sentence
    assert ("2 more blind duplicates" in said) == (doubled == 0)
    assert ("count from the reveal on" in said) == (doubled == 2)
