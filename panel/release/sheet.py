"""The sheet for people who guide and sell: what is in a release and what the panel found in it.

It states the youngest age only, and every claim about smell or taste names the session it rests
on. Costs, cask numbers and people stay out of it.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from math import isnan
from typing import TYPE_CHECKING, Any

from sqlalchemy import select

from panel.kinds import ReleaseStatus, Stage
from panel.release.trace import find_by_name_or_lot, sessions_of
from panel.store.filling_states import filling_states
from panel.store.lexicon import Descriptor
from panel.store.releases import Release

if TYPE_CHECKING:
    from datetime import date

    import pandas as pd
    from sqlalchemy.orm import Session

    from analysis.profile import Profile
    from panel.store.releases import ReleasePart

CLOUDS_BELOW_ABV = 46.0
"""Below this, without chill filtration, haze shows in the cold; common practice, no source."""
LEVELS = ((12.0, "hardly there"), (28.0, "a little"), (50.0, "clear"), (101.0, "strong"))
"""Words for points of the 0-100 line; the house's own, the figures stand beside them."""


@dataclass(frozen=True)
class Claim:
    """One thing the panel found, and where."""

    stage: str
    note: str
    points: float
    se: float | None
    words: str
    sessions: tuple[str, ...]


@dataclass(frozen=True)
class WoodShare:
    """What share of the vat came out of a kind of wood, by bulk."""

    wood: str
    previous: str | None
    percent: float
    casks: int


@dataclass(frozen=True)
class ReleaseSheet:
    """What may be told about a release."""

    release: str
    lot_code: str | None
    status: str
    bottles: int | None
    bottle_ml: float
    abv_percent: float
    youngest_years: int | None
    casks: int
    woods: tuple[WoodShare, ...]
    malt_ppm: float | None
    malt_ppm_reason: str | None
    claims: tuple[Claim, ...]
    claims_reason: str | None
    clouds: bool

    @property
    def sessions(self) -> tuple[str, ...]:
        """The sessions that the claims rest on."""
        names = [name for claim in self.claims for name in claim.sessions]
        return tuple(dict.fromkeys(names))


def sheet_of(
    db: Session, text: str, *, as_of: date, profile: Profile | None = None
) -> ReleaseSheet:
    """Return what may be told about the release of that name or lot code.

    Raises
    ------
    UnknownRecord
        There is none.
    """
    return release_sheet(db, find_by_name_or_lot(db, text), as_of=as_of, profile=profile)


def release_sheet(
    db: Session, release: Release, *, as_of: date, profile: Profile | None = None
) -> ReleaseSheet:
    """Return what may be told about a release, as the records and the sessions have it."""
    found = json.loads(release.found_json or release.predicted_json or "{}")
    states = {
        state.filling_id: state for state in filling_states(db, as_of, besides_release=release.name)
    }
    parts = [part for part in release.parts if _litres(part) > 0.0]
    claims, reason = _claims(db, release, as_of, profile)
    ppm, ppm_reason = _malt_ppm(parts, states)
    abv = float(found.get("bottling_abv_percent") or release.abv or 0.0)
    return ReleaseSheet(
        release=release.name,
        lot_code=release.lot_code,
        status=release.status.value,
        bottles=release.bottles if release.status is ReleaseStatus.BOTTLED else found["bottles"],
        bottle_ml=release.bottle_ml,
        abv_percent=abv,
        youngest_years=_age_to_tell(release, found),
        casks=len(parts),
        woods=_woods(parts),
        malt_ppm=ppm,
        malt_ppm_reason=ppm_reason,
        claims=claims,
        claims_reason=reason,
        clouds=abv < CLOUDS_BELOW_ABV and not release.chill_filtered,
    )


def _litres(part: ReleasePart) -> float:
    return part.litres if part.given_l is None else part.given_l


def _age_to_tell(release: Release, found: dict[str, Any]) -> int | None:
    """The youngest part's age; a statement may be lower, never higher."""
    youngest = found.get("age_statement_years")
    if youngest is None:
        return None
    stated = release.age_statement_years
    return int(youngest) if stated is None else min(int(youngest), stated)


def _woods(parts: list[ReleasePart]) -> tuple[WoodShare, ...]:
    litres: dict[tuple[str, str | None], float] = defaultdict(float)
    casks: dict[tuple[str, str | None], int] = defaultdict(int)
    for part in parts:
        kind = (part.filling.cask.wood, part.filling.previous)
        litres[kind] += _litres(part)
        casks[kind] += 1
    whole = sum(litres.values())
    order = sorted(litres, key=lambda kind: (-litres[kind], kind[0], kind[1] or ""))
    return tuple(
        WoodShare(wood, previous, 100.0 * litres[wood, previous] / whole, casks[wood, previous])
        for wood, previous in order
    )


def _malt_ppm(parts: list[ReleasePart], states: dict[int, Any]) -> tuple[float | None, str | None]:
    """Malt phenols by pure alcohol."""
    total, weight = 0.0, 0.0
    for part in parts:
        ppm = states[part.filling_id].phenol_ppm if part.filling_id in states else None
        if ppm is None:
            return None, f"the malt of cask {part.filling.cask.number} is not on record"
        lpa = _litres(part) * (part.given_abv or part.abv or part.filling.fill_abv)
        total, weight = total + lpa * ppm, weight + lpa
    return (total / weight, None) if weight else (None, "nothing is in it")


def _claims(
    db: Session, release: Release, as_of: date, profile: Profile | None
) -> tuple[tuple[Claim, ...], str | None]:
    from panel.questions.profile import house_profile

    labels = [bench.draw.label for bench in release.benches]
    if not labels:
        return (), "no blend of it was mixed for the panel (`oakpanel release bench`)"
    known = profile or house_profile(db, as_of=as_of)
    rows = known.estimates[known.estimates["estimate"].notna()]
    rows = rows[rows["sample"].isin(labels)].sort_values(["last_nosed", "sample"])
    if rows.empty:
        return (), "the panel has not nosed its blend in a revealed session yet"
    sample = str(rows["sample"].iloc[-1])
    sessions = _sessions(db, release, sample)
    return tuple(_sorted(db, rows[rows["sample"] == sample], sessions)), None


def _sessions(db: Session, release: Release, sample: str) -> tuple[str, ...]:
    draw = next(bench.draw_id for bench in release.benches if bench.draw.label == sample)
    return tuple(str(name) for name, _ in sessions_of(db, [draw]))


def _sorted(db: Session, rows: pd.DataFrame, sessions: tuple[str, ...]) -> Iterator[Claim]:
    stages = {each.name: each.versions[-1].stage for each in db.scalars(select(Descriptor))}
    order = list(Stage)
    found = [
        Claim(
            stage=stages[str(row["descriptor"])].value,
            note=str(row["descriptor"]),
            points=float(row["estimate"]),
            se=None if isnan(row["se"]) else float(row["se"]),
            words=level(float(row["estimate"])),
            sessions=sessions,
        )
        for row in rows.to_dict("records")
        if str(row["descriptor"]) in stages
    ]
    yield from sorted(found, key=lambda claim: (order.index(Stage(claim.stage)), -claim.points))


def level(points: float) -> str:
    """Return a word for points of the line."""
    return next(word for below, word in LEVELS if points < below)
