"""The bench blend of a release as the panel nosed it, against the target and the prediction."""

from __future__ import annotations

import json
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from sqlalchemy import select

from analysis.as_json import AsJson
from analysis.chance_words import chance
from panel.figures import in_digits
from panel.kinds import GlassKind, SessionStatus
from panel.release.recipe import STEP_ML
from panel.store.key import KeyRow
from panel.store.release_records import find_release
from panel.store.sessions import PanelSession

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from datetime import date

    from sqlalchemy.orm import Session

    from analysis.profile import Profile
    from analysis.target import NosedLine, SampleNosed
    from panel.store.draws import Draw
    from panel.store.releases import Release, ReleaseBench

AS_MIXED = 0.005
"""A blend whose shares differ by less of the whole was mixed of those litres: a pipette's error."""


class Litres(StrEnum):
    """Which litres a blend was mixed by."""

    PLANNED = "planned"
    DISGORGED = "disgorged"
    OTHER = "other"


@dataclass(frozen=True)
class BenchLine:
    """One line of the target: as nosed, and as it had been predicted before."""

    nosed: NosedLine
    predicted: float | None
    predicted_sd: float | None

    json_keys = (("nosed", "**"), "predicted", "predicted_sd")


@dataclass(frozen=True)
class Evening:
    """A revealed session that nosed the blend, and at which strength."""

    session: str
    held_on: date | None
    nosing_abv_percent: float


@dataclass(frozen=True)
class BenchNosed(AsJson):
    """What the panel found in the bench blend of a release, beside what was predicted.

    Attributes
    ----------
    sample, drawn_on, volume_ml, abv_percent
        The blend, when it was mixed, how much, and its strength before it was reduced.
    litres, other_share
        Which litres of the release it was mixed by, and by what share of the whole it is
        otherwise than the release is now.
    probability, reason
        Chance that it is within every tolerance; else why none can be told.
    predicted
        The chance that was kept with the plan.
    """

    sample: str
    drawn_on: date | None
    volume_ml: float | None
    abv_percent: float | None
    litres: Litres
    other_share: float
    evenings: tuple[Evening, ...]
    lines: tuple[BenchLine, ...]
    probability: float | None
    reason: str | None
    predicted: float | None

    json_also = ("sentence",)

    @property
    def out(self) -> tuple[NosedLine, ...]:
        """The lines that it is out on by more than the panel may err."""
        return tuple(line.nosed for line in self.lines if line.nosed.is_out)

    @property
    def sentence(self) -> str:
        """How the blend lies to the target, with the prediction beside it."""
        sessions = ", ".join(evening.session for evening in self.evenings)
        said = f"As nosed (blend {self.sample}, session {sessions}): "
        if self.probability is None:
            said += f"no chance can be told, {self.reason}"
        else:
            said += f"within the target with chance {chance(self.probability)}"
        said += "" if self.predicted is None else f"; predicted was {chance(self.predicted)}"
        if self.out:
            said += f". Outside its tolerance: {', '.join(_out_words(line) for line in self.out)}"
        return f"{said}."


def _out_words(line: NosedLine) -> str:
    return (
        f"{line.descriptor} {in_digits(line.estimate or 0.0, '.1f')} (standard error "
        f"{in_digits(line.se or 0.0, '.1f')}) for "
        f"{in_digits(line.aim, 'g')} ± {in_digits(line.tolerance, 'g')}"
    )


def nosed_blend(
    db: Session, text: str, *, as_of: date, profile: Profile | None = None
) -> BenchNosed | None:
    """Return the same as `bench_nosed` of the release of that name."""
    return bench_nosed(db, find_release(db, text), as_of=as_of, profile=profile)


def profile_of_nosed(db: Session, text: str, *, as_of: date) -> Profile | None:
    """Return the house's profile where a blend of that release was nosed; else it is not wanted.

    Reckoned once outside a write transaction, for all that is asked of the release then.
    """
    from panel.questions.profile import house_profile

    return house_profile(db, as_of=as_of) if is_nosed(db, text, as_of=as_of) else None


def is_nosed(db: Session, text: str, *, as_of: date) -> bool:
    """Whether a revealed session has nosed a bench blend of the release of that name."""
    release = find_release(db, text)
    return any(_evenings(db, bench.draw_id, as_of) for bench in release.benches)


def why_not_nosed(release: Release) -> str:
    """Return why the panel has found nothing in a bench blend of a release."""
    if not release.benches:
        return "no blend of it was mixed for the panel"
    return "no revealed session has nosed its blend"


def wants_nosing(release: Release) -> str | None:
    """Return why a blend is not nosed that ought to be before anybody signs.

    What is of one cask is no blend, and what has no target can be put against none.
    """
    mixed = sum(part.given_l is None or part.given_l > 0.0 for part in release.parts) > 1
    return why_not_nosed(release) if mixed and release.target is not None else None


def bench_nosed(
    db: Session, release: Release, *, as_of: date, profile: Profile | None = None
) -> BenchNosed | None:
    """Return what the panel found in the release's bench blend nosed last; None if in none yet."""
    from analysis.target import sample_against
    from panel.frames import target_of
    from panel.questions.profile import house_profile

    nosed = [(bench, _evenings(db, bench.draw_id, as_of)) for bench in release.benches]
    nosed = [(bench, evenings) for bench, evenings in nosed if evenings]
    if not nosed or release.target is None:
        return None
    bench, evenings = max(nosed, key=lambda one: _when(*one))
    known = profile or house_profile(db, as_of=as_of)
    found = sample_against(known, bench.draw.label, target_of(db, release.target.name))
    return _nosed(release, bench.draw, evenings, found)


def _evenings(db: Session, draw_id: int, as_of: date) -> tuple[Evening, ...]:
    query = (
        select(PanelSession.name, PanelSession.held_on, PanelSession.nosing_abv)
        .join(KeyRow, KeyRow.session_id == PanelSession.id)
        .where(
            KeyRow.draw_id == draw_id,
            KeyRow.kind != GlassKind.WARM_UP,
            PanelSession.status == SessionStatus.REVEALED,
            PanelSession.held_on <= as_of,
        )
        .distinct()
        .order_by(PanelSession.held_on, PanelSession.name)
    )
    return tuple(Evening(name, held_on, abv) for name, held_on, abv in db.execute(query))


def _when(bench: ReleaseBench, evenings: tuple[Evening, ...]) -> tuple[str, str]:
    return str(evenings[-1].held_on), bench.draw.label


def _nosed(
    release: Release, draw: Draw, evenings: tuple[Evening, ...], found: SampleNosed
) -> BenchNosed:
    planned = json.loads(release.predicted_json or "{}")
    litres, other_share = _mixed_by(release, draw)
    return BenchNosed(
        sample=draw.label,
        drawn_on=draw.drawn_on,
        volume_ml=draw.volume_ml,
        abv_percent=draw.abv,
        litres=litres,
        other_share=other_share,
        evenings=evenings,
        lines=tuple(_beside(found, planned)),
        probability=found.probability,
        reason=found.reason,
        predicted=planned.get("probability"),
    )


def _beside(
    found: SampleNosed, planned: Mapping[str, list[dict[str, float]]]
) -> Iterator[BenchLine]:
    before = {str(line["descriptor"]): line for line in planned.get("prediction") or []}
    for line in found.lines:
        then = before.get(line.descriptor, {})
        yield BenchLine(line, then.get("estimate"), then.get("sd"))


def _mixed_by(release: Release, draw: Draw) -> tuple[Litres, float]:
    """Which litres the blend was mixed by, and how far it is from what the release is now."""
    mixed = _shares({part.filling_id: part.millilitres for part in draw.parts})
    planned = _shares({part.filling_id: part.litres for part in release.parts})
    given = {part.filling_id: part.given_l for part in release.parts if part.given_l is not None}
    gave = _shares(given) if given else planned
    now, near = _apart(mixed, gave), _near(draw)
    if given and now <= near:
        return Litres.DISGORGED, now
    return (Litres.PLANNED if _apart(mixed, planned) <= near else Litres.OTHER), now


def _near(draw: Draw) -> float:
    """What pouring in whole steps may change, beside a pipette's error."""
    whole = sum(part.millilitres for part in draw.parts)
    return AS_MIXED + (len(draw.parts) * STEP_ML / 4.0 / whole if whole > 0.0 else 0.0)


def _shares(amounts: Mapping[int, float]) -> dict[int, float]:
    whole = sum(amounts.values())
    return {name: amount / whole for name, amount in amounts.items()} if whole > 0.0 else {}


def _apart(one: Mapping[int, float], other: Mapping[int, float]) -> float:
    """The share of the whole that would have to be exchanged."""
    names = one.keys() | other.keys()
    return sum(abs(one.get(name, 0.0) - other.get(name, 0.0)) for name in names) / 2.0
