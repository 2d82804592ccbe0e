"""The demo's small bottling: proposed, given, signed, bottled, kept back, and what came of it."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from panel.cli.demo_evening import LEAD, POURER
from panel.cli.invocation import writing_to
from panel.kinds import BottleKind, RemarkKind

if TYPE_CHECKING:
    from datetime import datetime

    from panel.store.engine import Store

RELEASE = "Ferryman"
LITRES = {"SW1213": 24.0, "SW1807": 18.0, "SW2111": 15.0}
PLACE = "shelf 2 of the sample room"
SAID = (
    "The second bottle of the case smells of wet cardboard, the first did not. I kept it and can "
    "send it."
)
WHO, REACH = "M. Ostrow", "by letter, 4 Ferry Lane"
DESPITE = "a bottling for those who work here"


def bottle_a_few(store: Store, moment: datetime) -> None:
    """Bottle a little of three casks, keep bottles back, and write down a remark on one."""
    from panel.questions.profile import house_profile
    from panel.questions.vat_limits import read_limits
    from panel.records.people import change_roles
    from panel.release.disgorging import disgorge
    from panel.release.given import Given
    from panel.release.lot_bottles import keep_bottles, keep_remark
    from panel.release.propose import from_litres, propose
    from panel.release.steps import bottle, sign

    today = moment.date()
    with store.read() as db:
        profile = house_profile(db, as_of=today)
    limits = read_limits(whole=False, smallest_draw=0.0, old_gauges="flag")
    with writing_to(store) as db:
        change_roles(db, POURER, ["+blender"], now=moment, by=LEAD)
    with store.read() as db:
        wanted = from_litres(db, "Lantern", limits, LITRES, as_of=today, profile=profile)
    with writing_to(store) as db:
        propose(db, RELEASE, wanted, as_of=today, now=moment, by=LEAD)
    given = {
        part.cask: Given(part.litres, part.abv_percent, empty=False)
        for part in wanted.mixture.parts
    }
    with writing_to(store) as db:
        disgorge(db, RELEASE, given, on=today, now=moment, by=LEAD, profile=profile)
    with writing_to(store) as db:
        sign(db, RELEASE, on=today, now=moment, by=POURER, despite=DESPITE, profile=profile)
        bottle(db, RELEASE, bottles=None, on=today, now=moment, by=LEAD)
    later = moment + timedelta(minutes=20)
    with writing_to(store) as db:
        keep_bottles(db, RELEASE, place=PLACE, now=later, by=LEAD)
        remark = keep_remark(
            *(db, RELEASE),
            said=SAID,
            kind=RemarkKind.TASTE,
            who=WHO,
            reach=REACH,
            now=later,
            by=LEAD,
        )
        keep_bottles(
            *(db, RELEASE),
            place="post room",
            count=1,
            kind=BottleKind.UNOPENED,
            remark=remark.remark,
            now=later,
            by=LEAD,
        )
