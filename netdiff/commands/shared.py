"""What the commands share: exit codes, trouble in words, a comparison with its hazards, the two ways to print."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from netdiff.comparison import Comparison
    from netdiff.language import Unit

SAME: Final = 0
DIFFERENT: Final = 1
TROUBLE: Final = 2


class Trouble(Exception):
    """What stands in the way, in a sentence for the person who typed the command."""


def compared(file: str) -> Comparison:
    """The unit of this found file compared with its drawing, hazards included. A stock file is trouble."""
    import netdiff
    from netdiff.language import Model
    from netdiff.reporting.progress import progress

    with progress() as tell:
        tell(f"reading {file}")
        unit = netdiff.read(file)
        if isinstance(unit, Model):
            raise Trouble(f"{file} is a drawing; name the found file of a unit.")
        return examined(unit, tell)


def examined(unit: Unit, tell: Callable[[str], None] = lambda _: None) -> Comparison:
    """A unit compared with its drawing, with the hazards that follow: numbered as every command numbers it.

    A ``limits.yaml`` beside the found file puts its own limits in the place of the package's. Raises Faulty for one
    that is wrong.
    """
    from pathlib import Path

    from netdiff import comparison
    from netdiff.electrical import limits
    from netdiff.hazards import examine
    from netdiff.language import Faulty

    own, faults = limits.beside(Path(unit.file))
    if faults:
        raise Faulty(faults)
    result = comparison.compare(unit, tell)
    tell("asking what it does")
    with limits.using(own):
        done = examine(result)
    return replace(done, notes=(*done.notes, *own.told()))


def output(args: argparse.Namespace, as_json: Callable[[], Any], as_text: Callable[[], object]) -> None:
    if args.json:
        from netdiff.reporting.json_out import dumps

        print(dumps(as_json()))
    else:
        as_text()
