"""Values of many fields that a list makes very many of."""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from panel.made_at_once import made_at_once


@dataclass(frozen=True)
class Poured:
    """So many litres."""

    litres: float


def test_fields_made_at_once_are_given_by_name() -> None:
    assert made_at_once(Poured, litres=2.0) == Poured(2.0)
    with pytest.raises(TypeError, match="given by name"):
        made_at_once(Poured, 2.0)
