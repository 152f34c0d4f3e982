"""Cells beside RFC 4180, "Common Format and MIME Type for Comma-Separated Values (CSV) Files", October 2005.

The examples and the grammar (ABNF) are those of its section 2.
"""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from netdiff.reporting import cells

EXAMPLES = [
    ("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]),  # 2.1
    ("aaa,bbb,ccc\r\nzzz,yyy,xxx", [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]),  # 2.2: the last line break may lack
    ('"aaa","bbb","ccc"\r\nzzz,yyy,xxx', [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]),  # 2.5
    ('"aaa","b\r\nbb","ccc"\r\nzzz,yyy,xxx', [["aaa", "b\r\nbb", "ccc"], ["zzz", "yyy", "xxx"]]),  # 2.6
    ('"aaa","b""bb","ccc"', [["aaa", 'b"bb', "ccc"]]),  # 2.7
    ("aaa, bbb ,ccc", [["aaa", " bbb ", "ccc"]]),  # 2.4: spaces are part of a field
]

# TEXTDATA = %x20-21 / %x23-2B / %x2D-7E; a file of today has characters beyond ASCII too.
TEXTDATA = r"[\x20-\x21\x23-\x2b\x2d-\x7e\x80-\U0010ffff]"
FIELD = rf'(?:"(?:{TEXTDATA}|,|\r|\n|"")*"|{TEXTDATA}*)'
RECORD = rf"{FIELD}(?:,{FIELD})*"
FILE = re.compile(rf"{RECORD}(?:\r\n{RECORD})*(?:\r\n)?")


@pytest.mark.parametrize(("text", "rows"), EXAMPLES)
def test_the_examples_are_read(text: str, rows: list[list[str]]) -> None:
    assert FILE.fullmatch(text)
    for data in (text.encode(), text.encode("utf-8-sig")):
        assert [list(row) for row in cells.read(data, lambda found: max(map(len, found))).rows] == rows


@given(
    st.lists(
        st.lists(
            st.text(st.characters(min_codepoint=32, exclude_characters="\x7f"), max_size=9), min_size=2, max_size=4
        ),
        min_size=1,
        max_size=5,
    )
)
def test_what_is_written_is_a_file_of_the_grammar(rows: list[list[str]]) -> None:
    text = cells.written(rows)
    assert FILE.fullmatch(text)
    assert text.endswith("\r\n")
    # Read by the grammar alone, without the project's reader: the same cells, behind their guards.
    read = [
        [field[1:-1].replace('""', '"') if field.startswith('"') else field for field in _fields(record)]
        for record in re.findall(rf"({RECORD})\r\n", text)
    ]
    assert [[cells.unguarded(cell) for cell in row] for row in read] == rows


def _fields(record: str) -> list[str]:
    return [match[1] for match in re.finditer(rf"(?:^|,)({FIELD})", record)]
