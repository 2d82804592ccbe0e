"""Volumes and weights in the unit that shows three figures of them."""

from __future__ import annotations

from panel.figures import in_digits

SMALL_L = 1.0
MIDDLE_L = 10.0


def volume_words(litres: float) -> str:
    """Return a volume: millilitres below a litre, litres above.

    Examples
    --------
    >>> volume_words(0.0963), volume_words(1.2), volume_words(138.04)
    ('96.3 mL', '1.200 L', '138.04 L')
    """
    if abs(litres) < SMALL_L:
        return f"{in_digits(1000.0 * litres, '.1f')} mL"
    return (
        (f"{in_digits(litres, '.3f')} L")
        if abs(litres) < MIDDLE_L
        else f"{in_digits(litres, '.2f')} L"
    )


def weight_words(kg: float) -> str:
    """Return a weight: grams below a kilogram."""
    return (
        (f"{in_digits(1000.0 * kg, '.1f')} g")
        if abs(kg) < SMALL_L
        else f"{in_digits(kg, '.2f')} kg"
    )
