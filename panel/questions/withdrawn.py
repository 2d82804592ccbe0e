"""What was drawn or re-racked out of a filling between two of its gauges."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.store.ages import calendar_years

if TYPE_CHECKING:
    from analysis.strength import Withdrawal
    from panel.store.contents import Gauge
    from panel.store.filling_states import FillingState


def withdrawals(state: FillingState, early: Gauge, late: Gauge) -> list[Withdrawal]:
    """Return what was drawn or re-racked between two gauges."""
    from analysis.strength import Withdrawal

    return [
        Withdrawal(litres, state.strength_on(on), calendar_years(early.on, on))
        for on, litres in state.taken
        if early.on < on <= late.on
    ]
