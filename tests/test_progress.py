"""The progress bar: on a terminal only, and only when it takes long."""

from __future__ import annotations

import io
import time

from netdiff.reporting.progress import progress


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_nothing_is_shown_while_it_is_quick() -> None:
    out = Terminal()
    with progress(out, patience=30) as tell:
        tell("reading")
    assert out.getvalue() == ""


def test_what_is_done_is_shown_when_it_takes_long() -> None:
    out = Terminal()
    with progress(out, patience=0.0) as tell:
        tell("laying [b]circuits[/b] over each other")
        time.sleep(0.6)
    assert "laying [b]circuits[/b] over each other" in out.getvalue()


def test_nothing_is_shown_where_nobody_looks_on() -> None:
    out = io.StringIO()
    with progress(out, patience=0.0) as tell:
        tell("reading")
        time.sleep(0.3)
    assert out.getvalue() == ""
