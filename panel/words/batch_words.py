"""A batch beside the one before it, and the batches of a target, as lines of text."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

from panel.figures import measured
from panel.words.answers import paragraph
from panel.words.columns import columns
from panel.words.two_casks import BATCH_NAMED_BEFORE, two_casks_lines

if TYPE_CHECKING:
    from panel.release.batch_check import BatchChecked
    from panel.release.batches import BatchesFound

NOT_GUESTS = "It is about the spirit as this panel finds it, not about what a guest can tell apart."


def checked_lines(found: BatchChecked, width: int = 80) -> list[str]:
    """Return which batch follows which, and what the blind check shows."""
    return [*paragraph(check_words(found), width), *_shown(found, width), *_kept(found, width)]


def check_words(found: BatchChecked) -> str:
    """Return how the blind check of a batch stands."""
    said = (
        f"{found.release} follows {found.before}: within "
        f"{measured(found.within_points, 'point')} on every "
        "note."
    )
    if found.sample is None:
        return f"{said} No blind check of it was planned yet."
    said += f" In question are {found.sample} and {found.before_sample}"
    if found.sessions:
        return f"{said}, nosed blind in session {', '.join(found.sessions)}."
    return f"{said}; no revealed session has poured both yet."


def _shown(found: BatchChecked, width: int) -> Iterator[str]:
    if found.found is not None:
        yield ""
        yield from two_casks_lines(found.found, width, holds=BATCH_NAMED_BEFORE)
        less = f"Apart: points of {found.found.first} less those of {found.found.second}."
        yield from paragraph(less, width)
        yield from paragraph(NOT_GUESTS, width)


def _kept(found: BatchChecked, width: int) -> Iterator[str]:
    if found.kept is not None:
        yield from paragraph(kept_words(found.kept, str(found.kept_on)), width)


def kept_words(kept: Mapping[str, Any], on: str) -> str:
    """Return what was kept of a check."""
    notes = [each for each in kept["notes"] if each["difference"] is not None]
    said = f"Kept on {on}: {kept['word']}"
    if notes:
        far = max(notes, key=lambda each: abs(each["difference"]))
        said += f", furthest apart on {far['descriptor']} ({far['difference']:+.0f})"
    return f"{said}, session {', '.join(kept['sessions'])}."


def batch_lines(batch: Mapping[str, Any] | None, width: int = 80) -> list[str]:
    """Return what a record says of the batch a release follows; nothing where it follows none."""
    if batch is None:
        return []
    said = (
        f"It follows {batch['before']}, within "
        f"{measured(batch['within_points'], 'point')} on every note."
    )
    if batch["kept"] is not None:
        said += f" Blind check: {kept_words(batch['kept'], str(batch['kept_on']))}"
    elif batch["sample"] is not None:
        said += f" Blind check: {batch['sample']} beside {batch['before_sample']}, not kept yet."
    else:
        said += " No blind check of it was planned yet."
    return ["", *paragraph(said, width)]


def batches_lines(found: BatchesFound, width: int = 80) -> list[str]:
    """Return a target's batches, a line each with its notes."""
    names = list(found.bands)
    rows = []
    for batch in found.batches:
        notes = {note.descriptor: note for note in batch.notes}
        rows.append(
            (
                *(str(batch.on), batch.lot, batch.status, "nosed" if batch.nosed else "reckoned"),
                *(f"{notes[name].estimate:.0f}" if name in notes else "-" for name in names),
            )
        )
    lines = paragraph(found.sentence, width)
    if not rows:
        return lines
    letters = [_letter(at) for at in range(len(names))]
    told = ", ".join(f"{letter} {name}" for letter, name in zip(letters, names, strict=True))
    return [
        *lines,
        "",
        *columns(("day", "batch", "stands at", "notes", *letters), rows),
        *paragraph(f"Points: {told}.", width),
        *paragraph(NOT_GUESTS, width),
    ]


def _letter(at: int) -> str:
    return chr(ord("a") + at) if at < LETTERS else f"a{at}"


LETTERS = 26
