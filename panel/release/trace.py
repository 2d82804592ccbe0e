"""From a release back to casks, draws and sessions; and the record of all of it."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from sqlalchemy import or_, select

from analysis.as_json import as_json
from panel.errors import UnknownRecord
from panel.kinds import GlassKind, SessionStatus
from panel.questions.agreed import AGREED
from panel.questions.come_between import come_between
from panel.release.against import Against, against_bench, against_signing
from panel.release.benched import BenchNosed, bench_nosed, wants_nosing, why_not_nosed
from panel.release.given import planned_parts
from panel.store.batches import ReleaseBatch
from panel.store.casks import Cask, Filling
from panel.store.draws import Draw, DrawPart
from panel.store.key import KeyRow
from panel.store.log import LogEntry
from panel.store.releases import Release, digest_of_found
from panel.store.sessions import PanelSession

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from analysis.profile import Profile

PLANNED = (
    *("target", "probability", "worst_descriptor", "prediction", "bulk_litres", "lpa"),
    *("abv_percent", "water_litres", "final_litres", "bottles", "bottles_high"),
    *("sentence", "shares"),
    "exponents",
)


@dataclass(frozen=True)
class Traced:
    """A draw of a cask in the release or of its bench blend, and a session that nosed it."""

    sample: str
    kind: str
    cask: str | None
    drawn_on: date | None
    session: str | None
    held_on: date | None


def find_by_name_or_lot(db: Session, text: str) -> Release:
    """Return the release of that name or of that lot code.

    Raises
    ------
    UnknownRecord
        There is none.
    """
    from panel.store.release_records import find_release

    release = db.scalar(select(Release).where(Release.lot_code == text))
    if release is not None:
        return release
    try:
        return find_release(db, text)
    except UnknownRecord as error:
        raise UnknownRecord(f"{error} No lot has that code either.") from error


def trace(db: Session, release: Release) -> list[Traced]:
    """Return every draw behind a release with the revealed sessions that nosed it."""
    fillings = [part.filling_id for part in release.parts]
    benches = [bench.draw_id for bench in release.benches]
    draws = select(Draw).where(or_(Draw.filling_id.in_(fillings), Draw.id.in_(benches)))
    found = []
    for draw in db.scalars(draws.order_by(Draw.label)):
        cask = draw.filling.cask.number if draw.filling else None
        sessions = sessions_of(db, [draw.id]) or [(None, None)]
        found += [
            Traced(draw.label, draw.kind.value, cask, draw.drawn_on, name, held)
            for name, held in sessions
        ]
    return found


def sessions_of(db: Session, draw_ids: Iterable[int]) -> list[tuple[str | None, date | None]]:
    """Return the revealed sessions in which some draws were nosed, the oldest first."""
    query = (
        select(PanelSession.name, PanelSession.held_on)
        .join(KeyRow, KeyRow.session_id == PanelSession.id)
        .where(
            KeyRow.draw_id.in_(list(draw_ids)),
            KeyRow.kind != GlassKind.WARM_UP,
            PanelSession.status == SessionStatus.REVEALED,
        )
        .distinct()
        .order_by(PanelSession.held_on, PanelSession.name)
    )
    return [(name, held) for name, held in db.execute(query)]


def record_of(
    db: Session, text: str, *, as_of: date, profile: Profile | None = None
) -> dict[str, Any]:
    """Return everything that is kept of the release of that name or lot code, ready for JSON.

    With it stands how its bench blend, where one was nosed, lies to the target: `profile` is
    reckoned only for that.

    Raises
    ------
    UnknownRecord
        There is none.
    """
    release = find_by_name_or_lot(db, text)
    nosed = bench_nosed(db, release, as_of=as_of, profile=profile)
    return record(db, release, nosed, as_of=as_of)


def parts_of(db: Session, text: str) -> list[dict[str, Any]]:
    """Return the parts of the release of that name or lot code, the largest first."""
    return _parts(find_by_name_or_lot(db, text))


def record(
    db: Session, release: Release, nosed: BenchNosed | None = None, *, as_of: date | None = None
) -> dict[str, Any]:
    """Return everything that is kept of a release, ready for JSON; *as_of* what came between."""
    planned = json.loads(release.predicted_json or "{}")
    found = json.loads(release.found_json) if release.found_json else None
    plain = (
        *("name", "planned_on", "proposed_by", "reason", "bottling_on", "age_statement_years"),
        *("bottles", "bottle_ml", "loss_fraction", "chill_filtered", "disgorged_on", "lot_code"),
        *("signed_by", "signed_at", "signed_despite", "bottled_on", "cancelled_on"),
        "cancelled_because",
    )
    return {
        "release": release.name,
        **{name: _told(getattr(release, name)) for name in plain[1:]},
        "status": release.status.value,
        "target": release.target.name if release.target else None,
        "bottling_abv_percent": release.abv,
        "parts": _parts(release),
        "agreed": agreed_of(release),
        "since": [one.sentence for one in (come_between(db, release, as_of) if as_of else ())],
        "against": [] if found is None else as_json(_against(release, found, nosed)),
        "planned": {name: planned.get(name) for name in PLANNED},
        "limits": json.loads(release.limits_json or "{}"),
        "found": found,
        "as_signed": as_signed(db, release),
        "found_reason": None if found is not None else "not disgorged yet",
        "bench": [bench.draw.label for bench in release.benches],
        "nosed": nosed,
        "nosed_reason": None if nosed else why_not_nosed(release),
        "draws": as_json(trace(db, release)),
        "batch": _followed(db, release),
    }


def _followed(db: Session, release: Release) -> dict[str, Any] | None:
    """Return which batch a release follows, with its blind check; None where it follows none."""
    batch = db.get(ReleaseBatch, release.id)
    if batch is None:
        return None
    return {
        "before": batch.before.lot_code or batch.before.name,
        "within_points": batch.within_points,
        "sample": batch.sample and batch.sample.label,
        "before_sample": batch.before_sample and batch.before_sample.label,
        "kept": None if batch.found_json is None else json.loads(batch.found_json),
        "kept_on": batch.found_on,
    }


def _against(release: Release, found: dict[str, Any], nosed: BenchNosed | None) -> list[Against]:
    """Everything that asks for a reason to sign despite of it."""
    return [*against_signing(found), *against_bench(nosed, wants_nosing(release))]


def agreed_of(release: Release) -> list[dict[str, Any]]:
    """Return what was agreed to by name, as disgorged or else as planned."""
    kept = json.loads(release.found_json or release.predicted_json or "{}")
    agreed: list[dict[str, Any]] = kept.get(AGREED, [])
    return agreed


def _told(value: object) -> object:
    """A value of the release's own; a moment is written with a space before the hour."""
    return str(value) if isinstance(value, datetime) else value


def as_signed(db: Session, release: Release) -> bool | None:
    """Tell whether casks and litres are still those that were signed.

    None before anybody has, and where an erasure emptied what the log kept of it. The log keeps the
    hash of what was signed, chained to every entry before and after it.
    """
    if release.signed_by is None:
        return None
    asked = select(LogEntry.body_json).where(LogEntry.body_json.contains('"found"'))
    bodies = [json.loads(body or "{}") for body in db.scalars(asked)]
    signed = [body["found"] for body in bodies if body.get("release") == release.name]
    return digest_of_found(release.found_json) in signed if signed else None


def _parts(release: Release) -> list[dict[str, Any]]:
    planned = planned_parts(release)
    ordered = sorted(release.parts, key=lambda part: (-part.litres, part.filling.label))
    return [
        {
            "cask": part.filling.cask.number,
            "filling": part.filling.label,
            "wood": part.filling.cask.wood,
            "litres": part.litres,
            "abv_percent": part.abv,
            "whole": planned[part.filling.cask.number].whole
            if part.filling.cask.number in planned
            else part.whole,
            "planned": part.filling.cask.number in planned,
            "emptied": None if part.given_l is None else part.whole,
            "given_litres": part.given_l,
            "given_abv_percent": part.given_abv,
        }
        for part in ordered
    ]


def blends(db: Session) -> list[tuple[Draw, list[tuple[DrawPart, Filling, Cask]]]]:
    """Return every trial vatting with parts that a revealed session has nosed."""
    nosed = (
        select(KeyRow.draw_id)
        .join(PanelSession, PanelSession.id == KeyRow.session_id)
        .where(PanelSession.status == SessionStatus.REVEALED)
    )
    found = []
    for draw in db.scalars(select(Draw).where(Draw.id.in_(nosed)).order_by(Draw.label)):
        parts = [(part, part.filling, part.filling.cask) for part in draw.parts]
        if parts:
            found.append((draw, parts))
    return found
