"""What traced sessions found, as lines of text."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.words.answers import number, paragraph, verdict_line
from panel.words.columns import columns

if TYPE_CHECKING:
    from analysis.traces import Traces
    from panel.questions.traces import TracesFound

HEADINGS = ("sample", "linger part", "greatest", "at s", "area", "half gone", "still there")


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
            one.means.linger_part.told(".2f"),
            number(one.means.i_max.mean, 0),
            number(one.means.t_max.mean, 0),
            number(one.means.auc.mean, 0),
            number(one.means.half_life.mean, 0),
            f"{one.n_still_there} of {one.n_traces}",
        )
        for one in found.samples
    ]


def traces_figures(found: Traces) -> list[str]:
    """Return the figures behind a finding as sentences."""
    return list(found.said())[len(found.pairs) + len(found.samples) :]
