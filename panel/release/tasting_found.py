"""What the panel found in a release's blend, for guests: how, the middle half, words of its own."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.kinds import GlassKind, Manner, SessionStatus
from panel.release.sheet import rows_nosed_last
from panel.store.key import KeyRow
from panel.store.lexicon import meanings
from panel.store.sessions import PanelSession

if TYPE_CHECKING:
    from datetime import date

    import pandas as pd
    from sqlalchemy.orm import Session

    from analysis.profile import Profile
    from panel.store.releases import Release

LEAST_ASSESSORS = 4
"""People of whom a middle half is told; of fewer it would be one of them."""
FEW_WORDS = 5
KEPT = "kept"


@dataclass(frozen=True)
class NosedAt:
    """A revealed session on the lexicon that had the blend: its strength, and how it was held."""

    session: str
    nosing_abv_percent: float
    manner: Manner


@dataclass(frozen=True)
class MiddleHalf:
    """Between which points the middle half of the panel lies, and how many people it is."""

    low: float
    high: float
    assessors: int


@dataclass(frozen=True)
class OwnWord:
    """A word of somebody's own for the blend, and the house's note that a lead took it to mean.

    Whose word it was is left out on purpose.
    """

    word: str
    note: str | None
    meaning: str | None


@dataclass(frozen=True)
class PanelFound:
    """All of it; empty where the panel had no blend of the release."""

    nosed: tuple[NosedAt, ...] = ()
    halves: Mapping[str, MiddleHalf] | None = None
    words: tuple[OwnWord, ...] = ()


def found_in(
    db: Session, release: Release, *, as_of: date, profile: Profile | None = None
) -> PanelFound:
    """Return what the panel found in the blend of a release, the one nosed last."""
    from panel.questions.profile import house_profile

    draws = {bench.draw.label: bench.draw_id for bench in release.benches}
    if not draws:
        return PanelFound()
    words = tuple(_own_words(db, draws, as_of))
    rows = rows_nosed_last(profile or house_profile(db, as_of=as_of), list(draws))
    if rows.empty:
        return PanelFound(words=words)
    label = str(rows["sample"].iloc[0])
    held = [one for one in _sessions(db, [draws[label]], as_of) if not one.kind.facts.own_lines]
    nosed = tuple(NosedAt(one.name, one.nosing_abv, one.manner) for one in held)
    return PanelFound(nosed, _halves(db, label, nosed, as_of), words)


def _sessions(db: Session, draw_ids: Sequence[int], as_of: date) -> list[PanelSession]:
    query = (
        select(PanelSession)
        .join(KeyRow, KeyRow.session_id == PanelSession.id)
        .where(
            KeyRow.draw_id.in_(draw_ids),
            KeyRow.kind != GlassKind.WARM_UP,
            PanelSession.status == SessionStatus.REVEALED,
            PanelSession.held_on <= as_of,
        )
        .order_by(PanelSession.held_on, PanelSession.name)
    )
    return list(dict.fromkeys(db.scalars(query)))


def _halves(
    db: Session, label: str, nosed: Sequence[NosedAt], as_of: date
) -> dict[str, MiddleHalf]:
    """By note the middle half of the assessors' own means, on the line from 0 to 100."""
    from panel.frames import scores_frame

    frame = scores_frame(db, sessions=[one.session for one in nosed], as_of=as_of)
    own = frame[_counted(frame, label) & frame["score"].notna()]
    points = 100.0 * (own["score"] - own["scale_low"]) / (own["scale_high"] - own["scale_low"])
    means = own.assign(points=points).groupby(["descriptor", "assessor"], observed=True)["points"]
    found = {}
    for note, values in means.mean().groupby("descriptor", observed=True):
        if len(values) >= LEAST_ASSESSORS:
            low, high = values.quantile([0.25, 0.75])
            found[str(note)] = MiddleHalf(float(low), float(high), len(values))
    return found


def _counted(frame: pd.DataFrame, label: str) -> pd.Series[bool]:
    kept = (frame["status"] == KEPT) & (frame["kind"] != GlassKind.WARM_UP.value)
    return kept & (frame["sample"] == label)


def _own_words(db: Session, draws: Mapping[str, int], as_of: date) -> Iterator[OwnWord]:
    """Give the words that most was scored of, each once, however many people had it."""
    strongest: dict[str, tuple[float, OwnWord]] = {}
    for session in _sessions(db, list(draws.values()), as_of):
        if session.kind.facts.own_lines:
            for score, word in _words_of(db, session.name, list(draws)):
                before = strongest.get(word.word.casefold())
                if before is None or before[0] < score:
                    strongest[word.word.casefold()] = score, word
    order = sorted(strongest.items(), key=lambda one: (-one[1][0], one[0]))
    yield from (word for _, (_, word) in order[:FEW_WORDS])


def _words_of(db: Session, name: str, labels: Sequence[str]) -> Iterator[tuple[float, OwnWord]]:
    from panel.frames import own_words_frame
    from panel.session.own_words import session_words

    means = meanings(db)
    lines = session_words(db, name, by=None)
    notes = {(line.assessor, line.word): line.descriptor for line in lines}
    frame = own_words_frame(db, name)
    told = frame["sample"].isin(labels) & (frame["status"] == KEPT) & (frame["score"] > 0)
    for row in frame[told & (frame["kind"] != GlassKind.WARM_UP.value)].to_dict("records"):
        note = notes.get((str(row["assessor"]), str(row["word"])))
        meaning = None if note is None else means.get(note)
        yield float(row["score"]), OwnWord(str(row["word"]), note, meaning)
