"""Nothing that is written before the reveal hangs on which draw is which."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from sqlalchemy import select
from sqlalchemy.orm import Session

from analysis.as_json import as_json
from panel.session.listed import list_sessions
from panel.session.plan import plan_session
from panel.session.progress import session_progress
from panel.session.seal import seal_session
from panel.session.sheets import tray_labels
from panel.session.showing import session_view
from panel.session.stages import open_session
from panel.store.draws import Draw
from panel.store.engine import Store
from panel.store.key import KeyRow
from panel.store.opening import make_database
from panel.store.sessions import Serving
from tests.examples import examples
from tests.houses.to_plan import furnish, plan

NOW = datetime(2026, 3, 14, 18, 0, tzinfo=UTC)
NO_SHRINKING = (Phase.explicit, Phase.reuse, Phase.generate)
"""Every example seals a session; to shrink one takes minutes and shows nothing new."""
LABELS = tuple(f"D{number}" for number in range(1, 13))


@pytest.fixture(scope="module")
def shared() -> Iterator[Store]:
    """Give one furnished house to all examples; each rolls back what it wrote."""
    with TemporaryDirectory() as folder:
        store = make_database(str(Path(folder) / "panel.sqlite"))
        with store.write() as db:
            furnish(db, casks=12)
        yield store
        store.close()


def seal_it(db: Session, draws: tuple[str, ...], seed: int) -> None:
    asked = plan(draws=draws, seed=seed, duplicates=())
    plan_session(db, asked, now=NOW, by="L1")
    seal_session(db, asked.name, now=NOW, by="L1")
    open_session(db, asked.name, now=NOW, by="L1")


def seen(db: Session) -> list[tuple[object, ...]]:
    """Return all that the tables of glasses hold, in the order it lies there."""
    rows = db.scalars(select(Serving).order_by(Serving.id))
    first = db.scalars(select(Serving.id)).first() or 0
    return [
        (r.id - first, r.person.code, r.flight, r.position, r.code, r.warm_up, r.status)
        for r in rows
    ]


def key(db: Session) -> dict[str, str]:
    return {row.code: row.draw.label for row in db.scalars(select(KeyRow))}


@settings(max_examples=examples(6), deadline=None, phases=NO_SHRINKING)
@given(
    draws=st.lists(st.sampled_from(LABELS), min_size=3, max_size=12, unique=True),
    seed=st.integers(0, 2**128 - 1),
    data=st.data(),
)
def test_exchanged_draws_leave_glasses_codes_and_progress_as_they_were(
    shared: Store, draws: list[str], seed: int, data: st.DataObject
) -> None:
    exchanged = data.draw(st.permutations(draws))
    views: list[object] = []
    keys: list[dict[str, str]] = []
    for order in (draws, exchanged):
        with shared.read() as db:  # what is written here is rolled back
            seal_it(db, tuple(order), seed)
            views.append((seen(db), session_progress(db, "spring"), list_sessions(db)[0].n_glasses))
            keys.append(key(db))
    assert views[0] == views[1]
    assert (keys[0] == keys[1]) == (draws == exchanged)


@settings(max_examples=examples(4), deadline=None, phases=NO_SHRINKING)
@given(seed=st.integers(0, 2**128 - 1))
def test_what_is_shown_before_the_reveal_names_no_draw_and_no_cask(
    shared: Store, seed: int
) -> None:
    with shared.read() as db:
        seal_it(db, LABELS[:7], seed)
        shown = [
            json.dumps(as_json(session_view(db, "spring"))),
            "\n".join(session_view(db, "spring").lines()),
            tray_labels(db, "spring", now=NOW, by="P1"),
        ]
        words = [*LABELS, "R0", "W0"]
        words += [d.filling.cask.number for d in db.scalars(select(Draw)) if d.filling]
        words += ["reference", "duplicate", "replicate"]
    for text in shown:
        tokens = set(text.replace('"', " ").replace(",", " ").split())
        assert not tokens & set(words)


def test_row_numbers_do_not_follow_the_plan(shared: Store) -> None:
    """Over many seeds the draw named first is no more often in the first rows than others."""
    early = dict.fromkeys(LABELS[:7], 0)
    runs = 30
    for seed in range(runs):
        with shared.read() as db:
            seal_it(db, LABELS[:7], seed)
            codes = key(db)
            rows = db.scalars(select(Serving).order_by(Serving.id)).all()
            for row in rows[: len(rows) // 2]:
                if codes[row.code] in early:
                    early[codes[row.code]] += 1
    # Half of 6 glasses a draw and run: 90 of 180; five standard deviations are 34 (binomial).
    assert all(abs(count - runs * 3) < 34 for count in early.values()), early
