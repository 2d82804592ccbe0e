"""People: a code, roles and a PIN; a real name is optional and kept apart."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import DDL, CheckConstraint, ForeignKey, event
from sqlalchemy.orm import Mapped, mapped_column, relationship

from panel.kinds import Role
from panel.store.base import ALONE, Base, Bound, choice


class Person(Bound):
    """Somebody of the house, known by a code."""

    __tablename__ = "person"
    __table_args__ = (CheckConstraint("code <> ''", name="code_not_empty"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    code: Mapped[str] = mapped_column(unique=True)
    joined_on: Mapped[date | None]
    left_on: Mapped[date | None]
    pin_hash: Mapped[str | None]
    roles: Mapped[list[PersonRole]] = relationship(
        back_populates="person", cascade="all, delete-orphan", order_by="PersonRole.role"
    )
    name: Mapped[PersonName | None] = relationship(
        back_populates="person", cascade="all, delete-orphan"
    )


class PersonRole(Bound):
    """One role of one person."""

    __tablename__ = "person_role"

    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"), primary_key=True)
    role: Mapped[Role] = mapped_column(choice(Role, "role"), primary_key=True)
    person: Mapped[Person] = relationship(back_populates="roles")


class PersonName(Bound):
    """The real name, apart, so that it can be left out of everything and erased."""

    __tablename__ = "person_name"

    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"), primary_key=True)
    full_name: Mapped[str]
    person: Mapped[Person] = relationship(back_populates="name")


class SignInGuard(Base):
    """Wrong PINs in a row, kept in the database so that a restart forgets nothing.

    The wait is seconds from the last wrong one: a clock that is set far forward starts it anew.
    """

    __tablename__ = "sign_in_guard"
    __table_args__ = (
        CheckConstraint("failures >= 0", name="failures_not_negative"),
        CheckConstraint("wait_s >= 0", name="wait_s_not_negative"),
        CheckConstraint("wait_s <= 3600", name="wait_s_an_hour_at_most"),
    )

    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"), primary_key=True)
    failures: Mapped[int] = mapped_column(default=0)
    failed_at: Mapped[datetime | None]
    wait_s: Mapped[int] = mapped_column(default=0, server_default="0")


class SignInTry(Base):
    """A PIN that a booth's own user sent to a server: counted, and judged once that is kept.

    `proof_hash` is what the stored PIN has to end in; codes that nobody has keep none.
    """

    __tablename__ = "sign_in_try"

    seat_hash: Mapped[str] = mapped_column(primary_key=True)
    person_id: Mapped[int | None] = mapped_column(ForeignKey("person.id"))
    stranger_hash: Mapped[str | None] = mapped_column(index=True)
    proof_hash: Mapped[str | None]
    transaction_id: Mapped[str]
    tried_at: Mapped[datetime]


class SignInSecret(Base):
    """What the salt of a code that nobody has is made from, so that it stays the same."""

    __tablename__ = "sign_in_secret"
    __table_args__ = (CheckConstraint(ALONE, name="id_alone"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    secret_hex: Mapped[str]


FIRST_SECRETS = {
    "sqlite": "INSERT INTO sign_in_secret VALUES (1, lower(hex(randomblob(32))))",
    "postgresql": "INSERT INTO sign_in_secret VALUES (1, encode(sha256(convert_to("
    "gen_random_uuid()::text || gen_random_uuid()::text, 'UTF8')), 'hex'))",
}
for _dialect, _first in FIRST_SECRETS.items():
    _made = DDL(_first).execute_if(dialect=_dialect)  # type: ignore[no-untyped-call]
    event.listen(SignInSecret.__table__, "after_create", _made)
