"""Units for the tests of the page: the demo's, and one whose every text is hostile."""

from __future__ import annotations

import os
from dataclasses import replace
from functools import cache
from pathlib import Path

import netdiff
from netdiff.comparison import Comparison
from netdiff.hazards import examine
from netdiff.language import Unit
from netdiff.reporting.html import Made, made

ROOT = Path(__file__).resolve().parents[1]
DEMO = ROOT / "examples" / "harbourlight-0417.found"
SMALL = ROOT / "examples" / "attic.found"

HOSTILE = (
    "<script>document.title='owned'</script>",
    "<img src=x onerror=document.title='owned'>",
    "]]></svg></style><b id=owned>",
    "{{ 7 * 7 }}{% raw %}",
    "\\N\\l&#60;b&#62; label=owned; } node {",
    "javascript:alert(1)",
    "עברית right to left العربية end",
    "' onmouseover='document.title=1' x='",
    "--></script><script>document.title='owned'</script>",
    "🔥👩‍🔧 é\u0301 \u00a0",
    "W" * 9_900,
)
"""What somebody might put into a label to break a page, a drawing or a script."""

TURNED = "turned \u202e round \u2066\u200f\u061c and back \x07"
"""What the language refuses, and another program might hand over all the same."""


def quoted(text: str) -> str:
    return '"' + text.replace('"', '""') + '"'


def hostile_pair() -> tuple[str, str]:
    """A stock and a found text in which every place that takes a text has one of the hostile ones."""
    texts = [quoted(text) for text in HOSTILE]
    parts = "\n".join(f"R{n} resistor 10k {text}" for n, text in enumerate(texts, 1))
    leads = "\n".join(f"b+ -- R{n} -- V1.g1" for n in range(1, len(texts) + 1))
    stock = f"""stock {texts[0]}
drawing {texts[1]}
zone rear {texts[2]}
J1 jack-2 {texts[3]}
zone under {texts[4]}
V1 tube 6V6GT {texts[0]}
{parts}
net b+ supply 250V
{leads}
V1.k -- J1.tip
J1.sleeve -- chassis
ohms V1.g1 -- chassis = 22k 20%
"""
    foreign = "\n".join(f"?R{n} resistor 1k {text}" for n, text in enumerate(texts, 1))
    added = "\n".join(f"V1.p -- ?R{n} -- chassis" for n in range(1, len(texts) + 1))
    photos = "\n".join(f'photo "photo {n}<b>.jpg" of ?R{n}, {text}' for n, text in enumerate(texts, 1))
    notes = "\n".join(f"note {text}" for text in texts)
    found = f"""found {texts[7]} of "hostile.stock"
by {texts[5]}
traced rear under
{foreign}
{leads}
{added}
wire V1.k -- J1.sleeve, {texts[1]}
J1.tip -- chassis
V1.g2, {texts[0]}
{photos}
keep ?R3 {texts[2]}
{notes}
"""
    return stock, found


def comparison_of(path: Path) -> Comparison:
    unit = netdiff.read(path)
    assert isinstance(unit, Unit)
    return examine(netdiff.compare(unit))


@cache
def demo_comparison() -> Comparison:
    return comparison_of(DEMO)


@cache
def demo_timed() -> tuple[Made, float]:
    """The demo's page, and the processor seconds that it took, programs that it started included."""
    result = demo_comparison()
    before = os.times()
    page = made(result)
    return page, sum(os.times()[:4]) - sum(before[:4])


def demo() -> Made:
    return demo_timed()[0]


@cache
def small() -> Made:
    return made(comparison_of(SMALL))


def hostile(folder: Path) -> Comparison:
    """The hostile pair, written into a folder and compared; its title could not even stand in a file."""
    stock, found = hostile_pair()
    (folder / "hostile.stock").write_text(stock, encoding="utf-8")
    path = folder / "hostile.found"
    path.write_text(found, encoding="utf-8")
    result = comparison_of(path)
    circuit = replace(result.found.circuit, title=HOSTILE[7] + TURNED)
    return replace(result, found=replace(result.found, circuit=circuit))
