"""What came after a session was opened again, as it stands on the pages that judge it."""

from __future__ import annotations

from collections.abc import Sequence

from textual.content import Content
from textual.widgets import Static


class LateWords(Static):
    """Sentences under a verdict; no line of the page where there are none."""

    DEFAULT_CSS = """
    LateWords { height: auto; max-height: 4; padding: 0 1; color: $accent; display: none; }
    """

    def tell(self, lines: Sequence[str]) -> None:
        """Show what there is."""
        self.update(Content("\n".join(lines)))
        self.display = bool(lines)
