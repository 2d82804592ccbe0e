"""The steps of a release after its proposal: disgorged, signed by a second person, bottled."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from sqlalchemy import func, select

from panel.errors import NotAllowed, ReleaseError, WrongStage
from panel.kinds import EventKind, ReleaseStatus, Role
from panel.release.against import against_bench, against_signing
from panel.release.benched import bench_nosed
from panel.release.holding import free_stock, hold_stock
from panel.release.outcome import Given, Outcome, limits_of, reckon_outcome
from panel.store.casks import FillingEvent
from panel.store.log import append_entry
from panel.store.release_records import find_release
from panel.store.releases import Release, ReleasePart
from panel.store.who import acting_person, has_role, person_by_code

if TYPE_CHECKING:
    from datetime import date, datetime

    from sqlalchemy.orm import Session

    from analysis.profile import Profile
    from panel.store.filling_states import FillingState
    from panel.store.people import Person


def disgorge(
    db: Session,
    name: str,
    given: Mapping[str, Given],
    *,
    on: date,
    now: datetime,
    by: str | None,
    vat_litres: float | None = None,
    vat_abv: float | None = None,
    profile: Profile | None = None,
) -> Outcome:
    """Keep what each cask really gave and reckon everything from it; may be corrected until signed.

    Raises
    ------
    WrongStage
        The release is signed, bottled or cancelled.
    ReleaseError
        A planned cask is missing, or a figure is out of range.
    NotInStock
        A cask that was not planned is not free, or its records bar it.
    """
    person = acting_person(db, by, Role.BLENDER, on=on)
    release = _at(db, name, ReleaseStatus.PROPOSED)
    _check_given(release, given, vat_litres, vat_abv)
    _take_in_others(db, release, given, on)
    outcome = reckon_outcome(
        db, release, given, as_of=on, vat_litres=vat_litres, vat_abv=vat_abv, profile=profile
    )
    for part in release.parts:
        each = given[part.filling.cask.number]
        part.given_l, part.given_abv = each.litres, each.abv_percent
    release.disgorged_on = on
    release.vat_litres, release.vat_abv = outcome.vat.litres, outcome.vat.abv_percent
    release.found_json = json.dumps(outcome.to_dict(), default=str)
    details = {"release": name, "casks": sorted(given)}
    append_entry(db, at=now, by=person.code, action="release disgorged", details=details)
    return outcome


def try_disgorging(
    db: Session,
    name: str,
    given: Mapping[str, Given],
    *,
    on: date,
    vat_litres: float | None = None,
    vat_abv: float | None = None,
    profile: Profile | None = None,
) -> Outcome:
    """Reckon what the casks come to and keep nothing; raises as `disgorge` does."""
    release = _at(db, name, ReleaseStatus.PROPOSED)
    _check_given(release, given, vat_litres, vat_abv)
    _others(db, release, given, on, free_stock)
    return reckon_outcome(
        db, release, given, as_of=on, vat_litres=vat_litres, vat_abv=vat_abv, profile=profile
    )


def _check_given(
    release: Release, given: Mapping[str, Given], vat_litres: float | None, vat_abv: float | None
) -> None:
    planned = {part.filling.cask.number for part in release.parts}
    faults = []
    if missing := sorted(planned - given.keys()):
        faults.append(
            f"Nothing is said of cask {', '.join(missing)}: give what it gave, 0 litres if nothing."
        )
    for cask, each in given.items():
        if not 0.0 <= each.litres <= 100_000.0:
            faults.append(f"Cask {cask}: {each.litres:g} L is not a content.")
        if not 0.0 < each.abv_percent <= 100.0:
            faults.append(f"Cask {cask}: {each.abv_percent:g} % vol is not a strength.")
    if vat_litres is not None and not vat_litres > 0.0:
        faults.append(f"The vat: {vat_litres:g} L is not a content.")
    if vat_abv is not None and not 0.0 < vat_abv <= 100.0:
        faults.append(f"The vat: {vat_abv:g} % vol is not a strength.")
    if not any(each.litres > 0.0 for each in given.values()):
        faults.append("No cask gave anything.")
    if faults:
        raise ReleaseError(f"Nothing was kept. {' '.join(faults)}")


def _take_in_others(db: Session, release: Release, given: Mapping[str, Given], on: date) -> None:
    """Take in casks that were not planned, a stand-in for one that failed, as far as they may.

    What was asked for by name when the release was proposed holds for them too.
    """
    for cask, state in _others(db, release, given, on, hold_stock).items():
        litres = given[cask].litres
        whole = litres >= state.bulk_l - 0.5
        part = ReleasePart(filling_id=state.filling_id, litres=litres, abv=state.abv, whole=whole)
        release.parts.append(part)
    db.flush()


def _others(
    db: Session,
    release: Release,
    given: Mapping[str, Given],
    on: date,
    ask: Callable[..., Mapping[str, FillingState]],
) -> Mapping[str, FillingState]:
    """Return the casks that were not planned, or say which of them may not go in."""
    planned = {part.filling.cask.number for part in release.parts}
    litres = {cask: each.litres for cask, each in given.items() if cask not in planned}
    if not litres:
        return {}
    return ask(
        db,
        litres,
        as_of=on,
        limits=limits_of(release),
        undone="Nothing was kept.",
        remedy="It may not go in unasked: put its record right first, if that is agreed.",
        besides_release=release.name,
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
        The person proposed it, or is neither lead nor blender.
    ReleaseError
        Limits or rules are not kept, or its bench blend was nosed off the target, and no reason
        is given to sign despite of it.
    """
    release = _at(db, name, ReleaseStatus.PROPOSED)
    if release.disgorged_on is None:
        raise WrongStage(
            f"Release {name} is not disgorged: what its casks really gave is looked at before "
            f"anybody signs. `oakpanel release disgorge {name!r} ...`"
        )
    person = second_person(db, release, by)
    nosed = bench_nosed(db, release, as_of=on, profile=profile)
    against = [*against_signing(json.loads(release.found_json or "{}")), *against_bench(nosed)]
    if against and not (despite or "").strip():
        raise ReleaseError(
            f"Not signed. {' '.join(each.sentence for each in against)} Put it right, or sign with "
            "--despite and a reason; check with your excise officer and your label adviser first."
        )
    code = lot_code(db, on)
    release.status, release.signed_by, release.signed_at = ReleaseStatus.SIGNED, person.code, now
    release.signed_despite = (despite or "").strip() or None if against else None
    release.lot_code = code
    db.flush()
    details = {"release": name, "lot": release.lot_code, "found": _hash(release.found_json)}
    if nosed is not None:
        details["nosed"] = nosed.sentence
    append_entry(db, at=now, by=person.code, action="release signed", details=details)
    return release


def second_person(db: Session, release: Release, by: str | None) -> Person:
    """Return who signs: lead or blender, and not whoever proposed it."""
    if by is None:
        raise NotAllowed("Say who signs with --by CODE: it takes a second person.")
    person = person_by_code(db, by)
    if not (has_role(person, Role.LEAD) or has_role(person, Role.BLENDER)):
        raise NotAllowed(f"{by} is neither lead nor blender and cannot sign a release.")
    if person.code == release.proposed_by:
        raise NotAllowed(
            f"{by} proposed release {release.name}: a second person signs it. Give somebody the "
            "role with `oakpanel people role CODE +blender`."
        )
    return person


def lot_code(db: Session, on: date) -> str:
    """Return the next free lot code of a day: L, two digits of the year, the day, a number."""
    stem = f"L{on:%y%j}"
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
        More bottles than the vat gives.
    """
    person = acting_person(db, by, Role.BLENDER, on=on)
    release = _at(db, name, ReleaseStatus.SIGNED)
    found = json.loads(release.found_json or "{}")
    litres = float(found.get("final_litres") or 0.0)
    filled = int(found.get("bottles") or 0) if bottles is None else bottles
    most = int(litres * 1000.0 / release.bottle_ml)
    if not 0 < filled <= most:
        raise ReleaseError(
            f"{filled:,} bottles of {release.bottle_ml:g} mL: the vat gives {most:,} at most."
        )
    release.status, release.bottles, release.bottled_on = ReleaseStatus.BOTTLED, filled, on
    for part in release.parts:
        if part.whole:
            _emptied(db, release, part)
    db.flush()
    details = {"release": name, "lot": release.lot_code, "found": _hash(release.found_json)}
    append_entry(db, at=now, by=person.code, action="release bottled", details=details)
    return release


def _emptied(db: Session, release: Release, part: ReleasePart) -> None:
    told = select(FillingEvent.id).where(
        FillingEvent.filling_id == part.filling_id, FillingEvent.kind == EventKind.EMPTIED
    )
    if release.disgorged_on is None or db.scalar(told) is not None:
        return
    db.add(
        FillingEvent(
            filling_id=part.filling_id,
            kind=EventKind.EMPTIED,
            happened_on=release.disgorged_on,
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
        No reason is given.
    """
    person = acting_person(db, by, Role.BLENDER, on=on)
    release = _at(db, name, ReleaseStatus.PROPOSED)
    if release.disgorged_on is not None:
        raise WrongStage(
            f"The casks of release {name} were disgorged on {release.disgorged_on}: what is in "
            "the vat cannot go back. Correct the litres, or fill it into casks and load those."
        )
    if not reason.strip():
        raise ReleaseError("Say why it is given up: --reason '...'.")
    release.status, release.cancelled_on = ReleaseStatus.CANCELLED, on
    release.cancelled_because = reason.strip()
    append_entry(db, at=now, by=person.code, action="release cancelled", details={"release": name})
    return release


def _at(db: Session, name: str, stage: ReleaseStatus) -> Release:
    release = find_release(db, name)
    if release.status is not stage:
        raise WrongStage(
            f"Release {name} is {release.status.value}; this needs one that is {stage.value}."
        )
    return release


def _hash(text: str | None) -> str:
    return hashlib.sha256((text or "").encode()).hexdigest()
