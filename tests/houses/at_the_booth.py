"""A small open evening for booth tests: servings without a key, as a booth sees them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from functools import cache

from sqlalchemy import select

from panel.kinds import Role, SessionStatus, Stage
from panel.store.engine import Store
from panel.store.lexicon import Descriptor, DescriptorVersion
from panel.store.people import Person, PersonRole
from panel.store.pins import hash_pin
from panel.store.sessions import (
    PanelSession,
    Score,
    Serving,
    SessionAssessor,
    SessionDescriptor,
)

NAME = "evening-12"
WORDS: tuple[tuple[str, str], ...] = (
    ("orchard fruit", "apple and pear, from the tree or stewed"),
    ("dried fruit", "raisin, fig, prune"),
    ("cut grass", "a lawn an hour after mowing"),
    ("honey", "from the comb"),
    ("bonfire", "what is left in a coat the day after"),
    ("tar rope", "a quay in the sun"),
    ("oak", "a freshly sawn board"),
    ("clove", "the spice, whole"),
    ("yeast crust", "the crust of a loaf"),
    ("wet wool", "a jumper drying on a stove"),
)
PINS = {"A1": "4821", "A2": "7305", "A3": "9146"}
CODES = ("538", "417", "382", "295", "746")
"""The first is the warm-up glass; every tray has the same order here."""
START = datetime(2026, 3, 14, 18, 0, tzinfo=UTC)


@cache
def pin_hashes() -> dict[str, str]:
    """Hash the PINs once: that is slow on purpose."""
    return {code: hash_pin(pin) for code, pin in PINS.items()}


class Wall:
    """A clock that a test sets."""

    def __init__(self, now: datetime = START) -> None:
        self.now = now

    def __call__(self) -> datetime:
        return self.now

    def pass_s(self, seconds: float) -> None:
        self.now += timedelta(seconds=seconds)


def open_evening(
    store: Store,
    *,
    words: Sequence[tuple[str, str]] = WORDS,
    codes: Sequence[str] = CODES,
    pause_s: int = 60,
    may_go_back: bool = True,
    name: str = NAME,
    glasses_in_flight: int = 8,
) -> None:
    """Open an evening with everyone's tray in it."""
    with store.write() as db:
        evening = PanelSession(
            name=name,
            status=SessionStatus.OPEN,
            key_hash="0" * 64,
            pause_s=pause_s,
            may_go_back=may_go_back,
        )
        db.add(evening)
        for place, (word, meaning) in enumerate(words):
            version = DescriptorVersion(
                descriptor=Descriptor(name=word),
                version=1,
                meaning=meaning,
                stage=Stage.NOSE,
                low_words="not perceived",
                high_words="very strong",
            )
            evening.descriptors.append(SessionDescriptor(descriptor_version=version, place=place))
        for seat, (code, pin_hash) in enumerate(pin_hashes().items()):
            roles = [PersonRole(role=Role.ASSESSOR)]
            person = Person(code=code, pin_hash=pin_hash, roles=roles)
            db.add(person)
            evening.assessors.append(SessionAssessor(person=person, seat=seat))
            for position, glass in enumerate(codes):
                serving = Serving(
                    person=person,
                    flight=1 + max(position - 1, 0) // glasses_in_flight,
                    position=position,
                    code=glass,
                    warm_up=position == 0,
                )
                evening.servings.append(serving)


def kept_scores(store: Store, person: str, code: str) -> dict[str, float]:
    """Return what is on disk for one glass, by descriptor."""
    asked = (
        select(Descriptor.name, Score.value)
        .join(DescriptorVersion, DescriptorVersion.descriptor_id == Descriptor.id)
        .join(Score, Score.descriptor_version_id == DescriptorVersion.id)
        .join(Serving, Serving.id == Score.serving_id)
        .join(Person, Person.id == Serving.person_id)
        .where(Person.code == person, Serving.code == code)
    )
    with store.read() as db:
        return {name: value for name, value in db.execute(asked)}
