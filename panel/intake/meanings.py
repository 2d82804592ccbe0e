"""What stands in each column of each kind: its meaning, its words, an example."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

from pydantic import BeforeValidator

from panel.intake.cells import OneOf, need_past_day, past_day, read_day, read_yes_no
from panel.intake.kinds import SCORE_KINDS, Kind
from panel.kinds import IN_TRAINING, KNEW_KEY, LitresAt, Role, ServingStatus

if TYPE_CHECKING:
    from panel.intake.cells import RowModel

MEANINGS: dict[str, str] = {
    "make": "name of the new make spirit",
    "site": "where: the distillery or the store's town",
    "cereal": "what it was distilled from, such as barley",
    "phenol_ppm": "phenols of the malt in ppm; 0 for none",
    "campaign": "when it was distilled, such as 2008-2012",
    "note": "anything to be kept with it",
    "cask": "number of the cask, as it stands on its head",
    "wood": "what the cask is made of, in the house's own words",
    "size_l": "what the cask holds, in L",
    "filled_on": "day of filling",
    "fill_number": "1 for the cask's first filling, 2 for its second",
    "fill_abv": "strength at filling, in % vol",
    "fill_bulk_l": "litres filled in, in L",
    "filling": "label of the filling; empty: that which lay in the cask that day",
    "parcel": "name under which casks were filled together",
    "previous": "what the cask held before",
    "owner": "whose spirit it is, if not the house's",
    "hold_reason": "why the cask is on hold; empty if it is not",
    "hold_until": "day on which the hold ends; may be empty",
    "emptied_on": "day on which the filling was emptied; empty if it lies there still",
    "warehouse": "the store",
    "row": "row in the store",
    "tier": "height in the row",
    "happened_on": "day on which it happened",
    "entry": "1; 2 for a second one of the same kind on the same day",
    "parent": "filling that the spirit came from (re-racked, topped)",
    "litres": "litres that went in, in L",
    "abv": "strength measured, in % vol",
    "gauged_on": "day of the measurement",
    "bulk_l": "litres in the cask, in L",
    "method": "how it was measured",
    "temperature_c": "temperature of the spirit, in °C",
    "litres_at": "litres at 20 °C, or at the temperature of the cask",
    "sample": "name of the sample, as it stands on the bottle",
    "batch": "batch of a reference or of a bottle that was bought",
    "drawn_on": "day on which it was drawn",
    "volume_ml": "how much was drawn, in mL",
    "reduced_to": "strength it was reduced to, in % vol",
    "parts": "of a trial: filling=mL, with ; between",
    "reason": "why it was drawn",
    "fate": "what became of what was left",
    "colour": "what colour it has in the glass, as the pourer sees it",
    "clarity": "bright, hazy, cloudy or particles, as the pourer sees it",
    "descriptor": "word that is scored",
    "low_words": "what the low end of the line means",
    "high_words": "what the high end of the line means",
    "version": "1; a new number where the word means something else than before",
    "meaning": "what is meant by it",
    "reference": "what stands for it on the table",
    "pools_with_previous": "whether its scores go together with those of the version before",
    "introduced_on": "first day",
    "retired_on": "last day; empty while it is in use",
    "ought_to_be_absent": "whether it should not be there at all",
    "assessor": "code of the person; no name",
    "roles": "one role, or several joined by +; none for no role; empty: assessor",
    "joined_on": "first day",
    "left_on": "last day; empty while they are here",
    "name": "real name; may be left out",
    "target": "name of the target",
    "aim": "score that is aimed at, in points of 0 to 100",
    "tolerance": "how far off does not matter, in points",
    "weight": "how much it counts; empty: 1",
    "session": "name of the session",
    "replicate": "1; 2 for the second glass of the same sample",
    "held_on": "day of the session",
    "position": "which glass in the order it was nosed; 0 for a warm-up",
    "flight": "which flight; empty: 1",
    "pouring": "1; 2 for a glass that was poured again",
    "status": f"{', '.join(ServingStatus)}; +{KNEW_KEY} where the key was known, "
    f"+{IN_TRAINING} where somebody was in training; empty: kept",
    "score": "the score",
    "scale_low": "low end of the line, in points; empty: 0",
    "scale_high": "high end of the line, in points; empty: 100",
    "word": "own word of the assessor",
    "plan": "name of the plan",
    "release": "name of the release; empty: what holds for the plan as a whole",
    "year": "the year it is meant for",
    "bottles": "how many bottles",
    "age": "age that the label states, in whole years; may be empty",
    "rule_set": "rules of law it is held to besides those in force; may be empty",
    "limits": "what else holds, with ; between: casks 2-12; parts; share wood=oak butt:0.3",
    "glass": "code on the glass",
    "stage": "the stage it was scored at",
    "second": "the second after the sip that was asked for: 0, 5, 10, 20, 30, 45 or 60",
    "given": "how strong the note was then, 0 to 9",
    "at_s": "the second at which the answer came; empty: as it was asked for",
    "place": "its place in its set: 1 the stronger or the first; of a sorting group 1 or 2",
}
OTHERWISE: dict[tuple[Kind, str], str] = {
    (Kind.MAKES, "site"): "where it was distilled",
    (Kind.CASKS, "filling"): "label of the filling; empty: CASK/1",
    (Kind.CASKS, "make"): "the new make spirit, as the makes name it",
    (Kind.EVENTS, "kind"): "what happened",
    (Kind.EVENTS, "abv"): "strength of what went in, in % vol",
    (Kind.DRAWS, "kind"): "what was drawn",
    (Kind.DRAWS, "cask"): "cask it was drawn from",
    (Kind.LEXICON, "stage"): "when it is scored",
    (Kind.PLANS, "abv"): "strength in the bottle, in % vol; empty: 46",
    (Kind.SCORES, "kind"): "what was in the glass",
    (Kind.OWN_SCORES, "kind"): "what was in the glass",
    (Kind.SCORES, "cask"): "cask the sample was drawn from",
    (Kind.OWN_SCORES, "cask"): "cask the sample was drawn from",
}
TWO_ROLES = f"{Role.LEAD}+{Role.ASSESSOR}"
EXAMPLES: dict[Kind, dict[str, Any]] = {
    Kind.MAKES: {"make": "plain", "site": "Sallow Weir", "cereal": "barley", "phenol_ppm": 1.5},
    Kind.CASKS: {
        **{"cask": "C12", "wood": "American oak", "size_l": 200, "filled_on": "2014-09-25"},
        **{"fill_number": 1, "fill_abv": 63.5, "fill_bulk_l": 190.5, "make": "plain"},
        **{"site": "Sallow Weir", "warehouse": "2", "row": "7", "tier": "1"},
    },
    Kind.EVENTS: {"cask": "C12", "kind": "moved", "happened_on": "2019-03-04", "warehouse": "3"},
    Kind.REGAUGES: {
        **{"cask": "C12", "gauged_on": "2024-05-02", "bulk_l": 158.2, "abv": 58.4},
        **{"method": "dipped"},
    },
    Kind.DRAWS: {
        **{"sample": "C12 spring", "kind": "cask", "cask": "C12", "drawn_on": "2026-02-10"},
        **{"abv": 57.9, "volume_ml": 200},
    },
    Kind.LEXICON: {
        **{"descriptor": "hearth smoke", "stage": "nose", "low_words": "not there"},
        **{"high_words": "fills the room", "introduced_on": "2026-01-05"},
    },
    Kind.ASSESSORS: {"assessor": "Alder", "roles": TWO_ROLES, "joined_on": "2026-01-05"},
    Kind.TARGETS: {"target": "Lantern", "descriptor": "hearth smoke", "aim": 18, "tolerance": 6},
    Kind.PLANS: {
        **{"plan": "Five years", "release": "Lantern 2028", "year": 2028, "target": "Lantern"},
        **{"bottles": 1200, "abv": 46, "age": 10, "limits": "casks 3-8; over 5"},
    },
    Kind.SCORES: {
        **{"session": "N1", "assessor": "Alder", "sample": "C12 spring"},
        **{"descriptor": "hearth smoke", "score": 22, "held_on": "2026-02-12", "position": 3},
    },
    Kind.OWN_SCORES: {
        **{"session": "N2", "assessor": "Alder", "sample": "C12 spring", "word": "wet rope"},
        **{"score": 35, "held_on": "2026-02-13", "position": 3},
    },
    Kind.ANSWERS: {"session": "N3", "assessor": "Alder", "glass": "412", "place": 1},
    Kind.TRACES: {
        **{"session": "N4", "assessor": "Alder", "glass": "538", "second": 20, "given": 6},
        **{"at_s": 20.4},
    },
    Kind.STAGES: {
        **{"session": "N5", "assessor": "Alder", "glass": "617"},
        **{"descriptor": "hearth smoke", "stage": "finish", "score": 35},
    },
}


def meaning(kind: Kind, column: str) -> str:
    """Return what stands in a column."""
    return OTHERWISE.get((kind, column)) or MEANINGS[column]


def column_words(kind: Kind, column: str) -> str:
    """Return what stands in a column, with its words where there are only some."""
    words = fixed_words(kind).get(column)
    return f"{meaning(kind, column)} ({', '.join(words)})" if words else meaning(kind, column)


@cache
def models_of(kind: Kind) -> tuple[type[RowModel], ...]:
    """Return the rows whose cells stand in a file of a kind."""
    if kind not in SCORE_KINDS:
        from panel.intake.row_checks import record_kind

        return (record_kind(kind).model,)
    from panel.intake.score_rows import GlassRow, LineRow, OwnWordRow

    return (GlassRow, OwnWordRow if kind is Kind.OWN_SCORES else LineRow)


@cache
def day_columns(kind: Kind) -> frozenset[str]:
    """Return the columns that hold dates."""
    days = {read_day, past_day, need_past_day}
    return frozenset(name for name, reader in _readers(kind).items() if reader in days)


@cache
def fixed_words(kind: Kind) -> dict[str, tuple[str, ...]]:
    """Return the words of each column in which no others may stand."""
    found: dict[str, tuple[str, ...]] = {}
    for name, reader in _readers(kind).items():
        choice = reader if isinstance(reader, OneOf) else getattr(reader, "__self__", None)
        if isinstance(choice, OneOf):
            found[name] = tuple(member.value for member in choice.kind)
        elif reader is read_yes_no:
            found[name] = ("yes", "no")
    if kind is Kind.REGAUGES:
        found["litres_at"] = tuple(LitresAt)
    return found


def _readers(kind: Kind) -> dict[str, Any]:
    return {
        name: mark.func
        for model in models_of(kind)
        for name, field in model.model_fields.items()
        for mark in field.metadata
        if isinstance(mark, BeforeValidator)
    }
