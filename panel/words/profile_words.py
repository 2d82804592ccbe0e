"""Profiles as lines of text: nosed samples with their scores, casks never nosed as foretold."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import isnan
from typing import TYPE_CHECKING, Any

from analysis.age_words import age_figure
from panel.figures import in_digits
from panel.words.answers import INDENT, paragraph
from panel.words.columns import columns

if TYPE_CHECKING:
    import pandas as pd

    from panel.questions.asked_profile import AskedProfile

FORETOLD = "foretold"
NEVER_NOSED = "foretold, never nosed"


def asked_lines(asked: AskedProfile, width: int = 80) -> list[str]:
    """Return what to know first, then the samples asked for, note by note."""
    lines = note_lines(asked, width)
    refused = asked.foretold is not None and asked.foretold.refused
    for sample, rows in asked.rows.groupby("sample", sort=False):
        told = [*_one(str(sample), rows, width, refused=refused)]
        lines += [*told, *_topped(asked, str(sample), width), ""]
    if asked.ends_note is not None:
        lines += [*paragraph(asked.ends_note, width), ""]
    if asked.foretold is not None:
        return lines + paragraph(foretold_words(asked), width)
    return lines[:-1]


def list_lines(asked: AskedProfile, width: int = 80) -> list[str]:
    """Return one line a nosed sample, and how many casks nobody nosed."""
    rows = asked.rows.drop_duplicates("sample")
    table = [
        (row.sample, row.cask if isinstance(row.cask, str) else "-", row.kind, row.n_sessions)
        for row in rows.itertuples()
    ]
    lines = note_lines(asked, width) + columns(("sample", "cask", "kind", "sessions"), table)
    said = "`oakpanel profile SAMPLE` shows one; --json has all figures."
    if asked.n_unnosed:
        casks = (
            "1 cask was"
            if asked.n_unnosed == 1
            else (f"{in_digits(asked.n_unnosed, ',')} casks were")
        )
        said += f" {casks} never nosed: `oakpanel profile CASK` foretells one."
    return [*lines, "", *paragraph(said, width)]


def note_lines(asked: AskedProfile, width: int) -> list[str]:
    """Return what to know before samples are compared."""
    said = [
        asked.waiting_note,
        asked.profile.note,
        None if asked.named else asked.apart_notes,
    ]
    return [line for note in said if note for line in (*paragraph(note, width), "")]


def foretold_words(asked: AskedProfile) -> str:
    """Say what foretold figures rest on, and what to do."""
    found = asked.foretold
    if found is None:
        return ""
    if found.rows["estimate"].isna().all():
        return "Nose it: nothing of it is known before that."
    mixed = [_mixed_words(filling, samples) for filling, samples in found.parents.items()]
    if set(found.rows.loc[found.rows["estimate"].notna(), "filling"]) <= set(found.parents):
        return f"{' '.join(mixed)} Nose it before you act on it."
    told = (
        f"Foretold from {found.n_casks} casks that were nosed, by wood, fill, age, phenols, "
        "strength when filled, make, batch and place; 19 in 20 such casks lie between the two "
        "bounds. Nose it before you act on it."
    )
    return " ".join([*mixed, told])


def _mixed_words(filling: str, samples: Sequence[str]) -> str:
    """On what a filling foretold from its parents rests."""
    return (
        f"{filling} is foretold from what went into it ({', '.join(samples)}), mixed by pure "
        "alcohol; what its new wood has done is not in it, and what the mixing rule may be off is "
        "in the bounds."
    )


def _one(sample: str, rows: pd.DataFrame, width: int, *, refused: bool) -> list[str]:
    first = rows.iloc[0]
    cask = f", cask {first['cask']}" if isinstance(first["cask"], str) else ""
    if first["kind"] == FORETOLD:
        age = "" if isnan(first["age_years"]) else f" ({age_figure(first['age_years'])} years old)"
        told = NEVER_NOSED if rows["estimate"].notna().any() else "never nosed"
        return [f"{sample}{cask}{age}: {told}", *_foretold(rows, width, refused=refused)]
    table = [
        (row.descriptor, known(row.estimate), known(row.se), row.n_scores, row.n_sessions)
        for row in rows.itertuples()
    ]
    headings = ("note", "points", "se", "scores", "sessions")
    said = [*_reasons(rows, width), *_found_or_not(rows, width)]
    return [f"{sample}{cask}{drawn_words(first)}", *columns(headings, table), *said]


def _topped(asked: AskedProfile, sample: str, width: int) -> Iterator[str]:
    said = topped_words(asked, sample)
    if said:
        yield from paragraph(said, width, INDENT)


def topped_words(asked: AskedProfile, sample: str) -> str:
    """Return that its cask was topped after a draw; nothing where it was not."""
    day = asked.topped_on.get(sample)
    if day is None:
        return ""
    return f"Mind: its cask was topped on {day}, after this was drawn: draw it again."


def drawn_words(row: pd.Series) -> str:
    """When it was drawn and how old it was, as far as that is on record."""
    day = str(row["drawn_on"])[:10]
    drawn = f", drawn {day}" if day[:1].isdigit() else ""
    age = row["age_years"]
    return drawn if age is None or isnan(age) else f"{drawn}, {age_figure(age)} years old"


def _found_or_not(rows: pd.DataFrame, width: int) -> Iterator[str]:
    for said in found_or_not_words(rows):
        yield from paragraph(said, width, INDENT)


def found_or_not_words(rows: pd.DataFrame) -> Iterator[str]:
    """In how many glasses a note was found that most samples lack, a sentence each."""
    from analysis.profile.words import found_or_not

    for row in rows[rows["found_at_most"].notna()].to_dict("records"):
        counts = int(row["n_found"]), int(row["n_scores"])
        said = found_or_not(*counts, float(row["raw_mean"]), float(row["found_at_most"]))
        yield f"{row['descriptor']}: {said}."


def _reasons(rows: pd.DataFrame, width: int) -> Iterator[str]:
    for said in reason_words(rows):
        yield from paragraph(said, width, INDENT)


def reason_words(rows: pd.DataFrame) -> Iterator[str]:
    """What stands in the way of comparing or estimating, once for all notes that share it."""
    for reason, some in rows[rows["reason"].notna()].groupby("reason", sort=False):
        yield f"Mind: {', '.join(some['descriptor'])}: {reason}."


def _foretold(rows: pd.DataFrame, width: int, *, refused: bool) -> Iterator[str]:
    """Foretold notes with their bounds; reasons once each, since all notes mostly share them."""
    told = rows[rows["estimate"].notna()]
    table = [
        (row.descriptor, *(known(value) for value in (row.estimate, row.se, row.low, row.high)))
        for row in told.itertuples()
    ]
    if table:
        yield from columns(("note", "points", "se", "from", "to"), table)
    for said in minds_words(told):
        yield from paragraph(said, width, INDENT)
    for said in cannot_words(rows, refused=refused):
        yield from paragraph(said, width)


def minds_words(told: pd.DataFrame) -> Iterator[str]:
    """What to mind of notes that are foretold, a sentence each reason."""
    for reason, some in told[told["reason"].notna()].groupby("reason", sort=False):
        which = "" if len(some) == len(told) else f" ({', '.join(some['descriptor'])})"
        yield f"Mind: {reason}{which}."


def cannot_words(rows: pd.DataFrame, *, refused: bool) -> Iterator[str]:
    """Which notes cannot be foretold; where everything is `refused` the reason is sentences."""
    for reason, some in rows[rows["estimate"].isna()].groupby("reason", sort=False):
        which = "" if len(some) == len(rows) else f"{', '.join(some['descriptor'])}: "
        begins = f"{which}cannot" if which else "Cannot"
        stop = "" if refused else "."
        yield f"{begins} be foretold: {reason}{stop}"


def known(value: Any) -> str:
    """Return points with one decimal, a stroke where there are none."""
    return "-" if value is None or isnan(value) else in_digits(value, ".1f")
