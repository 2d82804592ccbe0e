"""The field of a session: a line an assessor, a cell a glass, in codes and plain characters."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, ClassVar

from rich.segment import Segment
from textual.binding import Binding, BindingType
from textual.message import Message
from textual.strip import Strip

from panel.desk.columns import fit
from panel.desk.moving import Cells
from panel.kinds import GlassState, SessionStatus

if TYPE_CHECKING:
    from datetime import datetime

    from textual.events import Click

    from panel.session.progress import GlassProgress, SeatProgress, SessionProgress

NAME_WIDTH = 10
CELL_WIDTH = 6
MOST_MINUTES = 999
LEVELS = "▁▂▃▄▅▆▇"
LEGEND = "· waiting  ▸ in hand  ▁▄▇ scored  █ done  ↻ again  × void  ? swap  ! fault"


def standing(seat: SeatProgress) -> list[GlassProgress]:
    """Return the glasses of a tray, of one poured again only the newest."""
    newest: dict[tuple[int, str], GlassProgress] = {}
    for glass in seat.glasses:
        newest[glass.flight, glass.code] = glass
    return list(newest.values())


def level(glass: GlassProgress) -> str:
    """Return how far a glass is scored as one character."""
    if glass.state is GlassState.DONE:
        return "█"
    if glass.n_scored == 0 and glass.state is not GlassState.IN_HAND:
        return "·"
    share = glass.n_scored / glass.n_lines if glass.n_lines else 0.0
    return LEVELS[min(int(share * len(LEVELS)), len(LEVELS) - 1)]


def mark(glass: GlassProgress, faulty: frozenset[str]) -> str:
    """Return what is special about a glass as one character."""
    said = (
        ("×", glass.state is GlassState.VOID),
        ("?", glass.state is GlassState.SWAP_SUSPECTED),
        ("!", glass.code in faulty),
        ("▸", glass.state is GlassState.IN_HAND),
        ("↻", glass.pouring > 1),
    )
    return next((sign for sign, true in said if true), " ")


def in_words(seat: SeatProgress, glass: GlassProgress, faults: Sequence[str]) -> str:
    """Return one glass as a sentence."""
    place = "warm-up" if glass.warm_up else f"glass {glass.position or '-'}"
    state = glass.state.replace("_", " ")
    words = f"{seat.assessor}, {place}, code {glass.code}: {state}"
    words += f", {glass.n_scored} of {glass.n_lines} lines"
    if glass.read_as is not None:
        words += f", read as {glass.read_as}"
    if glass.pouring > 1:
        words += f", pouring {glass.pouring}"
    return "; ".join([words, *faults])


class GlassField(Cells):
    """Assessor by glass; the arrows choose a glass."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {"field--heading", "field--cell", "field--chosen"}
    DEFAULT_CSS = """
    GlassField { height: 1fr; }
    GlassField > .field--heading { color: $secondary; text-style: bold; }
    GlassField > .field--cell { color: $foreground; }
    GlassField > .field--chosen { background: $panel; text-style: reverse; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "move(0,-1)", "Glass before", show=False, id="field.left"),
        Binding("right", "move(0,1)", "Next glass", show=False, id="field.right"),
        Binding("up", "move(-1,0)", "Assessor above", show=False, id="field.up"),
        Binding("down", "move(1,0)", "Assessor below", show=False, id="field.down"),
    ]

    class Moved(Message):
        """Another glass was chosen."""

    def __init__(self, id: str | None = None) -> None:
        super().__init__(id=id)
        self.seats: tuple[SeatProgress, ...] = ()
        self.trays: list[list[GlassProgress]] = []
        self.faulty: frozenset[str] = frozenset()
        self.now: datetime | None = None

    def fill(self, progress: SessionProgress, now: datetime | None = None) -> None:
        """Show how far the session is; the choice stays."""
        self.now = now if progress.status == SessionStatus.OPEN else None
        self.seats = progress.seats
        self.trays = [standing(seat) for seat in progress.seats]
        self.faulty = frozenset(line.code for line in progress.faults)
        self.stay()

    def tell_minutes(self, now: datetime) -> None:
        """Tell how long ago each seat scored; of a session that is closed nothing."""
        if self.now is not None:
            self.now = now
            self.refresh()

    @property
    def last_row(self) -> int:
        """Of the last assessor."""
        return len(self.trays) - 1

    @property
    def last_column(self) -> int:
        """Of the last glass of the longest tray."""
        return max((len(tray) for tray in self.trays), default=0) - 1

    @property
    def columns_in_view(self) -> int:
        """Glasses that fit beside the names."""
        return max((self.size.width - NAME_WIDTH) // CELL_WIDTH, 1)

    def tell(self) -> None:
        """Say that another glass was chosen."""
        self.post_message(self.Moved())

    @property
    def chosen(self) -> tuple[SeatProgress, GlassProgress] | None:
        """The glass of the cursor and whose it is."""
        if self.row >= len(self.trays) or self.column >= len(self.trays[self.row]):
            return None
        return self.seats[self.row], self.trays[self.row][self.column]

    def on_click(self, event: Click) -> None:
        """Choose the glass that was clicked."""
        if event.y > 0 and event.x >= NAME_WIDTH:
            self.row = self.first_row + event.y - 1
            self.column = self.first_column + (event.x - NAME_WIDTH) // CELL_WIDTH

    def render_line(self, y: int) -> Strip:
        """Draw the heading or one assessor."""
        place = self.first_row + y - 1
        if y == 0:
            segments = self._heading()
        elif place < len(self.seats):
            segments = self._seat(place)
        else:
            segments = []
        return Strip(segments).adjust_cell_length(self.size.width, self.rich_style)

    def _heading(self) -> list[Segment]:
        style = self.get_component_rich_style("field--heading")
        longest = max(self.trays, key=len, default=[])
        window = longest[self.first_column : self.first_column + self.columns_in_view]
        titles = [_title(glass) for glass in window]
        more = "▸" if len(longest) > self.first_column + len(window) else ""
        before = "◂ " if self.first_column else ""
        text = self._named(f"{before}{'Noses' if self.now is None else 'Who'}", "min") + "".join(
            fit(t, CELL_WIDTH) for t in titles
        )
        return [Segment(text + more, style)]

    def _named(self, name: str, minutes: str) -> str:
        """Return a name before its glasses, with minutes beside it while the session is open."""
        if self.now is None:
            return f" {fit(name, NAME_WIDTH - 2)} "
        return f" {fit(name, NAME_WIDTH - 5)}{minutes:>3} "

    def _seat(self, place: int) -> list[Segment]:
        plain = self.get_component_rich_style("field--cell")
        seat, tray = self.seats[place], self.trays[place]
        segments = [Segment(self._named(seat.assessor, _minutes(seat, self.now)), plain)]
        last = self.first_column + self.columns_in_view
        for column in range(self.first_column, min(last, len(tray))):
            glass = tray[column]
            here = place == self.row and column == self.column
            style = self.get_component_rich_style("field--chosen") if here else plain
            text = f"{mark(glass, self.faulty)}{fit(glass.code, 3)}{level(glass)}"
            segments += [Segment(text, style), Segment(" ", plain)]
        segments.append(Segment(_about(seat), plain))
        return segments


def _title(glass: GlassProgress) -> str:
    if glass.warm_up:
        return " warm"
    number = glass.position or "-"
    return f" {number}" if glass.flight == 1 else f" {number}/{glass.flight}"


def _about(seat: SeatProgress) -> str:
    """What stands after a tray. Who is not at their best does not: others may look on."""
    said = (
        ("finished", seat.finished),
        ("knew the key", seat.knew_key),
    )
    return " " + ", ".join(words for words, true in said if true)


def _minutes(seat: SeatProgress, now: datetime | None) -> str:
    """How many minutes ago this seat scored last, while it has something to score."""
    if now is None or seat.scored_at is None or seat.finished:
        return ""
    minutes = int((now - seat.scored_at).total_seconds() // 60)
    return str(min(max(minutes, 0), MOST_MINUTES))
