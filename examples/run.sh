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
finds $netdiff readings "$unit" -o "$out/readings.csv" >"$out/readings.txt"
finds $netdiff worklist "$unit" --parts >"$out/parts.txt"
finds $netdiff worklist "$unit" --estimate --prices examples/prices.yaml >"$out/estimate.txt"
finds $netdiff powerup "$unit" >"$out/powerup.txt"
finds $netdiff report "$unit" --prices examples/prices.yaml -o "$out/report.html"
$netdiff trace "$unit" --sheet modulator -o "$out/sheet.html"
$netdiff wires "$unit" -o "$out/wires.csv"
$netdiff draw "$unit" -o "$out/unit.svg"
$netdiff draw "$stock" -o "$out/stock.svg"
$netdiff draw "$unit" --modification 1 -o "$out/modification-1.svg"

cat <<END

Made from $unit and $stock:
  $out/comparison.txt      what differs, the most urgent first; read this first
  $out/comparison.json     the same for other programs
  $out/worklist.txt        what to do, in order, with the reading that proves each step
  $out/parts.txt           what to buy
  $out/estimate.txt        what it takes, by invented prices
  $out/readings.txt        what a meter should read, and what the readings taken mean
  $out/powerup.txt         why it is not switched on yet
  $out/report.html         the page for the owner and the record; open it in a browser
  $out/sheet.html          a sheet for pencil and paper, of a zone that nobody looked at
  $out/wires.csv           the from-to wire list
  $out/unit.svg            the whole unit by zones, with the modifications by number
  $out/stock.svg           the circuit as the factory drew it
  $out/modification-1.svg  the first modification alone
END
