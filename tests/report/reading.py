"""A page as who reads it sees it: its text, its headings, and what it would fetch."""

from __future__ import annotations

from html.parser import HTMLParser

UNSEEN = frozenset({"style", "script", "title", "desc"})
VOID = frozenset({"meta", "link", "img", "br", "hr", "input"})


class Read(HTMLParser):
    """What stands on a page."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.words: list[str] = []
        self.headings: list[tuple[int, str]] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.feed(page)
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)
        if tag in {"h1", "h2", "h3"}:
            self.headings.append((int(tag[1]), ""))

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if not UNSEEN & set(self.open):
            self.words.append(data)
        if self.headings and {"h1", "h2", "h3"} & set(self.open):
            level, said = self.headings[-1]
            self.headings[-1] = level, f"{said}{data}".strip()

    @property
    def text(self) -> str:
        """All that is seen, with single blanks."""
        return " ".join(" ".join(self.words).split())
