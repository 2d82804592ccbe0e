"""A reliability below nothing is none."""

from __future__ import annotations

import pytest

from panel.words.answers import share


@pytest.mark.parametrize(
    ("value", "said"), [(-27.14, "<0"), (-0.001, "<0"), (0.0, "0.00"), (0.83, "0.83"), (None, "-")]
)
def test_no_share_is_less_than_nothing(value: float | None, said: str) -> None:
    assert share(value) == said
