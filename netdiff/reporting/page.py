"""A page in the terminal: headings, paragraphs with a hanging indent, tables; plain text when it is piped.

Whatever a file or a user wrote is data. It is never read as markup, and control characters, with
which a label could repaint the screen, are shown as a replacement mark.
"""

from __future__ import annotations

import sys
import textwrap
from collections.abc import Iterable, Sequence
from typing import IO, TYPE_CHECKING, Final

from netdiff.comparison.results import Hold
from netdiff.reporting.plain import clean

if TYPE_CHECKING:
    from rich.console import Console

WIDEST: Final = 100
"""Longer lines are hard to follow with the eye; piped text has this width too, whoever reads it."""

HOLD_WORDS: Final[dict[Hold, str]] = {
    "power": "before power",
    "transmit": "before transmitting",
    "deliver": "before delivery",
    "none": "worth knowing",
}
HOLD_HEADINGS: Final[dict[Hold, str]] = {
    "power": "Clear before any power is applied",
    "transmit": "Clear before RF is made",
    "deliver": "Clear before it goes back to its owner",
    "none": "Worth knowing",
}
# The words above always stand beside the colour.
HOLD_STYLES: Final[dict[Hold, str]] = {
    "power": "bold red",
    "transmit": "bold yellow",
    "deliver": "bold cyan",
    "none": "bold",
}


class Page:
    """Prints to a stream from top to bottom. Colour only if the stream is a terminal."""

    def __init__(self, stream: IO[str] | None = None) -> None:
        from rich.console import Console

        file = stream if stream is not None else sys.stdout
        terminal = file.isatty()
        self._console: Console = Console(
            file=file, force_terminal=terminal, markup=False, highlight=False, emoji=False, soft_wrap=False
        )
        self._console.width = min(self._console.width, WIDEST) if terminal else WIDEST

    def heading(self, text: str, style: str = "bold") -> None:
        self.blank()
        self.line(text, style=style)

    def blank(self) -> None:
        self._console.print()

    def line(self, text: str, *, indent: int = 0, lead: str = "", style: str = "") -> None:
        """One paragraph. ``lead`` stands before its first line, the rest hangs under the text after it."""
        from rich.text import Text

        before = " " * indent + clean(lead)
        wrapped = textwrap.fill(
            clean(text),
            self._console.width,
            initial_indent=before,
            subsequent_indent=" " * len(before),
            break_on_hyphens=False,
        )
        self._console.print(Text(wrapped or before.rstrip(), style=style), soft_wrap=True)

    def points(self, texts: Iterable[str], *, indent: int = 2) -> None:
        for text in texts:
            self.line(text, indent=indent, lead="- ")

    def table(self, titles: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
        """The first column is text, the others are numbers."""
        from rich.table import Table
        from rich.text import Text

        table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 2), header_style="")
        for number, title in enumerate(titles):
            table.add_column(Text(clean(title)), justify="left" if number == 0 else "right", overflow="fold")
        for row in rows:
            table.add_row(*(Text(clean(cell)) for cell in row))
        self._console.print(table)


def print_cautions(page: Page, cautions: Iterable[str]) -> None:
    page.heading("Before a hand goes in", style="bold red")
    page.points(cautions)
