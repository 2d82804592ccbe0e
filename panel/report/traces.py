"""The page of a traced session: does a note burst, or does it linger?"""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.report.common import CARE, foot
from panel.report.html import to_html
from panel.report.readers import may_name
from panel.report.session import fact_words
from panel.report.values import Column, Opening, Report, Section, Table, action, sentences
from panel.words.traces_words import HEADINGS, traced_rows, traces_figures

if TYPE_CHECKING:
    from analysis.pictures import Picture, Plane
    from panel.questions.stands_on import StandsOn
    from panel.questions.traces import TracesFound
    from panel.report.readers import Reader
    from panel.session.facts import SessionFacts

SOURCES = (
    "Terms of a trace: ASTM E1909, Standard Guide for Time-Intensity Evaluation of Sensory "
    "Attributes. Burst and linger are two shapes of the house's own, fitted by least squares.",
)
HOW = (
    "One sip, spat at 10 s, and one key at each second asked for; each answer counts at the second "
    "it came. Parameters are averaged over assessors, curves never; what lasts longer than a "
    "minute is cut there. Intervals hold 95 times in 100, those of pairs all together 96.",
    "Burst and linger begin at each assessor's own seconds after the sip, 0 to 8, those that fit "
    "all their traces of the session best. A word is said where the keys agree with it: of a burst "
    "most stand below half of their greatest at 30 s, of a linger at half of it or more at 45 s. "
    "Two samples are not compared where one often reaches 9, or the fainter often stands at 0.",
    "The linger part does not move where only the amount of a note doubles: how much there is of "
    "it is asked by a profile.",
)


def traces_page(
    found: TracesFound,
    facts: SessionFacts,
    stands: StandsOn,
    *,
    reader: Reader,
    pictures: tuple[Picture | Plane, ...] = (),
) -> str:
    """Return the page of a traced session."""
    result = found.result
    named = may_name(reader, result.n_people)
    first, *others = found.verdicts
    name, *figures = HEADINGS
    table_columns = (Column(name), *(Column(each, figures=True) for each in figures))
    table = Table("", table_columns, traced_rows(result), "Means over assessors, with intervals.")
    return to_html(
        Report(
            kind="Trace",
            name=result.session,
            fact=fact_words(facts, result.n_people, len(result.samples), named=named),
            reader=reader.words,
            opening=Opening(first.label, sentences(f"{first.said}."), action(first.next_action)),
            pictures=pictures,
            sections=(
                Section("What is said besides", sentences(*(one.sentence for one in others))),
                Section(f"{result.note} over a minute", tables=(table,)),
                Section("What it rests on", sentences(*traces_figures(result))),
            ),
            reckoned=sentences(*HOW),
            sources=SOURCES,
            cautions=CARE,
            foot=foot(stands),
        )
    )
