"""The tracing behind the page: a session for each device, one caller at a time; who has confirmed; what all are told.

Each device has a session of its own, so that the engine knows what its person has seen: what another device or an
editor wrote meanwhile about the same place is a clash, and both sides are shown. One more session only watches the
file, for what everybody is told.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from secrets import token_urlsafe
from typing import Any, Final, NamedTuple

from netdiff.bench import photos, wording
from netdiff.bench.live import Live
from netdiff.language.spelling import quoted
from netdiff.tracing import words
from netdiff.tracing.answers import Answer, Outcome
from netdiff.tracing.questions import Question
from netdiff.tracing.session import Session

PAUSE: Final = 45 * 60.0
"""Seconds without an answer after which a device confirms anew: electrolytics have had time to regain charge."""

AHEAD: Final = 12
"""Questions that a device keeps for the time without a network."""

TICKS: Final = ("unplugged", "discharged", "dead")
"""What a person confirms, each by itself."""

MOST_DEVICES: Final = 40
"""Pages that are remembered; a reload is a new one."""


class Kept(NamedTuple):
    """Where the text is kept, and whether everything that reached the program is in it."""

    file: str
    ok: bool
    says: str


class Refused(Exception):
    """``str`` is a sentence; ``confirm``: because the unit has to be confirmed dead first."""

    def __init__(self, says: str, confirm: bool = False) -> None:
        super().__init__(says)
        self.confirm = confirm


@dataclass(slots=True)
class _Device:
    session: Session
    heard: float
    """When it answered last, by the clock."""


class Desk:
    """Safe to be called from any thread."""

    def __init__(self, session: Session, clock: Callable[[], float] = time.monotonic) -> None:
        self.session = session
        """Watches; nothing is written through it."""
        self._clock = clock
        self._lock = threading.RLock()
        self._devices: dict[str, _Device] = {}
        self._former: dict[str, Session] = {}
        """Sessions of devices that have to confirm anew: what their people have seen is not forgotten."""
        self._notices: list[tuple[int, str]] = []
        self._stamp = self._now()
        self.revision = 1
        self.last = ""
        """The device that wrote last, by its pass; empty: an editor."""
        self.kept = Kept(str(session.path.resolve()), True, "all of it is saved")
        self.live = Live(self)
        self.closed = False
        """The program is being stopped."""

    # --- who may answer

    def confirm(self, ticks: Iterable[str], before: str = "") -> str:
        """A pass for one page on one device, once the person has ticked that the unit is dead; raises Refused.
        ``before`` is the pass that the page had, if any."""
        if set(ticks) != set(TICKS):
            raise Refused("tick all three, each after it was done: nothing is asked before", confirm=True)
        with self._lock:
            device = self._devices.pop(before, None)
            session = self._former.pop(before, None) or (device.session if device else Session.open(self.session.path))
            session.confirm("yes")
            one = token_urlsafe(16)
            self._devices[one] = _Device(session, self._clock())
            for old in list(self._devices)[:-MOST_DEVICES]:
                del self._devices[old]
            return one

    def _admit(self, shown: str) -> Session:
        device = self._devices.get(shown)
        if device is None:
            raise Refused("Confirm first that the unit is unplugged, discharged and proved dead.", confirm=True)
        if self._clock() - device.heard > PAUSE:
            self._dismiss(shown)
            raise Refused("There was a long pause: prove the unit dead again.", confirm=True)
        device.heard = self._clock()
        return device.session

    def _dismiss(self, shown: str) -> None:
        session = self._devices.pop(shown).session
        session.confirmed = False
        self._former[shown] = session
        for old in list(self._former)[:-MOST_DEVICES]:
            del self._former[old]

    # --- asking and answering

    @contextmanager
    def device(self, shown: str) -> Iterator[Session]:
        """The session of a device, while nobody else uses it; raises Refused."""
        with self._lock:
            yield self._admit(shown)

    def questions(self, shown: str, go: str = "", most: int = AHEAD) -> tuple[list[Question], list[str]]:
        """The question for a device with those after it, and what it is told; raises Refused."""
        with self.device(shown) as session:
            # What this device wrote itself it has seen; anything else is news to it.
            told = list(session.changed())
            if go:
                asked = session.ask(go)
                if isinstance(asked, Outcome):
                    told.append(asked.says)
            first = session.question()
            if first is None or most == 1:
                return ([first] if first is not None else []), told
            ahead = session.questions(most + 1)
            return [first, *(one for one in ahead if one.key != first.key)][:most], told

    def answer(self, shown: str, token: str, sent: Mapping[str, Any]) -> Outcome:
        """Writes an answer; raises Refused or Unclear. A full disk is an outcome too."""
        one = wording.answer(sent)
        with self.device(shown) as session:
            session.take_up(str(sent.get("key", "")))
            outcome = self._write(lambda: session.answer(one, token), shown)
            if outcome.taken and not outcome.repeated and wording.powered(one):
                for device in list(self._devices):  # somebody has had the mains on: everybody confirms anew
                    self._dismiss(device)
            return outcome

    def undo(self, shown: str, count: int) -> Outcome:
        with self.device(shown) as session:
            return self._write(lambda: session.undo(count), shown)

    def photo(self, shown: str, token: str, of: str, text: str, data: bytes) -> Outcome:
        """Stores a picture beside the found file and enters it; raises Refused, Unclear, NoPicture."""
        points, label = wording.points(of), wording.text(text)
        with self.device(shown) as session:
            folder = Path(session.path).parent
        ready = photos.upright(data)  # takes a second for a large one: nobody waits for it
        with self.device(shown) as session:
            try:
                name = photos.keep(folder, points[0] if points else "unit", ready)
            except OSError as error:
                return self._told(words.not_written(Path(photos.FOLDER), error))
            where = f" of {' '.join(points)}" if points else ""
            line = f"photo {quoted(name)}{where}{f', {quoted(label)}' if label else ''}"
            outcome = self._write(lambda: session.answer(Answer("statement", words=line), token), shown)
            if not outcome.taken or outcome.repeated:
                with suppress(OSError):
                    (folder / name).unlink()
            return outcome

    def _write(self, act: Callable[[], Outcome], shown: str) -> Outcome:
        before = self._now()
        outcome = self._told(act())
        if self._now() != before:
            self._stamp, self.last = self._now(), shown
            self.live.poke()
        return outcome

    def _told(self, outcome: Outcome) -> Outcome:
        if outcome.taken:
            self.kept = Kept(self.kept.file, True, f"saved {datetime.now():%H:%M:%S}")
        elif outcome.unsaved:
            self.kept = Kept(self.kept.file, False, f"NOT saved: {outcome.says}")
            outcome = replace(outcome, says=f"{outcome.says} It is kept on this device and sent again.")
        return outcome

    # --- telling

    def look(self) -> bool:
        """Looks at the files, every second and after every answer; whether anything had changed."""
        with self._lock:
            told = self.session.changed()
            if not told:
                return False
            if self._now() != self._stamp:  # not by one of the devices here
                self._stamp, self.last = self._now(), ""
                self._notices = [*self._notices[-19:], *((self.revision + 1, says) for says in told)]
            self.revision += 1
            return True

    def _now(self) -> tuple[int, int, int]:
        """Tells one state of the found file from another."""
        try:
            stat = self.session.path.stat()
        except OSError:
            return 0, 0, 0
        return stat.st_ino, stat.st_mtime_ns, stat.st_size

    def turned(self) -> None:
        """Something to show has come, though nobody wrote."""
        with self._lock:
            self.revision += 1

    def notices(self, since: int) -> list[str]:
        return [says for number, says in self._notices if number > since]

    @contextmanager
    def alone(self) -> Iterator[Session]:
        """The watching session, while nobody else uses it."""
        with self._lock:
            yield self.session

    def picture(self, number: int, longest: int) -> bytes | None:
        """A photograph of the found file, made small; None where there is none that can be shown."""
        from netdiff.language.paths import beside

        with self._lock:
            self.look()
            unit, folder = self.session.unit, Path(self.session.path).parent
        if unit is None:
            return None
        known = unit.found(unit.production or frozenset()).photos
        if not 0 <= number < len(known):
            return None
        place = beside(folder, known[number].file)
        if isinstance(place, str):
            return None
        try:
            if place.stat().st_size > photos.MOST_BYTES:
                return None
            return photos.upright(place.read_bytes(), longest)
        except (OSError, photos.NoPicture):
            return None

    def close(self) -> None:
        self.closed = True
        self.live.stop()
