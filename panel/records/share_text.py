"""Shares and numbers of casks as they are typed, read into values."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.errors import OakpanelError
from panel.figures import typed_number

if TYPE_CHECKING:
    from analysis.vatting import Basis, Share


def read_share(text: str, basis: Basis | None = None) -> Share:
    """Read a share such as `wood=European oak butt:0.3`, `make=A|B:25-35%` or `site=X:0.2-0.3`.

    Raises
    ------
    OakpanelError
        It is not written so.
    """
    from analysis.vatting import Basis, Share

    record, colon, amount = text.rpartition(":")
    column, equals, values = record.partition("=")
    named = tuple(part.strip() for part in values.split("|") if part.strip())
    if not (colon and equals and column.strip() and named):
        raise OakpanelError(f"{text!r} is not a share such as 'wood=European oak butt:0.3'.")
    low, high = _ends(amount, text)
    if low == high:
        return Share.about(column.strip(), named, low, basis=basis or Basis.BULK)
    return Share(column.strip(), named, low, high, basis or Basis.BULK)


def _ends(amount: str, text: str) -> tuple[float, float]:
    percent = amount.strip().endswith("%")
    low, dash, high = amount.strip().rstrip("%").partition("-")
    try:
        ends = typed_number(low), typed_number(high if dash else low)
    except ValueError:
        raise OakpanelError(
            f"{amount!r} in {text!r} is not a share: write 0.3, 30% or a range 0.25-0.35."
        ) from None
    if not percent and max(ends) > 1.0:
        raise OakpanelError(
            f"{amount!r} in {text!r} is more than the whole: write 0.3 or 30%, not 30."
        )
    if ends[0] > ends[1]:
        raise OakpanelError(f"{amount!r} in {text!r}: the lower end of a range stands first.")
    return (ends[0] / 100.0, ends[1] / 100.0) if percent else ends


def read_range(text: str) -> tuple[int | None, int | None]:
    """Read a number of casks: `12`, `10-40`, `10-` or `-40`.

    Raises
    ------
    OakpanelError
        It is not written so.
    """
    low, dash, high = text.strip().partition("-")
    try:
        least = int(low) if low else None
        most = int(high) if high else None
    except ValueError:
        raise OakpanelError(f"{text!r} is not a number of casks such as 12 or 10-40.") from None
    if least is None and most is None:
        raise OakpanelError(f"{text!r} is not a number of casks such as 12 or 10-40.")
    most = most if dash else least
    if most is not None and not 0 < most >= (least or 0):
        raise OakpanelError(f"{text!r}: one cask or more, and the lower number first.")
    return least, most
