"""What is being done, on a terminal, once it takes longer than somebody likes to wait.

Nothing is shown before two seconds have passed, and nothing at all where nobody looks on: when the
error output is no terminal. The bar goes away when the work is done.
"""

from __future__ import annotations

import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Final, TextIO

PATIENCE: Final = 2.0
"""Seconds."""


@contextmanager
def progress(stream: TextIO | None = None, patience: float = PATIENCE) -> Iterator[Callable[[str], None]]:
    """Gives a function that is told what comes next; shows a moving bar with it from ``patience`` seconds on."""
    out = stream if stream is not None else sys.stderr
    if not out.isatty():
        yield lambda _: None
        return
    now = ["starting"]
    done = threading.Event()
    watcher = threading.Thread(target=_show, args=(out, now, done, patience), daemon=True)
    watcher.start()

    def tell(what: str) -> None:
        now[0] = what

    try:
        yield tell
    finally:
        done.set()
        watcher.join()


def _show(out: TextIO, now: list[str], done: threading.Event, patience: float) -> None:
    if done.wait(patience):
        return
    from rich.console import Console
    from rich.markup import escape
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (BarColumn(), TextColumn("{task.description}"), TimeElapsedColumn())
    with Progress(*columns, console=Console(file=out, force_terminal=True), transient=True) as bar:
        task = bar.add_task(escape(now[0]), total=None)
        while not done.wait(0.2):
            bar.update(task, description=escape(now[0]))
