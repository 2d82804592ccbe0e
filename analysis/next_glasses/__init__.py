"""What to nose next: who noses which glass, what the session saves, and when to stop."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..when_asked import names_from

if TYPE_CHECKING:
    from .cut import Cut
    from .first import first_session
    from .known import Known, Nosed, known_from
    from .levels import Record
    from .panel import PanelNoise, panel_noise
    from .power import power_table
    from .power_result import Design, LossAt, PowerRow, PowerTable, Widths
    from .ready import next_for_ready
    from .records import next_for_record
    from .result import (
        CaskToPour,
        Change,
        Glass,
        Halt,
        NextSession,
        Question,
        Reason,
        Stop,
        Unit,
        Why,
    )
    from .room import BLEND, FIRST_POOL, POOL, Room
    from .settings import NextSettings
    from .swaps import Swap, price_of_swap
    from .to_target import next_for_target
    from .vat_mind import PartHangs, VatMind
    from .within import next_for_vat

__all__ = [
    "BLEND",
    "FIRST_POOL",
    "POOL",
    "CaskToPour",
    "Change",
    "Cut",
    "Design",
    "Glass",
    "Halt",
    "Known",
    "LossAt",
    "NextSession",
    "NextSettings",
    "Nosed",
    "PanelNoise",
    "PartHangs",
    "PowerRow",
    "PowerTable",
    "Question",
    "Reason",
    "Record",
    "Room",
    "Stop",
    "Swap",
    "Unit",
    "VatMind",
    "Why",
    "Widths",
    "first_session",
    "known_from",
    "next_for_ready",
    "next_for_record",
    "next_for_target",
    "next_for_vat",
    "panel_noise",
    "power_table",
    "price_of_swap",
]

__getattr__ = names_from(
    __name__,
    {
        "BLEND": "room",
        "CaskToPour": "result",
        "Change": "result",
        "Cut": "cut",
        "Design": "power_result",
        "FIRST_POOL": "room",
        "Glass": "result",
        "Halt": "result",
        "Known": "known",
        "LossAt": "power_result",
        "NextSession": "result",
        "NextSettings": "settings",
        "Nosed": "known",
        "POOL": "room",
        "PanelNoise": "panel",
        "PartHangs": "vat_mind",
        "PowerRow": "power_result",
        "PowerTable": "power_result",
        "Question": "result",
        "Reason": "result",
        "Record": "levels",
        "Room": "room",
        "Stop": "result",
        "Swap": "swaps",
        "Unit": "result",
        "VatMind": "vat_mind",
        "Why": "result",
        "Widths": "power_result",
        "first_session": "first",
        "known_from": "known",
        "next_for_ready": "ready",
        "next_for_record": "records",
        "next_for_target": "to_target",
        "next_for_vat": "within",
        "panel_noise": "panel",
        "power_table": "power",
        "price_of_swap": "swaps",
    },
)
