"""What is said below rules of law and below the register, wherever they are shown."""

from __future__ import annotations

LAST_WORD = (
    "A start to be checked, not advice: what the law asks, your excise officer and your label "
    "adviser say."
)
SAMPLES_LAST_WORD = (
    "Duty-free samples: the least that will do, labelled, destroyed when no longer needed. What "
    "your approval allows, your excise officer says."
)
