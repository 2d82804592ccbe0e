"""The two themes of the desk: willow green on oak, by night and by day."""

from __future__ import annotations

from textual.theme import Theme

NIGHT = Theme(
    name="willow-night",
    dark=True,
    primary="#8fb573",
    secondary="#c7a46b",
    accent="#e0b458",
    warning="#e0b458",
    error="#e5786d",
    success="#8fb573",
    foreground="#e6e2d6",
    background="#14170f",
    surface="#1b1f15",
    panel="#262c1e",
)

DAY = Theme(
    name="willow-day",
    dark=False,
    primary="#3f6b26",
    secondary="#7a5518",
    accent="#7c4f00",
    warning="#7c4f00",
    error="#a3271b",
    success="#3f6b26",
    foreground="#1d2116",
    background="#f6f3ea",
    surface="#eeeadd",
    panel="#e2dcc9",
)
