"""What a guide says at a tasting and what stays unsaid, in plain words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.figures import in_digits
from panel.kinds import Manner
from panel.release.sheet import LEVELS
from panel.release.tasting import MOST_GRAMS
from panel.words.answers import INDENT, paragraph

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from panel.release.guests import BesidePanel, Guests
    from panel.release.sheet import Claim
    from panel.release.tasting import Tasting, TastingPour
    from panel.release.tasting_found import NosedAt, OwnWord

PEAT_WORDS = ("unpeated", "lightly peated", "medium peated", "heavily peated")
MANNERS = {Manner.NOSE: "nosing", Manner.TASTE: "nosing and tasting"}
ALOUD_NOTES = 3
CARE_OF_POURS = (
    "A glass of water and a cup to spit into for each guest, and a bowl of water crackers or bread "
    "on the table. Anyone may nose only, spit, or leave a pour out, without a reason.",
    "Whoever drives, or works at height or with machines afterwards, gets every pour to take home "
    "in a small closed bottle with the release and the strength on it, where local law allows it.",
    "Nobody below the age that your law sets; ask to see it where you doubt. Nobody is poured more "
    "who has had enough.",
    "Local law may fix pour sizes, and who may serve and where: it goes before this page.",
    "Pour only from bottles on which duty was paid: the records here hold bottlings, not duty.",
)
"""Common practice, no source."""
NOT_TO_SAY_ALOUD = (
    "Nothing of how old other parts are: no age but the youngest, as it stands here.",
    "Nothing of health, digestion or sleep. Of allergens nothing from memory: read the label, or "
    "ask the maker.",
    "Not what a guest ought to find, nor that one glass is better than another.",
)
NO_WORDS = (
    "Nobody of our panel put it in words of their own. Take a guest's word as it is, and do not "
    "mend it."
)
GUESTS_WORD = (
    "Somebody of our panel wrote it of this blend, in words of their own; it is one person's word, "
    "not the panel's."
)
PAPER_SAYS = (
    "Write no name on this sheet, only its number. Nose each glass, and write a number from 0 to "
    "100 beside a note: 0 where it is not there, 100 where it could not be more. Leave out what "
    "you like.",
)
NOTHING_KEPT = (
    "Nothing about guests is kept: this page is made from what the guide typed, and nothing of it "
    "is written into the house's records. Numbers stand for sheets of paper, not for people; keep "
    "the sheets only with the consent of whoever filled them in."
)
NOTHING_KEPT_OF_SHEET = (
    "The guide sets the numbers beside those of our panel. Nothing about you is written into the "
    "house's records; take the sheet with you if you like."
)
BESIDE_NOTE = (
    "Rows in which most guests lie in the middle half come first. Scores stand in the order of the "
    "sheets' numbers; there is no rank."
)
NOT_THE_GUESTS = (
    "The panel's scores are of its own nosing and say nothing of what a guest can tell apart. No "
    "score is right or wrong."
)


def pours_word(tasting: Tasting) -> str:
    """Return how many pours there are, and the ethanol in them."""
    return (
        f"{in_digits(tasting.grams, '.1f')} g of ethanol in {len(tasting.pours)} pours of "
        f"{in_digits(tasting.ml, 'g')} mL, for "
        "a guest who swallows all"
    )


def dose_words() -> str:
    """Return what the grams are held against."""
    return (
        f"More than {in_digits(MOST_GRAMS, 'g')} g is not laid out. Grams do not tell "
        "whether anyone may drive: "
        "whoever swallowed does not."
    )


def order_words(tasting: Tasting) -> str:
    """Return by what the pours are ordered, and what could not be."""
    said = "From unpeated to peated, and among those alike from weaker to stronger."
    unknown = [pour.name for pour in tasting.pours if pour.sheet.malt_ppm is None]
    if unknown:
        said += (
            f" The malt of {', '.join(unknown)} is not on record; it stands among the unpeated: "
            "nose it first and move it back if it is smoky."
        )
    strengths = [pour.sheet.abv_percent for pour in tasting.pours]
    if strengths != sorted(strengths):
        said += " Peat goes before strength, so a weaker glass follows a stronger one."
    return said


def poured_cells(number: int, pour: TastingPour) -> tuple[str, ...]:
    """Return a line of the list of pours."""
    peat = "not on record" if pour.sheet.malt_ppm is None else PEAT_WORDS[pour.peat]
    cells = f"{number}", pour.name, in_digits(pour.sheet.abv_percent, ".1f"), peat
    return *cells, in_digits(pour.ml, "g"), in_digits(pour.grams, ".1f")


def aloud(pour: TastingPour) -> tuple[str, str, str]:
    """Return three sentences to say aloud: what it is, what we found, how to meet it."""
    return _what_it_is(pour), _what_we_found(pour), _how_to_meet_it(pour)


def _what_it_is(pour: TastingPour) -> str:
    woods = ", ".join(dict.fromkeys(share.wood for share in pour.sheet.woods))
    lay = f", from casks of {woods}" if woods else ""
    age = pour.sheet.youngest_years
    old = "we tell no age of it" if age is None else f"its youngest drop is {age} years old"
    return (
        f"This is {pour.name}, bottled at "
        f"{in_digits(pour.sheet.abv_percent, '.1f')} % vol{lay}; {old}."
    )


def _what_we_found(pour: TastingPour) -> str:
    claims = sorted(pour.sheet.claims, key=lambda claim: -claim.points)[:ALOUD_NOTES]
    if not claims:
        return "What it smells of we leave to you: our panel has found nothing in it that we tell."
    notes = _listed([f"{claim.note} ({claim.words})" for claim in claims])
    return f"{_panel_words(pour.found.nosed)} found in its blend {notes}."


def _listed(words: Sequence[str]) -> str:
    return " and ".join(filter(None, (", ".join(words[:-1]), words[-1])))


def _panel_words(nosed: Sequence[NosedAt]) -> str:
    if not nosed:
        return "Our panel, not knowing the glass,"
    return f"Our panel, {how_words(nosed)} and not knowing the glass,"


def how_words(nosed: Sequence[NosedAt]) -> str:
    """Return in which manner the panel had it, and at which strength."""
    how = dict.fromkeys(
        f"{MANNERS[one.manner]} at {in_digits(one.nosing_abv_percent, 'g')} % vol" for one in nosed
    )
    return " and ".join(how)


def _how_to_meet_it(pour: TastingPour) -> str:
    if not pour.water:
        return "Nose it as it is, take your time, and say what comes to you first."
    first = pour.water[0]
    return (
        "Nose it as it is and say what comes to you first, then add water, "
        f"{first.ml:.0f} mL to begin with, and nose it again."
    )


def water_words(pour: TastingPour) -> str:
    """Return how much water brings a pour down to each strength."""
    if not pour.water:
        return "None: it is no stronger than the panel nosed it."
    panels = {one.nosing_abv_percent for one in pour.found.nosed}
    steps = [
        f"{step.ml:.0f} mL to {in_digits(step.to_abv_percent, 'g')} %"
        + (", as our panel nosed it" if step.to_abv_percent in panels else "")
        for step in pour.water
    ]
    return (
        f"For {in_digits(pour.ml, 'g')} mL at "
        f"{in_digits(pour.sheet.abv_percent, '.1f')} % vol, in all: {'; '.join(steps)}."
    )


def found_cells(claim: Claim, house: tuple[float, float] | None) -> tuple[str, ...]:
    """Return a note: what we mean by it, what the panel found, the range of the house's casks."""
    casks = "too few casks" if house is None else f"{house[0]:.0f} to {house[1]:.0f}"
    meaning = (claim.meaning or "").rstrip(".") or "not written down"
    return f"{claim.note} ({claim.stage})", meaning, f"{claim.points:.0f}, {claim.words}", casks


def found_note(pour: TastingPour) -> str:
    """Return on what the findings of a card rest."""
    if not pour.sheet.claims:
        reason = pour.sheet.claims_reason or (
            f"no note of it is at {in_digits(LEVELS[0][0], 'g')} points or above"
        )
        return f"Nothing can be told of smell and taste: {reason}."
    how = f", {how_words(pour.found.nosed)}" if pour.found.nosed else ""
    return (
        f"What our panel found rests on session {', '.join(pour.sheet.sessions)}{how}: blind, in a "
        "bench blend, not in the bottling."
    )


def guest_says(words: Sequence[OwnWord]) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Give a guest's possible word, and what may be answered."""
    for word in words:
        said = [GUESTS_WORD]
        if word.note is not None:
            meaning = f": {word.meaning.rstrip('.')}" if word.meaning else ""
            said.append(f"We call that {word.note}{meaning}.")
        yield f"If a guest says “{word.word}”", tuple(said)
    if not words:
        yield "If a guest says a word of their own", (NO_WORDS,)


def agreement_words(guests: Guests) -> str:
    """Return how many scores lie in the panel's middle half, and how many of its own do."""
    told = [line for line in guests.lines if line.half is not None]
    if not told:
        return "Our panel has no middle half of these notes, so nothing is set beside them."
    scores, within = sum(len(one.points) for one in told), sum(one.within for one in told)
    return (
        f"{within} of {scores} scores lie in the middle half of our panel. By its making about "
        "half of the panel's own lie in it too."
    )


def beside_cells(line: BesidePanel) -> tuple[str, ...]:
    """Return a note of a pour: the guests' scores beside the panel's middle half."""
    points = ", ".join(in_digits(one, "g") for one in line.points)
    if line.half is None:
        return line.release, line.note, "not told", f"{len(line.points)}", points
    half = (
        f"{in_digits(line.half.low, '.1f')} to {in_digits(line.half.high, '.1f')}, "
        f"of {line.half.assessors} people"
    )
    return line.release, line.note, half, f"{line.within} of {len(line.points)}", points


def beside_lines(guests: Guests, width: int) -> list[str]:
    """Return the same as lines of text, what agrees best first."""
    lines = paragraph(agreement_words(guests), width)
    for line in guests.lines:
        release, note, half, within, points = beside_cells(line)
        told = "no middle half is told" if line.half is None else f"{within} in {half}"
        lines += ["", f"{release}, {note}: {told}", *paragraph(f"Guests: {points}.", width, INDENT)]
    return [*lines, "", *paragraph(NOT_THE_GUESTS, width), *paragraph(NOTHING_KEPT, width)]


def meant(tasting: Tasting) -> Iterator[tuple[str, str]]:
    """Give what the house means by each note of the guests' sheet."""
    claims = [claim for pour in tasting.pours for claim in pour.sheet.claims]
    meanings = {claim.note: claim.meaning or "" for claim in claims}
    for note in tasting.notes:
        yield note, meanings[note]


def panel_had(pour: TastingPour) -> str:
    """Return in which session, manner and strength the panel had a pour's blend."""
    if not pour.found.nosed:
        return f"{pour.name}: our panel has not nosed its blend."
    sessions = ", ".join(one.session for one in pour.found.nosed)
    return (
        f"{pour.name}: our panel, {how_words(pour.found.nosed)}, session {sessions}, in a bench "
        "blend, not in the bottling."
    )
