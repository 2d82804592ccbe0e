"""Between two glasses: the pause, and the code of the glass that comes to hand."""

from __future__ import annotations

import re
from collections.abc import Iterator

from panel.booth.aloud.place import Offer, Place
from panel.booth.aloud.sitting import Sitting
from panel.errors import WrongGlass
from panel.seat import between as standing
from panel.seat import said
from panel.seat.between import Typed
from panel.seat.jobs import LookAgain, TakeUp

CODE = re.compile(r"[0-9]{3}")
NO_CODE = "A code has three digits. Type the one on the glass in your hand."
ANYWAY = {Typed.OUT_OF_ORDER: "Take {code} all the same?", Typed.FINISHED: "Take {code} up again?"}


class Between(Place):
    """Type the three digits on the glass; what is wrong with them is said."""

    def __init__(self, sitting: Sitting) -> None:
        sitting.glass = None
        super().__init__(sitting)

    def tell(self) -> None:
        """Say what is left and how long the pause lasts."""
        called = said.lead_called(self.tray)
        self.sitting.say(
            standing.left_words(self.tray),
            standing.pause_words(self.tray, self.sitting.records.clock()),
            f"The {called}." if called else "",
        )
        self.sitting.trouble(standing.waiting_anew(self.tray))

        self.sitting.say_first(self.tray.told)

    def typed_here(self) -> tuple[str, ...]:
        """Return how a glass is taken up."""
        return ("Three digits: take up the glass with this code.", "Enter: hear this again.")

    def turn(self) -> None:
        """Ask for the code of a glass."""
        answer = self.sitting.ask(standing.asked_words(self.tray))
        if not answer:
            self.tell()
        elif CODE.fullmatch(answer):
            self._take(answer)
        elif not self.done_by_letter(answer):
            self.sitting.trouble(f"{NO_CODE} ? tells what else can be typed.")

    def _take(self, code: str) -> None:
        try:
            found = standing.judged(self.tray, code, self.sitting.records.clock())
        except WrongGlass as error:
            self.sitting.trouble(str(error))
            self.sitting.keep(LookAgain())
            return
        if found.typed in ANYWAY:
            self.sitting.say(found.said)
            if not self.sitting.yes(ANYWAY[found.typed].format(code=code)):
                return
        self.sitting.keep(TakeUp(code))

    def offers(self) -> Iterator[Offer]:
        """Yield what a letter does between glasses."""
        yield Offer("w", "between.which", "which glass is next on the tray", self._which)
        yield Offer("b", "between.back", "which finished glasses may be taken again", self._back)

    def _which(self) -> None:
        self.sitting.say(standing.next_words(self.tray))

    def _back(self) -> None:
        self.sitting.say(standing.return_words(self.tray))
