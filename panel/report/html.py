"""A page as HTML: one file, nothing fetched, nothing run, everything from outside escaped."""

from __future__ import annotations

from base64 import b64encode
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

from panel.pictures.inline import STYLE as INK
from panel.pictures.inline import Drawn, drawn_twice

if TYPE_CHECKING:
    from jinja2 import Template

    from panel.report.values import Report

TEMPLATES = Path(__file__).parent / "templates"


@cache
def template(name: str) -> Template:
    """Return a template of this room, in which everything from outside is escaped."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    found = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    return found.get_template(name)


@cache
def _style() -> str:
    return (TEMPLATES / "report.css").read_text(encoding="utf-8")


def policy(*styles: str) -> str:
    """Return what a browser may do with a page: show it, with exactly these styles."""
    hashes = " ".join(f"'sha256-{_digest(style)}'" for style in styles)
    return f"default-src 'none'; style-src {hashes}; base-uri 'none'; form-action 'none'"


def _digest(style: str) -> str:
    return b64encode(sha256(style.encode()).digest()).decode()


def to_html(report: Report) -> str:
    """Return a page as one self-contained file; the same answers give the same text."""
    from markupsafe import Markup

    style = _style()
    return template("report.html").render(
        report=report,
        policy=policy(style, INK),
        style=Markup(style),
        pictures=[_marked(drawn_twice(picture)) for picture in report.pictures],
        drawn=[
            [_marked(drawn_twice(picture)) for picture in section.pictures]
            for section in report.sections
        ],
    )


def _marked(drawn: Drawn) -> dict[str, str]:
    from markupsafe import Markup

    return {
        "title": drawn.title,
        "says": drawn.says,
        "wide": Markup(drawn.wide),
        "narrow": Markup(drawn.narrow),
    }
