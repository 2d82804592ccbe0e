"""What an own word or a note may look like. Plain text rules, no database and no screen."""

from __future__ import annotations

import unicodedata

LONGEST_WORD = 40
LONGEST_NOTE = 500
LOW_WORDS, HIGH_WORDS = "not perceived", "very strong"
"""The words at both ends of every own line."""


def plain_word(typed: str) -> str:
    """Return a word as it is kept: composed letters, one blank between its parts."""
    return " ".join(unicodedata.normalize("NFC", typed).split())


def word_key(word: str) -> str:
    """Return what two words share that are the same word to a reader."""
    return plain_word(word).casefold()


def word_fault(word: str) -> str | None:
    """Return what is wrong with a word, as it is kept, or None."""
    if not word:
        return "there is no word: type one"
    if len(word) > LONGEST_WORD:
        return f"it has {len(word)} characters; at most {LONGEST_WORD} stand on a line"
    if not word.isprintable():
        return "it holds a sign that cannot be seen: type the word again"
    return None
