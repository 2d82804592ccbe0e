"""Every line that a plain booth says in a session with marked casks: none bears a mark.

Two glasses of one tray are asked about in the same words but for the code on them.
"""

from __future__ import annotations

import re

import pytest
from sqlalchemy import select

from panel.booth.aloud.booth import PlainBooth
from panel.fault_log import log_path
from panel.seat.records import Records
from panel.session.stages import close_session
from panel.store import booth_queries
from panel.store.draws import Draw
from panel.store.engine import Store
from tests.booth.by_lines import Hand
from tests.houses.at_the_booth import Wall
from tests.houses.marked import MARK, PIN, mark_all, secrets_of
from tests.houses.to_plan import CODES, WORDS

KIND_OR_DRAW = re.compile(r"\b(reference|duplicate|replicate|trial|market|[DRW][0-9])\b")


@pytest.fixture
def marked(store: Store, wall: Wall) -> Store:
    return mark_all(store, wall)


def tray_codes(store: Store, wall: Wall) -> list[str]:
    with store.read() as db:  # rolled back: nobody's seat is taken
        seat = booth_queries.take_seat(db, "spring", CODES[0], now=wall())
        glasses = sorted(booth_queries.tray(db, seat).glasses, key=lambda g: (g.flight, g.position))
    return [glass.code for glass in glasses]


def test_no_line_before_the_reveal_bears_a_mark(
    marked: Store, wall: Wall, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = booth_queries.save_note

    def broken(*_: object, **__: object) -> None:
        with marked.read() as db:
            raise RuntimeError(next(iter(db.scalars(select(Draw)))).label)

    def breaks() -> str:
        monkeypatch.setattr(booth_queries, "save_note", broken)
        return "a quay"

    def mends() -> str:
        monkeypatch.setattr(booth_queries, "save_note", whole)
        return "r"

    def closes() -> None:
        with marked.write() as db:
            close_session(db, "spring", now=wall(), by="L1")

    codes = tray_codes(marked, wall)
    each = ["?", "w", "40", "x", "40", "x1", "", "w", "m", "5", "t", "a quay", "t", "", "c", "2"]
    each += ["k", "1", "k", "3", "n", "y", "u", "n", "y", "e", "b", "p"]
    hand = Hand([CODES[0], "1111", CODES[0], PIN, "?", "999", "w", "b", "r"])
    for code in codes[:-1]:
        hand.answers += [code, *each, lambda: wall.pass_s(60), "w", "b"]
    hand.answers += [codes[-1], "40", "t", breaks, mends, closes, "q"]
    booth = PlainBooth(Records(marked, "spring", wall), hand)
    booth.run()
    assert f"{codes[-2]} is put down, with everything kept." in hand.said
    assert "A fault of the booth's own: RuntimeError." in hand.text
    assert "was closed" in hand.text
    written = hand.text + log_path().read_text(encoding="utf-8")
    assert MARK not in written.lower()
    assert KIND_OR_DRAW.findall(hand.text) == []
    assert not [secret for secret in (*secrets_of(marked), PIN) if secret in written]
    _like_each_other(hand, codes[1:-1])


def _like_each_other(hand: Hand, codes: list[str]) -> None:
    """Tell that what was said of each glass differs in nothing but code, count and hour."""
    spoken = set()
    for code in codes:
        begun = hand.said.index(f"Glass {code} is in your hand.")
        ended = hand.said.index(f"{code} is put down, with everything kept.")
        words = "\n".join(hand.said[begun:ended])
        spoken.add(re.sub(r"\d\d:\d\d(:\d\d)?|Glass \d of", "", words.replace(code, "")))
    assert len(spoken) == 1
    assert all(word in next(iter(spoken)) for word in WORDS)
