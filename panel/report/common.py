"""What all pages end with."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel import __version__
from panel.questions.vatting import ASK
from panel.session.dose import CAUTIONS
from panel.words.left_out import later_words

if TYPE_CHECKING:
    from panel.questions.stands_on import StandsOn

CARE = CAUTIONS
"""For a page of what was nosed."""
CARE_AND_DUTY = (*CAUTIONS, ASK)
"""For a page by which somebody bottles."""


def foot(stands: StandsOn) -> tuple[str, ...]:
    """Return what a page stands on, and how to prove it later."""
    later = later_words(stands.held_later, stands.as_of)
    return (
        *((later,) if later else ()),
        f"As of {stands.as_of}, by Oakpanel {__version__}.",
        f"Log head {stands.log_head}; `oakpanel db check --head` looks for it in the records.",
    )
