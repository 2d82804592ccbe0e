"""Signing a release whose bench blend nobody nosed: that alone asks for a reason."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from panel.release.against import NOT_NOSED

UNNOSED = ("--despite", "the bench blend was not mixed")


def besides(against: Sequence[Any]) -> list[str]:
    """Keys of all that stands against a signature besides that, which is always among it."""
    keys = [each["key"] for each in against]
    assert NOT_NOSED in keys
    return [key for key in keys if key != NOT_NOSED]
