"""Plain words for every output, with nothing heavy behind them."""

from __future__ import annotations

from typing import Final

# Control characters, and marks that turn the direction of writing: a name would show other than it is.
_CONTROL: Final = dict.fromkeys(
    (*range(32), *range(127, 160), *range(0x202A, 0x202F), *range(0x2066, 0x206A)), "\N{REPLACEMENT CHARACTER}"
) | {ord("\t"): " ", ord("\n"): " "}


def clean(text: str) -> str:
    """Without control characters; a tab or a line end is a blank.

    >>> clean("a\\x1b[31mb\\tc")
    'a�[31mb c'
    """
    return text.translate(_CONTROL)


def style_string(text: str) -> str:
    """A text as a string of a style sheet, in which no mark of the text can end it.

    >>> print(style_string('No. 4 "</style>'))
    "No\\2e  4 \\22 \\3c \\2f style\\3e "
    """
    return '"' + "".join(c if c.isalnum() or c == " " else f"\\{ord(c):x} " for c in clean(text)) + '"'


def counted(number: int, what: str) -> str:
    """``1 part``, ``3 parts``."""
    return f"{number} {what}{'' if number == 1 else 's'}"
