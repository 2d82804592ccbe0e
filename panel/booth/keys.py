"""The keys of the booth. Either hand drives everything: arrows and digits, or e d s f and digits.

All are priority keys of a screen: the app works them off one after the other, so that a burst of
keys goes where it was meant to go. None is ctrl+m, ctrl+j or ctrl+h, which terminals mix up.
"""

from __future__ import annotations

from textual.binding import Binding, BindingType


def key(
    keys: str,
    action: str,
    words: str,
    name: str,
    tooltip: str,
    *,
    shown: str | None = None,
    show: bool = True,
) -> Binding:
    """Return a priority key with a name and an explanation."""
    return Binding(
        keys, action, words, show, key_display=shown, priority=True, tooltip=tooltip, id=name
    )


def digit_keys(name: str, words: str, tooltip: str) -> list[BindingType]:
    """Return the ten digits as one action in ten forms."""
    return [
        key(str(d), f"digit('{d}')", words, name, tooltip, shown="0-9", show=d == 0)
        for d in range(10)
    ]


LINE_KEYS: list[BindingType] = [
    key("up,e,E", "line(-1)", "Line", "line.up", "The line above", shown="↑↓/e d"),
    key("down,d,D", "line(1)", "Line below", "line.down", "The line below", show=False),
    key(
        "right,f",
        "move(1)",
        "By one",
        "line.more",
        "One point more; on a blank line that is 1",
        shown="←→/s f",
    ),
    key(
        "left,s",
        "move(-1)",
        "One less",
        "line.less",
        "One point less; on a blank line that is 0, not perceived",
        show=False,
    ),
    key(
        "shift+right,F",
        "move(5)",
        "By five",
        "line.more_by_five",
        "Five points more",
        shown="Shift",
    ),
    key(
        "shift+left,S",
        "move(-5)",
        "Five less",
        "line.less_by_five",
        "Five points less",
        show=False,
    ),
    *digit_keys("line.digit", "Value", "Type the value"),
    key(
        "enter,space,tab",
        "onward",
        "Next",
        "line.onward",
        "Go on to the next line",
        shown="Enter/Space",
    ),
    key("shift+tab", "line(-1)", "Line above", "line.up_by_tab", "The line above", show=False),
    key(
        "x,X,delete",
        "blank",
        "Blank",
        "line.blank",
        "Make this line blank again: not scored, which is not zero",
    ),
    key(
        "backspace",
        "back_digit",
        "Mend",
        "line.back_digit",
        "Take the last digit away",
        show=False,
    ),
]

GLASS_KEYS: list[BindingType] = [
    key(
        "p,P",
        "put_down",
        "Put down",
        "glass.put_down",
        "Put the glass down: it is finished and the pause begins",
    ),
    key(
        "n,N",
        "none_of_the_rest",
        "None of the rest",
        "glass.none_of_the_rest",
        "Set every line that is still blank to 0, not perceived",
    ),
    key(
        "u,U",
        "take_back_zeros",
        "Undo that",
        "glass.take_back_zeros",
        "Make the lines that 'none of the rest' set blank again",
    ),
    key("m,M", "faults", "Fault", "glass.faults", "Mark a fault, apart from the scores"),
    key("t,T", "note", "Note", "glass.note", "Write something about this glass"),
    key("b,B", "back", "Back", "glass.back", "How to go back to a finished glass", show=False),
]

PASS_KEYS: list[BindingType] = [
    key("p,P", "pass_it", "Pass", "pass.pass", "Nothing is wrong with it: pass it, and on"),
    *[
        key(
            str(number),
            f"name_fault({number})",
            "Fault",
            "pass.fault",
            "Name a fault by its number, or take that back",
            shown="1-7",
            show=number == 1,
        )
        for number in range(1, 8)
    ],
    key("enter,space", "hold_it", "Hold", "pass.hold", "Hold it with the fault named, and on"),
    key("t,T", "note", "Note", "glass.note", "Write something about this glass"),
    key("b,B", "back", "Back", "glass.back", "How to go back to a finished glass", show=False),
]

BETWEEN_KEYS: list[BindingType] = [
    *digit_keys("between.digit", "Code", "Type the code on the glass"),
    key(
        "backspace,delete",
        "back_digit",
        "Mend",
        "between.back_digit",
        "Take the last digit away",
        shown="Backspace",
    ),
    key("enter,space", "take", "Take up", "between.take", "Take up the glass typed"),
    key(
        "w,W",
        "which",
        "Which is next",
        "between.which",
        "Say which glass is next on the tray, as planned",
    ),
    key(
        "b,B",
        "back",
        "Back to a glass",
        "between.back",
        "Say which finished glasses may be taken up again",
    ),
]

SET_KEYS: list[BindingType] = [
    *(
        key(
            str(d),
            f"digit('{d}')",
            "Choose",
            "set.digit",
            "Choose this glass; in a ranking it gets the next place",
            shown="1-8",
            show=d == 1,
        )
        for d in range(1, 9)
    ),
    key(
        "equals_sign,t,T",
        "equal",
        "As strong",
        "set.equal",
        "The next glass has as much as the last one",
        shown="=/t",
    ),
    key(
        "backspace,delete,x,X",
        "back_digit",
        "Take back",
        "set.back_digit",
        "Take the last number back",
        shown="Backspace/x",
    ),
    key("enter,space", "keep", "Keep", "set.keep", "Keep the answer: the set is done"),
]

TRACE_KEYS: list[BindingType] = [
    *digit_keys("trace.digit", "How much", "How much of it there is now: kept with its second"),
    key(
        "p,P",
        "put_down",
        "Put down",
        "trace.put_down",
        "Put the glass down before its minute is over; twice, to be sure",
    ),
    key("t,T", "note", "Note", "glass.note", "Write something about this glass"),
]

OWN_WORD_KEYS: list[BindingType] = [
    key(
        "o,O",
        "own_words",
        "Own words",
        "seat.own_words",
        "Your own words: name one more, or see them",
    ),
]

WORD_KEYS: list[BindingType] = [
    key("enter,space", "name", "Name a word", "words.name", "Name a word of your own"),
    key("up,e,E", "point(-1)", "Choose", "words.up", "The word above", shown="↑↓/e d"),
    key("down,d,D", "point(1)", "Word below", "words.down", "The word below", show=False),
    key("m,M", "mend", "Mend", "words.mend", "Write this word anew; not once it has been scored"),
    key(
        "x,X,delete",
        "take_back",
        "Take back",
        "words.take_back",
        "Forget this word; not once it has been scored",
    ),
    key("g,G,o,O", "glasses", "To the glasses", "words.glasses", "Go on to the glasses"),
]

SEAT_KEYS: list[BindingType] = [
    key("c,C", "call", "Call lead", "seat.call", "Call the lead to this booth"),
    key(
        "h,H",
        "care",
        "Not safe",
        "seat.care",
        "A glass that is not safe, or you are unwell: what to do",
    ),
    key(
        "k,K",
        "own_mark",
        "My nose",
        "seat.own_mark",
        "Not my best nose today, nose only, or not today; no cause asked",
    ),
    key(
        "r,R",
        "try_again",
        "Try again",
        "seat.try_again",
        "Keep what is marked 'not kept yet', and look at the records again",
        show=False,
    ),
    key("l,L", "leave", "Leave", "seat.leave", "Leave this booth to someone else"),
]
