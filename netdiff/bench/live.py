"""What was found so far, hazards included, worked out while nobody answers: an answer never waits for a comparison."""

from __future__ import annotations

import threading
import time
from pathlib import Path
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from netdiff.bench.desk import Desk
    from netdiff.comparison import Comparison

EVERY: Final = 1.0
"""Seconds between looks at the files."""

BREATH: Final = 0.2
"""Seconds without an answer before the file is read again for what all devices are told."""

LATEST: Final = 2.0
"""Seconds after which it is read in any case."""

REST: Final = 0.7
"""Seconds without an answer before the comparison starts; it is given up at the next answer."""


class _Newer(Exception):
    """An answer came while the comparison ran."""


class Live:
    """One thread that looks at the files and compares; ``comparison`` is the last one that was finished."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.comparison: Comparison | None = None
        self.trouble = ""
        """Why there is no comparison, in words."""
        self.behind = True
        """Something was written since."""
        self._poke = threading.Event()
        self._ended = False
        self._thread: threading.Thread | None = None

    def start(self) -> None:
        self._thread = threading.Thread(target=self._run, name="live findings", daemon=True)
        self._thread.start()

    def stop(self) -> None:
        self._ended = True
        self._poke.set()
        if self._thread is not None:
            self._thread.join(5)

    def poke(self) -> None:
        """Something was written: look at once, compare later."""
        self._poke.set()

    def _run(self) -> None:
        while not self._ended:
            self._settle()
            self.behind |= self.desk.look()
            if self._poke.wait(REST if self.behind else EVERY) or not self.behind:
                continue
            try:
                self._compare()
            except _Newer:
                continue
            self.behind = False
            self.desk.turned()

    def _settle(self) -> None:
        """Waits until nobody has answered for a moment, though not for ever: the next question comes first."""
        latest = time.monotonic() + LATEST
        while self._poke.is_set() and not self._ended and time.monotonic() < latest:
            self._poke.clear()
            self._poke.wait(BREATH)
        self._poke.clear()

    def _compare(self) -> None:
        from netdiff.comparison import compare
        from netdiff.electrical import limits
        from netdiff.hazards import examine

        def tell(_says: str) -> None:
            if self._poke.is_set():
                raise _Newer

        with self.desk.alone() as session:
            unit = session.unit
        if unit is None:  # broken by hand at the moment: what was known stays
            return
        try:
            own, faults = limits.beside(Path(unit.file))
            wiring = compare(unit, tell)
            tell("asking what it does")
            with limits.using(own):
                self.comparison = examine(wiring)
            self.trouble = f"{faults[0].place}: {faults[0].says}" if faults else ""
        except _Newer:
            raise
        except Exception as error:  # a fault of the program there must not end the tracing
            self.trouble = f"The comparison failed ({type(error).__name__}); the answers are saved all the same."
