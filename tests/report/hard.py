"""Pages that are hard to lay out: forty people, four hundred casks, names in five scripts."""

from __future__ import annotations

from datetime import date

import pandas as pd

from analysis.ageing import Ageing, Window
from analysis.agreement import Agreement, assess_agreement
from panel.kinds import Manner, SessionKind, SessionStatus
from panel.pictures.sessions import pictures_of
from panel.questions.cask_entries import LifeEntry
from panel.questions.cask_life import CaskLife
from panel.questions.stands_on import StandsOn
from panel.report.ageing import ageing_page
from panel.report.cask import CaskAnswers, cask_page
from panel.report.readers import Reader
from panel.report.session import session_page
from panel.session.facts import SessionFacts
from tests.houses.worlds import Evening

DAY = date(2026, 3, 14)
STANDS = StandsOn(DAY, "f" * 64)
FIVE = (
    "Brombeerblätterteiggebäckkrümelchenduft",
    "дым от старой лодочной мастерской у реки",
    "黒糖と古い本棚の香りがゆっくり広がる長い余韻",
    "دخان خشب السنديان القديم مع قشر البرتقال",
    "ऊदबत्ती और भीगी मिट्टी की लंबी महक",
)
SAID = ("<script>alert('x')</script> & \"[/x]\" " * 14)[:500]


def forty_people() -> Agreement:
    scores = Evening(n_assessors=40, n_notes=5, n_samples=6, replicates=2).scores()
    notes = dict(zip(sorted(scores["descriptor"].unique()), FIVE, strict=True))
    samples = sorted(scores["sample"].unique())
    named = {name: f"{FIVE[at % 5]} {at}" for at, name in enumerate(samples)}
    renamed = scores.assign(
        descriptor=scores["descriptor"].map(notes), sample=scores["sample"].map(named)
    )
    return assess_agreement(pd.DataFrame(renamed), seed=1)


def session() -> str:
    facts = SessionFacts(
        *("S1", SessionStatus.REVEALED, SessionKind.PROFILE, Manner.NOSE, DAY),
        n_assessors=0,
        n_descriptors=0,
        key_hash=None,
        loaded=False,
        rehearsal=False,
        blind=True,
    )
    found = forty_people()
    drawn = pictures_of(found)
    return session_page(found, facts, STANDS, reader=Reader.LEAD, pictures=drawn)


def four_hundred_casks() -> str:
    windows = tuple(
        Window(
            target="Lantern",
            cask=f"SW-{number:05d}/{FIVE[number % 5]}" if number < 5 else f"SW-{number:05d}",
            filling=f"SW-{number}/1",
            style="American oak",
            age_years=8.0 + number / 100,
            n_draws=number % 3,
            now_chance=0.5,
            best_on=DAY,
            best_chance=0.75,
            opens=DAY,
            closes=DAY,
            looked_until=DAY,
            worst_descriptor=FIVE[number % 5],
            note="nothing further is foretold",
        )
        for number in range(400)
    )
    found = Ageing((), windows, (), {}, (SAID,), DAY, 0.9, 1)
    return ageing_page(found, (), STANDS, name="for Lantern")


def cask() -> str:
    life = CaskLife(
        number="SW<script>1</script>",
        wood=FIVE[0],
        size_l=250.0,
        note=None,
        as_of=DAY,
        fillings=(),
        entries=tuple(LifeEntry(DAY, "moved", FIVE[at], SAID) for at in range(5)),
        flags=(SAID, "A" * 200),
    )
    nothing = CaskAnswers(life, None, SAID, None, "Nobody nosed it.", (), ())
    return cask_page(nothing, STANDS)
