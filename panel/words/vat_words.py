"""A vatting in words and columns: how sure first, then what to pour, then what it costs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from analysis.age_words import age_figure
from analysis.chance_words import chance
from panel.figures import in_digits
from panel.words.answers import INDENT, paragraph
from panel.words.columns import columns
from panel.words.stock_words import stock_day_words

if TYPE_CHECKING:
    from analysis.vatting import Line, Mixture, NoVatting, PlanPart, Poured, VattingPlan
    from panel.questions.vatting import VatAnswer

NOTES_SHOWN = 12


def vat_lines(answer: VatAnswer, width: int = 80, *, answers: int = 5) -> list[str]:
    """Return an answer of the optimiser as lines of text."""
    from analysis.vatting import VattingPlan

    found = answer.found
    if not isinstance(found, VattingPlan):
        return [*_none(found, width), "", *_said(answer.checks, width)]
    return [
        *paragraph(found.sentence, width),
        *paragraph(f"Next: {found.next_action}.", width),
        *paragraph(stock_day_words(answer.stock_on), width),
        "",
        *mixture_lines(found.mixture, width),
        "",
        *paragraph(found.quality_sentence, width),
        *barred_lines(found, width),
        *_prices(found, width),
        *_stand_ins(found, width),
        *_others(found, answers, width),
        "",
        *_said((*answer.checks, *found.cautions), width),
    ]


def _none(found: NoVatting, width: int) -> list[str]:
    return [*paragraph(found.sentence, width), *paragraph(eligible_words(found), width)]


def eligible_words(found: NoVatting) -> str:
    """Return how many casks may go in at all, and why others may not."""
    counts = ", ".join(
        (f"{in_digits(count, ',')} {reason}") for reason, count in found.barred.items()
    )
    words = f"{in_digits(found.n_eligible, ',')} casks may go in"
    return f"{words}; not {counts}." if counts else f"{words}."


def beside_lines(mixture: Mixture, lot: str, width: int = 80) -> list[str]:
    """Return how near a vatting is expected to lie to the batch it is to be like."""
    return [
        *paragraph(
            f"To be like {lot}: {chance(mixture.probability)} on every note together. Least sure: "
            f"{mixture.expectation.worst_descriptor}. Aims are what that batch has.",
            width,
        ),
        *profile_columns(mixture.expectation.lines),
        "",
    ]


def mixture_lines(mixture: Mixture, width: int = 80) -> list[str]:
    """Return casks and litres, strength, water, bottles, age and the expected profile."""
    return [
        *part_lines(mixture.parts),
        *notes_of_casks(mixture.parts, width),
        "",
        *poured_lines(mixture.poured, width),
        *share_lines(mixture, width),
        "",
        *profile_columns(mixture.expectation.lines),
        *paragraph(
            f"All within tolerance together: {chance(mixture.probability)}. Least sure: "
            f"{mixture.expectation.worst_descriptor}.",
            width,
        ),
    ]


def part_lines(parts: Sequence[PlanPart]) -> list[str]:
    """Return one line a cask."""
    headings = ("cask", "litres", "% vol", "LPA", "% bulk", "% LPA", "age", "left in it")
    return columns(headings, [part_cells(part) for part in parts])


def part_cells(part: PlanPart) -> tuple[str, ...]:
    """Return what one cask gives."""
    return (
        *(
            _marked(part),
            in_digits(part.litres, ".1f"),
            in_digits(part.abv_percent, ".1f"),
            in_digits(part.lpa, ".1f"),
        ),
        *(in_digits(100 * part.share_bulk, ".1f"), in_digits(100 * part.share_lpa, ".1f")),
        *("-" if part.age_years is None else age_figure(part.age_years), _left(part)),
    )


def _marked(part: PlanPart) -> str:
    return f"{part.cask} (never nosed)" if part.foretold else part.cask


def _left(part: PlanPart) -> str:
    return "empty" if part.litres_left < 0.05 else f"{in_digits(part.litres_left, '.1f')} L"


def notes_of_casks(parts: Sequence[PlanPart], width: int) -> Iterator[str]:
    """Give what to know of each cask before it is opened."""
    for part in parts[:NOTES_SHOWN]:
        if part.note:
            yield from paragraph(f"! cask {part.cask}: {part.note}", width)


def poured_lines(poured: Poured, width: int = 80) -> list[str]:
    """Return strength before and after water, water, bottles and age in words."""
    words = (
        f"Vat: {in_digits(poured.bulk_litres, ',.1f')} L at "
        f"{in_digits(poured.abv_percent, '.2f')} % vol "
        f"({in_digits(poured.lpa, ',.1f')} L of pure alcohol; mixing shrinks it by "
        f"{in_digits(poured.contraction_litres, '.2f')} L)."
    )
    if poured.water_litres is None:
        words += f" It cannot be reduced: {poured.water_reason}."
    elif poured.water_litres > 0:
        words += (
            f" Add {in_digits(poured.water_litres, ',.1f')} L of water for "
            f"{in_digits(poured.final_litres, ',.1f')} L at "
            f"{in_digits(poured.bottling_abv_percent, 'g')} % vol."
        )
    else:
        words += " No water: bottled as it comes."
    words += f" That fills {bottle_words(poured)}."
    if poured.age_statement_years is None:
        words += f" No age can be stated: {poured.age_reason}."
    else:
        words += f" The youngest part is {poured.age_statement_years} years old, whole years."
    return paragraph(words, width)


def bottle_words(poured: Poured) -> str:
    """Return how many bottles it fills: one number where that is sure, else both ends."""
    if poured.bottles_low == poured.bottles_high:
        return f"{in_digits(poured.bottles, ',')} bottles"
    return (
        f"{in_digits(poured.bottles_low, ',')} to {in_digits(poured.bottles_high, ',')} "
        "bottles (by kind and age of the "
        f"gauges); {in_digits(poured.bottles, ',')} is safe to print"
    )


def share_lines(mixture: Mixture, width: int) -> Iterator[str]:
    """Give which shares were asked for, and whether they are held."""
    for share in mixture.shares:
        held = "held" if share.held else "NOT held"
        yield from paragraph(
            f"Share {share.share}: {in_digits(100 * share.reached, '.1f')} %, {held}.", width
        )


def profile_columns(lines: Sequence[Line]) -> list[str]:
    """Return the expected profile against the target, one line a note."""
    rows = [profile_cells(line) for line in lines]
    return columns(("note", "aim", "+/-", "expected", "sd", "chance"), rows)


def profile_cells(line: Line) -> tuple[str, ...]:
    """Return one note of the expected profile against the target."""
    return (
        *(
            line.descriptor,
            in_digits(line.aim, "g"),
            in_digits(line.tolerance, "g"),
            in_digits(line.estimate, ".1f"),
        ),
        *(in_digits(line.sd, ".1f"), chance(line.probability)),
    )


def barred_lines(found: VattingPlan, width: int) -> list[str]:
    """Return from how many casks was chosen, and why others were not among them."""
    counts = ", ".join(
        (f"{in_digits(count, ',')} {reason}") for reason, count in found.barred.items()
    )
    words = f"Chosen from {in_digits(found.n_eligible, ',')} casks"
    return paragraph(f"{words}; not among them: {counts}." if counts else f"{words}.", width)


def _prices(found: VattingPlan, width: int) -> Iterator[str]:
    if found.prices:
        yield from ("", "What each limit costs")
        for price in found.prices:
            yield from paragraph(price.sentence, width, INDENT)


def _stand_ins(found: VattingPlan, width: int) -> Iterator[str]:
    if found.stand_ins:
        yield from ("", "If a cask fails")
        for each in found.stand_ins[:NOTES_SHOWN]:
            yield from paragraph(each.sentence, width, INDENT)
        more = len(found.stand_ins) - NOTES_SHOWN
        if more > 0:
            yield f"{INDENT}and {more} more (see --json)"


def _others(found: VattingPlan, answers: int, width: int) -> Iterator[str]:
    others = (found.answers or ())[1:answers]
    if found.answers is None or answers < 2:
        return
    yield from ("", "Other answers, as far as the time for each search went")
    if not others:
        yield from paragraph("No other really different choice of casks was found.", width, INDENT)
    for number, other in enumerate(others, 2):
        yield from paragraph(f"{number}. {other_words(other)}", width, INDENT)


def other_words(other: Mixture) -> str:
    """Return another answer: its chance, bottles and casks."""
    casks = ", ".join(f"{part.cask} {part.litres:.0f} L" for part in other.parts)
    return (
        f"chance {chance(other.probability)}, "
        f"{in_digits(other.poured.bottles, ',')} bottles: {casks}."
    )


def _said(sentences: Sequence[str], width: int) -> Iterator[str]:
    for sentence in sentences:
        yield from paragraph(sentence, width)
