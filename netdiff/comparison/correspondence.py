"""Which terminal of a found part does the work of which terminal of the drawn one, where the kinds differ.

Terminals of the same name correspond, electrode to electrode and contact to contact. Beyond that
there is a short list of names for one function, and the two ends of two-ended parts.

>>> from netdiff.circuit import Kind, Lug
>>> valve = Kind("tube", terminals=(Lug("f1"), Lug("f2"), Lug("p")))
>>> diode = Kind("diode", terminals=(Lug("a"), Lug("k")), ends=("a", "k"), polarised=True)
>>> corresponding(valve, diode)
{'a': ('p',), 'k': ('f1', 'f2')}
"""

from __future__ import annotations

from netdiff.circuit import Kind

_SAME_WORK: tuple[tuple[str, ...], ...] = (
    ("p", "a"),
    ("pa", "a", "ac1"),
    ("pb", "ac2"),
    ("k", "f1", "f2", "h2"),
    ("tip", "center", "1", "L"),
    ("sleeve", "shell", "N"),
    ("h1", "f1"),
    ("h2", "f2"),
)
"""Names of one function. Source: common practice."""


def corresponding(drawn: Kind, seen: Kind) -> dict[str, tuple[str, ...]]:
    """Found terminal -> the stock terminals that it can stand for, best first; same names are left out."""
    stock = [lug.name for lug in drawn.terminals]
    found = [lug.name for lug in seen.terminals]
    free = [name for name in stock if name not in found]
    out: dict[str, tuple[str, ...]] = {}
    for name in found:
        if name in stock:
            continue
        choices = tuple(
            dict.fromkeys(other for group in _SAME_WORK if name in group for other in group if other in free)
        )
        if choices:
            out[name] = choices
    if drawn.ends is not None and seen.ends is not None and not out and not set(seen.ends) & set(drawn.ends):
        out = {mine: (its,) for mine, its in zip(seen.ends, drawn.ends, strict=True)}
    return out
