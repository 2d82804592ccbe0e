"""The questions put to every kept house, then and now: each by command, its answer in JSON."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

AS_OF = ("--as-of", "2026-03-16")
WITHOUT = ("--without", "W02", "--without", "W09")
"""W09 was topped from nobody knows what, which only later programs ask."""
QUESTIONS: Mapping[str, tuple[str, ...]] = {
    "match Lantern": ("match", "Lantern", *AS_OF),
    "match Millrace": ("match", "Millrace", *AS_OF),
    "vat Lantern": ("vat", "Lantern", "--bottles", "400", "--age", "5", "--part", *WITHOUT, *AS_OF),
    "vat Millrace in parts": (
        *("vat", "Millrace", "--litres", "150", "--abv", "vat", "--part", "--casks", "1-4"),
        *("--with-foretold", *WITHOUT, *AS_OF),
    ),
    "agreement archive": ("agreement", "archive", *AS_OF),
    "agreement winter-1": ("agreement", "winter-1", *AS_OF),
    "agreement winter-2": ("agreement", "winter-2", *AS_OF),
    "agreement winter-3": ("agreement", "winter-3", *AS_OF),
    "agreement winter-words": ("agreement", "winter-words", *AS_OF),
    "agreement over all": ("agreement", "--since", "2023-01-01", "--until", "2026-03-01", *AS_OF),
    "profile": ("profile", *AS_OF),
}
AT_THE_GATE = ("match Lantern",)
"""What every house is asked each time; by hand they are asked everything."""
CHECK = ("db", "check")
Ask = Callable[..., Any]
"""Puts a command and returns its JSON document."""


def ask_everything(ask: Ask) -> dict[str, Any]:
    """Return every answer by its name, that of `db check` among them."""
    asked = {name: ask(*words, "--json") for name, words in QUESTIONS.items()}
    return {**asked, "db check": ask(*CHECK, "--json")}
