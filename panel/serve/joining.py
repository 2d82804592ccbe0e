"""The join code: who stands in the room reads it from the lead's screen and types it once.

It is no secret of a person; it keeps strangers on the same network from even being asked for a
PIN. It ends with the session, and is new on a key.
"""

from __future__ import annotations

import hmac
import secrets
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from panel.errors import SignInWaits

SIGNS = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"
"""Letters and digits of which none is taken for another."""
CODE_SIGNS = 8
TRIES, TRIES_IN_ALL = 10, 100
WAIT = timedelta(minutes=1)
TOO_MANY = "Too many join codes did not fit. Wait a minute, and look at the lead's screen again."


def new_code() -> str:
    """Return eight signs at random."""
    return "".join(secrets.choice(SIGNS) for _ in range(CODE_SIGNS))


@dataclass
class Wrong:
    """Wrong codes in a row, and until when no other is looked at."""

    tries: int = 0
    until: datetime | None = None

    def waits(self, now: datetime) -> bool:
        """Say whether no code is looked at now; after the wait counting begins anew.

        A clock that was set back makes no wait longer than it is.
        """
        if self.until is not None:
            self.until = min(self.until, now + WAIT)
        if self.until is not None and now >= self.until:
            self.tries, self.until = 0, None
        return self.until is not None

    def count(self, most: int, now: datetime) -> None:
        """Count a wrong code."""
        self.tries += 1
        if self.tries >= most:
            self.until = now + WAIT


@dataclass
class Joining:
    """The code that holds now, the browsers that joined with it, and the wrong codes."""

    code: str = field(default_factory=new_code)
    joined: set[str] = field(default_factory=set)
    tell: Callable[[str], None] | None = None
    """Told of every new code."""
    ended: bool = False
    _by_address: dict[str, Wrong] = field(default_factory=dict)
    _in_all: Wrong = field(default_factory=Wrong)

    def renew(self) -> str:
        """Make a new code; whoever joined but has not signed in types it."""
        self.code = new_code()
        self.joined.clear()
        if self.tell is not None and not self.ended:
            self.tell(self.code)
        return self.code

    def end(self) -> None:
        """Let the code end with its session; a new one is told if it is opened again."""
        if not self.ended:
            self.ended = True
            self.renew()

    def begin(self) -> None:
        """Tell the code that holds, where the one before ended with the session."""
        if self.ended:
            self.ended = False
            self.renew()

    def join(self, typed: str, browser: str, address: str, now: datetime) -> bool:
        """Let a browser in whose code fits; a wrong one is counted.

        Raises
        ------
        SignInWaits
            Too many wrong ones from this address, or in all: none is looked at.
        """
        if self._in_all.waits(now):
            raise SignInWaits(TOO_MANY)
        if not self._in_all.tries:
            self._by_address = {of: one for of, one in self._by_address.items() if one.waits(now)}
        wrong = self._by_address.setdefault(address, Wrong())
        if wrong.waits(now):
            raise SignInWaits(TOO_MANY)
        if hmac.compare_digest(plain_code(typed).encode(), self.code.encode()):
            self._by_address.pop(address, None)
            self.joined.add(browser)
            return True
        wrong.count(TRIES, now)
        self._in_all.count(TRIES_IN_ALL, now)
        return False


def plain_code(typed: str) -> str:
    """Return a code as it is compared: no matter how its letters and gaps were typed."""
    return "".join(sign for sign in typed.upper() if sign.isalnum())[: 2 * CODE_SIGNS]


def shown_code(code: str) -> str:
    """Return a code as it is read out: in two halves."""
    half = CODE_SIGNS // 2
    return f"{code[:half]}-{code[half:]}"
