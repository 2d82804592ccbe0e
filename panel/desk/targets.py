"""Targets."""

from panel.desk.page import Page


class TargetsPage(Page):
    """x."""

    PLACE = "targets"
    TITLE_WORDS = "Targets"
