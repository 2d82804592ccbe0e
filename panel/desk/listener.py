"""A server tells the desk that the log has gone on: nobody has to ask it each second.

It is asked all the same now and then, and each second while the line on which it tells is down, or
where changes are found of which nothing came by it.
"""

from __future__ import annotations

import asyncio
from dataclasses import dataclass
from typing import TYPE_CHECKING

from textual import work
from textual.app import App
from textual.message import Message

if TYPE_CHECKING:
    from textual.worker import Worker

    from panel.store.engine import Store
    from panel.store.listening import Listening

UNTOLD_LOOKS = 15
"""As many looks are left out while the server says nothing; then it is asked all the same."""
DEAF_AFTER = 3
"""As many changes in a row of which nothing was told: by this line nothing comes."""


class Listener(App[None]):
    """When to look at the log: where a server tells, then; else in turn."""

    line: Listening | None = None
    """The line on which a server tells that the log has gone on."""
    told = calls_up = deaf = asked_untold = False
    quiet_for = untold = 0
    """Turns since the last look; changes in a row of which nothing was told."""

    @dataclass
    class Listens(Message):
        """A server tells from now on."""

        line: Listening

    class Told(Message):
        """A server told that the log has gone on."""

    @property
    def store(self) -> Store:
        """The open database."""
        raise NotImplementedError

    def look(self) -> Worker[None]:
        """See whether the log has gone on."""
        raise NotImplementedError

    def look_in_turn(self) -> None:
        """Look where nobody tells, where somebody told just before, and now and then."""
        if self.line is None:
            self.look()
            self.listen()
            return
        self.quiet_for += 1
        if self.told or self.quiet_for >= UNTOLD_LOOKS:
            self.look_told()

    def look_told(self) -> None:
        """Look now, for what was told until now."""
        self.asked_untold = not self.told
        self.told, self.quiet_for = False, 0
        self.look()

    def listen(self) -> None:
        """Have a server tell, if this is one and it does, and nobody tries that just now."""
        if not (self.deaf or self.calls_up):
            self.calls_up = True
            self.call_up()

    @work(thread=True, group="listening", exit_on_error=False)
    def call_up(self) -> None:
        """Ask the server for a line; a file has nobody who could tell."""
        from panel.store.listening import listen

        try:
            line = listen(self.store)
        finally:
            self.calls_up = False
        if line is None:
            self.deaf = True
        elif not self.post_message(self.Listens(line)):
            line.close()

    def on_listener_listens(self, message: Listens) -> None:
        """Wait for what is told beside everything else; look for what came to pass until now."""
        try:
            asyncio.get_running_loop().add_reader(message.line.number, self.hear)
        except NotImplementedError:  # an event loop that waits for no line of others
            self.deaf = True
            message.line.close()
            return
        self.line, self.told = message.line, True
        self.look_told()

    def hear(self) -> None:
        """Take up what the server told; where its line is gone, ask again each second."""
        from panel.errors import StoreError

        try:
            if self.line is not None and self.line.heard():
                self.post_message(self.Told())
        except StoreError:
            self.hang_up()

    def on_listener_told(self, _message: Told) -> None:
        """Look, but not more often than without notices."""
        self.told, self.untold = True, 0
        if self.quiet_for:
            self.look_told()

    def doubt_the_line(self) -> None:
        """Count a change that was found by asking: where none is ever told of, ask each second."""
        self.untold += self.line is not None and self.asked_untold
        if self.untold >= DEAF_AFTER:
            self.deaf = True
            self.hang_up()

    def hang_up(self) -> None:
        """End the line to the server, if there is one."""
        line, self.line = self.line, None
        if line is not None:
            asyncio.get_running_loop().remove_reader(line.number)
            line.close()

    def on_unmount(self) -> None:
        """Leave no line open."""
        self.hang_up()
