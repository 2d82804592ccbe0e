"""A session in own words: the words to confirm, the map, who is far from the others."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.widgets import ContentSwitcher, Static

from panel.desk.acting import leading
from panel.desk.big_table import BigTable, sort_keys
from panel.desk.columns import Column
from panel.desk.keys import Offer, key
from panel.desk.late_words import LateWords
from panel.desk.page import Follows, Page
from panel.desk.pick import PickPage
from panel.desk.words_map import map_picture
from panel.errors import SessionError
from panel.figures import in_digits
from panel.words.answers import verdict_line

if TYPE_CHECKING:
    from analysis.agreement.own_words import PlacedWord, WordsAssessor
    from panel.desk.page import Handed
    from panel.questions.own_words import WordsFound

VIEWS = ("words", "map-view", "people")


@dataclass(frozen=True)
class WordRow:
    """One word, what it may mean, and what was confirmed."""

    word: PlacedWord
    confirmed: str

    @property
    def name(self) -> tuple[str, str]:
        """Whose word it is, and the word."""
        return self.word.assessor, self.word.word


def nearest(word: PlacedWord) -> str:
    """Return how like the proposed note a word was scored."""
    return in_digits(word.candidates[0].correlation, ".2f") if word.proposed else "-"


def proposed(word: PlacedWord) -> str:
    """Return the note that a word may mean, said with as much doubt as there is."""
    return f"perhaps {word.proposed}" if word.perhaps else word.proposed or "-"


WORD_COLUMNS: tuple[Column[WordRow], ...] = (
    Column("Assessor", 9, lambda r: r.word.assessor),
    Column("Word", 18, lambda r: r.word.word),
    Column("Proposed", 20, lambda r: proposed(r.word)),
    Column("Likeness", 8, lambda r: nearest(r.word), right=True),
    Column("Confirmed", 18, lambda r: r.confirmed or "-", stretch=True),
)
PEOPLE_COLUMNS: tuple[Column[WordsAssessor], ...] = (
    Column("Assessor", 10, lambda p: p.assessor),
    Column("Words", 5, lambda p: str(p.n_words), lambda p: p.n_words, right=True),
    Column("Nearness", 8, lambda p: in_digits(p.weight, ".2f"), lambda p: p.weight, right=True),
    Column("Verdict", 30, lambda p: p.verdict.label, stretch=True),
)


@dataclass(frozen=True)
class Meant:
    """A descriptor of the house that a word may mean."""

    descriptor: str
    likeness: str


MEANT_COLUMNS: tuple[Column[Meant], ...] = (
    Column("Descriptor", 24, lambda m: m.descriptor),
    Column("Likeness", 8, lambda m: m.likeness, right=True),
)


class WordTable(BigTable[WordRow]):
    """Words, with a key for each column."""

    BINDINGS: ClassVar[list[BindingType]] = sort_keys(WORD_COLUMNS)


class WordPeopleTable(BigTable["WordsAssessor"]):
    """People, with a key for each column."""

    BINDINGS: ClassVar[list[BindingType]] = sort_keys(PEOPLE_COLUMNS)


class OwnWordsPage(Page):
    """Words, map and people of one session; v turns from one to the next."""

    FOLLOWS = Follows.WHEN_ASKED
    PLACE = "sessions"
    DEFAULT_CSS = """
    OwnWordsPage #verdict { height: auto; max-height: 4; padding: 0 1; text-style: bold; }
    OwnWordsPage #sentence { height: 3; padding: 0 1; }
    OwnWordsPage ContentSwitcher { height: 1fr; }
    OwnWordsPage #map { padding: 0 1; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        key("k", "confirm", "Confirm", "own.confirm", "It means what is proposed"),
        key("j", "other", "Other note", "own.other", "It means another note"),
        key("u", "undo", "Take back", "own.undo", "It means nothing of ours"),
        key("v", "turn", "Other view", "own.turn", "Words, map or people"),
        key("x", "write_page", "Hand on", "own.hand_on", "Write a page of it into a file"),
    ]

    OFFERS: ClassVar[tuple[Offer, ...]] = (
        Offer("own.lead_page", "A page for the lead", "write_page('lead')", "It names assessors"),
    )

    @dataclass
    class Read(Message):
        """The session has been judged."""

        found: WordsFound
        lexicon: tuple[str, ...]
        late: tuple[str, ...] = ()

    @dataclass
    class Settled(Message):
        """A meaning was written down."""

        news: str

    def __init__(self, name: str) -> None:
        super().__init__()
        self.session_name = name
        self.found: WordsFound | None = None
        self.lexicon: tuple[str, ...] = ()

    def handed_on(self, reader: str) -> Handed | None:
        """Return the page of this session."""
        from panel.desk.handing import session_page

        return session_page(self.desk, self.session_name, reader)

    def body(self) -> ComposeResult:
        """The verdict, one of three views, a sentence."""
        yield Static(id="verdict")
        yield LateWords()
        with ContentSwitcher(initial="words"):
            yield WordTable(
                WORD_COLUMNS, name_of=lambda r: r.name, empty="Nobody named a word.", id="words"
            )
            with VerticalScroll(id="map-view"):
                yield Static(id="map")
            yield WordPeopleTable(PEOPLE_COLUMNS, name_of=lambda p: p.assessor, id="people")
        yield Static(id="sentence")

    def set_up(self) -> None:
        """Say that it takes a moment."""
        super().set_up()
        self.head(f"Own words of {self.session_name}")
        self.say("Reckoning; the other places can be used meanwhile ...")

    @work(thread=True, exclusive=True, group="own words", exit_on_error=False)
    def read(self) -> None:
        """Judge the session."""
        from panel.questions.lexicon import descriptor_lines
        from panel.questions.own_words import words_agreement
        from panel.session.reopened import reopened_lines

        with self.desk.store.read() as db:
            found = words_agreement(db, self.session_name)
            lexicon = tuple(line.name for line in descriptor_lines(db))
            late = reopened_lines(db, [self.session_name])
        self.hand_over(self.Read(found, lexicon, late))

    def on_own_words_page_read(self, message: Read) -> None:
        """Show words, map and people."""
        self.found, self.lexicon = message.found, message.lexicon
        result, confirmed = message.found.result, message.found.confirmed
        self.query_one(LateWords).tell(message.late)
        self.head(fact=f"{result.n_words} words, {result.n_samples} samples")
        self.query_one("#verdict", Static).update(Content(verdict_line(result.verdict)))
        rows = [WordRow(w, confirmed.get((w.assessor, w.word), "")) for w in result.words]
        self.query_one(WordTable).fill(rows)
        self.query_one(WordPeopleTable).fill(result.assessors)
        self.draw_map()
        self.refresh_bindings()
        waits = result.waiting.sentence if result.waiting else None
        self.say(waits or result.house_reason or result.not_seen or "")

    def draw_map(self) -> None:
        """Draw the map at the size there is."""
        if self.found is not None:
            lines = map_picture(self.found.result, self.size.width - 3, self.size.height - 5)
            self.query_one("#map", Static).update(Content("\n".join(lines)))

    def on_resize(self) -> None:
        """Draw the map anew."""
        self.draw_map()

    @on(BigTable.Moved)
    def moved(self, event: BigTable.Moved) -> None:
        """Show the sentence of the word or the person."""
        row = event.row
        said = row.word.sentence if isinstance(row, WordRow) else row.verdict.sentence
        if event.lines.id == self.query_one(ContentSwitcher).current:
            self.query_one("#sentence", Static).update(Content(said))

    def action_turn(self) -> None:
        """Go to the next view."""
        switch = self.query_one(ContentSwitcher)
        view = VIEWS[(VIEWS.index(str(switch.current)) + 1) % len(VIEWS)]
        switch.current = view
        for words in ("#verdict", "#sentence"):  # the map needs the room
            self.query_one(words).display = view != "map-view"
        shown = self.query_one(f"#{view}")
        shown.focus()
        if isinstance(shown, BigTable) and shown.current is not None:
            self.moved(BigTable.Moved(shown, shown.current))
        self.refresh_bindings()

    # ---- meanings

    def can_now(self, action: str) -> bool:
        """Offer meanings only where words stand."""
        if action not in {"confirm", "other", "undo"}:
            return True
        switches = self.query(ContentSwitcher)
        return bool(self.found and switches and switches.first().current == "words")

    def action_confirm(self) -> None:
        """Confirm what is proposed."""
        row = self.query_one(WordTable).current
        if row is None:
            return
        if row.word.proposed is None:
            self.say("Nothing is near enough to propose: j chooses a note.")
        else:
            self.settle(row.word, row.word.proposed)

    def action_undo(self) -> None:
        """Take a meaning back."""
        row = self.query_one(WordTable).current
        if row is not None:
            self.settle(row.word, None)

    @on(BigTable.Opened)
    def action_other(self) -> None:
        """Choose the note that a word means."""
        row = self.query_one(WordTable).current
        if row is None or self.query_one(ContentSwitcher).current != "words":
            return
        word = row.word

        def take(names: tuple[str, ...] | None) -> None:
            if names:
                self.settle(word, names[0])

        page = PickPage(
            f"{word.assessor}'s {word.word!r} means",
            meanings(word, self.lexicon),
            MEANT_COLUMNS,
            name_of=lambda meant: meant.descriptor,
            place="sessions",
            many=False,
        )
        self.app.push_screen(page, take)

    @work(thread=True, exclusive=True, group="meaning", exit_on_error=False)
    def settle(self, word: PlacedWord, descriptor: str | None) -> None:
        """Write the meaning down."""
        from panel.session.own_words import confirm_word

        desk = self.desk
        with leading(desk.store, desk.by) as acting:
            if descriptor is None and not self.is_confirmed(word):
                raise SessionError(f"Nothing is confirmed for {word.word!r} yet.")
            confirm_word(
                *(acting.db, self.session_name, word.assessor, word.word, descriptor),
                by=acting.by,
                now=desk.now(),
            )
        meaning = f"means {descriptor}" if descriptor else "means nothing of ours any more"
        self.post_message(self.Settled(f"{word.assessor}'s {word.word!r} {meaning}."))

    def is_confirmed(self, word: PlacedWord) -> bool:
        """Tell whether a meaning stands there already."""
        return bool(self.found and (word.assessor, word.word) in self.found.confirmed)

    def on_own_words_page_settled(self, message: Settled) -> None:
        """Tell it and read anew."""
        self.desk.wrote(message.news)
        self.say(self.desk.take_news())
        self.seen = self.desk.changes
        self.read()


def meanings(word: PlacedWord, lexicon: Sequence[str]) -> list[Meant]:
    """Return the notes a word may mean, the likely ones first."""
    near = [Meant(each.descriptor, in_digits(each.correlation, ".2f")) for each in word.candidates]
    known = {meant.descriptor for meant in near}
    return [*near, *(Meant(name, "") for name in lexicon if name not in known)]
