"""The grammars as lark reads them, and their LALR tables kept in a file.

Working out the tables takes longer than reading a small file with them, so that `grammars/tables.json`
keeps them. It bears a fingerprint of the grammars and of lark's version: where that does not fit, the
tables are worked out from the grammars again. After a change of a grammar, write the file anew with

    python -c "from netdiff.language.tables import write; write()"
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterator
from functools import cache
from typing import Any, Final

import lark
from lark import Lark, Token
from lark.lexer import Lexer, TerminalDef

from netdiff.resources import folder

KINDS: Final = ("stock", "found")
FILE: Final = "tables.json"


class WordClasses(Lexer):
    """Hands lark the classes of a line's words; a token's value is the index of its word."""

    def __init__(self, conf: Any) -> None:
        pass

    def lex(self, data: Any) -> Iterator[Token]:  # type: ignore[override]
        for index, name in enumerate(data):
            yield Token(name, index)


@cache
def _sources() -> dict[str, str]:
    grammars = folder("grammars")
    return {name: (grammars / f"{name}.lark").read_text(encoding="utf-8") for name in ("common", *KINDS)}


def reserved_words() -> tuple[str, ...]:
    """The words of the language, of both kinds of file."""
    return tuple(re.findall(r'^[A-Z_]+: "([a-z-]+)"$', _sources()["common"], re.MULTILINE))


def from_grammar(kind: str) -> Lark:
    grammars = folder("grammars")
    return Lark(
        _sources()[kind],
        parser="lalr",
        lexer=WordClasses,
        import_paths=[str(grammars)],
        source_path=str(grammars / f"{kind}.lark"),
        maybe_placeholders=False,
    )


def from_tables(kind: str) -> Lark | None:
    """The parser from the kept tables; None if they are not those of this grammar and this lark."""
    try:
        kept = json.loads((folder("grammars") / FILE).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    if not isinstance(kept, dict) or kept.get("fingerprint") != fingerprint():
        return None
    data, memo = kept[kind]["data"], kept[kind]["memo"]
    table = data["parser"]["parser"]
    table["states"] = {
        int(state): {int(token): tuple(action) for token, action in actions.items()}
        for state, actions in table["states"].items()
    }
    table["tokens"] = {int(number): token for number, token in table["tokens"].items()}
    data["options"]["lexer"] = data["parser"]["lexer_conf"]["lexer_type"] = WordClasses
    parser: Lark = Lark._load_from_dict(data, {int(n): item for n, item in memo.items()})  # type: ignore[no-untyped-call]
    return parser


def fingerprint() -> str:
    text = "\n".join((lark.__version__, *_sources().values()))
    return hashlib.sha256(text.encode()).hexdigest()


def tables() -> str:
    """The content of the file of tables."""
    kept: dict[str, Any] = {"fingerprint": fingerprint()}
    for kind in KINDS:
        data, memo = from_grammar(kind).memo_serialize([TerminalDef, lark.grammar.Rule])
        data["options"] = {"parser": "lalr", "maybe_placeholders": False, "start": ["start"]}
        del data["parser"]["lexer_conf"]["lexer_type"]
        kept[kind] = {"data": data, "memo": memo}
    return json.dumps(kept, separators=(",", ":"), sort_keys=True) + "\n"


def write() -> None:
    """Write the file of tables anew."""
    (folder("grammars") / FILE).write_text(tables(), encoding="utf-8")
