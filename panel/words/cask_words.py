"""What lies in a cask, in the words that every list and page uses."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

from analysis.age_words import age_figure as tenths_of_age
from analysis.bars import Purpose
from panel.words.stock_words import content_words
from panel.words.volume_words import volume_words

if TYPE_CHECKING:
    from panel.questions.cask_figures import CaskFigures
    from panel.questions.cask_life import CaskLife, FillingNow
    from panel.questions.cask_narrowing import Narrowing
    from panel.questions.stock_part import Folded

FORESEEN_YEARS = 15
"""A day further off than this nobody plans by."""
NOT_ON_RECORD = "not on record"
_USES = {
    Purpose.NOSE: "nosing",
    Purpose.MATCH: "the ranking",
    Purpose.LIKE: "a target like it",
    Purpose.VAT: "a vat",
    Purpose.BOTTLE: "bottling by itself",
}


class Spirit(Protocol):
    """What a cask holds: the make it was filled with, and all that are in it by the records."""

    @property
    def make(self) -> str | None:
        """Return the make it was filled with; None for spirit from other casks."""

    @property
    def makes(self) -> frozenset[str] | None:
        """Return every make in it; None where the records do not go back so far."""

    @property
    def parcel(self) -> str | None:
        """Return the name of what was filled together with it, if it has one."""


def age_words(age_years: float | None) -> str:
    """Return an age with its unit, or that there is none."""
    return f"age {NOT_ON_RECORD}" if age_years is None else f"{tenths_of_age(age_years)} years"


def age_figure(age_years: float | None) -> str:
    """Return an age for a column of figures."""
    return "-" if age_years is None else tenths_of_age(age_years)


def spirit_words(spirit: Spirit) -> str:
    """Return which new-make spirit is in a cask, and the parcel that it was filled with."""
    words = _makes(spirit)
    return f"{words}, parcel {spirit.parcel}" if spirit.parcel else words


def _makes(spirit: Spirit) -> str:
    if spirit.makes is None:
        return f"{spirit.make} and spirit {NOT_ON_RECORD}" if spirit.make else "spirit of no record"
    return next(iter(spirit.makes)) if len(spirit.makes) == 1 else "spirit of several makes"


def make_word(spirit: Spirit) -> str:
    """Return the make for a column: one name, or that there are several."""
    if spirit.makes is None:
        return f"{spirit.make} +" if spirit.make else "not known"
    return next(iter(spirit.makes)) if len(spirit.makes) == 1 else "several"


def today_words(now: FillingNow) -> str:
    """Return in one line what lies in the cask."""
    state = now.state
    words = (
        f"{state.label}: {spirit_words(state)}, {age_words(state.age_years)}, "
        f"{state.bulk_l:.0f} L (at 20 °C) of {state.abv:.4g} % ({state.lpa:.1f} L pure), "
        f"gauged {state.gauge.on}"
    )
    return f"{words}; {state.place.words()}; {now.status}"


def use_words(now: FillingNow) -> str:
    """Return what a filling may be used for unasked, and what for not, as one sentence."""
    barred = [words for use, words in _USES.items() if use in now.barred_from]
    free = [words for words in _USES.values() if words not in barred]
    if not barred:
        return "Free for every use."
    if not free:
        return "Free for no use."
    return f"Free for {_listed(free, 'and')}; not unasked for {_listed(barred, 'or')}."


def _listed(words: list[str], last: str) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} {last} {words[-1]}"


def figure_words(figures: CaskFigures) -> str:
    """Return loss, empty space and how long it stays whisky, as one line of sentences."""
    words = f"{volume_words(max(figures.ullage_litres, 0.0))} of it are empty. "
    if figures.loss_lpa_percent_a_year is None or figures.loss_bulk_percent_a_year is None:
        words += f"Loss a year is not known: {figures.loss_reason}."
    else:
        words += (
            f"Since filling it lost {figures.loss_lpa_percent_a_year:.1f} % of its alcohol and "
            f"{figures.loss_bulk_percent_a_year:.1f} % of its volume a year."
        )
    words += f" {content_words(figures)}"
    weak = figures.under_legal_from
    if weak is not None and weak.year - figures.on.year <= FORESEEN_YEARS:
        words += f" By that it falls under the legal strength about {weak}."
    elif figures.weak_from is not None:
        words += f" On a straight line it comes to 40 % vol in {figures.weak_from.year}."
    return words


def narrowed_words(asked: Narrowing) -> str:
    """Return what a list of casks is narrowed to; nothing where it is not."""
    parts = [*asked.makes, *asked.woods, asked.state, asked.flag.value if asked.flag else ""]
    parts += [*asked.sites, *asked.warehouses, *asked.owners, *asked.parcels]
    ages = [f"from {asked.age_from:g}"] if asked.age_from is not None else []
    ages += [f"to {asked.age_to:g}"] if asked.age_to is not None else []
    parts.append(f"{' '.join(ages)} years" if ages else "")
    return ", ".join(part for part in parts if part)


FOLD_HEADINGS = ("casks", "litres", "litres pure", "age", "not free")


def fold_cells(fold: Folded, by: str) -> tuple[str, ...]:
    """Return the cells of casks told together: name, then as `FOLD_HEADINGS`."""
    young, old = fold.youngest_years, fold.oldest_years
    ages = age_figure(young)
    if young is not None and old is not None and tenths_of_age(young) != tenths_of_age(old):
        ages = f"{tenths_of_age(young)} to {tenths_of_age(old)}"
    return (
        *(fold.name or f"no {by}", f"{fold.casks:,}", f"{fold.litres:,.0f}"),
        *(f"{fold.litres_of_pure_alcohol:,.0f}", ages, f"{fold.barred:,}"),
    )


def next_of_cask(life: CaskLife, *, nosed: bool, topped: bool) -> str:
    """Return what to do next about a cask: what its records are marked with comes first."""
    if life.today is None:
        return "Nothing: it is empty"
    if life.flags:
        return life.flags[0]
    if not nosed:
        return "Nose it before you act on it"
    if topped:
        return "Draw it again: it was topped after it was nosed"
    return "Nothing stands against using it"
