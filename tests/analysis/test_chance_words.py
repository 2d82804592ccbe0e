"""A chance reads the same in a sentence, in a table and in a picture."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from analysis.chance_words import chance, in_100, in_percent


@given(st.floats(0.0, 1.0))
def test_sentence_table_and_picture_say_one_figure(probability: float) -> None:
    words = in_100(probability).removesuffix(" in 100")
    sign = {"below 1": "<", "above 99": ">"}.get(words, "")
    figure = int(words.split()[-1])
    assert in_percent(probability) == f"{sign}{figure} %"
    assert chance(probability) == f"{sign}.{figure:02d}"
    assert 1 <= figure <= 99
    assert sign or abs(figure - 100 * probability) <= 0.5 + 1e-9


def test_only_what_rounds_to_nought_or_to_certain_has_a_sign() -> None:
    given = (0.0, 0.0049, 0.005, 0.5, 0.9947, 0.9951, 1.0)
    said = ["<1 %", "<1 %", "1 %", "50 %", "99 %", ">99 %", ">99 %"]
    assert [in_percent(each) for each in given] == said
