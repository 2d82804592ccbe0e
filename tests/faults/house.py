"""The house that is edited: a filled one of before, brought up, and an evening begun in it."""

from __future__ import annotations

import gzip
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from sqlalchemy import select

from panel.kinds import BottleKind, EditedList, Fault, RemarkKind
from panel.records.lists_back import take_edit_back
from panel.records.settings import change_setting
from panel.session.seal import seal_session
from panel.session.stages import open_session
from panel.store import booth_queries as booth
from panel.store.answers import Answer, AnswerChange
from panel.store.batches import ReleaseBatch
from panel.store.bottle_remarks import BottleRemark, LotBottle, RemarkPerson
from panel.store.casks import EventReversal, HoldChange
from panel.store.consents import Consent
from panel.store.draws import RegisterReversal
from panel.store.key import PlannedFinding, PlannedServing, PlannedWay
from panel.store.log import append_entry, head_hash
from panel.store.opening import open_store
from panel.store.passes import LASTS, HourPass
from panel.store.passing import Passing
from panel.store.people import Person
from panel.store.planted import PassingHold, Planted
from panel.store.review_ticks import ReviewTick
from panel.store.sessions import MarkReversal, PanelSession, SessionAssessor
from panel.store.site_packs import Moved, PackAmount, PackSeat, SitePack
from panel.store.stock_plans import PlannedPart, PlannedRelease, StoredPlan
from panel.store.stops import DrawStop, StoppedMark
from panel.store.training import Training
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


def _bottles() -> tuple[BottleRemark, LotBottle]:
    """A remark on a bottle with all that can be said of it, and a bottle of the same lot."""
    remark = BottleRemark(
        release_id=1,
        kind=RemarkKind.TASTE,
        made_on=DAY,
        said="x",
        kept_on=DAY,
        by_code=LEAD,
        told_safety_on=DAY,
        outcome="x",
        closed_on=DAY,
        person=RemarkPerson(outside_name="x", reach="x"),
    )
    bottle = LotBottle(
        release_id=1,
        kind=BottleKind.RETAINED,
        place="x",
        kept_on=DAY,
        remark=remark,
        draw_id=1,
        gone_on=DAY,
        gone_to="x",
    )
    return remark, bottle


def _pack() -> SitePack:
    """Seats that went to another site, were called back, and the spirit that went with them."""
    sent = PackAmount(moved=Moved.SENT, millilitres=90.0, abv=20.0, moved_on=DAY, by_code=LEAD)
    return SitePack(
        session_id=1,
        pack_hex="1a" * 16,
        house_hex="2b" * 32,
        file_hash="3c" * 32,
        secret_hex="4d" * 32,
        site="x",
        water="x",
        made_at=NOW,
        by_code=LEAD,
        nose_by=DAY,
        held_on=DAY,
        settled_at=NOW,
        return_hash="5e" * 32,
        site_head_hex="6f" * 32,
        recalled_at=NOW,
        recalled_because="x",
        seats=[PackSeat(person_id=1, seat=1)],
        amounts=[sent],
    )


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
        part = PlannedPart(filling_id=1, place=1, litres=9.0, held_l=9.0, abv=60.0)
        planned = PlannedRelease(
            name="Autumn", place=1, year=2027, target_id=1, bottles=600, abv=46.0
        )
        first = HoldChange(filling_id=1, **hold, changed_at=NOW, by_code=LEAD)
        db.add_all(
            [
                *(first, RegisterReversal(draw_id=1, **kept, reversed_at=NOW)),
                EventReversal(event_id=1, taken_back_at=NOW, by_code=LEAD),
                MarkReversal(mark_id=2, reverses_id=1),
                PlannedWay(session_id=1, glasses_each=1),
                DrawStop(serving_id=1, stopped_at=NOW, by_code=LEAD),
                Consent(person_id=1, given_on=DAY, text_version="x", keeps_scores=True),
                ReviewTick(
                    filling_id=1,
                    reason="leaks",
                    stands_on=DAY,
                    done_at=NOW,
                    by_code=LEAD,
                    note="x",
                ),
                *_bottles(),
                PlannedServing(session_id=1, seat=1, draw_id=1, replicate=1, flight=1),
                ReleaseBatch(release_id=2, before_id=1, within_points=10.0),
                StoredPlan(name="Years", releases=[planned], parts=[part]),
                PlannedFinding(session_id=1, alike_within=1.0, stronger_id=1),
                *(Answer(serving_id=1, question=1, value=2.0, given_at=NOW),),
                AnswerChange(serving_id=1, question=1, value=2.0, changed_at=NOW, by_code=LEAD),
                Training(person_id=1, begun_on=DAY, taken_in_on=DAY),
                Passing(session_id=1, told="x", parcel="x", air_s=600),
                Planted(draw_id=1, made_by=LEAD, made_on=DAY),
                _pack(),
            ]
        )
        db.flush()
        db.add(StoppedMark(mark_id=1, stop_id=db.scalars(select(DrawStop.id)).one()))
        back = HoldChange(filling_id=1, **hold, changed_at=NOW, by_code=LEAD)
        back.reverses_id = first.id
        db.add(back)
        db.add(PassingHold(hold_change_id=first.id, session_id=1))
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
