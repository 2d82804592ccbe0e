from __future__ import annotations

from textual.app import App, ComposeResult

from panel.desk.big_table import BigTable, sort_keys
from panel.desk.columns import Column
from tests.desk.driving import press, seen, settle

COUNT = 24_000
COLUMNS: tuple[Column[int], ...] = (
    Column("Number", 8, str, lambda n: n, right=True),
    Column("Word", 20, lambda n: f"word {n % 7}"),
)


class Numbers(BigTable[int]):
    BINDINGS = sort_keys(COLUMNS)


class Shown(App[None]):
    def __init__(self) -> None:
        super().__init__()
        self.opened: list[int] = []
        self.drawn = 0

    def compose(self) -> ComposeResult:
        yield Numbers(COLUMNS, name_of=lambda n: n, empty="nothing")

    def on_mount(self) -> None:
        self.table.focus()

    @property
    def table(self) -> BigTable[int]:
        return self.query_one(Numbers)

    def on_big_table_opened(self, event: BigTable.Opened) -> None:
        self.opened.append(event.row)


async def test_only_lines_in_view_are_drawn() -> None:
    drawn: list[int] = []

    def show(number: int) -> str:
        drawn.append(number)
        return str(number)

    app = Shown()
    async with app.run_test(size=(60, 20)) as pilot:
        app.table.columns = (Column("Number", 8, show),)
        app.table.fill(range(COUNT))
        drawn.clear()
        app.table.cursor = 12_000
        await settle(pilot)
        assert 0 < len(set(drawn)) <= 3 * 20
        assert 12_000 in drawn


async def test_the_cursor_stays_in_view_and_on_the_list() -> None:
    app = Shown()
    async with app.run_test(size=(60, 20)) as pilot:
        app.table.fill(range(COUNT))
        await press(pilot, "end")
        assert app.table.current == COUNT - 1
        await settle(pilot)
        assert seen(app)[-1].startswith("▸")
        await press(pilot, "down", "pageup", "up")
        assert app.table.current == COUNT - 1 - 19 - 1
        await press(pilot, "home", "up")
        assert app.table.current == 0
        await settle(pilot)
        assert seen(app)[1].startswith("▸")


async def test_the_record_of_the_cursor_is_kept_through_order_filter_and_new_rows() -> None:
    app = Shown()
    async with app.run_test(size=(60, 20)) as pilot:
        app.table.fill(range(100))
        assert app.table.go_to(42)
        await press(pilot, "N", "N")
        assert app.table.current == 42
        assert app.table.shown[0] == 99
        app.table.find("word 0")
        assert app.table.current == 42
        app.table.fill(range(50))
        assert app.table.current == 42
        app.table.find("word 1")
        assert app.table.current is not None
        assert app.table.current % 7 == 1


async def test_enter_and_the_mouse_open_a_row() -> None:
    app = Shown()
    async with app.run_test(size=(60, 20)) as pilot:
        app.table.fill(range(100))
        await press(pilot, "down", "enter")
        assert app.opened == [1]
        await pilot.click(Numbers, offset=(5, 6))
        assert app.table.current == 5
        assert app.opened == [1]
        await pilot.click(Numbers, offset=(5, 6), times=2)
        assert app.opened == [1, 5]


async def test_a_click_on_a_heading_sorts() -> None:
    app = Shown()
    async with app.run_test(size=(60, 20)) as pilot:
        app.table.fill([3, 1, 2])
        await pilot.click(Numbers, offset=(4, 0))
        assert app.table.shown == [1, 2, 3]


async def test_an_empty_list_says_what_to_do_and_one_being_read_says_so() -> None:
    app = Shown()
    async with app.run_test(size=(60, 20)) as pilot:
        assert "Reading ..." in seen(app)[2]
        app.table.fill([])
        await settle(pilot)
        assert "nothing" in seen(app)[2]
        app.table.fill([1])
        app.table.find("zebra")
        await settle(pilot)
        assert "Nothing has all of: zebra" in seen(app)[2]
