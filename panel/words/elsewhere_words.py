"""What was sent to other sites, opened there and joined again, as lines."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.figures import in_digits
from panel.words.columns import columns

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from panel.session.elsewhere.joining import Joined
    from panel.session.elsewhere.opening import Opened
    from panel.session.elsewhere.packing import Packed
    from panel.session.elsewhere.recalled import Amount, CarriedRegister, SessionAway

HEADINGS = ("date", "session", "site", "what", "mL", "% vol", "LPA", "by")
NO_WAY_BACK = (
    "For good: what comes back from there is refused from then on, even what is nosed already; "
    "its seats may be scored here."
)
NOTHING_AWAY = "Nothing of it went to another site."
NOTHING_CARRIED = "Nothing was sent to another site, and nothing came from one."
LAST_WORD = (
    "Carriage and duty: your local code, your carrier and your excise officer decide. mL are those "
    "at the session's strength; a sample that is weaker holds less pure alcohol than is reckoned."
)


def packed_lines(made: Packed) -> Iterator[str]:
    """Return what was packed for which site, and what it weighs in spirit."""
    who = ", ".join(made.assessors)
    yield f"{made.session} is packed for {made.site}: {who}, {made.glasses} glasses."
    yield (
        f"Sent: {in_digits(made.millilitres, '.0f')} mL in {len(made.bottles)} bottles, "
        f"{in_digits(made.lpa, '.4f')} L of pure alcohol. To be nosed by {made.nose_by}."
    )
    yield f"Pack SHA-256 {made.pack_hash}"


def opened_lines(done: Opened) -> Iterator[str]:
    """Return what came in a pack, and who has to choose a PIN here."""
    who = ", ".join(done.assessors)
    yield f"{done.session} is here at {done.site}, sealed: {who}, {done.glasses} glasses."
    yield (
        f"Sent: {in_digits(done.sent_ml, '.0f')} mL, received: "
        f"{in_digits(done.received_ml, '.0f')} mL. To be nosed by {done.nose_by}."
    )
    yield f"Water: {done.water}. The same here, for all that is rinsed or drunk."
    yield f"Pack SHA-256 {done.pack_hash}: the same must stand on the sheet with the bottles."
    if done.without_pin:
        yield f"Without a PIN here: {', '.join(done.without_pin)}."


def joined_lines(done: Joined) -> Iterator[str]:
    """Return what was joined, and what the lead has to know of it."""
    if done.assessors:
        yield (
            f"{done.session} from {done.site} is joined: {', '.join(done.assessors)}, "
            f"{done.finished} of {done.glasses} glasses finished, nosed on {done.held_on}."
        )
    else:
        yield (
            f"{done.session} from {done.site} is settled: no seat of it was joined, all stay as "
            "they were scored here."
        )
    yield (
        f"Sent {in_digits(done.sent_ml, '.0f')} mL, received "
        f"{in_digits(done.received_ml, '.0f')}, destroyed {in_digits(done.destroyed_ml, '.0f')} "
        f"({in_digits(done.destroyed_lpa, '.4f')} L of pure alcohol)."
    )
    yield from done.notes


def away_lines(found: SessionAway) -> Iterator[str]:
    """Return a paragraph a pack."""
    if not found.packs:
        yield NOTHING_AWAY
    for pack in found.packs:
        nosed = f"nosed on {pack.held_on}" if pack.held_on else f"to be nosed by {pack.nose_by}"
        yield f"{pack.site}: {pack.state.value}, {', '.join(pack.assessors)}, {nosed}."
        if pack.called_back_because:
            yield f"  called back: {pack.called_back_because}"
        for row in pack.amounts:
            yield f"  {_amount(row)}"
        yield f"  Pack SHA-256 {pack.pack_hash}"
        if pack.return_hash:
            yield f"  Return       {pack.return_hash}"
        if pack.site_head:
            yield f"  Log there    {pack.site_head}"


def _amount(row: Amount) -> str:
    return (
        f"{row.moved} {row.on}: {in_digits(row.millilitres, '.0f')} mL, "
        f"{in_digits(row.lpa, '.4f')} L of pure alcohol"
    )


def carried_lines(found: CarriedRegister) -> Sequence[str]:
    """Return the register of what went to other sites, and its sums."""
    if not found.amounts:
        return [NOTHING_CARRIED]
    rows = [
        (
            *(row.on, row.session, row.site, row.moved, in_digits(row.millilitres, ".0f")),
            *(in_digits(row.abv, "g"), in_digits(row.lpa, ".4f"), row.by),
        )
        for row in found.amounts
    ]
    total = (
        f"Litres of pure alcohol sent {in_digits(found.sent_lpa, '.4f')}, received "
        f"{in_digits(found.received_lpa, '.4f')}, destroyed "
        f"{in_digits(found.destroyed_lpa, '.4f')}."
    )
    return [*columns(HEADINGS, rows), "", total, LAST_WORD]
