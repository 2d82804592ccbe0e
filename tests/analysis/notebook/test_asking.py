"""Questions from a notebook: what is refused, and how an answer shows itself."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import pandas as pd
import pytest

from analysis import notebook
from analysis.errors import InputError, UnknownNameError
from analysis.readable import LINES, Readable, listed
from analysis.strength import reduce_strength
from analysis.target import Target, TargetLine
from analysis.vatting import NoVatting, VattingPlan

NOTE = "smoke"
AIM = Target("Fen", (TargetLine(NOTE, 24.0, 12.0),))


def evenings(count: int = 2) -> pd.DataFrame:
    """Scores of six casks by five people, each glass twice an evening."""
    rows = [
        {
            **{"session": f"S{evening}", "held_on": f"2026-03-{evening:02d}", "assessor": who},
            **{"sample": f"C{cask}-1", "cask": f"C{cask}", "filling": f"C{cask}/1"},
            **{"replicate": again, "descriptor": NOTE},
            "score": 10.0 * cask + shift + (7 * cask * again + 3 * shift + evening) % 5,
        }
        for evening in range(1, count + 1)
        for shift, who in enumerate("ABCDE")
        for cask in range(6)
        for again in (1, 2)
    ]
    return pd.DataFrame(rows)


STOCK = pd.DataFrame(
    {
        "cask": [f"C{cask}" for cask in range(6)],
        "filling": [f"C{cask}/1" for cask in range(6)],
        "age_years": 12.0,
        "abv": 60.0,
        "bulk_l": 180.0,
        "stock_on": pd.Timestamp("2026-03-14"),
    }
)


@pytest.fixture(scope="module")
def answers() -> dict[str, Readable]:
    scores = evenings()
    profile = notebook.estimate_profile(scores)
    plan = notebook.plan_vatting(profile, AIM, STOCK, litres=400, excess_fraction=0.2)
    narrow = notebook.plan_vatting(profile, AIM, STOCK, litres=400, excess_fraction=0.0)
    return {
        "profile": profile,
        "agreement": notebook.assess_agreement(scores, "S2"),
        "match": notebook.match(profile, AIM, STOCK),
        "plan": plan,
        "none": narrow,
        "water": reduce_strength(100.0, 63.5, 46.0),
    }


@pytest.mark.slow
def test_every_answer_tells_itself_shortly_and_as_a_frame(answers: dict[str, Readable]) -> None:
    for answer in answers.values():
        assert answer.summary()
        assert 0 < len(repr(answer).splitlines()) <= LINES
        assert max(map(len, repr(answer).splitlines())) <= 90
        assert len(answer.to_frame()) > 0
    assert isinstance(answers["plan"], VattingPlan)
    assert isinstance(answers["none"], NoVatting)
    assert answers["match"].to_frame()["cask"].iloc[0] == "C2"
    assert answers["agreement"].to_frame()["descriptor"].tolist() == [NOTE]
    assert answers["plan"].to_frame()["litres"].sum() >= 300.0
    assert answers["water"].to_frame()["water_litres"].iloc[0] > 38.0


def test_a_notebook_shows_the_picture_and_the_table(answers: dict[str, Readable]) -> None:
    for name, answer in answers.items():
        shown = answer._repr_html_()
        assert shown.count("<table") == 1
        assert shown.count("<svg") == (name not in {"none", "water"}), name
        assert not re.search(r"<script|<link|<img|https?://(?!www.w3.org/2000/svg)|url\(", shown)
        assert ET.fromstring(shown).tag == "div"


def test_what_people_wrote_stands_in_a_notebook_as_text() -> None:
    nasty = "<script>alert('&')</script>"
    scores = evenings().replace({NOTE: nasty, "C0-1": f"C0{nasty}"})
    aim = Target(nasty, (TargetLine(nasty, 24.0, 12.0),))
    profile = notebook.estimate_profile(scores)
    for answer in (
        notebook.assess_agreement(scores, "S2"),
        profile,
        notebook.match(profile, aim, STOCK),
    ):
        shown = answer._repr_html_()
        assert "<script" not in shown
        assert "&lt;script&gt;" in shown
        assert nasty in "".join(ET.fromstring(shown).itertext())


def test_a_long_answer_says_how_much_more_there_is() -> None:
    class Long(Readable):
        def said(self) -> object:  # type: ignore[override]
            return iter(f"line {i}" for i in range(25))

    lines = repr(Long()).splitlines()
    assert len(lines) == LINES
    assert lines[-1] == "... and 16 lines more: summary(), to_frame()"
    assert len(Long().summary().splitlines()) == 25
    assert list(listed("abcd", most=2)) == ["a", "b", "... and 2 more"]


def test_an_evening_is_laid_beside_those_before_it_only() -> None:
    scores = evenings(3)
    both = notebook.assess_agreement(scores[scores["session"] != "S3"], "S2")
    assert notebook.assess_agreement(scores, "S2").to_dict() == both.to_dict()
    assert both.n_recent_sessions == 1
    assert notebook.assess_agreement(scores[scores["session"] == "S2"]).n_recent_sessions == 0


def test_unknown_names_are_refused_with_the_nearest(answers: dict[str, Readable]) -> None:
    profile = notebook.estimate_profile(evenings(1))
    with pytest.raises(UnknownNameError, match=r"no session 'S 1'\. The nearest: S1"):
        notebook.assess_agreement(evenings(), "S 1")
    with pytest.raises(InputError, match="of 2 sessions: name one, such as S2"):
        notebook.assess_agreement(evenings())
    with pytest.raises(UnknownNameError, match=r"no limit 'botles'\. The nearest: bottles"):
        notebook.plan_vatting(profile, AIM, STOCK, botles=100)
    with pytest.raises(InputError, match=r"casks=3 is no pair"):
        notebook.plan_vatting(profile, AIM, STOCK, bottles=100, casks=3)
    with pytest.raises(InputError, match="stock_on"):
        notebook.plan_vatting(profile, AIM, STOCK.drop(columns="stock_on"), bottles=100)
