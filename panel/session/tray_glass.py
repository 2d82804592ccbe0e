"""One glass of a draft on somebody's tray."""

from __future__ import annotations

from dataclasses import dataclass

from panel.store.draws import Draw


@dataclass(frozen=True)
class TrayGlass:
    """One glass of a sample for one seat; `replicate` counts the glasses of it on that tray."""

    seat: int
    draw: Draw
    replicate: int
    flight: int
