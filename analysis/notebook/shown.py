"""What a notebook shows of a result beside its words: its pictures, as SVG in the page."""

from __future__ import annotations


def drawn(result: object) -> str:
    """Return the pictures of a result as one SVG; nothing where it has none."""
    from ..pictures import to_svg
    from ..pictures.results import pictures_of_result

    pictures = pictures_of_result(result)
    return to_svg(*pictures) if pictures else ""
