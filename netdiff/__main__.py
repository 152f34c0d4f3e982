"""``python -m netdiff``."""

from netdiff.cli import main

main()
