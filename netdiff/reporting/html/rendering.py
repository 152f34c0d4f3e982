"""The page as HTML. Everything that anybody wrote is escaped; scripts run only if they are the page's own."""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from netdiff.reporting.html.model import Report
from netdiff.reporting.html.register import anchor
from netdiff.reporting.page import HOLD_HEADINGS, HOLD_WORDS
from netdiff.reporting.plain import clean, style_string
from netdiff.resources import templates

if TYPE_CHECKING:
    from jinja2 import Environment

_HERE: Final = Path(__file__).parent
_MARKS: Final = dict.fromkeys(map(ord, "\u200e\u200f\u061c"), "\N{REPLACEMENT CHARACTER}")
"""Marks that turn the direction of writing without a glyph of their own; ``clean`` takes the others."""
_DESIGNATOR: Final = re.compile(r"(?<![\w?])(\??[A-Z]{1,3}[0-9]{1,5}[A-Z]?)((?:\.[A-Za-z0-9+-]+)?)(?!\w)")


def rendered(report: Report) -> str:
    script = _file("page.js")
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode("ascii")
    known = {item.name for area in report.areas for item in area.items}
    page = _environment().get_template("page.html")
    return page.render(
        report=report,
        style=_trusted(_file("page.css")),
        script=_trusted(script),
        digest=digest,
        foot=_trusted(style_string(clip(report.title, 100))),
        hold_words=HOLD_WORDS,
        hold_headings=HOLD_HEADINGS,
        linked=cache(lambda text: _linked(text, known)),
    )


@cache
def _file(name: str) -> str:
    return (_HERE / name).read_text(encoding="utf-8")


@cache
def _environment() -> Environment:
    out = templates(_HERE, _plain)
    out.filters.update(svg=_trusted)
    out.globals.update(clip=clip, whole=whole)
    return out


def _trusted(text: str) -> Any:
    """Our own style and script, and drawings, which escaped their texts themselves."""
    from markupsafe import Markup

    return Markup(text)  # noqa: S704


def _plain(value: Any) -> Any:
    """What a user wrote, without control characters and without marks that turn the direction of writing."""
    if not isinstance(value, str) or value.isprintable() or hasattr(value, "__html__"):
        return value
    return clean(value).translate(_MARKS)


def clip(text: str, most: int = 160) -> str:
    return text if len(text) <= most else f"{text[: most - 1].rstrip()}…"


def whole(text: str, most: int = 160) -> Any:
    """A title, cut where it is too long, no designator of it broken at the end of a line."""
    return _marked(clip(text, most), lambda name, terminal: ('<span class="nb">{}{}</span>', name, terminal))


def _linked(text: str, known: set[str]) -> Any:
    """The text with each designator (and the terminal after it) leading to that part."""
    form = '<a href="#{}" data-part="{}">{}{}</a>'
    return _marked(text, lambda name, terminal: (form, anchor(name), name, name, terminal) if name in known else None)


def _marked(text: str, how: Callable[[str, str], tuple[str, ...] | None]) -> Any:
    """``how`` gives the form and what fills it for a designator, or None where it stays as it is."""
    from markupsafe import Markup, escape

    text = _plain(text)
    out, at = [], 0
    for match in _DESIGNATOR.finditer(text):
        filled = how(match[1], match[2])
        if filled:
            form, *fill = filled
            out += [escape(text[at : match.start()]), Markup(form).format(*fill)]  # noqa: S704
            at = match.end()
    out.append(escape(text[at:]))
    return Markup("").join(out)
