"""Wrong PINs in a row: five are let pass, then every further one doubles the wait.

They count wherever a PIN is asked, so that four digits are enough: 10,000 PINs take over a year.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from math import ceil

from sqlalchemy.orm import Session

from panel.errors import BoothError, NotAllowed, SignInRefused, SignInWaits
from panel.store.engine import Store
from panel.store.guard_rows import TRIES, guard_of, wait_after
from panel.store.log import append_entry
from panel.store.people import Person, SignInGuard
from panel.store.pins import BLOCK, COST, LANES, SCHEME, check_pin
from panel.store.stranger_tries import Tries, keep_tries, tries_of_stranger

STALE_AFTER_S = 3600
"""So long after a wait is over the clock is no longer believed, and the wait begins anew."""
NO_PIN = f"{SCHEME}${COST}${BLOCK}${LANES}${'00' * 16}${'00' * 32}"
"""Checked where there is no PIN, so that an unknown code takes as long as a known one."""
REFUSED = (
    "This code and this PIN do not go together. Type the PIN again, or mend the code; "
    "whoever has no PIN yet gets one from the lead."
)


def prove_pin(store: Store, code: str, pin: str, *, now: datetime) -> None:
    """Check that *pin* is that of the person of *code*; a wrong one counts although it is refused.

    Two short transactions of its own: the slow hash is reckoned while nobody holds the lock.

    Raises
    ------
    NotAllowed
        The person has no PIN yet.
    SignInRefused, SignInWaits
        The PIN is wrong; too many wrong tries.
    """
    with store.read() as db:
        stored = db.query(Person.pin_hash).filter(Person.code == code).scalar()
    if stored is None:
        raise NotAllowed(f"{code} has no PIN yet: `oakpanel people pin {code}`.")
    right = check_pin(pin, stored)
    with store.write() as db:
        person = db.query(Person).filter(Person.code == code).one_or_none()
        refusal = settle_try(db, code, person, right=right, now=now)
    if refusal is not None:
        raise refusal


def settle_try(
    db: Session,
    code: str,
    person: Person | None,
    *,
    right: bool,
    now: datetime,
) -> BoothError | None:
    """Count a try of a PIN in the caller's transaction; None where it goes with the code.

    What is returned is to be raised after the commit: the count has to stay.
    """
    if person is None:
        before = tries_of_stranger(db, code)
        tries = replace(before)
        refusal = _count_wrong(tries, now)
        keep_tries(db, before, tries, now)
        return refusal
    guard = guard_of(db, person, now)
    if waits := waiting(guard, now):
        return waits
    if not right:
        db.add(guard)
        append_entry(db, at=now, by=person.code, action="sign-in refused", details={})
        return _count_wrong(guard, now)
    if guard in db:
        db.delete(guard)
    return None


def waiting(tries: SignInGuard | Tries, now: datetime) -> SignInWaits | None:
    """Return the error that says how long this code waits, or None.

    A clock before the last wrong try, or long after the wait, starts the wait anew from now.
    """
    if tries.failed_at is None or not tries.wait_s:
        return None
    passed = (now - tries.failed_at).total_seconds()
    if not 0 <= passed <= tries.wait_s + STALE_AFTER_S:
        tries.failed_at, passed = now, 0.0
    if passed >= tries.wait_s:
        return None
    return wait_of(tries.failures, ceil(tries.wait_s - passed))


def wait_of(failures: int, still_s: int) -> SignInWaits:
    """Return the error that says how long a code waits."""
    return SignInWaits(
        f"{failures} tries in a row did not fit, so this code waits: {still_s} s to go. "
        "The lead can give a new PIN."
    )


def _count_wrong(tries: SignInGuard | Tries, now: datetime) -> BoothError:
    """Count a wrong try and return what to say; while a code waits nothing is counted."""
    if waits := waiting(tries, now):
        return waits
    tries.failures += 1
    tries.failed_at = now
    if tries.failures >= TRIES:
        tries.wait_s = wait_after(tries.failures)
    return waiting(tries, now) or SignInRefused(REFUSED)
