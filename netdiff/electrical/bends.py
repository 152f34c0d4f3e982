"""What bends at a voltage or a current: rectifiers, gas regulators, tubes at their loads.

Each stands in one of a row of modes, and in each it is linear: a source behind a resistance, a current, or nothing.
None lets its current fall when its voltage rises, so that there is one solution (R. J. Duffin, Bull. AMS 53 (1947) 963;
from memory). It is looked for by moving whatever does not fit to its next mode, all at once; when a choice comes back,
one at a time, the first in a fixed order, which ends (K. G. Murty, Linear Algebra Appl. 7 (1974) 69; from
memory).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Protocol

from netdiff.circuit import Load, part_of, terminal_of
from netdiff.electrical.nodes import Nodes
from netdiff.electrical.solved import Branch, Operating

KNEE = 1.0
"""Volts. A tube on less than that carries what is left, and nothing on none; where its plate then really goes, only its
curves say. Ours."""

NEAR = 1e-9
"""Of the voltages compared, a fraction that arithmetic leaves over."""

MOST_TOGETHER, MOST_ALONE = 25, 400
"""Rounds. By then they have settled; what has not stands as it is."""


class Bend(Protocol):
    """One of them. ``mode`` is where it stands, 0 for nothing."""

    mode: int

    def branches(self) -> Iterable[Branch]: ...

    def loads(self) -> Iterable[Load]: ...

    def wanted(self, solved: Operating) -> int:
        """The mode next to its own that the solution asks for, or its own."""
        ...


@dataclass(slots=True)
class Source:
    """A rectifier's supply, that only gives (``sign`` 1), or a gas regulator, that only takes (-1)."""

    branch: Branch
    sign: int
    mode: int = 1

    def branches(self) -> Iterable[Branch]:
        return (self.branch,) if self.mode else ()

    def loads(self) -> Iterable[Load]:
        return ()

    def wanted(self, solved: Operating) -> int:
        left = self.sign * (self.branch.volts - across(solved, self.branch.a, self.branch.b))
        near = NEAR * max(1.0, abs(self.branch.volts))
        return 0 if left < -near else 1 if left > near else self.mode


@dataclass(slots=True)
class Drawn:
    """A tube that draws the current of its load: whole while its voltage is above the knee (mode 2), in proportion
    below (1), none where there is none (0). A control grid's is driven through by what comes from outside, and flows
    while it has a way back."""

    load: Load
    a: int
    b: int
    mode: int = 2

    @property
    def driven(self) -> bool:
        name = terminal_of(self.load.a)
        return name.startswith("g") and not name.startswith("g2")

    def branches(self) -> Iterable[Branch]:
        if self.mode == 1:
            yield Branch(self.a, self.b, 0.0, KNEE / self.load.amps, part_of(self.load.a))

    def loads(self) -> Iterable[Load]:
        return (self.load,) if self.mode == 2 else ()

    def wanted(self, solved: Operating) -> int:
        if self.driven:
            return 2 if solved.tied(self.a, self.b) else 0
        volts = across(solved, self.a, self.b)
        if self.mode == 0 and not solved.tied(self.a, self.b):
            return 0  # nothing says how far a floating electrode lies from the other
        fits = 0 if volts < NEAR else 1 if volts < KNEE * (1 - NEAR) else 2 if volts > KNEE * (1 + NEAR) else self.mode
        return self.mode + (fits > self.mode) - (fits < self.mode)


def across(solved: Operating, a: int, b: int) -> float:
    return solved.height(a) - solved.height(b)


def drawn(loads: Iterable[Load], nodes: Nodes) -> list[Drawn]:
    """Loads as the currents of the tubes that draw them; one of nothing is none."""
    out = []
    for load in loads:
        a, b = nodes.of(load.a), nodes.of(load.b)
        if a is None or b is None or a == b or not load.amps:
            continue
        if load.amps < 0:
            load, a, b = load._replace(amps=-load.amps, a=load.b, b=load.a), b, a
        out.append(Drawn(load, a, b))
    return out


def settled(bends: Sequence[Bend], solve: Callable[[list[Load], list[Branch]], Operating]) -> Operating:
    """The circuit with each of them in the mode that the solution asks for."""
    seen: set[tuple[int, ...]] = set()
    together = True
    for count in range(MOST_TOGETHER + MOST_ALONE):
        solved = solve([load for one in bends for load in one.loads()], [b for one in bends for b in one.branches()])
        moves = [(one, mode) for one in bends if (mode := one.wanted(solved)) != one.mode]
        if not moves:
            break
        modes = tuple(one.mode for one in bends)
        together = together and modes not in seen and count < MOST_TOGETHER
        seen.add(modes)
        for one, mode in moves if together else moves[:1]:
            one.mode = mode
    return solved
