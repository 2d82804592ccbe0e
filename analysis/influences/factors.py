"""The influences by name: as they are compared, and as the draws are searched for them."""

from __future__ import annotations

from enum import StrEnum


class Factor(StrEnum):
    """What an effect is an effect of."""

    WOOD = "wood"
    FILL = "fill"
    WOOD_FILL = "wood x fill"
    AGE = "age"
    AGE_IN_WOOD = "age in wood"
    PHENOLS = "phenols"
    FILL_STRENGTH = "fill strength"
    PREVIOUS = "previous"
    WAREHOUSE = "warehouse"
    MAKE = "make"
    CASK = "cask"


class Covariate(StrEnum):
    """What is known of every draw; the draws may or may not tell one from another."""

    WOOD = "wood"
    FILL = "fill"
    PREVIOUS = "previous"
    WAREHOUSE = "warehouse"
    MAKE = "make"
    AGE = "age"
    PHENOL = "phenol"
    STRENGTH = "strength"
