"""What the list of casks is narrowed to."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from panel.desk.columns import Column
from panel.desk.entries import Field
from panel.desk.form import FormPage, finishing
from panel.desk.pick import PickPage
from panel.desk.typed import as_number
from panel.figures import in_digits
from panel.questions.cask_narrowing import CaskIndex, Flag, Narrowing
from panel.questions.stock_part import FOLDS

if TYPE_CHECKING:
    from collections.abc import Mapping

ANY = "any"
NAMED: tuple[Column[tuple[str, int]], ...] = (
    Column("Name", 40, lambda each: each[0], stretch=True),
    Column("Casks", 7, lambda each: in_digits(each[1], ","), lambda each: each[1], right=True),
)


_FOLD_OF = {f"{by}s": by for by in FOLDS}
"""The field of each record by which casks are told together."""


def _folds(asked: Narrowing) -> list[tuple[str, str, tuple[str, ...]]]:
    """Field, record and what is asked, of site, warehouse, owner and parcel."""
    return [(name, by, getattr(asked, name)) for name, by in _FOLD_OF.items()]


class NarrowForm(FormPage):
    """Makes and woods from a list, a state, a flag, ages; nothing is written."""

    ONLY_ASKS = True
    PLACE = "casks"
    TITLE_WORDS = "Narrow the list of casks"
    BINDINGS: ClassVar[list[BindingType]] = [finishing("Narrow", "Show these", priority=True)]

    def __init__(self, index: CaskIndex, asked: Narrowing) -> None:
        super().__init__()
        self.index = index
        self.asked = asked

    def fields(self) -> Sequence[Field]:
        """Return the fields as the list is narrowed now."""
        asked = self.asked
        states = (ANY, *sorted(self.index.states))
        flags = (ANY, *(flag.value for flag in Flag))
        return (
            Field("makes", "Make", "one of these", "\n".join(asked.makes), picks=True),
            Field("woods", "Wood", "one of these", "\n".join(asked.woods), picks=True),
            Field("state", "State", "← and → choose", asked.state or ANY, choices=states),
            Field("flag", "Flag", "← and → choose", asked.flag or ANY, choices=flags),
            Field("age_from", "Age from", "years", _typed(asked.age_from)),
            Field("age_to", "Age to", "years", _typed(asked.age_to)),
            *(
                Field(name, by.capitalize(), "one of these", "\n".join(held), picks=True)
                for name, by, held in _folds(asked)
            ),
        )

    def set_up(self) -> None:
        """Stand on the first field."""
        super().set_up()
        self.lines[0].entry.focus()

    def choices_for(self, name: str) -> PickPage | None:
        """Return the makes or woods there are, with how many casks of each."""
        held = self._held(name)
        line = self.line_of(name)
        return PickPage(
            f"Which {name}?",
            sorted((each, len(numbers)) for each, numbers in held.items()),
            NAMED,
            name_of=lambda each: str(each[0]),
            place=self.PLACE,
            many=True,
            ticked=line.entry.value.splitlines() if line else (),
        )

    def _held(self, name: str) -> dict[str, set[str]]:
        """The casks of each make, wood, site, warehouse, owner or parcel."""
        if name in _FOLD_OF:
            return self.index.folds[_FOLD_OF[name]]
        return self.index.makes if name == "makes" else self.index.woods

    def keep(self, values: dict[str, str]) -> None:
        """Hand the narrowing to the list."""
        names = ("age_from", "age_to")
        wrong = [name for name in names if name in values and as_number(values[name]) is None]
        if wrong:
            self.post_message(self.Refused(dict.fromkeys(wrong, "a number of years, such as 12")))
        else:
            self.dismiss(narrowing_of(values))


def narrowing_of(values: Mapping[str, str]) -> Narrowing:
    """Return what is asked by the values of the fields."""
    state, flag = (values.get(name, ANY) for name in ("state", "flag"))
    return Narrowing(
        makes=tuple(values.get("makes", "").splitlines()),
        woods=tuple(values.get("woods", "").splitlines()),
        state="" if state == ANY else state,
        flag=None if flag == ANY else Flag(flag),
        sites=tuple(values.get("sites", "").splitlines()),
        warehouses=tuple(values.get("warehouses", "").splitlines()),
        owners=tuple(values.get("owners", "").splitlines()),
        parcels=tuple(values.get("parcels", "").splitlines()),
        age_from=as_number(values.get("age_from")),
        age_to=as_number(values.get("age_to")),
    )


def _typed(number: float | None) -> str:
    return "" if number is None else in_digits(number, "g")
