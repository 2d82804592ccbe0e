"""Bytes of a text file to letters: UTF-8, else what houses' older programs write."""

from __future__ import annotations

import re
from enum import StrEnum

AS_UTF8 = "save it again as 'CSV UTF-8'"


class Letters(StrEnum):
    """In which letters a file that is not UTF-8 was written."""

    WESTERN = "western"
    """Windows-1252, as older spreadsheets of Western languages write it."""
    JAPANESE = "japanese"
    """Windows-932, as older spreadsheets of Japanese write it."""


CODECS = {Letters.WESTERN: "cp1252", Letters.JAPANESE: "cp932"}
NO_SUCH = {
    # Python gives signs of a user's own making a place of their own; no file means those. A wide
    # sign does not stand between two small Latin letters: that is an accent read amiss.
    Letters.JAPANESE: re.compile(r"[\ue000-\uf8ff]|[a-z][^\x00-\x7f]+[a-z]"),
    # Signs with which no Western record spells anything, but which kana become.
    Letters.WESTERN: re.compile("[ƒ‡†ˆ‰]"),
}


def in_utf8(data: bytes) -> str | None:
    """Return the text of UTF-8 bytes; None where they are something else."""
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return None


def readings(data: bytes, wanted: Letters | None) -> dict[Letters, str]:
    """Return the text by the letters in which the bytes can have been written."""
    found = {}
    for letters in Letters if wanted is None else (wanted,):
        try:
            text = data.decode(CODECS[letters])
        except UnicodeDecodeError:
            continue
        if wanted is not None or not NO_SUCH[letters].search(text):
            found[letters] = text
    return found


def first_odd_byte(data: bytes) -> tuple[int, str]:
    """Return the line of the first byte that is not UTF-8, and words for it."""
    try:
        data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        byte = data[error.start]
        return data.count(b"\n", 0, error.start) + 1, f"byte 0x{byte:02X} is not UTF-8"
    return 0, ""


def differing(readings: dict[Letters, str]) -> str:
    """Return the first word that the readings spell differently, once by each."""
    words = zip(*(text.split() for text in readings.values()), strict=False)
    apart = next((pair for pair in words if len(set(pair)) > 1), ())
    return " or ".join(
        f"{word[:20]} ({letters})" for letters, word in zip(readings, apart, strict=False)
    )
