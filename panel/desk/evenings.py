"""Evenings."""

from panel.desk.page import Page


class EveningsPage(Page):
    """x."""

    PLACE = "evenings"
    TITLE_WORDS = "Evenings"
