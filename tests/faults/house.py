"""The house that is edited: a filled one of before, brought up, and an evening begun in it."""

from __future__ import annotations

import gzip
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from sqlalchemy import select

from panel.kinds import EditedList, Fault
from panel.records.lists_back import take_edit_back
from panel.records.settings import change_setting
from panel.session.seal import seal_session
from panel.session.stages import open_session
from panel.store import booth_queries as booth
from panel.store.casks import EventReversal, HoldChange
from panel.store.consents import Consent
from panel.store.draws import RegisterReversal
from panel.store.key import PlannedServing, PlannedWay
from panel.store.log import append_entry, head_hash
from panel.store.opening import open_store
from panel.store.passes import LASTS, HourPass
from panel.store.people import Person
from panel.store.sessions import MarkReversal, PanelSession, SessionAssessor
from panel.store.stops import DrawStop, StoppedMark
from panel.store.upgrading import upgrade_database
from panel.store.who import person_by_code

KEPT = Path(__file__).parents[1] / "old_houses" / "house_0002.sqlite.gz"
NOW = datetime(2026, 3, 14, 18, 0, tzinfo=UTC)
EVENING, LEAD = "practice", "Heron"
WHO = (
    select(Person.code)
    .join(SessionAssessor, SessionAssessor.person_id == Person.id)
    .join(PanelSession, PanelSession.id == SessionAssessor.session_id)
    .where(PanelSession.name == EVENING)
    .order_by(SessionAssessor.seat)
)


DAY = date(2026, 3, 14)


def build(path: Path) -> str:
    """Write the house to *path*; return the head that stood on paper before its last entries."""
    path.write_bytes(gzip.decompress(KEPT.read_bytes()))
    path.chmod(0o600)
    upgrade_database(str(path), now=NOW)
    store = open_store(str(path))
    with store.write() as db:
        seal_session(db, EVENING, now=NOW, by=LEAD)
        printed = head_hash(db)
    with store.write() as db:
        open_session(db, EVENING, now=NOW, by=LEAD, held_on=DAY)
    with store.write() as db:
        held = HourPass(digest_hex="5a" * 32, ends_at=NOW + LASTS)
        held.person_id = person_by_code(db, LEAD).id
        db.add(held)
        kept = {"by_code": LEAD, "because": "x", "reason": "x", "fate": "x", "millilitres": 5.0}
        hold = {"reason": "x", "reason_before": "y", "until": DAY, "until_before": DAY}
        first = HoldChange(filling_id=1, **hold, changed_at=NOW, by_code=LEAD)
        db.add_all(
            [
                *(first, RegisterReversal(draw_id=1, **kept, reversed_at=NOW)),
                EventReversal(event_id=1, taken_back_at=NOW, by_code=LEAD),
                MarkReversal(mark_id=2, reverses_id=1),
                PlannedWay(session_id=1, glasses_each=1),
                DrawStop(serving_id=1, stopped_at=NOW, by_code=LEAD),
                Consent(person_id=1, given_on=DAY, text_version="x", keeps_scores=True),
                PlannedServing(session_id=1, seat=1, draw_id=1, replicate=1, flight=1),
            ]
        )
        db.flush()
        db.add(StoppedMark(mark_id=1, stop_id=db.scalars(select(DrawStop.id)).one()))
        back = HoldChange(filling_id=1, **hold, changed_at=NOW, by_code=LEAD)
        back.reverses_id = first.id
        db.add(back)
        append_entry(db, at=NOW, by=LEAD, action="pass given", details={})
    with store.write() as db:
        change_setting(db, "pause_s", "90", now=NOW, by=LEAD)
    with store.write() as db:
        take_edit_back(db, EditedList.SETTINGS, "pause_s", now=NOW, by=LEAD)
    with store.read() as db:
        code = db.scalars(WHO).first()
    with store.write() as db:
        seat = booth.take_seat(db, EVENING, str(code), now=NOW)
    with store.write() as db:
        tray = booth.tray(db, seat)
        glass = booth.take_glass(db, seat, tray.glasses[0].code, NOW)
    for place, line in enumerate(tray.lines):
        with store.write() as db:
            moment = NOW + timedelta(seconds=10 * place)
            booth.save_score(db, seat, glass, line.version_id, 20.0 + place, moment)
    with store.write() as db:
        booth.mark_fault(db, seat, glass, Fault.SULPHUR, NOW)
    store.close()
    return printed
