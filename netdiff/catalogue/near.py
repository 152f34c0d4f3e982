"""The nearest right thing to a wrong word."""

from __future__ import annotations

from collections.abc import Iterable


def nearest(word: str, among: Iterable[str]) -> str:
    """The most alike of some words, or the empty string if none is like it."""
    import difflib

    folded = {other.lower(): other for other in among}
    found = difflib.get_close_matches(word.lower()[:60], folded, n=1, cutoff=0.6)
    return folded[found[0]] if found else ""


def nearest_hint(word: str, among: Iterable[str]) -> str:
    """``the nearest is `letters` ``, or all of them where none is near."""
    among = list(among)
    near = nearest(word, among)
    return f"the nearest is `{near}`" if near else f"one of {', '.join(among)}" if among else ""
