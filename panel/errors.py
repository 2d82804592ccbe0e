"""Everything that can go wrong for a user, one class a cause.

::

    OakpanelError
    |-- StoreError
    |   |-- NoDatabase            nothing there yet
    |   |-- NotADatabase          a file, but not one of ours
    |   |-- NewerDatabase         made by a newer version
    |   |-- OlderDatabase         wants `oakpanel db upgrade`
    |   |-- TablesChanged         upgraded while a booth was open
    |   |-- SessionsOpen          wants its sessions closed before an upgrade
    |   |-- DatabaseLocked        another program holds it
    |   |-- DatabaseReadOnly      may be looked at only
    |   |-- DiskFull              no room left
    |   `-- NetworkShare          SQLite on a network drive
    |-- IntakeError               a file with faults: carries all of them
    |-- EntriesAtFault            what was typed is not right: carries a fault an entry
    |-- UnknownRecord             a name that is not in the records (with the nearest)
    |-- NothingNosedBy          all that was nosed was nosed after the day that is asked of
    |-- CaskBarred                a cask that its records forbid to use as asked
    |-- SessionError
    |   |-- WrongState            not at this stage of a session
    |   |   `-- NoneOpen          no session is open that a booth could be for
    |   |-- PlanRefused           a plan that cannot be served
    |   `-- KeyChanged            the key is not the one that was sealed
    |-- BoothError
    |   |-- SignInRefused         wrong code or PIN, no PIN, not in this session
    |   |-- SignInWaits           too many wrong PINs
    |   |-- SeatTaken             another booth of the same assessor took over
    |   |-- WrongGlass            a code that is not on the tray, or not now
    |   `-- DoorRefused           booths in browsers would be open wider than was said
    |-- ReleaseError
    |   |-- NotInStock            a cask has not so much, or another release has it
    |   |-- PourRefused           millilitres that no tasting is laid out with
    |   `-- WrongStage            not at this stage of a release
    `-- NotAllowed                a person without the role
        `-- NotProved           who acts was not asked for a PIN, and gave none
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.figures import count, plural

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    from panel.problems import Problem


class OakpanelError(Exception):
    """What a user reads: the sentence says what, where and what to do."""


class StoreError(OakpanelError):
    """The database could not be used."""


class NoDatabase(StoreError):
    """There is no database at the place that was named."""


class NotADatabase(StoreError):
    """The file is there but is no Oakpanel database."""


class NewerDatabase(StoreError):
    """A newer Oakpanel wrote this database."""


class OlderDatabase(StoreError):
    """The database lacks tables or columns of this version."""


class TablesChanged(StoreError):
    """The database was brought to other tables since this booth was started."""


class SessionsOpen(StoreError):
    """Booths are saving into tables that an upgrade would change."""


class DatabaseLocked(StoreError):
    """Another program holds the database for too long."""


class DatabaseReadOnly(StoreError):
    """The database may be read but not written."""


class DiskFull(StoreError):
    """There is no room left for the database."""


class NetworkShare(StoreError):
    """A SQLite file on a network drive, where its locks cannot be relied on."""


class IntakeError(OakpanelError):
    """A file with faults; nothing was written."""

    def __init__(self, message: str, problems: Sequence[Problem] = ()) -> None:
        super().__init__(message)
        self.problems = tuple(problems)


class EntriesAtFault(OakpanelError):
    """Entries that are not right; each fault is a sentence of its own, by the entry's name."""

    def __init__(self, faults: Mapping[str, str]) -> None:
        super().__init__(" ".join(faults.values()))
        self.faults = dict(faults)


class UnknownRecord(OakpanelError):
    """A cask, session, assessor, target ... that the records do not have."""


class NothingNosedBy(OakpanelError):
    """Nothing was nosed by the day that is asked of; `later` are the sessions held after it."""

    def __init__(self, day: date, later: Sequence[str]) -> None:
        self.day, self.later = day, tuple(later)
        held = count(len(self.later), "session")
        super().__init__(
            f"No score can be used: nothing was nosed by {day}. {held} held after that day "
            f"{plural('is', len(self.later), 'are')} left out, the first of them {self.later[0]}."
        )


class CaskBarred(OakpanelError):
    """A cask whose records forbid what was asked of it, until it is agreed to by name."""


class SessionError(OakpanelError):
    """A session cannot do what was asked."""


class WrongState(SessionError):
    """The session is at another stage."""


class NotOpenNow(WrongState):
    """Nobody scores in the session now; it may be opened again."""


class NoneOpen(WrongState):
    """No session is open yet, or more than one that a booth could be for."""


class PlanRefused(SessionError):
    """The plan cannot be served as it stands."""


class KeyChanged(SessionError):
    """The key differs from the one whose hash was shown at sealing."""


class BoothError(OakpanelError):
    """An assessor's booth cannot go on."""


class SignInRefused(BoothError):
    """Code and PIN do not open a booth here."""


class SignInWaits(BoothError):
    """Too many wrong PINs: the booth waits."""


class SeatTaken(BoothError):
    """The same assessor signed in elsewhere; this booth no longer saves."""


class WrongGlass(BoothError):
    """The code typed is not a glass of this tray, or not one to nose now."""


class DoorRefused(BoothError):
    """The server of booths in browsers cannot listen as it was told."""


class NotAllowed(OakpanelError):
    """The person does not have the role that this needs."""


class NotProved(NotAllowed):
    """An act that binds, and nobody proved who does it."""


class ReleaseError(OakpanelError):
    """A release cannot do what was asked."""


class NotInStock(ReleaseError):
    """Litres that are not there, or that another release has reserved."""


class PourRefused(ReleaseError):
    """Pours of a tasting that hold nothing, or too much ethanol."""


class WrongStage(ReleaseError):
    """The release is at another stage."""
