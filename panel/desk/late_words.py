"""What an answer lacks or came late: sentences on the pages that give it."""

from __future__ import annotations

from collections.abc import Sequence

from textual.content import Content
from textual.widgets import Static


class LateWords(Static):
    """Sentences beside an answer; no line of the page where there are none."""

    DEFAULT_CSS = """
    LateWords { height: auto; max-height: 6; padding: 0 1; color: $accent; display: none; }
    """

    def tell(self, lines: Sequence[str]) -> None:
        """Show what there is."""
        lines = [line for line in lines if line]
        self.update(Content("\n".join(lines)))
        self.display = bool(lines)
