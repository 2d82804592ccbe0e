"""The page of a passing session: which casks are passed, to nose again or held."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.report.common import CARE, foot
from panel.report.html import to_html
from panel.report.readers import may_name
from panel.report.session import fact_words
from panel.report.values import Column, Opening, Report, Section, Table, action

if TYPE_CHECKING:
    from collections.abc import Iterator

    from analysis.passing import PassingFound
    from analysis.pictures import Picture
    from panel.questions.passing import PassingAnswer
    from panel.questions.stands_on import StandsOn
    from panel.report.readers import Reader
    from panel.session.facts import SessionFacts

SOURCES = (
    "Intervals: Clopper & Pearson (1934), Biometrika 26:404-413.",
    "Planted faults are made up by the house; a nose that catches them may miss a real one.",
)


def passing_page(
    found: PassingAnswer,
    facts: SessionFacts,
    stands: StandsOn,
    *,
    reader: Reader,
    pictures: tuple[Picture, ...] = (),
) -> str:
    """Return the page of one passing session; noses are named where the reader may know them."""
    result = found.result
    named = may_name(reader, len(result.noses))
    counts, *said = result.sentences
    noses = {nose.assessor for nose in result.noses}
    kept = [one for one in said if named or not any(one.startswith(f"{n} ") for n in noses)]
    return to_html(
        Report(
            kind="Passing session",
            name=result.session,
            fact=fact_words(facts, len(result.noses), len(result.casks), named=named),
            reader=reader.words,
            opening=Opening(counts, tuple(kept), action("")),
            pictures=pictures,
            sections=tuple(_sections(result, named=named)),
            reckoned=("What was planted counts nowhere among the casks.",),
            sources=SOURCES,
            cautions=CARE,
            foot=foot(stands),
        )
    )


def _sections(result: PassingFound, *, named: bool) -> Iterator[Section]:
    casks = [
        (
            *(cask.cask, cask.sample, cask.state.value, cask.now.word.value if cask.now else "-"),
            *(", ".join(cask.faults) or "-", str(cask.noses)),
        )
        for cask in result.casks
    ]
    columns = (
        *(
            Column("cask"),
            Column("sample"),
            Column("stood that day"),
            Column("stands now"),
            Column("faults named"),
        ),
        Column("noses", figures=True),
    )
    yield Section("Casks", tables=(Table("Every cask", columns, casks),))
    if named:
        rows = [
            (
                *(block.assessor, str(block.block), str(block.passed), str(block.held)),
                f"{block.caught} of {block.spikes}",
                f"{block.stopped} of {block.sound}",
            )
            for block in result.blocks
        ]
        heads = (
            *(Column("nose"), Column("block", figures=True), Column("passed", figures=True)),
            *(Column("held", figures=True), Column("planted faults caught")),
            Column("known-sound stopped"),
        )
        yield Section("Blocks", tables=(Table("Every block of every nose", heads, rows),))
