"""Pictures as files: SVG, or PNG by a library that is asked for as an extra."""

from __future__ import annotations

from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

from analysis.pictures import to_svg
from panel.errors import OakpanelError
from panel.pictures.font_signs import signs_of_font
from panel.session.paper import write_private

if TYPE_CHECKING:
    from analysis.pictures import Picture, Plane

FONT = Path(__file__).parent / "fonts" / "DejaVuSans.ttf"
FAMILY = "DejaVu Sans"
TWICE = 2.0
NO_PNG = (
    "A picture as PNG needs one library more: `pip install 'oakpanel[pictures]'`, or take a name "
    "that ends in .svg."
)


def write_picture(path: Path, *pictures: Picture | Plane) -> list[str]:
    """Write pictures that stand below each other to a new file that only its owner can read.

    Returns
    -------
    list of str
        What to know of the file.

    Raises
    ------
    OakpanelError
        The name ends in neither .svg nor .png; a file is there already; the library is not
        installed.
    """
    check_place(path)
    drawn = to_svg(*pictures)
    if path.suffix.casefold() == ".svg":
        write_private(path, drawn)
        return []
    write_private(path, to_png(drawn))
    return ["Signs that the font lacks are not in the PNG; they are in the SVG."] * lacks(drawn)


def check_place(path: Path) -> None:
    """Refuse a place that no picture can be written to.

    Raises
    ------
    OakpanelError
        The name ends in neither .svg nor .png; something is there already; a PNG is asked for and
        the library is not installed.
    """
    ending = path.suffix.casefold()
    if ending not in {".svg", ".png"}:
        raise OakpanelError(
            f"A picture is written as .svg or .png, or shown by -: {path} is neither."
        )
    if path.exists():
        raise OakpanelError(f"{path} is there already; name a new file.")
    if ending == ".png" and find_spec("resvg_py") is None:
        raise OakpanelError(NO_PNG)


def to_png(drawn: str) -> bytes:
    """Return a drawing as PNG, twice as large, in the font that is kept with the program.

    Raises
    ------
    OakpanelError
        The library is not installed.
    """
    try:
        library = import_module("resvg_py")
    except ModuleNotFoundError:
        raise OakpanelError(NO_PNG) from None
    made = library.svg_to_bytes(
        svg_string=drawn,
        zoom=TWICE,
        skip_system_fonts=True,
        font_files=[str(FONT)],
        font_family=FAMILY,
        sans_serif_family=FAMILY,
    )
    return bytes(made)


def lacks(drawn: str) -> bool:
    """Tell whether a drawing has signs that the font does not: those of East Asia among others."""
    has = signs_of_font(FONT)
    return any(not any(ord(sign) in part for part in has) for sign in set(drawn) if sign > " ")
