"""What the keys of a page do, read from the page itself."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, ClassVar

from textual.binding import Binding, BindingType

from analysis.cell_text import folded
from panel.desk.commands import offers_of
from panel.desk.slip import ReadSlip
from panel.desk.window import shown_key

if TYPE_CHECKING:
    from textual.binding import ActiveBinding
    from textual.screen import Screen

WORDS_CELLS = 56
KEY_CELLS = 13


class KeySlip(ReadSlip):
    """Every key that works on the page behind it, and what the list of all holds beside them."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(
            "question_mark,f1", "dismiss", "Back", show=False, id="keys.back", tooltip="Go back"
        ),
    ]

    def __init__(self, behind: Screen[Any]) -> None:
        super().__init__("Keys of this page", key_lines(behind))


def key_lines(behind: Screen[Any]) -> list[str]:
    """Return a line for each key, and one for each offer that has none."""
    ways: dict[str, tuple[list[str], str]] = {}
    shown_first = sorted(behind.active_bindings.values(), key=lambda way: not way.binding.show)
    for active in shown_first:
        binding = active.binding
        if active.enabled and binding.id and binding.description:
            keys, _ = ways.setdefault(binding.id, ([], told(active)))
            keys.append(shown_key(binding))
    lines: list[str] = []
    for keys, words in ways.values():
        lines += _line(" ".join(dict.fromkeys(keys)), words)
    offers = offers_of(behind.app, behind)
    if offers:
        lines += ["", "By the list of all (. or f3):"]
        for offer in offers:
            lines += _line("", f"{offer.words}: {offer.tooltip}")
    return lines


def told(way: ActiveBinding) -> str:
    """Return what a key is called and does."""
    words, more = way.binding.description, way.tooltip or way.binding.tooltip
    return f"{words}: {more[0].lower()}{more[1:]}" if more else words


def _line(keys: str, words: str) -> list[str]:
    first, *others = folded(words, WORDS_CELLS) or [""]
    lines = [f"{keys:<{KEY_CELLS}}{first}"]
    if len(keys) >= KEY_CELLS:
        lines = [keys, f"{'':<{KEY_CELLS}}{first}"]
    return [*lines, *(f"{'':<{KEY_CELLS}}{other}" for other in others)]
