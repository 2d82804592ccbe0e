"""A house that writes commas: so in words, on pages and at the desk; machines get points."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest

from panel.cli import invocation
from panel.desk.app import DeskApp
from panel.figures import Hand, own_hand, tenths, typed_number
from panel.store.engine import Store
from panel.store.house_setting import HouseSetting
from tests.cli.calling import Call, caller
from tests.desk.driving import press, seen, settle, signed_in
from tests.houses.nosed import NOW
from tests.houses.tasting import build_tasting
from tests.report.reading import Read

DAY = ("--as-of", "2026-03-14")
LIMITS = ("--litres", "350", "--casks", "2-5", "--old-gauges", "flag")
QUICKLY = (
    ("cask", "C3"),
    ("agreement", "EV1"),
    ("match", "Fen", *DAY),
    ("vat", "Fen", *LIMITS, *DAY),
    ("release", "sheet", "Spring"),
    ("release", "show", "Spring"),
    ("register", "months"),
    ("target", "show", "Fen"),
    ("strength", "loss", "--start", "200@63.5", "--end", "168@58.2", "--years", "10"),
)
WHOLE = (
    ("cask",),
    ("cask", "C3", "--scores"),
    ("session", "list"),
    ("session", "show", "EV1"),
    ("session", "show", "EV1", "--scores"),
    ("agreement", "EV1", "EV2"),
    ("agreement", "EV1", "--note", "AA"),
    ("agreement", "EV1", "--two", "C1", "C2"),
    ("profile", *DAY),
    ("profile", "--assessor", "AA", *DAY),
    ("influences", *DAY),
    ("ageing", "--target", "Fen", *DAY),
    ("match", "Fen", "--would-change", *DAY),
    ("session", "next", "Fen", "--best", "2", "--at-hand", *DAY),
    ("session", "power", "--descriptor", "ember", *DAY),
    ("register",),
    ("release", "list"),
    ("release", "mixing"),
    ("rules", "show"),
    ("house", "show"),
    ("strength", "at-20", "--litres", "200", "--abv", "60", "--temperature", "10"),
    ("strength", "marry", "--part", "100@63.5", "--part", "100@50"),
    ("strength", "reduce", "--litres", "100", "--from", "63.5", "--to", "46"),
    ("strength", "read", "--reading", "60", "--temperature", "15"),
    ("strength", "ullage", "--size", "250", "--litres", "212.5"),
    ("strength", "until", "--start-abv", "50", "--end-abv", "45", "--years", "10"),
    ("strength", "weigh", "--kg", "180", "--abv", "58"),
)
PAGES = (("session", "EV1"), ("target", "Fen"), ("cask", "C3"), ("release", "Spring"))
POINTED = re.compile(r"(?<![\w.])\d*\.\d+(?![\w.]*\w)")
TWO_MEANINGS = re.compile(r"(?<![\d,])[1-9]\d{0,2},\d{3}(?!\d)")
COORDINATES = frozenset({"d", "x", "y", "cx", "cy", "r", "width", "height", "viewbox"})


@pytest.fixture
def house(store: Store, monkeypatch: pytest.MonkeyPatch) -> Store:
    monkeypatch.setattr(invocation.Invocation, "now", lambda _self: NOW)
    build_tasting(store)
    return store


@pytest.fixture
def oakpanel(
    house: Store, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Call:
    return caller(capsys, monkeypatch, "--db", str(house.url.database), "--by", "LD", house=house)


@pytest.fixture
def comma(oakpanel: Call) -> Call:
    assert oakpanel("house", "set", "decimal_mark", "comma").code == 0
    return oakpanel


def as_commas(text: str) -> str:
    """Hold a text for people against points that are left and commas of two meanings."""
    assert POINTED.findall(text) == [], text
    assert TWO_MEANINGS.findall(text) == [], text
    return text


def spoken(oakpanel: Call, words: tuple[str, ...]) -> str:
    said = oakpanel(*words)
    assert said.code == 0, said.err
    return as_commas(said.out)


@pytest.mark.slow
def test_words_of_commands_have_commas(comma: Call) -> None:
    said = [spoken(comma, words) for words in QUICKLY]
    assert sum(bool(re.search(r"\d,\d", text)) for text in said) >= len(said) - 2


@pytest.mark.slow
@pytest.mark.parametrize("words", WHOLE, ids=" ".join)
def test_words_of_every_other_answer_have_commas(comma: Call, words: tuple[str, ...]) -> None:
    spoken(comma, words)


@pytest.mark.parametrize("words", PAGES, ids=" ".join)
def test_pages_have_commas_in_words_and_points_in_drawings(
    comma: Call, words: tuple[str, ...]
) -> None:
    page = Read(comma("report", *words, "--to", "-").out)
    as_commas(page.text)
    drawn = [
        str(value) for _, held in page.tags for name, value in held.items() if name in COORDINATES
    ]
    assert not [value for value in drawn if "," in value]


@pytest.mark.slow
def test_a_document_for_machines_is_the_same_in_every_house(oakpanel: Call) -> None:
    asked = [(*words, "--json") for words in (QUICKLY[1], QUICKLY[2], QUICKLY[5])]
    before = [oakpanel(*words).document for words in asked]
    oakpanel("house", "set", "decimal_mark", "comma")
    for words, document in zip(asked, before, strict=True):
        spoken(oakpanel, words[:-1])  # what is kept for people is none of the machine's
        assert oakpanel(*words).document == document


@pytest.mark.slow
async def test_pages_of_the_desk_have_commas(house: Store) -> None:
    with house.write() as db:
        db.add(HouseSetting(name="decimal_mark", value="comma"))
    desk = signed_in(DeskApp(house, by="LD", clock=lambda: NOW))
    async with desk.run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        said = ""
        for keys in (("1", "enter"), ("2", "enter"), ("3", "enter"), ("6", "enter"), ("7",)):
            await press(pilot, *keys)
            said += as_commas("\n".join(seen(desk)))
            await press(pilot, "escape")
        assert re.search(r"\d,\d", said)


@pytest.fixture
def hand() -> Iterator[Hand]:
    with own_hand() as taken:
        yield taken


def test_what_stands_on_a_screen_is_read_as_it_was_meant(hand: Hand) -> None:
    hand.comma = True
    assert typed_number(tenths(63.5)) == 63.5
    for text, words in [("1.233", "1233 or 1,2330"), ("1,233", "1233 or 1,2330")]:
        with pytest.raises(ValueError, match=words):
            typed_number(text)
    assert typed_number("1,2330") == 1.233
    hand.for_machines = True
    assert tenths(63.5) == "63.5"
