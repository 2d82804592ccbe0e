"""The one table of keys: what each letter means, on every page of the desk.

A letter has one meaning. The word in the line of keys is one of those listed beside it, so that a
hand learns it once. Capitals belong to the columns of a table, digits to the places; in a field a
letter is a letter. What has no letter stands in the list of all that can be done on a page.
"""

from __future__ import annotations

from dataclasses import dataclass

from textual.binding import Binding


@dataclass(frozen=True)
class Meaning:
    """What a letter does, and the words it goes by."""

    means: str
    words: tuple[str, ...]


LETTERS: dict[str, Meaning] = {
    "a": Meaning("Answer whoever calls from a booth", ("Answer",)),
    "b": Meaning("Put another beside it", ("Beside", "Two casks", "Several")),
    "c": Meaning("Close the session", ("Close",)),
    "d": Meaning("Write down a draw", ("Draw", "Bench")),
    "e": Meaning("Write down what happened", ("Event",)),
    "f": Meaning("Narrow what is looked at, or widen it", ("Narrow", "Never nosed")),
    "g": Meaning("Write down what was measured", ("Regauge", "Disgorge")),
    "h": Meaning("Hold, or lift the hold", ("Hold",)),
    "i": Meaning("What was found, and whether it can be trusted", ("Found", "Agreement")),
    "j": Meaning(
        "Have it otherwise", ("Plan again", "Choose anew", "Other note", "New version", "Change")
    ),
    "k": Meaning("Keep it so", ("Keep", "Confirm", "Bottle")),
    "l": Meaning("Its lines, or its limits", ("Lines", "Limits")),
    "m": Meaning("Mark", ("Mark",)),
    "n": Meaning("A new one", ("New", "New line", "Add")),
    "o": Meaning("Open the booths", ("Open", "Browsers")),
    "p": Meaning("On paper", ("Sheets", "Sheet", "Paper")),
    "q": Meaning("Behind a PIN, for two pairs of eyes", ("Private",)),
    "r": Meaning("Reveal the key", ("Reveal",)),
    "s": Meaning("Seal or sign: from then on it is fixed", ("Seal", "Sign")),
    "t": Meaning("Tick all, or none", ("Tick all",)),
    "u": Meaning("Take back what was done last", ("Take back", "Open again", "Alone")),
    "v": Meaning(
        "The same seen another way",
        ("Other view", "Other draw", "List", "Map", "Figures", "In words", "Stock"),
    ),
    "w": Meaning(
        "What stands behind it, and what does not",
        ("Why", "Doubts", "Evidence", "Left out", "Swaps", "Columns", "Tests"),
    ),
    "x": Meaning("A page to hand on", ("Hand on",)),
    "y": Meaning("Over the years", ("Years", "Windows")),
    "z": Meaning("Look nearer", ("Nearer",)),
    "minus": Meaning(
        "Less of it, or no longer", ("Less", "Retire", "Drop", "Cancel", "Leave", "Stop")
    ),
    "plus": Meaning("More of it", ("More", "Whole folder")),
    "comma": Meaning("The same once more", ("Like last time", "Look again")),
    "slash": Meaning("Find by words", ("Find",)),
    "full_stop": Meaning("All that can be done here", ("All",)),
    "question_mark": Meaning("What the keys do", ("Keys",)),
}
"""By the key. In a slip that asks, y and n are yes and no."""


@dataclass(frozen=True)
class Offer:
    """Something a page can do that needs no letter of its own: it stands in the list of all.

    Attributes
    ----------
    name
        Of its own in the whole desk, as the id of a key.
    words
        What it is called in the list.
    action
        The page's action.
    tooltip
        What it does.
    """

    name: str
    words: str
    action: str
    tooltip: str


def key(letter: str, action: str, word: str, name: str, tooltip: str) -> Binding:
    """Return a page's key of the table.

    Raises
    ------
    KeyError
        If the letter does not mean that.
    """
    if word not in LETTERS[letter].words:
        raise KeyError(f"{letter} means: {LETTERS[letter].means}")
    return Binding(letter, action, word, id=name, tooltip=tooltip)
