"""The page of influences: what wood, fill, age, peat, strength and place do to the notes."""

from __future__ import annotations

from dataclasses import replace
from itertools import groupby
from typing import TYPE_CHECKING

from analysis.influences.factors import Factor
from panel.pictures.influences import moved
from panel.report.common import CARE, foot
from panel.report.html import to_html
from panel.report.values import Column, Opening, Report, Said, Section, Table, sentences
from panel.words.influence_words import (
    FACTORS,
    NOT_CLAIMED_WORDS,
    effect_cells,
    heading_words,
    inseparable_words,
    left_out_words,
    note_words,
    power_words,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from analysis.influences import Effect, Influences
    from analysis.pictures import Picture
    from panel.questions.stands_on import StandsOn

MOST_DRAWN = 5
"""Notes that a page of all draws: those that most is told of."""
REST = (
    "Drawn above is what may be said to move the notes of which most may be said; a page of one "
    "note gives every figure of it."
)
OF_ALL = (
    Column("note"),
    Column("what"),
    Column("against"),
    Column("more or less", "points", figures=True),
    Column("from", "points", figures=True),
    Column("to", "points", figures=True),
    Column("casks", figures=True),
)
IN_EACH_WOOD = (Factor.WOOD_FILL, Factor.AGE_IN_WOOD)
"""What a page of one note goes into."""
OF_ONE = (
    Column("level"),
    Column("against"),
    Column("more or less", "points", figures=True),
    Column("from", "points", figures=True),
    Column("to", "points", figures=True),
    Column("casks", figures=True),
    Column("mind"),
)
LAST = len(OF_ONE) - 1
MINDED = f"{NOT_CLAIMED_WORDS[:1].upper()}{NOT_CLAIMED_WORDS[1:]}"
PARTED = (
    "Nose the casks that part the influences which cannot be told apart yet; which, stands below."
)
UNNOSED = "Nose a cask before you use it: what is foretold of one that nobody nosed is wide."
SOURCES = (
    "Restricted likelihood: Patterson & Thompson (1971). What cannot be told apart: Belsley, Kuh & "
    "Welsch (1980).",
    "Claims over all notes and influences together: Benjamini & Hochberg (1995); their intervals: "
    "Benjamini & Yekutieli (2005).",
)
WOOD_TAKES_YEARS = (
    "What is laid down by this is nosed years later: these are casks that the records happen to "
    "hold, not a trial that was laid out, and what goes with an influence may be what moves the "
    "note."
)


def influences_page(found: Influences, stands: StandsOn, *, descriptor: str | None = None) -> str:
    """Return the page of all notes, or of one."""
    return to_html(
        Report(
            kind="Influences",
            name=descriptor or "on all notes",
            fact=heading_words(found),
            reader="To hand on.",
            opening=_opening(found, descriptor),
            pictures=tuple(_drawn(found, descriptor)),
            sections=tuple(_sections(found, descriptor)),
            reckoned=tuple(_reckoned(found)),
            sources=SOURCES,
            cautions=(WOOD_TAKES_YEARS, *CARE),
            foot=foot(stands),
        )
    )


def _opening(found: Influences, descriptor: str | None) -> Opening:
    what = PARTED if found.separation.inseparable else UNNOSED
    if descriptor is not None:
        said = tuple(note_words(one) for one in found.notes if one.descriptor == descriptor)
        word = f"What moves {descriptor}"
    else:
        moves = [note for note in found.notes if _claimed(found, note.descriptor)]
        word = f"What is on record moves {len(moves)} of {len(found.notes)} notes"
        said = ()
    return Opening(word, (*said, *found.warnings), what)


def _claimed(found: Influences, note: str) -> tuple[Effect, ...]:
    """What may be said to move a note; wood by wood only where nothing else is."""
    every = tuple(effect for effect in found.of(note) if effect.clear)
    broad = tuple(effect for effect in every if effect.factor not in IN_EACH_WOOD)
    return broad or every


def _drawn(found: Influences, descriptor: str | None) -> Iterator[Picture]:
    """The note asked for, all of it; else what is claimed of those of which most is."""
    if descriptor is not None:
        yield from moved(found, descriptor)
        return
    names = [note.descriptor for note in found.notes if _claimed(found, note.descriptor)]
    most = sorted(names, key=lambda name: (-len(_claimed(found, name)), name))[:MOST_DRAWN]
    for name in sorted(most):
        yield from moved(replace(found, effects=_claimed(found, name)), name)


def _sections(found: Influences, descriptor: str | None) -> Iterator[Section]:
    if descriptor is None:
        notes = tuple(Said(one.descriptor, "", (note_words(one),)) for one in found.notes)
        yield Section("Note by note", (REST,), notes)
        rows = [
            (note.descriptor, f"{name}: {level}", *figures)
            for note in found.notes
            for effect in _claimed(found, note.descriptor)
            for name, level, *figures, _ in (effect_cells(effect),)
        ]
        if rows:
            yield Section("What may be said to move them", tables=(Table("", OF_ALL, rows),))
    else:
        yield from _of_one(found, descriptor)
    apart = tuple(inseparable_words(found))
    if apart:
        yield Section("What cannot be told apart yet", apart)


def _of_one(found: Influences, descriptor: str) -> Iterator[Section]:
    """Every influence on one note: what is told, and why the rest is not."""
    effects = found.of(descriptor)
    tables: list[Table] = []
    untold: list[str] = []
    for factor, group in groupby(effects, key=lambda effect: effect.factor):
        every = list(group)
        told = [effect for effect in every if effect.estimate is not None]
        tables += [_factor_table(FACTORS[factor], told)] if told else []
        untold += _untold(FACTORS[factor], every)
    if not tables:
        return
    minds = any(effect.unclaimed for effect in effects)
    title = f"What moves {descriptor}, influence by influence"
    yield Section(title, sentences(MINDED if minds else None), tables=tuple(tables))
    if untold:
        yield Section("What is not told of it", tuple(untold))


def _factor_table(name: str, effects: Sequence[Effect]) -> Table:
    """One influence; what all its levels are held against stands in the title alone."""
    rows = [effect_cells(effect)[1:] for effect in effects]
    against = {effect.against for effect in effects}
    one, bare = len(against) == 1, not any(row[-1] for row in rows)
    shown = [at for at in range(len(OF_ONE)) if not ((at == 1 and one) or (at == LAST and bare))]
    title = f"{name}, against {against.pop()}" if one and any(against) else name
    columns = tuple(OF_ONE[at] for at in shown)
    return Table(title, columns, [tuple(row[at] for at in shown) for row in rows])


def _untold(name: str, effects: Sequence[Effect]) -> Iterator[str]:
    why: dict[str, list[str]] = {}
    for effect in effects:
        if effect.estimate is None:
            why.setdefault(effect.note or "not known", []).append(effect.level)
    for note, levels in why.items():
        yield f"{name}, {', '.join(levels)}: {note}."


def _reckoned(found: Influences) -> Iterator[str]:
    yield (
        "One model a note over all draws: what a level does, everything else on record being "
        "equal, with casks of one kind still differing. An influence may be said to move a note "
        f"only where that stands among all notes and influences together; intervals are those of "
        f"{found.level:.0%}, wider for what was picked among many."
    )
    for note in found.notes:
        if len(found.notes) == 1:
            yield power_words(note)
    yield from left_out_words(found)
