"""Makes the pictures of ``examples/pictures/`` again, after the program's drawings have changed.

python -m tests.pictures
"""

from __future__ import annotations

from pathlib import Path

import netdiff
from netdiff.commands.shared import examined
from netdiff.comparison import Comparison
from netdiff.drawing import draw, part_svg
from netdiff.language import Unit
from netdiff.writing import write

ROOT = Path(__file__).resolve().parents[1]
FOLDER = ROOT / "examples" / "pictures"


def unit(name: str) -> Comparison:
    read = netdiff.read(ROOT / "examples" / name)
    assert isinstance(read, Unit)
    return examined(read)


def about(comparison: Comparison, part: str) -> str:
    """The modification that added this part, or whose title names it."""
    return next(m.id for m in comparison.modifications if part in m.parts or part in m.title.split())


def pictures() -> dict[str, bytes]:
    """By file name."""
    attic, harbour = unit("attic.found"), unit("harbourlight-0417.found")
    base = part_svg(attic.stock.parts["V1"], {"g2"}).replace("<svg ", '<svg color="#1a1a1a" ', 1)
    return {
        "attic-relay.svg": draw(attic, modification=about(attic, "?K1")),
        "attic.svg": draw(attic),
        "harbourlight-reversed-capacitor.svg": draw(harbour, modification=about(harbour, "C61")),
        "harbourlight-overview.svg": draw(harbour),
        "base.svg": base.encode(),
    }


if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    for name, picture in pictures().items():
        write(FOLDER / name, picture)
        print(f"examples/pictures/{name}: {len(picture) // 1024 + 1} kB")
