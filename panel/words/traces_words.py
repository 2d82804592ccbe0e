"""What traced sessions found, as lines of text."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analysis.traces.result import figures, mean_words
from panel.words.answers import paragraph, verdict_line
from panel.words.columns import columns

if TYPE_CHECKING:
    from analysis.traces import Traces
    from panel.questions.traces import TracesFound

HEADINGS = ("sample", "linger part", "greatest", "at s", "area", "half gone in s")


def traces_lines(found: TracesFound, width: int = 80) -> list[str]:
    """Return what is said of pairs and samples, their parameters, then the figures."""
    result = found.result
    lines: list[str] = []
    for verdict in found.verdicts:
        lines += paragraph(verdict_line(verdict), width)
    lines += ["", *columns(HEADINGS, traced_rows(result)), ""]
    for said in traces_figures(result):
        lines += paragraph(said, width)
    return lines


def traced_rows(found: Traces) -> list[tuple[str, ...]]:
    """Return the samples with their main parameters."""
    return [
        (
            one.sample,
            mean_words(one.means.linger_part, ".2f"),
            mean_words(one.means.i_max, ".0f"),
            mean_words(one.means.t_max, ".0f"),
            mean_words(one.means.auc, ".0f"),
            mean_words(one.means.half_life, ".0f"),
        )
        for one in found.samples
    ]


def traces_figures(found: Traces) -> list[str]:
    """Return the figures behind a finding as sentences."""
    return list(figures(found))
