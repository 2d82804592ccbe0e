"""Forms of the lexicon: a new descriptor, a new version, a retirement."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from panel.desk.entries import Field
from panel.desk.record_form import RecordForm
from panel.desk.typed import DAY_HINT

if TYPE_CHECKING:
    from panel.questions.lexicon import DescriptorLine

NEEDED = ("descriptor", "stage", "low_words", "high_words")
TEXTS = (
    Field(
        "stage",
        "Stage",
        "when it is looked for",
        choices=("nose", "arrival", "development", "finish"),
    ),
    Field("low_words", "At the left", "words at 0, such as none", wide=True),
    Field("high_words", "At the right", "words at 100", wide=True),
    Field("meaning", "Meaning", "what is meant by it", wide=True),
    Field("reference", "Reference", "how to mix one", wide=True),
    Field("introduced_on", "From", f"{DAY_HINT}; may be empty"),
    Field("ought_to_be_absent", "A fault", "yes: it ought to be absent", choices=("no", "yes")),
)


class DescriptorForm(RecordForm):
    """A new word of the house."""

    PLACE = "lexicon"
    TITLE_WORDS = "A new descriptor"
    KIND = "lexicon"
    NEEDED = NEEDED
    FIELDS: ClassVar[tuple[Field, ...]] = (Field("descriptor", "Descriptor"), *TEXTS)

    def news(self, values: dict[str, str]) -> str:
        """Return what was kept."""
        return f"{values['descriptor']} stands in the lexicon."


class VersionForm(RecordForm):
    """The next version of a descriptor; it starts from the words of the last one."""

    PLACE = "lexicon"
    TITLE_WORDS = "A new version"
    KIND = "lexicon"
    NEEDED = NEEDED
    FIELDS: ClassVar[tuple[Field, ...]] = (
        *TEXTS,
        Field(
            "pools_with_previous",
            "Same scale",
            "yes: scores of both versions count together",
            choices=("no", "yes"),
        ),
    )

    def __init__(self, descriptor: DescriptorLine) -> None:
        newest = descriptor.newest
        given = {
            "stage": newest.stage,
            "low_words": newest.low_words,
            "high_words": newest.high_words,
            "meaning": newest.meaning,
            "reference": newest.recipe,
            "ought_to_be_absent": "yes" if newest.ought_to_be_absent else "no",
        }
        super().__init__({name: value for name, value in given.items() if value})
        self.descriptor = descriptor

    def set_up(self) -> None:
        """Say which descriptor and version."""
        super().set_up()
        self.head(f"{self.descriptor.name}, version {self.descriptor.newest.version + 1}")

    def record(self, values: dict[str, str]) -> dict[str, str]:
        """Return the row of the new version."""
        version = str(self.descriptor.newest.version + 1)
        return super().record({**values, "descriptor": self.descriptor.name, "version": version})

    def news(self, values: dict[str, str]) -> str:
        """Return what was kept."""
        return f"{self.descriptor.name} has version {self.descriptor.newest.version + 1}."


class RetireForm(RecordForm):
    """From when on a descriptor is no longer scored."""

    PLACE = "lexicon"
    TITLE_WORDS = "Retire a descriptor"
    KIND = "lexicon"
    NEEDED = (*NEEDED, "version", "retired_on")
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("retired_on", "Retired on", f"its scores stay; {DAY_HINT}"),
    )

    def __init__(self, descriptor: DescriptorLine) -> None:
        super().__init__()
        self.descriptor = descriptor

    def set_up(self) -> None:
        """Say which descriptor."""
        super().set_up()
        self.head(f"Retire {self.descriptor.name}")

    def record(self, values: dict[str, str]) -> dict[str, str]:
        """Return the row of the newest version with its last day."""
        newest = self.descriptor.newest
        row = {
            "descriptor": self.descriptor.name,
            "version": str(newest.version),
            "stage": newest.stage,
            "low_words": newest.low_words,
            "high_words": newest.high_words,
            "retired_on": "",
        }
        return {**row, **values}

    def news(self, values: dict[str, str]) -> str:
        """Return what was kept."""
        return f"{self.descriptor.name} is retired from {values['retired_on']} on."
