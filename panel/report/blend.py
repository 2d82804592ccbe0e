"""The page of a blend before it is a release: what goes in, what it comes to, how sure that is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.questions.vatting import ASK
from panel.report.common import CARE, foot
from panel.report.html import to_html
from panel.report.values import (
    BROAD,
    Column,
    Opening,
    Report,
    Section,
    Table,
    action,
    sentences,
    unbroken,
)
from panel.words.stock_words import stock_day_words
from panel.words.vat_words import (
    barred_lines,
    eligible_words,
    other_words,
    part_cells,
    poured_lines,
    profile_cells,
    share_lines,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from analysis.pictures import Picture
    from analysis.vatting import Limits, Mixture, NoVatting, SharesTried, VattingPlan
    from panel.questions.stands_on import StandsOn
    from panel.questions.vatting import HouseStock, VatAnswer

NOTHING_RESERVED = "Nothing is reserved, and nothing is mixed: it is no release yet."
PARTS = (
    Column("cask"),
    Column("gives", "L", figures=True),
    Column("strength", "% vol", figures=True),
    Column("pure alcohol", "L", figures=True),
    Column("of the bulk", "%", figures=True),
    Column("of the alcohol", "%", figures=True),
    Column("age", "years", figures=True),
    Column("left in it"),
)
NOTES = (
    Column("note"),
    Column("aim", "points", figures=True),
    Column("tolerance to either side", "points", figures=True),
    Column("expected", "points", figures=True),
    Column("standard deviation", "points", figures=True),
    Column("chance to be within", figures=True),
)
RECKONED = (
    "Litres are mixed by mass, at 20 °C. A note of the mixture is expected from those of its parts "
    "by the house's rule of mixing; a chance is that of all notes together to be within their "
    "tolerance, over what is not known of the parts, of the rule and of the gauges."
)
SOURCES = ("Densities of mixtures of alcohol and water: OIML R 22 (1975).",)


def plan_page(
    answer: VatAnswer, target: str, stands: StandsOn, *, pictures: Sequence[Picture] = ()
) -> str:
    """Return the page of what the optimiser found, or of why it found nothing."""
    from analysis.vatting import VattingPlan

    found = answer.found
    if isinstance(found, VattingPlan):
        opening = Opening("A vatting plan", (found.sentence,), action(found.next_action))
        sections = tuple(_of_plan(found, answer))
    else:
        opening = Opening("No vatting", (found.sentence, eligible_words(found)), _next(found))
        sections = (Section("What the law has to say of it", answer.checks),)
    reckoned: tuple[str, ...] = (RECKONED, stock_day_words(answer.stock_on))
    if isinstance(found, VattingPlan):
        reckoned = (*reckoned, found.quality_sentence)
    return to_html(
        _report(target, answer.limits, opening, sections, reckoned, stands, tuple(pictures))
    )


def _next(found: NoVatting) -> str:
    if found.conflict:
        return "Loosen one of the limits that cannot stand together."
    return "Ask for less, or for another target."


def tried_page(
    tried: SharesTried,
    house: HouseStock,
    limits: Limits,
    target: str,
    stands: StandsOn,
    *,
    like: str = "",
    pictures: Sequence[Picture] = (),
) -> str:
    """Return the page of litres that were put together by hand, held to a batch before or not."""
    mixture = tried.mixture
    opening = Opening(
        "Every limit is kept" if not tried.broken else "Not every limit is kept",
        (tried.sentence, *tried.broken_words),
        action(tried.next_action),
    )
    rules = tuple(f"{law.rule_set}: {law.words}." for law in house.laws)
    law = (Section("Rules in force", rules),) if rules else ()
    reckoned = (RECKONED, stock_day_words(house.day), *sentences(house.note))
    sections = (*_of_mixture(mixture), *law)
    named = f"{target}, like {like}" if like else target
    return to_html(_report(named, limits, opening, sections, reckoned, stands, tuple(pictures)))


def _report(
    target: str,
    limits: Limits,
    opening: Opening,
    sections: tuple[Section, ...],
    reckoned: tuple[str, ...],
    stands: StandsOn,
    pictures: tuple[Picture, ...],
) -> Report:
    return Report(
        kind="Blend",
        name=f"for {target}",
        fact=f"Asked: {limits.quantity_words}. {NOTHING_RESERVED}",
        reader="To hand on inside the house: it names casks.",
        opening=opening,
        pictures=pictures,
        sections=sections,
        reckoned=reckoned,
        sources=SOURCES,
        cautions=(*CARE, ASK),
        foot=foot(stands),
    )


def _of_mixture(mixture: Mixture) -> Iterator[Section]:
    minds = tuple(f"{part.cask}: {part.note}." for part in mixture.parts if part.note)
    parts = Table("", PARTS, [part_cells(part) for part in mixture.parts])
    yield Section("What goes in", minds, tables=(parts,))
    comes = (*unbroken(poured_lines(mixture.poured, BROAD)), *share_lines(mixture, BROAD))
    yield Section("What it comes to", comes)
    notes = Table("", NOTES, [profile_cells(line) for line in mixture.expectation.lines])
    yield Section("What the panel should find", tables=(notes,))


def _of_plan(plan: VattingPlan, answer: VatAnswer) -> Iterator[Section]:
    yield from _of_mixture(plan.mixture)
    if plan.prices:
        yield Section("What each limit costs", tuple(each.sentence for each in plan.prices))
    if plan.stand_ins:
        yield Section("If a cask fails", tuple(each.sentence for each in plan.stand_ins))
    if others := (plan.answers or ())[1:]:
        told = tuple(
            f"{other_words(other)[:1].upper()}{other_words(other)[1:]}" for other in others
        )
        yield Section("Other answers, as far as the time for each search went", told)
    chosen = tuple(barred_lines(plan, BROAD))
    yield Section("From which casks it was chosen", chosen)
    yield Section("What the law and the house have to say of it", (*answer.checks, *plan.cautions))
