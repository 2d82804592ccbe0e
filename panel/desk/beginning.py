"""What the desk can do where there is no database yet; whoever starts it says how."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from panel.store.engine import Store


@dataclass(frozen=True)
class Beginning:
    """How a new database is made, and where the demo goes.

    Attributes
    ----------
    make
        Makes an empty database where the desk looks for one, and opens it.
    where
        Tells the place of it.
    demo_folder
        What the demo's folder is called, if nobody says otherwise.
    demo_words
        Who leads the demo, and by which PIN.
    """

    make: Callable[[], Store]
    where: Callable[[], str]
    demo_folder: str
    demo_words: str
