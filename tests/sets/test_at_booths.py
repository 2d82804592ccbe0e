"""Sets at every booth: by keys, by lines of text, in a browser; each answer on disk before kept."""

from __future__ import annotations

import pytest
from sqlalchemy import select, update

from panel.booth.sets import SetScreen, code_rows
from panel.kinds import ServingStatus, SessionKind
from panel.store.engine import Store
from panel.store.sessions import LeadCall, Serving, SessionAssessor
from tests.booth.by_lines import sit
from tests.booth.sitting import keys, rows, said, seated, text, until
from tests.houses.at_the_booth import Wall
from tests.houses.sets_at_the_booth import kept_places, open_sets
from tests.serve.browsing import seated as seated_in_browser
from tests.serve.browsing import served_for
from tests.thinned import some, some_rows

PAIRS, FOURS, RANKED = SessionKind.STRONGER, SessionKind.TWO_AND_TWO, SessionKind.RANKING
ODD, LIKE = SessionKind.ODD_ONE_OUT, SessionKind.LIKE_THE_FIRST
KEPT = {
    PAIRS: {"538": 2.0, "417": 1.0},
    FOURS: {"538": 1.0, "417": 2.0, "382": 1.0, "295": 2.0},
    RANKED: {"538": 2.0, "417": 1.0, "382": 4.0, "295": 2.0},
    ODD: {"538": 2.0, "417": 1.0, "382": 2.0},
    LIKE: {"538": 1.0, "417": 2.0, "382": 1.0},
}


@pytest.fixture
def wall() -> Wall:
    return Wall()


# ---------------------------------------------------------------------- by keys


@pytest.mark.parametrize(
    ("kind", "typed", "answer"),
    some_rows(
        [
            (PAIRS, "12", "417 has more orchard fruit."),
            (FOURS, "3", "538 and 382 are one, 417 and 295 the other."),
            (RANKED, ("2", "1", "t", "4", "3"), "417, 538 = 295, 382."),
            (ODD, "12", "417 is the odd one."),
            (LIKE, "213", "382 is the same as the reference."),
        ],
        2,
    ),
)
async def test_a_set_is_answered_with_one_hand(
    store: Store, wall: Wall, kind: SessionKind, typed: str, answer: str
) -> None:
    open_sets(store, kind)
    async with seated(store, wall) as app:
        assert "first glass of your next set" in text(app)
        assert ("the reference, the first glass" in text(app)) is (kind is LIKE)
        await keys(app, *"538", "enter")
        await until(app, lambda: isinstance(app.screen, SetScreen) and app.screen.ready)
        await keys(app, "enter")
        assert said(app) in {"! Choose one first.", "! Give every glass a place first."}
        assert kept_places(store) == {}
        await keys(app, *typed)
        assert answer in text(app)
        assert (" the reference  " in text(app)) is (kind is LIKE)
        assert all(len(row) <= 80 for row in rows(app))
        await keys(app, "enter")
        assert said(app).startswith("The answer is kept: ")
        assert "Pause: the next set in 1:00" in text(app) or kind is not PAIRS
    assert kept_places(store) == KEPT[kind]


async def test_a_number_changes_an_answer_until_it_is_kept(store: Store, wall: Wall) -> None:
    open_sets(store, RANKED)
    async with seated(store, wall) as app:
        await keys(app, *"538", "enter")
        await keys(app, "2", "2")
        assert said(app) == "! 2 has a place already."
        await keys(app, "1", "x", "x", "3")
        assert "382 (3 to go)." in text(app)


async def test_a_set_that_lost_a_glass_is_left(store: Store, wall: Wall) -> None:
    open_sets(store, PAIRS)
    with store.write() as db:
        db.execute(update(Serving).where(Serving.code == "417").values(status=ServingStatus.VOID))
    async with seated(store, wall) as app:
        await keys(app, *"538", "enter")
        assert "cannot be answered" in text(app)
        await keys(app, "enter")
        assert said(app) == "Set 1 is left."
    assert kept_places(store) == {}
    with store.read() as db:
        glass = db.scalars(select(Serving).where(Serving.code == "538")).first()
        assert glass is not None
        assert glass.finished_at is not None


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
@pytest.mark.parametrize("kind", some([PAIRS, FOURS, RANKED, LIKE], 2))
async def test_everything_of_a_set_stands_on_the_screen(
    store: Store, wall: Wall, kind: SessionKind, size: tuple[int, int]
) -> None:
    open_sets(store, kind)
    async with seated(store, wall, size=size) as app:
        await keys(app, *"538", "enter")
        await keys(app, "2")
        await until(app, lambda: isinstance(app.screen, SetScreen) and app.screen.ready)
        shown = text(app)
        for part in ("Set 1 of", "1", "Enter keeps the answer"):
            assert part in shown
        digits = sum("█" in row for row in rows(app))
        assert digits in {3, 6}


def test_many_codes_stand_one_below_the_other() -> None:
    shown = [(str(code), "") for code in range(201, 209)]
    assert code_rows(shown, 80)[7].startswith("8   208")
    assert len(code_rows(shown[:4], 80)) == 10
    assert len(code_rows(shown[:4], 120)) == 5


# ---------------------------------------------------------------------- by lines


def test_a_set_by_lines_of_text(store: Store, wall: Wall) -> None:
    open_sets(store, PAIRS)
    hand, _, ended = sit(
        *(store, wall, "538", "3", "2", "n", "2", "y", lambda: wall.pass_s(60)),
        *("382", "1", "y"),
    )
    assert ended == 0
    assert "Which of the two has more orchard fruit?" in hand.text
    assert "Attention: The glasses are 1 to 2." in hand.said
    assert "417 has more orchard fruit. Keep it?" in hand.said
    assert "All your glasses are done. Thank you. The lead closes the session." in hand.said
    assert kept_places(store) == {"538": 2.0, "417": 1.0, "382": 1.0, "295": 2.0}
    with store.read() as db:
        chair = db.scalars(select(SessionAssessor).order_by(SessionAssessor.seat)).first()
        assert chair is not None
        assert chair.finished_at is not None


def test_a_ranking_by_lines_of_text(store: Store, wall: Wall) -> None:
    open_sets(store, RANKED)
    hand, *_ = sit(store, wall, "538", "2 1", "2 1=4 3", "y")
    assert "Attention: Give every glass a place first." in hand.said
    assert kept_places(store) == KEPT[RANKED]


@pytest.mark.parametrize(
    ("kind", "typed", "heard"),
    [
        (ODD, "2", ("Which is the odd one?", "1 538", "417 is the odd one. Keep it?")),
        (LIKE, "3", ("1 538, the reference", "382 is the same as the reference. Keep it?")),
    ],
)
def test_threes_by_lines_of_text(
    store: Store, wall: Wall, kind: SessionKind, typed: str, heard: tuple[str, ...]
) -> None:
    open_sets(store, kind)
    hand, *_ = sit(store, wall, "538", typed, "y")
    assert all(part in hand.text for part in heard)
    assert kept_places(store) == KEPT[kind]


# ---------------------------------------------------------------------- in a browser


@pytest.mark.parametrize("kind", [PAIRS, FOURS, RANKED, ODD, LIKE])
def test_a_set_in_a_browser(store: Store, wall: Wall, kind: SessionKind) -> None:
    open_sets(store, kind)
    with seated_in_browser(served_for(store, wall)) as browser:
        browser.deed("take", code="538", sure="538")
        page = browser.look()
        assert page.body["data-about"].startswith("set 538.1 417.1")
        fields = {
            PAIRS: {"chosen": "417.1"},
            FOURS: {"chosen": "382.1"},
            ODD: {"chosen": "417.1"},
            LIKE: {"chosen": "382.1"},
            RANKED: {f"place-{code}.1": str(int(at)) for code, at in KEPT[RANKED].items()},
        }[kind]
        number = "5f" * 16
        page = browser.deed("set", number=number, **fields)
        assert page.said.startswith("The answer is kept: ")
    assert kept_places(store) == KEPT[kind]


def test_an_answer_that_is_none_is_refused_in_a_browser(store: Store, wall: Wall) -> None:
    open_sets(store, RANKED)
    with seated_in_browser(served_for(store, wall)) as browser:
        browser.deed("take", code="538", sure="538")
        assert browser.deed("set").said.endswith("Give every glass a place first.")
        form = browser.look().forms["set"]
        wrong = {**form, "number": "5f" * 16, "glasses": "417.1", "place-417.1": "1"}
        said_so = browser.post("/deed", wrong).said
        assert "glasses of this set have changed" in said_so
    assert kept_places(store) == {}


def test_of_a_set_it_is_asked_which_glass_is_not_safe(store: Store, wall: Wall) -> None:
    open_sets(store, PAIRS)
    with seated_in_browser(served_for(store, wall)) as browser:
        browser.deed("take", code="538", sure="538")
        page = browser.look()
        named = [value.split() for name, value in page.buttons if name == "unsafe"]
        here = [one for each in named[:2] for one in each]
        assert len(here) == 2
        assert [*named[-2]] == here, "whoever does not know stops the whole set"
        assert named[-1] == []
        said = browser.deed("call", unsafe=here[1]).said
    assert "is stopped" in said
    with store.read() as db:
        [call] = db.scalars(select(LeadCall))
        assert call.serving is not None
        assert f"{call.serving.code}.1" == here[1]
