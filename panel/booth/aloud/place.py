"""Where an assessor stands at a plain booth: what can be typed there, and what holds everywhere."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, NoReturn

from panel.booth.aloud.sitting import Moved, Sitting
from panel.seat import care, said
from panel.seat.jobs import CallLead, LookAgain, OwnMark

if TYPE_CHECKING:
    from panel.seat.values import Glass, Tray

HELP = "?"


@dataclass(frozen=True)
class Offer:
    """What a letter does; the name is that of the same key at the screen, where it has one."""

    letter: str
    name: str
    words: str
    do: Callable[[], None]


class Place:
    """A place: it tells where it is, and asks until the assessor stands elsewhere."""

    def __init__(self, sitting: Sitting) -> None:
        self.sitting = sitting
        self.offered = {offer.letter: offer for offer in (*self.offers(), *self._everywhere())}

    @property
    def tray(self) -> Tray:
        """Return the newest tray."""
        return self.sitting.tray

    @property
    def glass_in_hand(self) -> Glass | None:
        """Return the glass that a call is about."""
        return self.sitting.glass

    def offers(self) -> Iterator[Offer]:
        """Yield what a letter does here."""
        yield from ()

    def tell(self) -> None:
        """Say where the assessor stands."""
        raise NotImplementedError

    def turn(self) -> None:
        """Ask what is next, and do what is answered."""
        raise NotImplementedError

    def typed_here(self) -> tuple[str, ...]:
        """Return what can be typed here beside the letters, for the help."""
        return ()

    def stand(self) -> NoReturn:
        """Go on until the assessor stands elsewhere, which ends it by `Moved`."""
        self.tell()
        while True:
            self.turn()

    def done_by_letter(self, answer: str) -> bool:
        """Do what a letter stands for; say whether it was one."""
        offer = self.offered.get(answer.lower())
        if offer is not None:
            offer.do()
        return offer is not None

    # ------------------------------------------------------------------ what holds everywhere

    def _everywhere(self) -> Iterator[Offer]:
        if self.tray.own is not None and not self.sitting.at_words:
            yield Offer(
                "o", "seat.own_words", "your own words: name one more, or hear them", self._to_words
            )
        yield Offer("c", "seat.call", "call the lead to this booth", self._call)
        yield Offer("h", "seat.care", "a glass is not safe, or you are unwell", self._care)
        yield Offer(
            *("k", "seat.own_mark", "not my best nose today, nose only, or not today"),
            self._own_mark,
        )
        yield Offer(
            *("r", "seat.try_again", "keep what is not kept yet, and hear again where you stand"),
            self._look_again,
        )
        yield Offer("l", "seat.leave", "leave this booth to someone else", self._leave)
        yield Offer("q", "booth.quit", "close the booth; all that is kept stays", self._close)
        yield Offer(HELP, "booth.help", "what can be typed here", self._help)

    def _call(self) -> None:
        row = self.sitting.choose(said.CALL, said.CALLS)
        if row is not None:
            held = self.glass_in_hand
            self.sitting.keep(CallLead(said.CALLS[row], held.serving_id if held else None))

    def _care(self) -> None:
        row = self.sitting.choose(care.ASKED, care.OFFERED)
        if row is None:
            return
        wrong = tuple(care.CARES)[row]
        self.sitting.say(care.CARES[wrong].told)
        if wrong is care.Wrong.UNWELL:
            return
        ways = care.ways_to_mean(self.tray)
        meant = ways[0]
        if len(ways) > 1:
            which = self.sitting.choose(care.WHICH_GLASS, [way.words for way in ways])
            meant = care.unsure(ways) if which is None else ways[which]
        self.sitting.keep(*care.jobs_of(wrong, [glass.serving_id for glass in meant.glasses]))

    def _own_mark(self) -> None:
        row = self.sitting.choose(said.own_mark_asked(self.tray), said.OWN_MARK)
        if row is None:
            return
        calls = (CallLead("other"),) if row == 1 else ()
        self.sitting.keep(OwnMark(row < 2), *calls)

    def _look_again(self) -> None:
        if self.sitting.keep(LookAgain()):
            raise Moved

    def _leave(self) -> None:
        self.sitting.leave(closes=False)

    def _close(self) -> None:
        self.sitting.leave(closes=True)

    def _to_words(self) -> None:
        self.sitting.at_words = True
        raise Moved

    def _help(self) -> None:
        self.sitting.say(*self.typed_here())
        self.sitting.say(*(f"{each.letter}: {each.words}." for each in self.offered.values()))
        self.sitting.say(said.MANNERS)
