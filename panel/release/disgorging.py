"""Disgorging: what each cask really gave is judged, reckoned and kept; until it is signed, anew."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from panel.errors import NotInStock, ReleaseError
from panel.figures import in_digits
from panel.frames.contents import held_litres
from panel.kinds import ReleaseStatus, Role
from panel.release.given import Given, casks_gave, impossible, planned_parts
from panel.release.holding import lying_casks, not_free
from panel.release.order import at_stage, out_of_order, refuse
from panel.release.outcome import Outcome, reckon_outcome
from panel.release.planned import limits_of
from panel.store.log import append_entry
from panel.store.release_records import lock_casks
from panel.store.releases import ReleasePart
from panel.store.who import acting_person

if TYPE_CHECKING:
    from datetime import date, datetime

    from sqlalchemy.orm import Session

    from analysis.profile import Profile
    from panel.release.given import CaskGave, Planned
    from panel.store.releases import Release

UNDONE = "Nothing was kept."
NOT_UNASKED = "It may not go in unasked: put its record right first, if that is agreed."


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

    A cask that was not planned and is not told of again, or gave nothing, is taken out.

    Raises
    ------
    WrongStage
        The release is signed, bottled or cancelled.
    ReleaseError
        A planned cask is missing, a figure is out of range, or the day is out of order.
    NotInStock
        A cask that was not planned is not free, or its records bar it.
    """
    person = acting_person(db, by, Role.BLENDER, on=on)
    lock_casks(db, given)
    outcome = try_disgorging(
        *(db, name, given),
        on=on,
        now=now,
        vat_litres=vat_litres,
        vat_abv=vat_abv,
        profile=profile,
    )
    release = at_stage(db, name, ReleaseStatus.PROPOSED)
    _keep_parts(db, release, given, outcome.casks)
    release.disgorged_on, release.disgorged_by = on, person.code
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
    now: datetime,
    vat_litres: float | None = None,
    vat_abv: float | None = None,
    profile: Profile | None = None,
) -> Outcome:
    """Reckon what the casks come to and keep nothing; raises as `disgorge` does."""
    casks = check_disgorging(
        *(db, name, given), on=on, now=now, vat_litres=vat_litres, vat_abv=vat_abv
    )
    return reckon_outcome(
        db,
        at_stage(db, name, ReleaseStatus.PROPOSED),
        {each.cask: given[each.cask] for each in casks},
        casks,
        as_of=on,
        vat_litres=vat_litres,
        vat_abv=vat_abv,
        profile=profile,
    )


def check_disgorging(
    db: Session,
    name: str,
    given: Mapping[str, Given],
    *,
    on: date,
    now: datetime,
    vat_litres: float | None = None,
    vat_abv: float | None = None,
) -> tuple[CaskGave, ...]:
    """Return what each cask gave, if all of it may be kept; raises as `disgorge` does."""
    release = at_stage(db, name, ReleaseStatus.PROPOSED)
    lying = lying_casks(db, given, as_of=on, besides_release=name)
    planned = planned_parts(release)
    gave = casks_gave(given, planned, lying, held_litres(db, on, besides_release=name))
    others = {
        each.cask: each.given_litres
        for each in gave
        if each.planned is None and each.given_litres > 0.0
    }
    taken = not_free(lying, others, limits_of(release), NOT_UNASKED)
    faults = [
        *out_of_order(db, release, None, on=on, now=now),
        *_figure_faults(planned, given, vat_litres, vat_abv),
        *(said for each in gave if (said := impossible(each))),
        *taken,
    ]
    refuse(UNDONE, faults, NotInStock if taken else ReleaseError)
    return tuple(each for each in gave if each.planned is not None or each.cask in others)


def _figure_faults(
    planned: Mapping[str, Planned],
    given: Mapping[str, Given],
    vat_litres: float | None,
    vat_abv: float | None,
) -> Iterator[str]:
    if missing := sorted(planned.keys() - given.keys()):
        yield f"Nothing is said of cask {', '.join(missing)}: give what it gave, 0 L if nothing."
    for cask, each in given.items():
        if not 0.0 <= each.litres <= 100_000.0:
            yield f"Cask {cask}: {in_digits(each.litres, 'g')} L is not a content."
        if not 0.0 < each.abv_percent <= 100.0:
            yield f"Cask {cask}: {in_digits(each.abv_percent, 'g')} % vol is not a strength."
    if vat_litres is not None and not vat_litres > 0.0:
        yield f"The vat: {in_digits(vat_litres, 'g')} L is not a content."
    if vat_abv is not None and not 0.0 < vat_abv <= 100.0:
        yield f"The vat: {in_digits(vat_abv, 'g')} % vol is not a strength."
    if not any(each.litres > 0.0 for each in given.values()):
        yield "No cask gave anything."


def _keep_parts(
    db: Session, release: Release, given: Mapping[str, Given], casks: Sequence[CaskGave]
) -> None:
    """Write what each cask gave; casks come in, and go out again, as they were told of."""
    parts = {part.filling.cask.number: part for part in release.parts}
    for cask in parts.keys() - {each.cask for each in casks}:
        release.parts.remove(parts[cask])
    for gave in casks:
        part = parts.get(gave.cask)
        if part is None and gave.lying is not None:
            state = gave.lying.state
            part = ReleasePart(filling_id=state.filling_id, abv=state.abv)
            release.parts.append(part)
        if part is None:
            continue
        if gave.planned is None:
            part.litres = gave.given_litres
        part.whole = gave.emptied
        part.given_l, part.given_abv = gave.given_litres, given[gave.cask].abv_percent
    db.flush()
