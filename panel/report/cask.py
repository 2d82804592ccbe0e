"""The page of a cask: what lies in it, what the panel found, how it grows, what happened to it."""

from __future__ import annotations

from dataclasses import dataclass
from statistics import fmean
from typing import TYPE_CHECKING, Any

from panel.figures import litre_words
from panel.kinds import ServingStatus
from panel.pictures.profiles import what_it_is_like
from panel.report.ageing import MOST_DRAWN, curve_sections, reckoned, window_sections
from panel.report.common import CARE_AND_DUTY, foot
from panel.report.html import to_html
from panel.report.values import Column, Opening, Report, Section, Table, action, sentences
from panel.words.cask_words import figure_words, next_of_cask, today_words, use_words
from panel.words.glass_words import NOTES_BESIDE
from panel.words.profile_words import (
    FORETOLD,
    cannot_words,
    drawn_words,
    foretold_words,
    found_or_not_words,
    known,
    minds_words,
    reason_words,
    topped_words,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    import pandas as pd

    from analysis.ageing import Ageing
    from analysis.pictures import Picture, Plane
    from panel.questions.asked_profile import AskedProfile
    from panel.questions.cask_life import CaskLife
    from panel.questions.glasses import Glass
    from panel.questions.stands_on import StandsOn

PROFILE = (
    "A note is the mean score that the standing panel would be expected to give, by one model over "
    "all sessions that takes out each assessor's place and width on the line; ± is its standard "
    "error."
)
PROFILE_COLUMNS = (
    Column("note"),
    Column("mean", "points", figures=True),
    Column("standard error", "points", figures=True),
    Column("scores", figures=True),
    Column("sessions", figures=True),
)
FORETOLD_COLUMNS = (
    Column("note"),
    Column("foretold", "points", figures=True),
    Column("standard error", "points", figures=True),
    Column("from", "points", figures=True),
    Column("to", "points", figures=True),
)
SOURCES = (
    "Restricted likelihood: Patterson & Thompson (1971). Not found in so many glasses: Clopper & "
    "Pearson (1934).",
    "Mixing, litres and strength at 20 °C: OIML R 22 (1975).",
)


@dataclass(frozen=True)
class CaskAnswers:
    """All that is asked of one cask; a reason stands where a question has no answer."""

    life: CaskLife
    asked: AskedProfile | None
    asked_reason: str
    ageing: Ageing | None
    ageing_reason: str
    drawn: tuple[Plane, ...]
    glasses: tuple[Glass, ...]


def cask_page(answers: CaskAnswers, stands: StandsOn) -> str:
    """Return the page of one cask."""
    life = answers.life
    return to_html(
        Report(
            kind="Cask",
            name=life.number,
            fact=f"{life.wood}, {litre_words(life.size_l)}.",
            reader="To hand on.",
            opening=_opening(answers),
            pictures=(*_profile_pictures(answers), *answers.drawn[:MOST_DRAWN]),
            sections=tuple(_sections(answers)),
            reckoned=(PROFILE, *(reckoned(answers.ageing) if answers.ageing else ())),
            sources=SOURCES,
            cautions=CARE_AND_DUTY,
            foot=foot(stands),
        )
    )


def _rows(answers: CaskAnswers) -> list[tuple[str, pd.DataFrame]]:
    """The draws of the cask, foretold ones first and then the newest."""
    if answers.asked is None:
        return []
    parts = answers.asked.rows.groupby("sample", sort=False)
    found = [(str(sample), rows) for sample, rows in parts]
    return sorted(found, key=lambda part: str(part[1].iloc[0]["drawn_on"]), reverse=True)


def _opening(answers: CaskAnswers) -> Opening:
    life, asked = answers.life, answers.asked
    now = life.today
    said = sentences(
        f"{today_words(now)}." if now else "Empty.",
        use_words(now) if now else None,
        figure_words(life.figures) if life.figures else None,
    )
    nosed = any(rows.iloc[0]["kind"] != FORETOLD for _, rows in _rows(answers))
    topped = bool(asked and asked.topped_on)
    what = next_of_cask(life, nosed=nosed, topped=topped)
    return Opening(now.status if now else "empty", said, action(what))


def _profile_pictures(answers: CaskAnswers) -> Iterator[Picture]:
    for sample, rows in _rows(answers)[:1]:
        drawn = what_it_is_like(rows, sample, _about(answers, sample, rows))
        if drawn is not None:
            yield drawn


def _about(answers: CaskAnswers, sample: str, rows: pd.DataFrame) -> str:
    if rows.iloc[0]["kind"] == FORETOLD and answers.asked is not None:
        return foretold_words(answers.asked)
    return f"{sample}{drawn_words(rows.iloc[0])}."


def _sections(answers: CaskAnswers) -> Iterator[Section]:
    life = answers.life
    if life.flags:
        yield Section("Look out for", tuple(f"{flag}." for flag in life.flags))
    yield from _found(answers)
    if answers.ageing is not None:
        yield from window_sections(answers.ageing)
        yield from curve_sections(answers.ageing)
    else:
        yield Section("How its notes grow", (answers.ageing_reason,))
    yield from _glasses(answers.glasses)
    rows = [(str(e.happened_on), e.kind, f"{e.filling}: {e.words}") for e in life.entries]
    columns = (Column("day"), Column("what happened"), Column("filling and figures"))
    yield Section("The records", tables=(Table("", columns, rows),))


def _found(answers: CaskAnswers) -> Iterator[Section]:
    """What the panel found in each draw, or what is foretold."""
    asked = answers.asked
    if asked is None:
        yield Section("What the panel found", (answers.asked_reason,))
        return
    for sample, rows in _rows(answers):
        foretold = rows.iloc[0]["kind"] == FORETOLD
        if foretold:
            refused = asked.foretold is not None and asked.foretold.refused
            told = rows[rows["estimate"].notna()]
            said = sentences(
                *minds_words(told), *cannot_words(rows, refused=refused), foretold_words(asked)
            )
            yield Section(f"What is foretold of {sample}", said, tables=_foretold(told))
            continue
        said = sentences(
            f"{sample}{drawn_words(rows.iloc[0])}.",
            topped_words(asked, sample),
            *reason_words(rows),
            *found_or_not_words(rows),
        )
        yield Section(f"What the panel found in {sample}", said, tables=(_profile(rows),))


def _profile(rows: pd.DataFrame) -> Table:
    cells = [
        (str(r["descriptor"]), known(r["estimate"]), known(r["se"]), *_counts(r))
        for r in rows.to_dict("records")
    ]
    return Table("", PROFILE_COLUMNS, cells)


def _counts(row: dict[Any, Any]) -> tuple[str, str]:
    return f"{row['n_scores']}", f"{row['n_sessions']}"


def _foretold(told: pd.DataFrame) -> tuple[Table, ...]:
    names = ("estimate", "se", "low", "high")
    cells = [
        (str(row["descriptor"]), *(known(row[name]) for name in names))
        for row in told.to_dict("records")
    ]
    return (Table("", FORETOLD_COLUMNS, cells),) if cells else ()


def _glasses(glasses: Sequence[Glass]) -> Iterator[Section]:
    """Its glasses over the years: a row a session and draw, the mean of those that count."""
    kept = [one for one in glasses if one.state is ServingStatus.KEPT and not one.warm_up]
    if not kept:
        return
    notes = sorted({note for glass in kept for note in glass.scores})
    held = sorted({(str(one.held_on or "-"), one.session, one.draw or "-") for one in kept})
    tables = []
    for start in range(0, len(notes), NOTES_BESIDE):
        beside = notes[start : start + NOTES_BESIDE]
        rows = [_mean_row(key, beside, kept) for key in held]
        columns = (
            *(Column("session"), Column("held on"), Column("draw")),
            *(Column("glasses", figures=True), *(Column(note, figures=True) for note in beside)),
        )
        tables.append(Table("", columns, rows))
    said = "Means of the scores as they were given, in points of their lines; nothing taken out."
    yield Section("Its glasses over the years", (said,), tables=tuple(tables))


def _mean_row(
    key: tuple[str, str, str], notes: Sequence[str], glasses: Sequence[Glass]
) -> tuple[str, ...]:
    held_on, session, draw = key
    mine = [one for one in glasses if one.session == session and (one.draw or "-") == draw]
    found = [[one.scores[note] for one in mine if note in one.scores] for note in notes]
    means = [f"{fmean(scores):.0f}" if scores else "-" for scores in found]
    return (session, held_on, draw, str(len(mine)), *means)
