"""The command line: reads arguments, calls the library, prints. Exit codes are those of ``diff``.

Everything heavy is imported in the command that needs it, so that ``netdiff check`` answers at once.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, NoReturn

import typer

if TYPE_CHECKING:
    from collections.abc import Sequence

    from netdiff.circuit import Fault
    from netdiff.comparison import Comparison
    from netdiff.language import Model, Unit

SAME, DIFFERENT, TROUBLE = 0, 1, 2

app = typer.Typer(
    name="netdiff",
    help=(
        "Finds what separates the wiring of a unit on the bench from the wiring that its factory drew.\n\n"
        "Exit codes: 0 no difference in what was traced, 1 differences, 2 trouble. "
        "No result ever means that a unit is safe."
    ),
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)

Json = Annotated[bool, typer.Option("--json", help="Print JSON for another program.")]
FoundFile = Annotated[Path, typer.Argument(metavar="UNIT.found", help="The unit as found.", show_default=False)]


@app.command()
def check(
    files: Annotated[list[Path], typer.Argument(metavar="FILE", help="Stock or found files.", show_default=False)],
    json: Json = False,
) -> None:
    """Read files and print every fault, with the line and the nearest right thing."""
    import netdiff
    from netdiff.reporting import check as report

    checked = []
    for file in files:
        try:
            thing = netdiff.read(file)
        except netdiff.Faulty as faulty:
            checked.append(report.Checked(str(file), faults=faulty.faults))
        else:
            checked.append(report.of_file(str(file), thing))
    print(_dumps(report.as_json(checked)) if json else report.told(checked))
    if any(one.faults for one in checked):
        raise typer.Exit(TROUBLE)


@app.command()
def compare(file: FoundFile, json: Json = False) -> None:
    """Say what differs from the drawing, the most urgent first, and what nobody looked at."""
    result = _compared(file, json)
    if json:
        from netdiff.reporting import json_out

        print(_dumps(json_out.comparison(result)))
    else:
        from netdiff.reporting.page import Page
        from netdiff.reporting.terminal import print_comparison

        print_comparison(Page(), result)
    raise typer.Exit(DIFFERENT if result.findings else SAME)


@app.command()
def worklist(file: FoundFile, json: Json = False) -> None:
    """List the steps that bring the unit back to stock, each with the reading that proves it."""
    import netdiff

    work = netdiff.worklist(_compared(file, json))
    if json:
        from netdiff.reporting import json_out

        print(_dumps(json_out.worklist(work)))
    else:
        from netdiff.reporting.page import Page
        from netdiff.reporting.work import print_worklist

        print_worklist(Page(), work)
    raise typer.Exit(DIFFERENT if work.steps else SAME)


def _compared(file: Path, json: bool) -> Comparison:
    import netdiff

    unit = _read(file, json)
    if not hasattr(unit, "model"):
        _trouble(f"{file} is a drawing: name the .found file of a unit.", json)
    return netdiff.compare(unit)


def _read(file: Path, json: bool) -> Model | Unit:
    import netdiff

    try:
        return netdiff.read(file)
    except netdiff.Faulty as faulty:
        _faulty(faulty.faults, json)


def _faulty(faults: Sequence[Fault], json: bool) -> NoReturn:
    from netdiff.reporting import faults as report

    if json:
        print(_dumps({"faults": report.as_json(faults)}))
    else:
        print(report.listed(faults), file=sys.stderr)
    raise typer.Exit(TROUBLE)


def _trouble(says: str, json: bool = False) -> NoReturn:
    from netdiff.reporting.plain import clean

    if json:
        print(_dumps({"trouble": says}))
    else:
        print(f"netdiff: {clean(says)}", file=sys.stderr)
    raise typer.Exit(TROUBLE)


def _dumps(value: Any) -> str:
    from netdiff.reporting.json_out import dumps

    return dumps(value)


def main() -> None:
    """The console command. A crash must not exit with 1, which would say that a unit differs."""
    try:
        app(prog_name="netdiff")
    except OSError as error:
        print(f"netdiff: {error.filename or 'file'}: {error.strerror or error}", file=sys.stderr)
    except Exception:
        import traceback

        traceback.print_exc()
        print("netdiff: this is a fault of the program, not of your files. Please report it.", file=sys.stderr)
    sys.exit(TROUBLE)
