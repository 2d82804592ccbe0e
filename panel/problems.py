"""A fault in a file: where it is, what stands there and what would be right."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, order=True)
class Problem:
    """One fault. `row` counts as a spreadsheet does (the heading is row 1); 0 is the whole file."""

    file: str
    row: int
    column: str
    value: str
    message: str
    heading: str = ""
    """The file's own heading, where it is another than our column's."""
    cell: str = ""
    """What stands in the file, where it is written otherwise than the value."""
    doubt: bool = False
    """Whether it may be so, and is taken once somebody says that it is."""

    def sentence(self, *, at_desk: bool = False) -> str:
        """Return the fault as a person reads it; at the desk a way out is a key or a field."""
        place = self.file if self.row == 0 else f"{self.file}, row {self.row}"
        if self.heading:
            place += f", column {self.heading}, taken as {self.column}"
        elif self.column:
            place += f", column {self.column}"
        value = self.cell or self.value
        found = f" ({value!r})" if value else ""
        return f"{place}{found}: {at_the_desk(self.message) if at_desk else self.message}"


class WithWay(str):
    """What is wrong, and an option that is the way out; at the desk another is."""

    __slots__ = ("at_desk",)
    at_desk: str


def with_way(wrong: str, *, option: str, at_desk: str) -> WithWay:
    """Return what is wrong with its way out: the option of a command, the field of a form."""
    told = WithWay(f"{wrong}{option}")
    told.at_desk = f"{wrong}{at_desk}"
    return told


def at_the_desk(message: str) -> str:
    """Return a message as it stands at the desk."""
    return message.at_desk if isinstance(message, WithWay) else message
