"""Booths in browsers, started and stopped from the desk: where they are, how to join, who came."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import Static

from panel.block_signs import small
from panel.desk.deed_form import DeedForm
from panel.desk.entries import Field
from panel.desk.form import finishing
from panel.desk.homes import page_of
from panel.desk.keys import key
from panel.desk.page import Page
from panel.desk.slip import Confirm
from panel.desk.typed import Entries
from panel.errors import OakpanelError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from panel.desk.serving import Serving, Standing

HOME = "this machine alone"
CERTIFICATE, PROXY, CLEAR = "a certificate", "a proxy that encrypts", "nothing: PINs can be read"
USUAL_PORT = "8460"
TELL_S = 1.0
ENDS = "It runs beside this desk and ends with it; what is kept is kept, and seats come back."
NOT_RUNNING = "No server of booths runs for this session."


@dataclass(frozen=True)
class Asked:
    """What the server is started with."""

    words: tuple[str, ...]
    database: str


class ServeForm(DeedForm):
    """Where booths in browsers are served, and how the line is kept from other ears."""

    BINDINGS: ClassVar[list[BindingType]] = [finishing("Start", "Start the server of booths")]
    PLACE = "sessions"
    TITLE_WORDS = "Booths in browsers"

    def __init__(self, session: str, assessors: Sequence[str]) -> None:
        super().__init__()
        self.session_name, self.assessors = session, tuple(assessors)

    def fields(self) -> tuple[Field, ...]:
        """Return the door; on a server's database the booths' own user too."""
        before = self.desk.served_last
        fields = (
            Field("address", "Address", "of this machine, as the tablets reach it"),
            Field("port", "Port", "above 1024, such as 8460"),
            Field("line", "Encrypted by", "", choices=(HOME, CERTIFICATE, PROXY, CLEAR)),
            Field("certificate", "Certificate", "a file, with a key", wide=True),
            Field("key", "Its key", "a file", wide=True),
            Field("behind", "Proxy", "as tablets call it: https://booths.example", wide=True),
            *([BOOTHS_USER] if self.on_a_server else []),
        )
        usual = {"address": "127.0.0.1", "port": USUAL_PORT, "line": HOME} | before
        return tuple(
            Field(
                *(each.name, each.label, each.hint),
                value=usual.get(each.name, ""),
                choices=each.choices,
                wide=each.wide,
                secret=each.secret,
            )
            for each in fields
        )

    @property
    def on_a_server(self) -> bool:
        """Whether the database is a server's, which booths reach as their own user."""
        return self.desk.store.url.get_backend_name() != "sqlite"

    def set_up(self) -> None:
        """Say of which session, and where booths may stand."""
        super().set_up()
        self.head(f"Booths of {self.session_name}", "in the nosing room only")
        self.lines[0].entry.focus()

    def look(self, values: dict[str, str]) -> Asked:
        """Return what the server is started with; the server itself judges the door."""
        typed = Entries(values)
        words = ["--address", typed.needed("address", "name the one to listen at")]
        words += ["--port", typed.needed("port", f"name a port, such as {USUAL_PORT}")]
        if values["line"] == CERTIFICATE:
            words += ["--certificate", typed.needed("certificate", "name its file")]
            words += ["--key", typed.needed("key", "name its file")]
        elif values["line"] == PROXY:
            words += ["--behind", typed.needed("behind", "name what tablets call it")]
        elif values["line"] == CLEAR:
            words += ["--in-the-clear"]
        if self.on_a_server:
            database = typed.needed("database", "the URL that `oakpanel db booth-role` told")
        else:
            database = str(self.desk.store.url.database)
        typed.settle()
        return Asked(tuple(words), database)

    def do(self, values: dict[str, str]) -> str:
        """Start it; what speaks against it is said in the words of the command."""
        from panel.desk.serving import start

        asked = self.look(values)
        self.desk.end_serving()
        self.desk.serving = start(self.session_name, asked.database, asked.words)
        self.desk.served_last = {name: said for name, said in values.items() if name != "database"}
        return "The server of booths runs."

    def leave(self) -> None:
        """Go to the page that shows where and how to join."""
        self.app.switch_screen(page_of("serve", self.session_name, self.assessors))


BOOTHS_USER = Field(
    *("database", "Database", "the URL of the booths' own user: it cannot read the key"),
    wide=True,
    secret=True,
)


class ServePage(Page):
    """Address and join code, large enough to be read across the room, and who came."""

    PLACE = "sessions"
    DEFAULT_CSS = """
    ServePage #sign { height: auto; padding: 0 1; }
    ServePage #qr { width: auto; height: auto; margin: 0 3 0 0; }
    ServePage #qr { color: #000000; background: #ffffff; }
    ServePage #join { width: 1fr; height: auto; }
    ServePage #code { height: auto; margin: 1 0; color: $accent; text-style: bold; }
    ServePage #came { height: auto; padding: 0 1; margin: 1 0 0 0; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        key("n", "new_code", "New", "serve.new_code", "A new join code; the one before ends"),
        key("minus", "stop", "Stop", "serve.stop", "Stop the server of booths"),
    ]

    def __init__(self, session: str, assessors: Sequence[str]) -> None:
        super().__init__()
        self.session_name, self.assessors = session, tuple(assessors)

    @property
    def serving(self) -> Serving | None:
        """The server, if it is this session's."""
        here = self.desk.serving
        return here if here is not None and here.session == self.session_name else None

    def body(self) -> ComposeResult:
        """The sign beside address and code; below who came."""
        with VerticalScroll():
            with Horizontal(id="sign"):
                yield Static(id="qr")
                with Vertical(id="join"):
                    yield Static(id="where")
                    yield Static(id="code")
                    yield Static(id="ends")
            yield Static(id="came")

    def set_up(self) -> None:
        """Show what stands, and go on showing it."""
        super().set_up()
        self.head(f"Booths of {self.session_name} in browsers")
        self.query_one(VerticalScroll).focus()
        self.drawn = ""
        self.tell()
        self.set_interval(TELL_S, self.tell)

    def tell(self) -> None:
        """Show what the server told last."""
        serving = self.serving
        if serving is None or not serving.runs:
            self._show(None, serving.ended if serving else NOT_RUNNING)
        else:
            self._show(serving.standing, "")
        self.refresh_bindings()

    def _show(self, standing: Standing | None, why: str) -> None:
        """Put sign, address, code and people on the page."""
        origin = standing.origin if standing else ""
        if origin != self.drawn:
            self.drawn = origin
            sign = qr_cells(origin) if origin else ""
            self.query_one("#qr", Static).display = bool(sign)
            self.query_one("#qr", Static).update(Content(sign))
        self._put("where", where_words(standing) if standing else why)
        self._put("code", code_cells(standing.code) if standing else "")
        clear = "! Nothing is encrypted: PINs can be read on this network.\n"
        said = (clear if standing.in_the_clear else "") + ENDS if standing else ""
        self._put("ends", said)
        self._put("came", "\n".join(came_lines(standing, self.assessors)) if standing else "")

    def _put(self, where: str, words: str) -> None:
        self.query_one(f"#{where}", Static).update(Content(words))

    def can_now(self, action: str) -> bool:
        """Offer what goes with a server that runs."""
        if action in ("new_code", "stop"):
            return self.serving is not None and self.serving.runs
        return super().can_now(action)

    def action_new_code(self) -> None:
        """Have a new code made."""
        if self.serving is not None:
            try:
                self.serving.new_code()
            except OakpanelError as error:
                self.say(str(error))
            else:
                self.say("A new join code: who has joined stays, who has not types the new one.")

    def action_stop(self) -> None:
        """Ask, then stop it."""

        def answered(agreed: bool | None) -> None:
            if agreed:
                self.desk.end_serving()
                self.tell()
                self.say("Stopped. What was kept is kept.")

        lines = ["Browsers hold what they cannot send until a server runs here again."]
        self.app.push_screen(Confirm("Stop the server of booths?", lines), answered)


def where_words(standing: Standing) -> str:
    """Return the address, and the code once more as it is typed."""
    return f"Open in the browser:\n{standing.origin}\nand type {standing.code}:"


def code_cells(code: str) -> str:
    """Return a join code as large as half a terminal holds it: in two rows of four signs."""
    return "\n\n".join("\n".join(small(half)) for half in code.split("-"))


def came_lines(standing: Standing, assessors: Sequence[str]) -> list[str]:
    """Say who sits at a browser, whose line is gone, and who is not at one."""
    gone = standing.out_of_line()
    here = [who for who in standing.silent_s if who not in gone]
    away = [who for who in assessors if who not in standing.silent_s]
    lines = [f"Joined: {standing.joined}. At a browser ({len(here)}): {', '.join(here) or 'none'}"]
    if gone:
        told = ", ".join(f"{who} for {standing.silent_s[who]} s" for who in gone)
        lines.append(f"! Out of line, nothing heard of: {told}")
    if away:
        lines.append(f"Not at a browser: {', '.join(away)}")
    if standing.crowded:
        held = ", ".join(standing.crowded)
        lines.append(
            f"! Held more lines than booths need, others of it were refused: {held}. "
            "Look whose that is."
        )
    return lines


def qr_cells(address: str) -> str:
    """Return an address as a QR code in cells of two dots, dark on light; the code is not in it.

    Empty where the package that reckons it is not there: the address stands beside it anyway.
    """
    try:
        import segno
    except ImportError:
        return ""

    rows = [[bool(dot) for dot in row] for row in segno.make(address, micro=False).matrix]
    wide = len(rows[0]) + 4
    blank = [False] * wide
    framed = [blank, blank, *([False, False, *row, False, False] for row in rows), blank, blank]
    if len(framed) % 2:
        framed.append(blank)
    signs = {(False, False): " ", (True, False): "▀", (False, True): "▄", (True, True): "█"}
    return "\n".join(
        "".join(signs[pair] for pair in zip(framed[at], framed[at + 1], strict=True))
        for at in range(0, len(framed), 2)
    )
