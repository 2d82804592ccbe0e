"""The sheet of a release in plain words, for people who guide and sell."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from panel.kinds import ReleaseStatus, Stage
from panel.questions.vatting import ASK
from panel.release.sheet import CLOUDS_BELOW_ABV, LEVELS
from panel.words.answers import paragraph
from panel.words.benched_words import mixed_sentence

if TYPE_CHECKING:
    from panel.release.sheet import Claim, ReleaseSheet
    from panel.release.woods import WoodShare

SMOKE_WORDS = ("smoke", "peat")
FEW_NOTES = 4


def sheet_lines(sheet: ReleaseSheet, width: int = 80) -> list[str]:
    """Return the sheet in plain words."""
    blocks = [
        _heading(sheet),
        _make_words(sheet),
        _wood_words(sheet),
        _age_words(sheet),
        _peat_words(sheet),
        *_stage_words(sheet),
        *_bench_words(sheet),
        _cloud_words(sheet),
        _agreed_words(sheet),
        _source_words(sheet),
    ]
    lines = [sheet.release.upper()]
    for block in blocks:
        if block:
            lines += ["", *paragraph(block, width)]
    return lines


def _heading(sheet: ReleaseSheet) -> str:
    words = f"{sheet.bottles or 0:,} bottles of {sheet.bottle_ml:g} mL at {sheet.abv_percent:.1f} "
    words += f"% vol, from {sheet.casks} cask{'' if sheet.casks == 1 else 's'}"
    words += f"; lot {sheet.lot_code}." if sheet.lot_code else "."
    if sheet.status != ReleaseStatus.BOTTLED.value:
        words += f" A DRAFT: the release is {sheet.status}, its figures may still change."
    return words


def _wood_words(sheet: ReleaseSheet) -> str:
    parts = []
    for share in sheet.woods:
        before = f" that held {share.previous} before" if share.previous else ""
        casks = f"{share.casks} cask{'' if share.casks == 1 else 's'}"
        second = _second_wood(share)
        parts.append(f"{share.percent:.0f} % from {share.wood}{before} ({casks}){second}")
    return f"Wood, by volume before water: {'; '.join(parts)}."


def _second_wood(share: WoodShare) -> str:
    """What re-racked spirit lay in before, and for how long in each."""
    if share.years is None:
        return ""
    least = "" if share.casks == 1 else "at least "
    woods = " and ".join(share.before)
    first = "" if share.years_before is None else f"at least {share.years_before:.1f} years in "
    if share.finish:
        return f", a finish of {least}{share.years:.1f} years after {first}{woods}"
    return f", where it lay its last {share.years:.1f} years after {first}{woods}"


def _make_words(sheet: ReleaseSheet) -> str:
    found = sheet.category
    if found.name is None:
        return f"Make: {found.reason}, so the records do not say what kind of whisky it is."
    makes = f"{'make' if len(found.makes) == 1 else 'makes'} {', '.join(found.makes)}"
    return (
        f"Make: {makes}, distilled at {' and '.join(found.sites)}; by that it is {found.name} "
        "whisky. What the label may say, your label adviser says."
    )


def _age_words(sheet: ReleaseSheet) -> str:
    if sheet.youngest_years is None:
        return "Age: none may be told; the records do not hold the age of every part."
    return f"Age: every drop of it has spent at least {sheet.youngest_years} years in wood."


def _peat_words(sheet: ReleaseSheet) -> str:
    if sheet.malt_ppm is None:
        malt = f"Peat: {sheet.malt_ppm_reason}."
    else:
        malt = (
            f"Peat: the malt had {sheet.malt_ppm:.0f} ppm of phenols on average. That is measured "
            "in the malt, not in the glass."
        )
    smoky = [c for c in sheet.claims if any(word in c.note.lower() for word in SMOKE_WORDS)]
    found = ", ".join(f"{c.note} {c.words} ({c.points:.0f} of 100)" for c in smoky)
    return f"{malt} In the glass the panel found {found}." if found else malt


def _stage_words(sheet: ReleaseSheet) -> Iterator[str]:
    if not sheet.claims:
        yield f"Nothing can be told of smell and taste: {sheet.claims_reason}."
        return
    for stage in Stage:
        found = [claim for claim in sheet.claims if claim.stage == stage.value]
        told = [claim for claim in found if claim.points >= LEVELS[0][0]][:FEW_NOTES]
        notes = ", ".join(_note_words(claim) for claim in told)
        sessions = ", ".join(dict.fromkeys(name for claim in told for name in claim.sessions))
        if told:
            yield f"{stage.value.capitalize()}: {notes}. Found blind in session {sessions}."
        elif found:
            yield f"{stage.value.capitalize()}: nothing above a trace."
        elif stage in {Stage.ARRIVAL, Stage.FINISH}:
            yield f"{stage.value.capitalize()}: the panel scored no note of it; tell nothing."


def _bench_words(sheet: ReleaseSheet) -> Iterator[str]:
    """Say that a blend was nosed and not the bottling, of what it was mixed, and how near it is."""
    if sheet.nosed is not None:
        yield f"What was nosed is a bench blend, not the bottling. {mixed_sentence(sheet.nosed)}"
        yield sheet.nosed.sentence


def _note_words(claim: Claim) -> str:
    """A note with its points and what the house means by it."""
    meaning = f": {claim.meaning.rstrip('.')}" if claim.meaning else ""
    return f"{claim.note} ({claim.words}, {claim.points:.0f}{meaning})"


def _cloud_words(sheet: ReleaseSheet) -> str:
    if not sheet.clouds:
        return ""
    return (
        f"It is below {CLOUDS_BELOW_ABV:g} % vol and not chill filtered: it may cloud in the cold "
        "or with water. That is no fault."
    )


def _agreed_words(sheet: ReleaseSheet) -> str:
    """What was taken in although the records bar it; which casks, the release's own record says."""
    if not sheet.agreed:
        return ""
    each = [f"{a.casks} cask{'' if a.casks == 1 else 's'} {a.bar}" for a in sheet.agreed]
    return f"In it as agreed by name: {', '.join(each)}."


def _source_words(sheet: ReleaseSheet) -> str:
    rests = f"Smell and taste: session {', '.join(sheet.sessions)}. " if sheet.sessions else ""
    lot = f" of lot {sheet.lot_code}" if sheet.lot_code else ""
    return (
        f"{rests}Wood, age and malt: the cask records{lot}. Points are the panel's mean on a line "
        f"from 0 to 100, scored without knowing the glass. {ASK}"
    )
