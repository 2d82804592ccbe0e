"""The sheet of a release in plain words, for people who guide and sell."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from panel.figures import in_digits
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
NOT_TO_SAY = (
    "No age but the youngest, and nothing of how old other parts are: the law on labels counts the "
    "youngest drop.",
    "No note that does not stand here: the panel did not find it, or nobody asked it.",
    "Nothing of health, of digestion or of sleep, and nothing of what suits an allergy: ask the "
    "maker.",
    "Nothing of what a guest ought to find: the panel nosed by its own rules, a guest need not "
    "find the same.",
    "No cask number, no price of a cask, nobody of the panel by name.",
)
"""Common practice, no source; what a label may say is for a label adviser."""
HOW_TO_NOSE = (
    "Pour a little into a glass that is narrower at the top, and let it stand for some minutes.",
    "Nose it from above the rim first and then nearer, with short breaths and the mouth a little "
    "open; rest between.",
    "Add a little water and nose it again: less alcohol in the glass lets other things through.",
    "Sip if you like, hold it, and wait for what comes after. There is no wrong answer.",
)
"""Common practice, no source."""
CARE_OF_GUESTS = (
    "This is strong alcohol: little of it, slowly, with water beside it; or nose it only. Do not "
    "drive after it. It is for nobody below the age that your law sets, nor for anybody who should "
    "not drink. Local law and licensed practice decide on serving."
)


def sheet_lines(sheet: ReleaseSheet, width: int = 80) -> list[str]:
    """Return the sheet in plain words."""
    lines = [sheet.release.upper()]
    for block in (heading_words(sheet), *told_blocks(sheet), source_words(sheet)):
        lines += ["", *paragraph(block, width)]
    return lines


def told_blocks(sheet: ReleaseSheet) -> tuple[str, ...]:
    """Return what may be told, a block each: of make, wood, age and peat, then what was found."""
    blocks = [
        _make_words(sheet),
        _wood_words(sheet),
        age_words(sheet),
        _peat_words(sheet),
        *_stage_words(sheet),
        *_bench_words(sheet),
        cloud_words(sheet),
        _agreed_words(sheet),
    ]
    return tuple(block for block in blocks if block)


def heading_words(sheet: ReleaseSheet) -> str:
    """Return how much there is of it and at which strength; a draft says so."""
    words = (
        f"{in_digits(sheet.bottles or 0, ',')} bottles of "
        f"{in_digits(sheet.bottle_ml, 'g')} mL at {in_digits(sheet.abv_percent, '.1f')} "
    )
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
    first = (
        ""
        if share.years_before is None
        else (f"at least {in_digits(share.years_before, '.1f')} years in ")
    )
    if share.finish:
        return f", a finish of {least}{in_digits(share.years, '.1f')} years after {first}{woods}"
    return f", where it lay its last {in_digits(share.years, '.1f')} years after {first}{woods}"


def _make_words(sheet: ReleaseSheet) -> str:
    found = sheet.category
    if found.name is None:
        return f"Make: {found.reason}, so the records do not say what kind of whisky it is."
    makes = f"{'make' if len(found.makes) == 1 else 'makes'} {', '.join(found.makes)}"
    return (
        f"Make: {makes}, distilled at {' and '.join(found.sites)}; by that it is {found.name} "
        "whisky. What the label may say, your label adviser says."
    )


def age_words(sheet: ReleaseSheet) -> str:
    """Return the age that may be told, or that none may."""
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


def cloud_words(sheet: ReleaseSheet) -> str:
    """Return that it may cloud; nothing where it will not."""
    if not sheet.clouds:
        return ""
    return (
        f"It is below {in_digits(CLOUDS_BELOW_ABV, 'g')} % vol and not chill filtered: it "
        "may cloud in the cold "
        "or with water. That is no fault."
    )


def _agreed_words(sheet: ReleaseSheet) -> str:
    """What was taken in although the records bar it; which casks, the release's own record says."""
    if not sheet.agreed:
        return ""
    each = [f"{a.casks} cask{'' if a.casks == 1 else 's'} {a.bar}" for a in sheet.agreed]
    return f"In it as agreed by name: {', '.join(each)}."


def source_words(sheet: ReleaseSheet) -> str:
    """Return on what all of it rests."""
    rests = f"Smell and taste: session {', '.join(sheet.sessions)}. " if sheet.sessions else ""
    lot = f" of lot {sheet.lot_code}" if sheet.lot_code else ""
    points = (
        "Points are the panel's mean on a line from 0 to 100, scored without knowing the glass. "
    )
    return (
        f"{rests}Wood, age and malt: the cask records{lot}. {points if sheet.claims else ''}{ASK}"
    )


def found_of_guest(sheet: ReleaseSheet) -> Iterator[tuple[str, str]]:
    """Give a guest the notes the panel found, a stage each: notes in words, without figures."""
    for stage in Stage:
        told = [c for c in sheet.claims if c.stage == stage.value and c.points >= LEVELS[0][0]]
        notes = (f"{c.note} ({c.words}{_meant(c)})" for c in told[:FEW_NOTES])
        if told:
            yield stage.value.capitalize(), f"{', '.join(notes)}."


def _meant(claim: Claim) -> str:
    return f": {claim.meaning.rstrip('.')}" if claim.meaning else ""


def nosed_words(sheet: ReleaseSheet) -> str:
    """Return at which strength the panel nosed it, so that nobody takes it for the glass here."""
    if sheet.nosed is None or not sheet.nosed.evenings:
        return "Our panel, not knowing the glass, found in it:"
    found = dict.fromkeys(f"{in_digits(e.nosing_abv_percent, 'g')} %" for e in sheet.nosed.evenings)
    return f"Our panel, not knowing the glass and nosing at {' and '.join(found)} vol, found in it:"


def next_of_sheet(sheet: ReleaseSheet) -> str:
    """Return what whoever has the sheet does with it."""
    if sheet.status != ReleaseStatus.BOTTLED.value:
        return "Wait for the bottling before any of it is told outside the house"
    if not sheet.claims:
        return "Tell of wood, age and malt; of smell and taste tell nothing yet"
    return "Tell what stands here and nothing beside it"
