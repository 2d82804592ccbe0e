"""The sheet for people who guide and sell: what is in a release and what the panel found in it.

It states the youngest age only, and every claim about smell or taste names the session it rests
on. Costs, cask numbers and people stay out of it.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import floor, isnan
from typing import TYPE_CHECKING, Any

from sqlalchemy import select

from analysis.as_json import AsJson
from panel.kinds import ReleaseStatus, Stage
from panel.release.benched import BenchNosed, bench_nosed, profile_of_nosed
from panel.release.category import Category, category_of
from panel.release.trace import agreed_of, find_by_name_or_lot, sessions_of
from panel.release.woods import WoodShare, wood_shares
from panel.store.filling_states import FillingState, filling_states
from panel.store.lexicon import Descriptor, DescriptorVersion
from panel.store.log import head_hash
from panel.store.releases import Release
from panel.store.sessions import PanelSession, SessionDescriptor

if TYPE_CHECKING:
    from datetime import date

    import pandas as pd
    from sqlalchemy.orm import Session

    from analysis.profile import Profile
    from panel.store.log import head_hash
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
    meaning: str | None = None


@dataclass(frozen=True)
class AgreedCasks:
    """How many casks are in it although their records bar them, as was agreed by name."""

    bar: str
    casks: int


@dataclass(frozen=True)
class ReleaseSheet(AsJson):
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
    category: Category
    agreed: tuple[AgreedCasks, ...] = ()
    nosed: BenchNosed | None = None
    log_head: str = ""
    """The newest link of the log as the sheet was made: `oakpanel db check --head` looks for it."""

    json_keys = (
        *("release", "lot_code", "status", "bottles", "bottle_ml", "abv_percent"),
        *("youngest_years", "casks", "woods", "malt_ppm", "malt_ppm_reason", "claims"),
        *("claims_reason", "clouds", ("category_name", "category"), "agreed", "nosed"),
        *("log_head", "makes", "sites", "category_reason"),
    )

    @property
    def category_name(self) -> str | None:
        """What it may be called by its makes; None with the reason."""
        return self.category.name

    @property
    def category_reason(self) -> str | None:
        """Why it has no category."""
        return self.category.reason

    @property
    def makes(self) -> tuple[str, ...]:
        """The makes that are in it."""
        return self.category.makes

    @property
    def sites(self) -> tuple[str, ...]:
        """Where they were made."""
        return self.category.sites

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
    known = profile or profile_of_nosed(db, release.name, as_of=as_of)
    claims, reason = _claims(db, release, as_of, known)
    ppm, ppm_reason = _malt_ppm(parts, states)
    abv = float(found.get("bottling_abv_percent") or release.abv or 0.0)
    day = release.disgorged_on or release.bottling_on or as_of
    lying = [states.get(part.filling_id) for part in parts]
    woods = wood_shares([(part.filling, _litres(part)) for part in parts], states, day)
    lay_in = {wood for share in woods for wood in (share.wood, *share.before)}
    return ReleaseSheet(
        release=release.name,
        lot_code=release.lot_code,
        status=release.status.value,
        bottles=release.bottles if release.status is ReleaseStatus.BOTTLED else found["bottles"],
        bottle_ml=release.bottle_ml,
        abv_percent=abv,
        youngest_years=_age_to_tell(release, found, lying, day),
        casks=len(parts),
        woods=woods,
        malt_ppm=ppm,
        malt_ppm_reason=ppm_reason,
        claims=claims,
        claims_reason=reason,
        clouds=abv < CLOUDS_BELOW_ABV and not release.chill_filtered,
        category=category_of(db, [None if one is None else one.makes for one in lying], lay_in),
        agreed=tuple(_agreed(release)),
        nosed=bench_nosed(db, release, as_of=as_of, profile=known),
        log_head=head_hash(db),
    )


def _agreed(release: Release) -> Iterator[AgreedCasks]:
    counts = Counter(str(each["bar"]) for each in agreed_of(release))
    for bar, casks in sorted(counts.items()):
        yield AgreedCasks(bar, casks)


def _litres(part: ReleasePart) -> float:
    return part.litres if part.given_l is None else part.given_l


def _age_to_tell(
    release: Release, found: dict[str, Any], lying: Sequence[FillingState | None], day: date
) -> int | None:
    """The youngest part's age by the records of today; a statement may be lower, never higher."""
    youngest = found.get("age_statement_years")
    ages = [None if each is None else each.inherited.age_on(day) for each in lying]
    known = [floor(age) for age in ages if age is not None]
    if youngest is None or len(known) < len(ages):
        return None
    stated = [] if release.age_statement_years is None else [release.age_statement_years]
    return min([int(youngest), *known, *stated])


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
    rows = rows_nosed_last(known, labels)
    if rows.empty:
        return (), "the panel has not nosed its blend in a revealed session yet"
    sample = str(rows["sample"].iloc[0])
    claims = tuple(_sorted(db, rows, _sessions(db, release, sample)))
    return claims, None if claims else "no revealed session says what was found in its blend"


def rows_nosed_last(known: Profile, labels: Sequence[str]) -> pd.DataFrame:
    """Return what a profile says of the bench blend nosed last among those of these labels."""
    rows = known.estimates[known.estimates["estimate"].notna()]
    rows = rows[rows["sample"].isin(labels)].sort_values(["last_nosed", "sample"])
    return rows if rows.empty else rows[rows["sample"] == rows["sample"].iloc[-1]]


def _sessions(db: Session, release: Release, sample: str) -> dict[str, tuple[str, ...]]:
    """By note the revealed sessions that nosed the blend with that note on the sheet."""
    draw = next(bench.draw_id for bench in release.benches if bench.draw.label == sample)
    names = [str(name) for name, _ in sessions_of(db, [draw])]
    lines = (
        select(Descriptor.name, PanelSession.name)
        .join(DescriptorVersion, DescriptorVersion.descriptor_id == Descriptor.id)
        .join(SessionDescriptor, SessionDescriptor.descriptor_version_id == DescriptorVersion.id)
        .join(PanelSession, PanelSession.id == SessionDescriptor.session_id)
        .where(PanelSession.name.in_(names))
    )
    on_sheet = {(note, session) for note, session in db.execute(lines)}
    notes = {note for note, _ in on_sheet}
    return {note: tuple(name for name in names if (note, name) in on_sheet) for note in notes}


def _sorted(
    db: Session, rows: pd.DataFrame, sessions: Mapping[str, tuple[str, ...]]
) -> Iterator[Claim]:
    lines = {each.name: each.versions[-1] for each in db.scalars(select(Descriptor))}
    order = list(Stage)
    found = [
        Claim(
            stage=lines[str(row["descriptor"])].stage.value,
            note=str(row["descriptor"]),
            points=float(row["estimate"]),
            se=None if isnan(row["se"]) else float(row["se"]),
            words=level(float(row["estimate"])),
            sessions=sessions[str(row["descriptor"])],
            meaning=lines[str(row["descriptor"])].meaning,
        )
        for row in rows.to_dict("records")
        if str(row["descriptor"]) in lines and sessions.get(str(row["descriptor"]))
    ]
    yield from sorted(found, key=lambda claim: (order.index(Stage(claim.stage)), -claim.points))


def level(points: float) -> str:
    """Return a word for points of the line."""
    return next(word for below, word in LEVELS if points < below)
