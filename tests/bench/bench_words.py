"""How often a word is said where it is false, and where it is true.

    OPENBLAS_NUM_THREADS=1 python -m tests.bench.bench_words [ROW]...

Measures the rows of these names (or of names that begin so; `missing`: those never measured; all
without a name), each over made-up sessions in which the truth is known, as a panel lead would get
them. A false rate goes on until its upper 95 % bound is under what is asked, or it is plain that it
will not be. What is measured is kept in tests/bench/word_rates.json, and demo_panel/HOW_WE_KNOW.md
is written from it; `page` alone writes the page. Rows that miss what is asked of them say so.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import sys
import time
from collections.abc import Sequence
from importlib import import_module
from pathlib import Path

from tests.bench.word_rates import Row, grouped, keep, kept, line, measure

PAGE = Path(__file__).parents[2] / "demo_panel" / "HOW_WE_KNOW.md"
COMMAND = "OPENBLAS_NUM_THREADS=1 python -m tests.bench.bench_words"
SOURCES = (
    "tests.bench.words_people",
    "tests.bench.words_returning",
    "tests.bench.words_odd",
    "tests.bench.words_span",
    "tests.bench.words_camps",
    "tests.bench.words_casks",
    "tests.bench.words_flight",
    "tests.bench.words_influences",
    "tests.bench.words_ageing",
    "tests.bench.bench_words_trays",
    "tests.bench.words_order",
    "tests.bench.words_review",
    "tests.bench.words_passing",
    "tests.bench.words_difference",
    "tests.bench.words_drift",
    "tests.bench.words_training",
    "tests.bench.words_plan",
    "tests.bench.words_traces",
    "tests.bench.words_stages",
    "tests.bench.words_own",
    "tests.bench.words_next",
    "tests.bench.words_match",
)
"""Modules of rows: each has `rows()` and `RULES`."""
HEAD = (
    "| sentence | where | asked | said | upper bound | over | outcome | row |",
    "| --- | --- | --- | --- | --- | --- | --- | --- |",
)
TRUTH = (
    "A word on a panel, a person or a cask is a claim. Each was said, or not, of made-up sessions "
    "in which the truth is known, drawn otherwise than those the rules were set on (skewed and "
    "uniform casks, heavy tails, noise that grows with the note, notes that go astray together). "
    "Where a rate was not held, the threshold was moved (.035 for alike, .18 of equal casks for "
    "alike in a small flight, .042 and .045 for people, low blanks, how often trays are taken to "
    "be mixed up, what a nose is not shown to catch, by how much a loss is unexplained, how many "
    "different samples exercises have) and "
    "all was measured again on these worlds: of these thresholds they are no "
    "longer quite a stranger's. A good panel has a cell sd of 8 points, a fair one of 16. "
    "Sizes are assessors x samples. "
    '"Upper bound" is the 95 % bound of a rate where the word is false; chances of one session '
    "hang together, and it allows for that. Where the word is true, the rate is how often it is "
    "found. A row that misses what was asked of it says so."
)


def all_rows() -> list[Row]:
    """Every row that is registered."""
    found: list[Row] = [row for name in SOURCES for row in import_module(name).rows()]
    names = [row.name for row in found]
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise ValueError(f"Rows of one name: {', '.join(twice)}")
    return found


def rules() -> dict[str, str]:
    """The rule of each sentence."""
    return {word: rule for name in SOURCES for word, rule in import_module(name).RULES.items()}


def page() -> str:
    """The page of the demo, from what is kept."""
    tallies = kept()
    lines = [line(row, tallies[row.name]) for row in all_rows() if row.name in tallies]
    said = [f"- *{word}*: {rule}." for word, rule in rules().items()]
    repeat = f"Repeat a row by its name with `{COMMAND} ROW`."
    return "\n".join(["# How we know", "", TRUTH, "", *said, "", repeat, "", *HEAD, *lines, ""])


def wanted(names: Sequence[str]) -> list[Row]:
    """Rows of these names, or of names that begin so."""
    rows = all_rows()
    if list(names) == ["missing"]:
        known = kept()
        return [row for row in rows if row.name not in known]
    if not names:
        return rows
    return [row for row in rows if row.name.startswith(tuple(names))]


def main(names: Sequence[str]) -> None:
    """Measure, keep, and write the page."""
    started = time.process_time()
    for group in grouped([] if list(names) == ["page"] else wanted(names)):
        for row, tally in measure(group):
            keep(row.name, tally)
            print(f"{line(row, tally)}  {time.process_time() - started:.0f} s", flush=True)
    PAGE.write_text(page(), encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1:])
