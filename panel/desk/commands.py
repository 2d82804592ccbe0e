"""The list of all that can be done on a page: its offers, then every key with what it does."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any

from panel.desk.columns import Column
from panel.desk.pick import PickPage
from panel.desk.window import shown_key

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from textual.app import App
    from textual.binding import ActiveBinding
    from textual.dom import DOMNode
    from textual.screen import Screen

    from panel.desk.keys import Offer


@dataclass(frozen=True)
class Doable:
    """Something that can be done now: its words, its key if any, what it does, and how."""

    words: str
    key: str
    tells: str
    action: str
    node: DOMNode

    @property
    def name(self) -> str:
        """Both words and key: a key has two meanings on no page."""
        return f"{self.words} {self.key}"


COLUMNS: tuple[Column[Doable], ...] = (
    Column("What", 32, lambda each: each.words),
    Column("Key", 8, lambda each: each.key),
    Column("Does", 20, lambda each: each.tells, stretch=True),
)
SHOW_ALL = "show_all"
"""What lays this list over a page."""
HOW = "Letters find, enter does it, escape leaves all as it is."


def offers_of(app: App[Any], screen: Screen[Any]) -> Sequence[Offer]:
    """Return what the page and the desk offer beside their keys, as far as it can be done now."""
    here = [
        offer
        for offer in getattr(screen, "OFFERS", ())
        if screen.check_action(offer.action, ()) is True
    ]
    return [*here, *getattr(app, "OFFERS", ())]


def doable(screen: Screen[Any]) -> Iterator[Doable]:
    """Give all that can be done on a page now: what has no key first, moving about last."""
    app = screen.app
    for offer in offers_of(app, screen):
        node = app if offer in getattr(app, "OFFERS", ()) else screen
        yield Doable(offer.words, "", offer.tooltip, offer.action, node)
    for active in _by_keys(screen):
        words, key = active.binding.description, shown_key(active.binding)
        yield Doable(words, key, active.tooltip or "", active.binding.action, active.node)


def _by_keys(screen: Screen[Any]) -> Iterator[ActiveBinding]:
    seen: set[str] = set()
    ways = sorted(screen.active_bindings.values(), key=lambda way: not way.binding.show)
    for active in ways:  # what the line of keys shows first, moving about last
        binding = active.binding
        if active.enabled and binding.id and binding.description and binding.id not in seen:
            seen.add(binding.id)
            if binding.action != SHOW_ALL:  # the list is not laid over itself
                yield active


class AllPage(PickPage):
    """All that can be done on the page behind it, to choose from."""

    FIND_HINT = "words of what is to be done"

    def __init__(self, behind: Screen[Any]) -> None:
        self.doable = list(doable(behind))
        super().__init__(
            "All that can be done here",
            self.doable,
            COLUMNS,
            name_of=lambda each: each.name,
            place=getattr(behind, "PLACE", "") if getattr(behind, "IN_A_HOUSE", False) else "",
            many=False,
        )

    def set_up(self) -> None:
        """Say how one is found."""
        super().set_up()
        self.say(HOW)

    def meant(self, words: str) -> str | None:
        """Return what begins with the words, else the first that has them."""
        shown = [each.name for each in self.made.shown]
        begin = [name for name in shown if name.casefold().startswith(words.casefold())]
        return next(iter(begin or shown), None)


def show_all(app: App[Any]) -> None:
    """Lay the list over the page, and do what is chosen once it is away again."""
    page = AllPage(app.screen)

    def chosen(names: tuple[str, ...] | None) -> None:
        for each in page.doable:
            if names == (each.name,):
                app.call_later(partial(app.run_action, each.action, each.node))

    app.push_screen(page, chosen)
