"""Sentences on the order in which a session was served."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from .words import OWN_ORDER


class Served(StrEnum):
    """How the glasses of a session came to the assessors."""

    FREE = "each glass before and after others"
    CLASSES = "in classes, one after the other"
    ONE_ORDER = "in one order to everybody"
    NOT_ON_RECORD = "order not on record"


_AGAIN_AFTER_SMOKE = (
    "pour an unpeated sample a second time after the smoky ones: a plan made with `--after-peat` "
    "does so, blind"
)
_AT_REVEAL = (
    "wait for the reveal: a glass poured again after the smoke (`--after-peat`) counts then"
)


@dataclass(frozen=True)
class OrderSaid:
    """What is said of an order beside the verdict; None for nothing."""

    served: Served = Served.NOT_ON_RECORD
    sentence: str | None = None
    next_action: str | None = None


def said_of_order(
    served: Served, classes: int, n_again: int, *, by_pouring: bool = False, hidden: bool = False
) -> OrderSaid:
    """Say what an order lets be compared.

    `n_again` counts the glasses nosed again in a later class, in twelve months; `by_pouring`
    says that the classes are the pourings; `hidden` that liquids were poured twice and are not
    told yet, so that nobody knows whether one of them was nosed again in a later class.
    """
    if served is Served.FREE:
        return OrderSaid(served)
    if served is Served.NOT_ON_RECORD:
        said = "The order of serving is not on record, so nothing is known of what it did"
        return _said(served, said, "load the place of each glass on its tray with the scores")
    if served is Served.ONE_ORDER:
        said = "Everybody had the glasses in one order, so order and cask cannot be told apart"
        return _said(served, said, OWN_ORDER)
    which = ", all glasses of a pouring before all of the next" if by_pouring else ""
    first = (
        f"{classes} classes of glasses came one after the other on every tray{which}: within a "
        "class the "
        "samples stand as they are, across classes the intervals"
    )
    if n_again:
        again = "1 glass" if n_again == 1 else f"{n_again} glasses"
        said = f"{first} take in what {again} nosed again in a later class told of the order"
        return _said(served, said, "go on pouring such a glass again")
    if hidden:
        said = f"{first} allow for an order of which nothing is told yet"
        return _said(served, said, _AT_REVEAL)
    said = (
        f"{first} allow for an order of which nothing is known: in twelve months no glass of an "
        "early class was nosed again after a later one"
    )
    return _said(served, said, _AGAIN_AFTER_SMOKE)


def _said(served: Served, said: str, action: str) -> OrderSaid:
    return OrderSaid(served, f"{said}: {action}.", action)
