"""Lexicon."""

from panel.desk.page import Page


class LexiconPage(Page):
    """x."""

    PLACE = "lexicon"
    TITLE_WORDS = "Lexicon"
