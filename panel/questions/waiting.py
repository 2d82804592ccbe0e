"""Who waits for an answer: they are told how far it is, and may stop it."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from analysis.under_way import Step


def waited_for(
    tell: Callable[[Step], object], stopped: Callable[[], bool] = lambda: False
) -> AbstractContextManager[None]:
    """Have what is asked inside tell how far it is, and end once it is to be stopped."""
    from analysis.under_way import watched

    return watched(tell, stopped)
