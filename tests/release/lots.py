"""A house of lots that share spirit, remarks on one of them, and its bottles."""

from __future__ import annotations

from datetime import date, timedelta

from panel.kinds import BottleKind, EventKind, ReleaseStatus, RemarkKind, Role
from panel.release.lot_bottles import (
    keep_bottles,
    keep_remark,
)
from panel.store.engine import Store
from panel.store.releases import Release, ReleasePart
from tests.conftest import FIXED_NOW
from tests.houses.parts import add_event, add_filling, add_make, descriptor, person

TODAY = FIXED_NOW.date()
BOTTLED = TODAY - timedelta(days=200)
SAID = "Ostrow says that it smells of cork."


def release(name: str, lot: str | None, **litres: object) -> Release:
    made = Release(
        name=name,
        status=ReleaseStatus.BOTTLED if lot else ReleaseStatus.PROPOSED,
        planned_on=BOTTLED,
        proposed_by="LD",
        signed_by="BL" if lot else None,
        signed_at=FIXED_NOW if lot else None,
        disgorged_on=BOTTLED if lot else None,
        bottled_on=BOTTLED if lot else None,
        lot_code=lot,
        bottles=100,
        abv=46.0,
    )
    for filling, amount in litres.get("of", ()):  # type: ignore[attr-defined]
        made.parts.append(ReleasePart(filling=filling, litres=amount, given_l=amount))
    return made


def build_lots(store: Store) -> None:
    """Write two lots that share a cask, one that shares a parent, one that shares nothing."""
    with store.write() as db:
        db.add_all([person("LD", Role.LEAD), person("AA"), person("BB"), person("CC")])
        db.add_all([descriptor("ember"), descriptor("honeycomb")])
        make = add_make(db)
        casks = [add_filling(db, f"010{n}", make) for n in range(1, 5)]
        child = add_filling(db, "0200", None, filled_on=date(2020, 5, 1), fill_bulk_l=100.0)
        add_event(db, child, EventKind.RE_RACKED, date(2020, 5, 1), parent=casks[0], litres=100.0)
        db.add_all(
            [
                release("Spring", "L1-1", of=[(casks[0], 30.0), (casks[1], 10.0)]),
                release("Summer", "L2-1", of=[(casks[1], 20.0)]),
                release("Autumn", "L3-1", of=[(child, 20.0)]),
                release("Winter", "L4-1", of=[(casks[2], 20.0)]),
                release("Later", None, of=[(casks[3], 20.0)]),
            ]
        )


def remark(house: Store, kind: RemarkKind = RemarkKind.TASTE, lot: str = "L1-1") -> int:
    with house.write() as db:
        return keep_remark(
            *(db, lot),
            said=SAID,
            kind=kind,
            who="Ostrow",
            reach="4 Ferry Lane",
            now=FIXED_NOW,
            by="LD",
        ).remark


def bottles(house: Store, kind: BottleKind, count: int = 1, of: int | None = None) -> None:
    with house.write() as db:
        keep_bottles(
            *(db, "Spring"),
            place="shelf 2",
            count=count,
            kind=kind,
            remark=of,
            now=FIXED_NOW,
            by="LD",
        )
