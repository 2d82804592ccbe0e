"""What the strength page can reckon: for each question its fields, and the answer in words."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from panel.desk.entries import Field

Given = Mapping[str, float]
MOST_PARTS = 6
HYDROMETER, METER, DENSITY = "hydrometer, % vol", "meter, % vol", "density, kg/m3"
LITRES, MILLILITRES = "L", "mL"
ABV = "% vol at 20 °C"


@dataclass(frozen=True)
class Question:
    """One question: what it is called, its fields, and how it is answered.

    `answer` takes the numbers by field and the words chosen; fields named in `may_be_empty` need
    not be filled in.
    """

    words: str
    fields: tuple[Field, ...]
    answer: Callable[[Given, Mapping[str, str]], str]
    may_be_empty: frozenset[str] = frozenset()

    @property
    def numbers(self) -> tuple[Field, ...]:
        """The fields in which a number stands."""
        return tuple(field for field in self.fields if not field.choices)


def _reduced(given: Given, chosen: Mapping[str, str]) -> str:
    from panel.questions.strength import reduced
    from panel.words.strength_words import reduced_words

    litres = given["spirit"] / (1000.0 if chosen["unit"] == MILLILITRES else 1.0)
    found = reduced(litres, given["from"], given["to"])
    return reduced_words(litres, given["from"], given["to"], found)


def _married(given: Given, _chosen: Mapping[str, str]) -> str:
    from panel.questions.strength import married
    from panel.words.strength_words import married_words

    wanted = [n for n in range(1, MOST_PARTS + 1) if {f"litres.{n}", f"abv.{n}"} & given.keys()]
    return married_words(married([(given[f"litres.{n}"], given[f"abv.{n}"]) for n in wanted]))


def _at_20(given: Given, _chosen: Mapping[str, str]) -> str:
    from panel.questions.strength import at_20
    from panel.words.strength_words import at_20_words

    found = at_20(given["litres"], given["abv"], given["celsius"])
    return at_20_words(given["litres"], given["celsius"], found)


def _weighed(given: Given, _chosen: Mapping[str, str]) -> str:
    from panel.questions.strength import weighed
    from panel.words.strength_words import weighed_words

    return weighed_words(given["kg"], given["abv"], weighed(given["kg"], given["abv"]))


def _read(given: Given, chosen: Mapping[str, str]) -> str:
    from panel.questions.strength import true_strength
    from panel.words.strength_words import read_words

    number, how = given["read"], chosen["instrument"]
    reading, density = (None, number) if how == DENSITY else (number, None)
    found = true_strength(reading, density, given["celsius"], glass=how == HYDROMETER)
    return read_words(reading, density, given["celsius"], found)


def _lost(given: Given, _chosen: Mapping[str, str]) -> str:
    from panel.questions.strength import lost
    from panel.words.strength_words import lost_words

    start, end = ((given[f"litres.{n}"], given[f"abv.{n}"]) for n in (1, 2))
    return lost_words(lost(start, end, given["years"]))


def _ullage(given: Given, _chosen: Mapping[str, str]) -> str:
    from panel.questions.strength import empty_space
    from panel.words.strength_words import ullage_words

    return ullage_words(given["size"], empty_space(given["size"], given["litres"]))


def _until(given: Given, _chosen: Mapping[str, str]) -> str:
    from panel.questions.strength import years_left
    from panel.words.strength_words import until_words

    found = years_left(given["abv.1"], given["abv.2"], given["years"], given["floor"])
    return until_words(given["floor"], found)


def _parts() -> tuple[Field, ...]:
    pairs = (
        (
            Field(f"litres.{n}", f"Cask {n}", "L at 20 °C"),
            Field(f"abv.{n}", "  strength", ABV),
        )
        for n in range(1, MOST_PARTS + 1)
    )
    return tuple(field for pair in pairs for field in pair)


QUESTIONS: dict[str, Question] = {
    "reduce": Question(
        "Water to a strength",
        (
            Field("spirit", "Spirit", "L or mL at 20 °C"),
            Field("unit", "  in", choices=(LITRES, MILLILITRES)),
            Field("from", "Its strength", ABV),
            Field("to", "Wanted", ABV),
        ),
        _reduced,
    ),
    "marry": Question(
        "Casks put together",
        _parts(),
        _married,
        frozenset(f"{name}.{n}" for n in range(2, MOST_PARTS + 1) for name in ("litres", "abv")),
    ),
    "at-20": Question(
        "Litres at 20 °C",
        (
            Field("litres", "Gauged", "L as gauged"),
            Field("abv", "Strength", ABV),
            Field("celsius", "Temperature", "°C of the spirit"),
        ),
        _at_20,
    ),
    "weigh": Question(
        "Litres by weight",
        (Field("kg", "Net weight", "kg in air"), Field("abv", "Strength", ABV)),
        _weighed,
    ),
    "read": Question(
        "True strength",
        (
            Field("instrument", "Read on a", choices=(HYDROMETER, METER, DENSITY)),
            Field("read", "It showed", "% vol or kg/m3, as above"),
            Field("celsius", "Temperature", "°C of the spirit"),
        ),
        _read,
    ),
    "loss": Question(
        "Loss a year",
        (
            Field("litres.1", "First gauge", "L at 20 °C"),
            Field("abv.1", "  strength", ABV),
            Field("litres.2", "Second gauge", "L at 20 °C, nothing drawn between"),
            Field("abv.2", "  strength", ABV),
            Field("years", "Between them", "years"),
        ),
        _lost,
    ),
    "ullage": Question(
        "Empty space",
        (Field("size", "Cask", "L when full"), Field("litres", "In it", "L at 20 °C")),
        _ullage,
    ),
    "until": Question(
        "Years to a strength",
        (
            Field("abv.1", "First gauge", ABV),
            Field("abv.2", "Second gauge", ABV),
            Field("years", "Between them", "years"),
            Field("floor", "Down to", ABV, value="40"),
        ),
        _until,
    ),
}
"""By the name of the command."""
