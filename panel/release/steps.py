"""The steps of a release after it was disgorged: signed by a second person, bottled, given up."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from sqlalchemy import func, select

from panel.errors import NotAllowed, WrongStage
from panel.figures import in_digits
from panel.kinds import EventKind, ReleaseStatus, Role
from panel.release.against import against_bench, against_signing
from panel.release.benched import bench_nosed, wants_nosing
from panel.release.order import LOT_DAY, at_stage, out_of_order, refuse
from panel.store.casks import FillingEvent, emptying, standing
from panel.store.house import today_at_site
from panel.store.log import append_entry
from panel.store.releases import Release, ReleasePart, digest_of_found
from panel.store.who import acting_person, signing_person

if TYPE_CHECKING:
    from datetime import date, datetime

    from sqlalchemy.orm import Session

    from analysis.profile import Profile
    from panel.store.people import Person

PUT_RIGHT = (
    "Put it right, or sign with --despite and a reason; check with your excise officer and your "
    "label adviser first."
)


def sign(
    db: Session,
    name: str,
    *,
    on: date,
    now: datetime,
    by: str | None,
    despite: str | None = None,
    profile: Profile | None = None,
) -> Release:
    """Sign a release as a second person; it gets its lot code.

    Raises
    ------
    WrongStage
        It is not disgorged, or signed already, or over.
    NotAllowed
        The person proposed it, gave its litres, has left, or is neither lead nor blender.
    ReleaseError
        Limits or rules are not kept, figures are not clear, or its bench blend was nosed off the
        target or never, and no reason is given to sign despite of it; or the day is out of order.
    """
    release = at_stage(db, name, ReleaseStatus.PROPOSED)
    if release.disgorged_on is None:
        raise WrongStage(
            f"Release {name} is not disgorged: what its casks really gave is looked at before "
            f"anybody signs. `oakpanel release disgorge {name!r} ...`"
        )
    person = second_person(db, release, by, on=today_at_site(db, now))
    faults = list(out_of_order(db, release, ReleaseStatus.SIGNED, on=on, now=now))
    nosed = bench_nosed(db, release, as_of=on, profile=profile)
    found = json.loads(release.found_json or "{}")
    against = [*against_signing(found), *against_bench(nosed, wants_nosing(release))]
    if against and not (despite or "").strip():
        faults += [*(each.sentence for each in against), PUT_RIGHT]
    refuse("Not signed.", faults)
    code = lot_code(db, on)
    release.status, release.signed_by, release.signed_at = ReleaseStatus.SIGNED, person.code, now
    release.signed_despite = (despite or "").strip() or None if against else None
    release.lot_code = code
    db.flush()
    details = {
        "release": name,
        "lot": release.lot_code,
        "found": digest_of_found(release.found_json),
    }
    if nosed is not None:
        details["nosed"] = nosed.sentence
    append_entry(db, at=now, by=person.code, action="release signed", details=details)
    return release


def second_person(db: Session, release: Release, by: str | None, *, on: date) -> Person:
    """Return who signs: lead or blender, and neither who proposed it nor who gave its litres."""
    person = signing_person(db, by, on=on)
    did = {release.disgorged_by: "gave the litres of", release.proposed_by: "proposed"}
    if person.code in did:
        raise NotAllowed(
            f"{by} {did[person.code]} release {release.name}: a second person signs it. Give "
            "somebody the role with `oakpanel people role CODE +blender`."
        )
    return person


def lot_code(db: Session, on: date) -> str:
    """Return the next free lot code of a day: L, two digits of the year, the day, a number."""
    stem = on.strftime(LOT_DAY)
    taken = db.scalar(select(func.count()).where(Release.lot_code.like(f"{stem}-%"))) or 0
    return f"{stem}-{taken + 1}"


def bottle(
    db: Session, name: str, *, bottles: int | None, on: date, now: datetime, by: str | None
) -> Release:
    """Freeze a signed release: its casks are emptied in the records and nothing changes any more.

    Raises
    ------
    WrongStage
        It is not signed.
    ReleaseError
        More bottles than the vat gives, or the day is out of order.
    """
    person = acting_person(db, by, Role.BLENDER, on=on)
    release = at_stage(db, name, ReleaseStatus.SIGNED)
    found = json.loads(release.found_json or "{}")
    litres = float(found.get("final_litres") or 0.0)
    filled = int(found.get("bottles") or 0) if bottles is None else bottles
    most = int(litres * 1000.0 / release.bottle_ml)
    faults = list(out_of_order(db, release, ReleaseStatus.BOTTLED, on=on, now=now))
    if not 0 < filled <= most:
        faults.append(
            f"{in_digits(filled, ',')} bottles of {in_digits(release.bottle_ml, 'g')} mL: "
            f"the vat gives {in_digits(most, ',')} at most."
        )
    refuse("Not bottled.", faults)
    release.status, release.bottles, release.bottled_on = ReleaseStatus.BOTTLED, filled, on
    for part in release.parts:
        # What was kept before anybody could say so counts as empty only where something came out.
        part.whole = part.whole and (bool(part.given_l) or "casks" in found)
        if part.whole:
            _emptied(db, release, part)
    db.flush()
    details = {
        "release": name,
        "lot": release.lot_code,
        "found": digest_of_found(release.found_json),
    }
    append_entry(db, at=now, by=person.code, action="release bottled", details=details)
    return release


def _emptied(db: Session, release: Release, part: ReleasePart) -> None:
    told = select(FillingEvent.id).where(
        FillingEvent.filling_id == part.filling_id,
        FillingEvent.kind == EventKind.EMPTIED,
        standing(),
    )
    if release.disgorged_on is None or db.scalar(told) is not None:
        return
    db.add(
        emptying(
            part.filling,
            release.disgorged_on,
            note=f"release {release.name}, lot {release.lot_code}",
        )
    )


def cancel(
    db: Session, name: str, reason: str, *, on: date, now: datetime, by: str | None
) -> Release:
    """Give a release up: its casks are free again.

    Raises
    ------
    WrongStage
        It is bottled or cancelled, or its casks are in the vat already.
    ReleaseError
        No reason is given, or the day is out of order.
    """
    person = acting_person(db, by, Role.BLENDER, on=on)
    release = at_stage(db, name, ReleaseStatus.PROPOSED)
    if release.disgorged_on is not None:
        raise WrongStage(
            f"The casks of release {name} were disgorged on {release.disgorged_on}: what is in "
            "the vat cannot go back. Correct the litres, or fill it into casks and load those."
        )
    faults = list(out_of_order(db, release, ReleaseStatus.CANCELLED, on=on, now=now))
    if not reason.strip():
        faults.append("Say why it is given up: --reason '...'.")
    refuse("Not cancelled.", faults)
    release.status, release.cancelled_on = ReleaseStatus.CANCELLED, on
    release.cancelled_because = reason.strip()
    append_entry(db, at=now, by=person.code, action="release cancelled", details={"release": name})
    return release
