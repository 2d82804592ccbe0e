"""The two looks of a booth, whatever its face: a quiet room, lamp lit or by daylight."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

LAMPLIGHT: Mapping[str, str] = MappingProxyType(
    {
        "primary": "#d9b36a",
        "secondary": "#a9b7c0",
        "accent": "#f0c674",
        "warning": "#f0c674",
        "error": "#f08a7d",
        "success": "#a3c98a",
        "foreground": "#e8e6e1",
        "background": "#16181a",
        "surface": "#1d2023",
        "panel": "#2a2e32",
    }
)
DAYLIGHT: Mapping[str, str] = MappingProxyType(
    {
        "primary": "#6b4a0c",
        "secondary": "#3c4a55",
        "accent": "#7a4a00",
        "warning": "#7a4a00",
        "error": "#9c2216",
        "success": "#2f5d1c",
        "foreground": "#1c1e20",
        "background": "#fbfaf7",
        "surface": "#f2f0ea",
        "panel": "#e4e1d8",
    }
)
