"""Text measured and folded in cells."""

from __future__ import annotations

from textwrap import wrap

from hypothesis import given
from hypothesis import strategies as st

from analysis.cell_text import cells, folded

SIGNS = st.text(st.sampled_from("ab -梨の皮é\u0301x"), max_size=80)


@given(SIGNS, st.integers(2, 30))
def test_no_line_is_wider_and_no_sign_is_lost(text: str, width: int) -> None:
    lines = folded(text, width)
    assert all(cells(line) <= width for line in lines)
    assert "".join("".join(lines).split()) == "".join(text.split())


@given(st.text(st.sampled_from("ab -cdé"), max_size=80), st.integers(1, 30))
def test_narrow_text_is_folded_as_ever(text: str, width: int) -> None:
    assert folded(text, width, subsequent_indent=" ") == wrap(text, width, subsequent_indent=" ")


def test_wide_columns_stand_under_each_other() -> None:
    from panel.words.columns import columns

    heading, first, second = columns(["note", "n"], [["梨の皮", 3], ["smoke", 12]])
    assert cells(heading) == cells(first) == cells(second)
    assert first.endswith(" 3")
