"""On a terminal no answer is wider than it; into a pipe a row stays one line."""

from __future__ import annotations

import os
import sys

import pytest

from analysis.cell_text import cells
from panel.cli import answers
from panel.words.columns import columns, columns_within

HEADINGS = ("cask", "litres", "where", "why")
ROWS = (
    ("SW1", "190", "Osier Shed D 2", "it leaks, and nobody has looked at it since the spring"),
    ("樽 十二", "7", "Loft", "水漏れ"),
    ("[/x]", "210.5", "Osier Shed D 12", ""),
)


def test_the_last_column_is_folded_below_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True)
    monkeypatch.setattr(answers, "get_terminal_size", lambda: os.terminal_size((50, 24)))
    lines = answers.table(HEADINGS, ROWS).splitlines()
    assert max(map(cells, lines)) <= 50
    start = lines[0].index("why")
    assert [line[start:] for line in lines[1:4]] == ["it leaks, and", "nobody has", "looked at it"]
    assert lines[2][:start].strip() == ""


@pytest.mark.parametrize("width", [30, 36])
def test_where_it_has_no_room_whole_columns_go_on_below(width: int) -> None:
    lines = columns_within(HEADINGS[:3], [row[:3] for row in ROWS], width - 8)
    assert len(lines) == 2 * (1 + len(ROWS))
    assert lines[2:4] == ["SW1         190", "    Osier Shed D 2"]


def test_into_a_pipe_a_row_is_a_line(capsys: pytest.CaptureFixture[str]) -> None:
    assert answers.table(HEADINGS, ROWS) == "\n".join(columns(HEADINGS, ROWS))
    answers.tell("word " * 40)
    assert capsys.readouterr().out == "word " * 40 + "\n"


def test_where_all_fits_nothing_is_folded() -> None:
    assert columns_within(HEADINGS, ROWS, 200) == columns(HEADINGS, ROWS)
