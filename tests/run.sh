#!/bin/sh
# Style, types and tests of the checkout. Needs Python 3.11 or later and nothing else: makes its own .venv.
set -eu
here=$(cd "$(dirname "$0")/.." && pwd -P)
. "$here/.ci/venv.sh"
install_package tests
cd "$here"
python=.venv/bin/python
$python -m ruff check .
$python -m ruff format --check .
$python -m mypy --strict netdiff
exec $python -m pytest -n 2 "$@"
