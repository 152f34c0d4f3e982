#!/bin/sh
# The main job on the demo unit: check, compare, work list, diagrams. Needs Python 3.11 or later and
# nothing else: makes its own .venv. What it makes lands in examples/out/.
set -eu
here=$(cd "$(dirname "$0")/.." && pwd -P)
. "$here/.ci/venv.sh"
install_package
cd "$here"
netdiff=.venv/bin/netdiff
stock=netlists/harbourlight-hl45.stock
unit=examples/harbourlight-0417.found
out=examples/out
mkdir -p "$out"

# Exit code 1 says that there are differences, which is what the demo is about; 2 is trouble.
finds() {
    "$@" || [ $? -eq 1 ]
}

$netdiff check "$stock" "$unit"
finds $netdiff compare "$unit" >"$out/comparison.txt"
finds $netdiff compare --json "$unit" >"$out/comparison.json"
finds $netdiff worklist "$unit" >"$out/worklist.txt"
$netdiff draw "$unit" -o "$out/unit.svg"
$netdiff draw "$stock" -o "$out/stock.svg"
$netdiff draw "$unit" --modification 1 -o "$out/modification-1.svg"

cat <<END

Made from $unit and $stock:
  $out/comparison.txt      what differs, the most urgent first; read this first
  $out/comparison.json     the same for other programs
  $out/worklist.txt        what to do, in order, with the reading that proves each step
  $out/unit.svg            the unit laid over the drawing; open it in a browser
  $out/stock.svg           the circuit as the factory drew it
  $out/modification-1.svg  the first modification alone
END
