"""The first picture, before the database is there."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.screen import Screen
from textual.widgets import Static

PICTURE = """\
    ▁▂▃▄▄▄▃▂▁
  ▞━━━━━━━━━━━▚
  ▏ ▏ ▏ ▏ ▏ ▏ ▏     Oakpanel
  ▏━━━━━━━━━━━▏     the desk
  ▏ ▏ ▏ ▏ ▏ ▏ ▏
  ▚━━━━━━━━━━━▞     opening the records ...
    ▔▔▔▔▔▔▔▔▔
"""


class OpeningPage(Screen[None]):
    """A cask and a word while the records open."""

    DEFAULT_CSS = """
    OpeningPage { align: center middle; }
    OpeningPage Static { width: auto; color: $secondary; }
    """

    def compose(self) -> ComposeResult:
        """Draw the cask."""
        yield Static(PICTURE, markup=False)
