"""The answers of the server of booths: one address for every page, so that no link tells."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Mapping
from functools import partial
from typing import TYPE_CHECKING

from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Route

from panel.errors import OakpanelError, SignInWaits, StoreError, WrongState
from panel.fault_log import logged
from panel.kinds import FINISHED, SessionStatus
from panel.seat import arriving
from panel.serve import callers, pages
from panel.serve.callers import Caller
from panel.serve.doing import STAYS, Answer, do, stands
from panel.serve.forms import read_fields
from panel.serve.guard import Guard
from panel.serve.pages import QUIET, Message, Shown
from panel.serve.served import HASHES_WAITING, Served, in_thread

if TYPE_CHECKING:
    from datetime import datetime

    from starlette.requests import Request

    from panel.seat.values import Seat, Store

BUSY = "Many sign in just now. Try again in a moment."
ONE_BROWSER = (
    "{code} sits in this browser already. One browser is one booth: leave it there first, or take "
    "another browser."
)
NOT_OURS = "That form was made for another booth. Load the page again."
NO_SEAT = "This browser holds no seat in this session any more. Sign in again."
NO_FIT = "That join code does not fit. Look at the lead's screen again."
OWN_FAULT = "A fault of the server's own. What was shown as kept is kept. Tell the lead."
OUT_OF_REACH = "The records cannot be reached just now. Tell the lead."
PLACE = "a browser"
TEXT = {"css": "text/css; charset=utf-8", "js": "text/javascript; charset=utf-8"}


def make_app(served: Served) -> Starlette:
    """Return the server of one session's booths."""
    booths = Booths(served)
    routes = [
        Route("/", booths.answering(booths.look)),
        Route("/words", booths.answering(booths.look_at_words)),
        Route("/join", booths.answering(booths.join), methods=["POST"]),
        Route("/sign-in", booths.answering(booths.sign_in), methods=["POST"]),
        Route("/deed", booths.answering(booths.deed), methods=["POST"]),
        Route("/leave", booths.answering(booths.leave), methods=["POST"]),
        *(Route(path, home) for path in ("/join", "/sign-in", "/deed", "/leave")),
        Route("/booth.css", partial(own_file, "css", pages.style)),
        Route("/booth.js", partial(own_file, "js", pages.script)),
        Route("/favicon.ico", no_sign),
    ]
    return Starlette(routes=routes, middleware=[Middleware(Guard, door=served.door)])


async def home(_request: Request) -> Response:
    """Lead an address that only takes forms back to the one page."""
    return RedirectResponse("/", 303)


async def own_file(kind: str, read: Callable[[], str], _request: Request) -> Response:
    """Return the style or the script."""
    return Response(read(), headers={"content-type": TEXT[kind]})


async def no_sign(_request: Request) -> Response:
    """Tell a browser that there is no sign of the site."""
    return Response(status_code=204)


class Booths:
    """The answers."""

    def __init__(self, served: Served) -> None:
        self.served = served

    # ------------------------------------------------------------ pages

    async def look(self, request: Request) -> Response:
        """Show where this browser stands."""
        return await self._stand(self._caller(request))

    async def look_at_words(self, request: Request) -> Response:
        """Show an assessor's own words in place of glass or code."""
        return await self._stand(self._caller(request), at_words=True)

    async def _stand(self, caller: Caller, *, at_words: bool = False) -> Response:
        seat = await self._seat(caller)
        if seat is None:
            return await self._outside(caller)
        answer = await self._asked(partial(stands, at_words=at_words), seat)
        return await self._answered(caller, answer, seat)

    async def _answered(self, caller: Caller, answer: Answer, seat: Seat) -> Response:
        """Show what came of a question; once all is revealed the browser holds nothing more."""
        if not answer.closed:
            return self._page(caller, answer.shown, seat)
        stage = await self._stage()
        if stage is not SessionStatus.REVEALED:
            return self._page(caller, answer.shown, seat)
        response = self._page(caller, self._ended(stage))
        callers.take_back(response, self.served.door, callers.SEAT)
        return response

    async def _stage(self) -> SessionStatus:
        served = self.served
        asked = partial(arriving.stage_of, served.store, served.session)
        return await in_thread(served.questions, asked)

    async def _outside(self, caller: Caller, message: Message = QUIET) -> Response:
        stage = await self._stage()
        if stage in FINISHED:
            return self._page(caller, self._ended(stage))
        self.served.joining.begin()
        if callers.reckoned("joined", caller.browser) not in self.served.joining.joined:
            return self._page(caller, pages.join(message))
        waits = stage is not SessionStatus.OPEN
        return self._page(caller, pages.sign_in(message, waits=waits))

    def _ended(self, stage: SessionStatus) -> Shown:
        """Return that nobody joins any more: the code ends with the session."""
        self.served.joining.end()
        words = arriving.stage_sentence(self.served.session, stage)
        over = stage is SessionStatus.REVEALED
        if over:
            return pages.stopped(Message(words), status=410, over=True)
        return pages.held(Message(words), status=409)

    # ------------------------------------------------------------ forms

    async def join(self, request: Request) -> Response:
        """Let a browser in that shows the code of the room."""
        caller, fields = self._caller(request), await self._fields(request)
        if not caller.outside.shows(fields.get("form", "")):
            return self._page(caller, pages.join(Message(NOT_OURS, True), status=403))
        browser = callers.reckoned("joined", caller.browser)
        now, typed = self.served.clock(), fields.get("code", "")
        try:
            fits = self.served.joining.join(typed, browser, caller.address, now)
        except SignInWaits as error:
            return self._page(caller, pages.join(Message(str(error), True), status=429))
        if not fits:
            return self._page(caller, pages.join(Message(NO_FIT, True), status=403))
        return RedirectResponse("/", 303)

    async def sign_in(self, request: Request) -> Response:
        """Check code and PIN in the queue of slow hashes, and give the seat to this browser."""
        caller, fields = self._caller(request), await self._fields(request)
        if refusal := await self._no_sign_in(caller, fields):
            return refusal
        code, pin = fields.get("code", "").strip(), fields.get("pin", "")
        served = self.served
        if served.hashes.statistics().tasks_waiting >= HASHES_WAITING:
            return self._page(caller, self._refused_in(code, BUSY, 503))
        try:
            seat = await in_thread(served.hashes, partial(self._seated, code, pin))
        except WrongState as error:
            return self._page(caller, self._refused_in(code, str(error), 409, waits=True))
        except OakpanelError as error:
            return self._page(caller, self._refused_in(code, str(error), _status_of(error)))
        served.heard[seat.code] = served.clock()
        response = RedirectResponse("/", 303)
        callers.give(response, served.door, callers.SEAT, seat.token)
        return response

    async def _no_sign_in(self, caller: Caller, fields: Mapping[str, str]) -> Response | None:
        """Return why this browser cannot be signed in at, before a PIN is even looked at."""
        seat = await self._seat(caller)
        if seat is not None:
            answer = await self._asked(stands, seat)
            if not answer.gone:
                words = Message(ONE_BROWSER.format(code=seat.code), True)
                return self._page(caller, pages.stopped(words, status=409), seat)
        if callers.reckoned("joined", caller.browser) not in self.served.joining.joined:
            return self._page(caller, pages.join(status=403))
        if not caller.outside.shows(fields.get("form", "")):
            return self._page(caller, self._refused_in("", NOT_OURS, 403))
        return None

    def _refused_in(self, code: str, why: str, status: int, *, waits: bool = False) -> Shown:
        return pages.sign_in(Message(why, True), code=code, waits=waits, status=status)

    async def deed(self, request: Request) -> Response:
        """Do what a form asks for, once, and show what came of it."""
        caller, fields = self._caller(request), await self._fields(request)
        seat = await self._seat(caller)
        if seat is None:
            gone = pages.stopped(Message(NO_SEAT, True), status=403, again=True)
            return self._page(caller, gone)
        if not caller.shows(fields.get("form", "")):
            return self._page(caller, pages.stopped(Message(NOT_OURS, True), status=403), seat)
        answer = await self._asked(partial(do, fields=fields), seat)
        return await self._answered(caller, answer, seat)

    async def leave(self, request: Request) -> Response:
        """Give the browser to somebody else: the seat's token ends here and in the records.

        All that is kept stays. Where the end cannot be written, the booth is not left, and says so.
        """
        caller, fields = self._caller(request), await self._fields(request)
        form = fields.get("form", "")
        if not (caller.shows(form) or caller.outside.shows(form)):
            return self._page(caller, pages.stopped(Message(NOT_OURS, True), status=403))
        if (seat := await self._seat(caller)) is not None:
            served = self.served
            asked = partial(arriving.leave, served.store, seat, served.clock())
            await in_thread(served.questions, asked)
            served.heard.pop(seat.code, None)
        response = RedirectResponse("/", 303)
        callers.take_back(response, self.served.door, callers.SEAT)
        return response

    # ------------------------------------------------------------ parts

    def _caller(self, request: Request) -> Caller:
        return callers.caller_of(request, self.served.door)

    async def _fields(self, request: Request) -> Mapping[str, str]:
        return read_fields(await request.body())

    async def _seat(self, caller: Caller) -> Seat | None:
        if not caller.token:
            return None
        served = self.served
        asked = partial(arriving.come_back, served.store, served.session, caller.token)
        return await in_thread(served.questions, asked)

    async def _asked(self, what: Callable[[Store, Seat, datetime], Answer], seat: Seat) -> Answer:
        served, now = self.served, self.served.clock()
        answer = await in_thread(served.questions, partial(what, served.store, seat, now))
        if answer.gone:
            served.heard.pop(seat.code, None)
        else:
            served.heard[seat.code] = now
        return answer

    def _seated(self, code: str, pin: str) -> Seat:
        served = self.served
        return arriving.sign_in(
            *(served.store, served.session, code, pin),
            now=served.clock(),
            place=PLACE,
        )

    def _page(self, caller: Caller, shown: Shown, seat: Seat | None = None) -> Response:
        door = self.served.door
        known = caller
        if seat is None:
            # A browser without a seat is known by a number of its own, made at its first page.
            known = Caller(caller.browser or callers.new_browser(), "", caller.address)
        text = pages.drawn(
            shown,
            session=self.served.session,
            whose=seat.code if seat else "",
            seat_mark=callers.seat_mark(self.served.session, seat) if seat else "",
            booth_mark=callers.booth_mark(seat) if seat else "",
            form_token=known.form_token,
            in_the_clear=door.in_the_clear,
            own_marks=pages.OWN_MARKS,
        )
        response = HTMLResponse(text, shown.status)
        if known.browser != caller.browser:
            callers.give(response, door, callers.BROWSER, known.browser)
        return response

    def answering(
        self, answer: Callable[[Request], Awaitable[Response]]
    ) -> Callable[[Request], Awaitable[Response]]:
        """Return an answer that says in words what it could not do, whatever it was."""

        async def answered(request: Request) -> Response:
            caller = self._caller(request)
            try:
                return await answer(request)
            except StoreError:
                # Who asks may be anybody: where the database lies is not told here.
                stays = f" {STAYS}" if request.url.path == "/deed" else ""
                told = Message(OUT_OF_REACH + stays, True)
                return self._page(caller, pages.held(told, status=503))
            except OakpanelError as error:
                return self._page(caller, pages.held(Message(str(error), True), status=400))
            except Exception as error:  # noqa: BLE001 - whatever broke is said, and logged
                words = f"{OWN_FAULT} {logged(error)}"
                return self._page(caller, pages.held(Message(words, True), status=500))

        return answered


def _status_of(error: OakpanelError) -> int:
    if isinstance(error, SignInWaits):
        return 429
    return 503 if isinstance(error, StoreError) else 403
