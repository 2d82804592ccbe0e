"""The list of all that can be done on a page: its offers, then every key with what it does."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

from textual.command import DiscoveryHit, Hit, Hits, Provider

from panel.desk.window import shown_key

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from textual.app import App
    from textual.binding import ActiveBinding
    from textual.screen import Screen

    from panel.desk.keys import Offer


def offers_of(app: App[Any], screen: Screen[Any]) -> Sequence[Offer]:
    """Return what the page and the desk offer beside their keys, as far as it can be done now."""
    here = [
        offer
        for offer in getattr(screen, "OFFERS", ())
        if screen.check_action(offer.action, ()) is True
    ]
    return [*here, *getattr(app, "OFFERS", ())]


class ScreenActions(Provider):
    """The actions that a key would reach now, found by their words."""

    def _listed(self) -> Iterator[tuple[str, str, partial[Any]]]:
        for offer in offers_of(self.app, self.screen):
            node = self.app if offer in getattr(self.app, "OFFERS", ()) else self.screen
            yield offer.words, offer.tooltip, partial(self.app.run_action, offer.action, node)
        for words, active in self._offered():
            yield words, active.tooltip or "", self._run(active)

    def _offered(self) -> Iterator[tuple[str, ActiveBinding]]:
        seen: set[str] = set()
        ways = sorted(self.screen.active_bindings.values(), key=lambda way: not way.binding.show)
        for active in ways:  # what the line of keys shows first, moving about last
            binding = active.binding
            if active.enabled and binding.id and binding.description and binding.id not in seen:
                seen.add(binding.id)
                yield f"{binding.description}  ({shown_key(binding)})", active

    def _run(self, active: ActiveBinding) -> partial[Any]:
        return partial(self.app.run_action, active.binding.action, active.node)

    async def discover(self) -> Hits:
        """Give all of them before anything is typed."""
        for words, tooltip, run in self._listed():
            yield DiscoveryHit(words, run, help=tooltip or None)

    async def search(self, query: str) -> Hits:
        """Give those that fit what was typed."""
        matcher = self.matcher(query)
        for words, tooltip, run in self._listed():
            score = matcher.match(f"{words} {tooltip}")
            if score > 0:
                yield Hit(score, matcher.highlight(words), run, help=tooltip or None)
