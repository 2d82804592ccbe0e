"""An open session on records every word of which bears a mark, to see whether one gets out."""

from __future__ import annotations

from sqlalchemy import select, update

from panel.records.people import set_pin
from panel.session.plan import plan_session
from panel.session.seal import seal_session
from panel.session.stages import open_session
from panel.store.casks import Cask, Filling, Make
from panel.store.draws import Draw
from panel.store.engine import Store
from panel.store.key import KeySecret
from panel.store.people import PersonName
from panel.store.sessions import PanelSession
from tests.houses.at_the_booth import Wall
from tests.houses.to_plan import CODES, furnish, plan

MARK, PIN = "kelpie", "509318274465"


def mark_all(store: Store, wall: Wall) -> Store:
    """Open a session on casks every word of which bears a mark."""
    with store.write() as db:
        furnish(db)
        set_pin(db, CODES[0], PIN, now=wall(), by="L1")
    with store.write() as db:
        plan_session(db, plan(duplicates=("D1",), seed=5), now=wall(), by="L1")
    with store.write() as db:
        seal_session(db, "spring", now=wall(), by="L1")
    with store.write() as db:
        open_session(db, "spring", now=wall(), by="L1")
    with store.write() as db:
        db.execute(update(Cask).values(number=Cask.number + MARK, note=MARK, wood=MARK))
        db.execute(update(Filling).values(label=Filling.label + MARK, owner=MARK, warehouse=MARK))
        db.execute(update(Draw).values(label=Draw.label + MARK, note=MARK, colour=MARK))
        db.execute(update(Make).values(name=Make.name + MARK, site=MARK))
        db.execute(update(PersonName).values(full_name=MARK))
        db.execute(update(PanelSession).values(note=MARK))
    return store


def secrets_of(store: Store) -> list[str]:
    with store.read() as db:
        [secret] = db.scalars(select(KeySecret))
        [held] = db.scalars(select(PanelSession))
        return [secret.seed_hex, secret.nonce_hex or "?", held.key_hash or "?"]
