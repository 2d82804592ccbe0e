"""What an own word or a note may look like. Plain text rules, no database and no screen."""

from __future__ import annotations

import re
import unicodedata

UNSEEN_LETTERS = re.compile(
    "[\u034f\u115f\u1160\u17b4\u17b5\u180b-\u180e\u3164\ufe00-\ufe0f\uffa0]"
)
"""Letters and marks by their class that show nothing: joiners of graphemes, fillers, selectors."""
LONGEST_WORD = 40
LONGEST_NOTE = 500
UNSEEN_CLASSES = frozenset({"Cc", "Cf", "Zl", "Zp"})
LOW_WORDS, HIGH_WORDS = "not perceived", "very strong"
"""The words at both ends of every own line."""


def plain_word(typed: str) -> str:
    """Return a word as it is kept: composed letters, one blank between its parts."""
    return " ".join(unicodedata.normalize("NFC", typed).split())


def plain_note(typed: str) -> str:
    """Return a note as it is kept: one line, without signs that show nothing or steer a screen."""
    line = "".join(" " if sign.isspace() else sign for sign in typed).strip()
    return "".join(sign for sign in line if unicodedata.category(sign) not in UNSEEN_CLASSES)


def word_key(word: str) -> str:
    """Return what two words share that are the same word to a reader."""
    return plain_word(word).casefold()


def word_fault(word: str) -> str | None:
    """Return what is wrong with a word, as it is kept, or None."""
    if not word:
        return "there is no word: type one"
    if len(word) > LONGEST_WORD:
        return f"it has {len(word)} characters; at most {LONGEST_WORD} stand on a line"
    if not word.isprintable() or unseen_sign(word):
        return "it holds a sign that cannot be seen: type the word again"
    return None


def unseen_sign(text: str) -> str | None:
    """Return the first sign that shows nothing or turns the direction of reading, or None.

    With one of them two names look the same, or one looks like another.
    """
    for sign in text:
        if unicodedata.category(sign) in UNSEEN_CLASSES or UNSEEN_LETTERS.match(sign):
            return sign
    return None


def name_fault(name: str) -> str | None:
    """Return what is wrong with a name or a code, None if nothing is."""
    sign = None if name.isascii() and name.isprintable() else unseen_sign(name)
    if sign is None:
        return None
    return f"holds a sign that cannot be seen (U+{ord(sign):04X}): type the name again"
