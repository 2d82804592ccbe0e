"""Every action of the screen in the command list, with its key and what it does."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

from textual.command import DiscoveryHit, Hit, Hits, Provider

from panel.desk.window import shown_key

if TYPE_CHECKING:
    from collections.abc import Iterator

    from textual.binding import ActiveBinding


class ScreenActions(Provider):
    """The actions that a key would reach now, found by their words."""

    def _offered(self) -> Iterator[tuple[str, ActiveBinding]]:
        seen: set[str] = set()
        for active in self.screen.active_bindings.values():
            binding = active.binding
            if active.enabled and binding.id and binding.description and binding.id not in seen:
                seen.add(binding.id)
                yield f"{binding.description}  ({shown_key(binding)})", active

    def _run(self, active: ActiveBinding) -> partial[Any]:
        return partial(self.app.run_action, active.binding.action, active.node)

    async def discover(self) -> Hits:
        """Give all of them before anything is typed."""
        for words, active in self._offered():
            yield DiscoveryHit(words, self._run(active), help=active.tooltip or None)

    async def search(self, query: str) -> Hits:
        """Give those that fit what was typed."""
        matcher = self.matcher(query)
        for words, active in self._offered():
            score = matcher.match(f"{words} {active.tooltip}")
            if score > 0:
                yield Hit(score, matcher.highlight(words), self._run(active), help=active.tooltip)
