"""The page as a file: self-contained, whole, escaped, and telling what the comparison says."""

from __future__ import annotations

import base64
import hashlib
import io
import json
import re
import zlib
from collections import Counter
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path
from typing import Any

import networkx as nx
import pytest
from PIL import Image

from netdiff.cautions import for_cold_work, for_readings
from netdiff.circuit import is_net
from netdiff.cli import run
from netdiff.nets import joints
from netdiff.reporting.html import building, made
from netdiff.reporting.html.danger import before_power
from netdiff.reporting.html.photos import LONGEST, MOST_PIXELS, embed
from netdiff.reporting.html.pictures import Pictures
from netdiff.reporting.html.register import items
from tests.report_units import HOSTILE, SMALL, TURNED, comparison_of, demo, demo_comparison, demo_timed, hostile, small
from tests.texts import compared

VOID = {"area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "track", "wbr"}


class Reader(HTMLParser):
    """Elements with their attributes and text, and whether every element was closed where it was opened."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[tuple[str, dict[str, str]]] = []
        self.texts: list[str] = []
        self.scripts: list[str] = []
        self.stack: list[str] = []
        self.feed(text)
        self.close()
        assert not self.stack, self.stack

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, {name: value or "" for name, value in attrs}))
        if tag not in VOID:
            self.stack.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, {name: value or "" for name, value in attrs}))

    def handle_endtag(self, tag: str) -> None:
        assert self.stack and self.stack[-1] == tag, f"</{tag}> where {self.stack[-3:]} are open"
        self.stack.pop()

    def handle_data(self, data: str) -> None:
        if self.stack and self.stack[-1] == "script":
            self.scripts.append(data)
        elif not self.stack or self.stack[-1] != "style":
            self.texts.append(data)

    @property
    def text(self) -> str:
        return " ".join("".join(self.texts).split())

    def all(self, tag: str = "", **attributes: str) -> list[dict[str, str]]:
        return [
            attrs
            for name, attrs in self.elements
            if (not tag or name == tag)
            and all(value in attrs.get(key, "").split() for key, value in attributes.items())
        ]


def classed(page: Reader, name: str) -> list[dict[str, str]]:
    return [attrs for _, attrs in page.elements if name in attrs.get("class", "").split()]


@pytest.fixture(scope="module")
def big() -> Reader:
    return Reader(demo().text)


@pytest.fixture(scope="module")
def little() -> Reader:
    return Reader(small().text)


@pytest.fixture
def undrawn(monkeypatch: pytest.MonkeyPatch) -> None:
    """Pages without drawings, where a test is about something else: a layout takes longer than all the rest."""
    monkeypatch.setattr(building, "pictures", lambda comparison: lambda: Pictures({}, ""))


# --- self-contained -----------------------------------------------------------------------------------------------


def test_the_page_asks_nobody_for_anything(big: Reader) -> None:
    for tag, attrs in big.elements:
        for name in ("src", "href", "xlink:href", "action", "data", "srcset", "poster"):
            value = attrs.get(name, "#")
            assert value.startswith(("#", "data:image/")), f"{tag} {name}={value[:60]}"
        assert not [name for name in attrs if name.startswith("on")]
    assert not big.all("link") and not big.all("base") and not big.all("iframe")
    assert not re.search(r"url\(\s*['\"]?(?!#|data:)", demo().text)


def test_only_the_pages_own_script_may_run(big: Reader) -> None:
    assert len(big.scripts) == len(big.all("script")) == 1
    digest = base64.b64encode(hashlib.sha256(big.scripts[0].encode()).digest()).decode()
    (policy,) = [a["content"] for a in big.all("meta") if a.get("http-equiv") == "Content-Security-Policy"]
    rules = dict(rule.strip().split(" ", 1) for rule in policy.split(";"))
    assert rules["script-src"] == f"'sha256-{digest}'"
    assert rules["default-src"] == rules["base-uri"] == rules["form-action"] == "'none'"


@pytest.mark.parametrize("which", ["big", "little"])
def test_every_link_leads_somewhere_and_no_name_is_given_twice(which: str, request: pytest.FixtureRequest) -> None:
    page: Reader = request.getfixturevalue(which)
    names = Counter(attrs["id"] for _, attrs in page.elements if "id" in attrs)
    assert [name for name, count in names.items() if count > 1] == []
    missing = {attrs["href"] for attrs in page.all("a") if attrs["href"][1:] not in names}
    assert missing == set()
    labelled = {name for _, attrs in page.elements for name in attrs.get("aria-labelledby", "").split()}
    assert labelled <= names.keys()


def test_headings_go_down_one_level_at_a_time(big: Reader) -> None:
    levels = [int(tag[1]) for tag, _ in big.elements if re.fullmatch("h[1-6]", tag)]
    assert levels[0] == 1 and levels.count(1) == 1
    assert all(b <= a + 1 for a, b in pairwise(levels))


def test_the_same_unit_makes_the_same_page() -> None:
    assert made(comparison_of(SMALL)).text == small().text


def test_size_and_time() -> None:
    """The demo's page under 3 MB. The time is printed; the machine is shared, so only a gross slip fails."""
    page, seconds = demo_timed()
    size = len(page.text.encode())
    print(f"\npage of the demo: {size / 1e6:.2f} MB in {seconds:.1f} s of processor time, layouts included")
    assert size < 3_000_000
    assert seconds < 60


# --- what it says ---------------------------------------------------------------------------------------------------


def top(text: str) -> str:
    """What stands before the bar: the owner's part."""
    return " ".join(
        Reader(text[text.index("<header") : text.index("<nav")].replace('<main id="main">', "")).text.split()
    )


def test_the_top_tells_an_owner_what_must_be_cleared_and_what_nobody_looked_at() -> None:
    result = demo_comparison()
    head = top(demo().text)
    text = demo().text
    links = re.findall(r'<li><a href="#([^"]+)">', text[text.index('id="h-clear"') : text.index('id="h-unlooked"')])
    held = [one.id for one in result.modifications if one.hold == "power"]
    held += [one.id for one in result.findings if one.hold == "power" and not one.modification]
    assert sorted(links) == sorted(held)
    total = result.coverage.total
    assert f"{total.not_traced} of the {total.terminals} terminals" in head
    assert f"{len(result.modifications)} modifications" in head and f"{len(result.findings)} findings" in head
    assert "(marked to stay)" in head


def test_the_gravest_comes_first_in_the_words_of_what_can_happen() -> None:
    """The bridged door switch of the demo before its bridged fuse, and that before what only ruins a part."""
    lines = before_power(demo_comparison())
    says = [line.says for line in lines]
    assert says[0].startswith("S3 (“cabinet door”) no longer takes anything away: T2")
    assert lines[0].why == "Somebody reaches in and the high voltage is on."
    place = {word: next(i for i, text in enumerate(says) if word in text) for word in ("R45", "F2", "K2", "R17")}
    assert place["R45"] < place["F2"] < place["K2"] < place["R17"]
    assert says[place["R17"]] == "R17: charred"  # no hazard: what was done
    whys = [line.why for line in lines if line.why]
    assert len(whys) == len(set(whys))  # each reason once
    built = [line for line in lines if line.drawn]
    assert len(built) == 4 and all(line.href.startswith("#finding-") for line in built)


def test_a_full_stop_in_a_label_ends_no_sentence() -> None:
    stock = 'stock "S"\nJ1 jack-2 "key. of No. x"\nR1 resistor 1k\nb+ -- R1 -- J1.tip\nJ1.sleeve -- chassis\n'
    found = 'found "F" of "t.stock"\ntraced J1 R1\nb+ -- R1 -- J1.sleeve\nJ1.tip -- chassis\n'
    (line,) = before_power(compared(stock + "net b+ supply 250V\n", found))
    assert line.says == "J1 (jack, “key. of No. x”): sleeve and tip are exchanged."
    assert line.why == "What should be the grounded frame is live in somebody's hand."


def test_every_finding_modification_and_step_is_told_once(big: Reader) -> None:
    from netdiff.worklist import worklist

    result = demo_comparison()
    ids = {attrs.get("id") for _, attrs in big.elements}
    assert {one.id for one in result.findings} <= ids
    assert {one.id for one in result.modifications} <= ids
    for finding in result.findings:
        assert finding.says in big.text
        assert finding.why in big.text
    work = worklist(result)
    assert len(classed(big, "step")) == len(work.steps)
    for step in work.steps:
        assert step.says in big.text and all(line in big.text for line in step.cautions)
        assert all(proof.says in big.text for proof in step.proofs)


def test_each_modification_has_its_drawing_and_the_unit_has_one(big: Reader) -> None:
    drawn = {attrs["id"] for attrs in classed(big, "sheet")}
    result = demo_comparison()
    assert drawn == {"overview", *(f"drawing-{one.id}" for one in result.modifications)}
    shown = {attrs["data-part"] for tag, attrs in big.elements if "data-part" in attrs and tag == "g"}
    touched = {name for one in result.findings for name in one.parts}
    assert len(touched & shown) > 0.9 * len(touched)


@pytest.mark.parametrize("which", [demo, small])
def test_cautions_open_the_page_and_every_part_that_sends_a_hand_in(which: Any) -> None:
    text = which().text
    assert all(line in top(text) for line in for_cold_work())
    for name, cautions in (("work", for_cold_work()), ("readings", for_readings())):
        start = text.find(f'<section id="{name}"')
        if start >= 0:
            head = text[start : start + 3000]
            assert all(line in head for line in cautions)


@pytest.mark.parametrize("which", [demo, small])
def test_nothing_says_that_it_is_safe(which: Any) -> None:
    said = Reader(which().text).text.lower()
    allowed = "nothing below means that the unit is safe", "nothing in this page means that the unit is safe"
    for sentence in allowed:
        said = said.replace(sentence, "")
    assert not re.search(r"\b(is|are|now|be) safe\b|safe to\b|all clear\b|cleared for power", said)


@pytest.mark.usefixtures("undrawn")
def test_a_unit_without_a_difference_gets_no_clearance() -> None:
    stock = 'stock "S"\nR1 resistor 1k\nJ1 jack-2\nJ1.tip -- R1 -- J1.sleeve -- chassis\n'
    page = made(compared(stock, 'found "F" of "t.stock"\nas-drawn R1 J1\n'))
    head = top(page.text)
    assert "That is no clearance" in head
    assert "nobody saw" in head
    assert all(line in head for line in for_cold_work())


def test_coverage_shows_every_terminal_that_nobody_looked_at(big: Reader) -> None:
    result = demo_comparison()
    looks = {item.name: item.look for item in items(result)}
    unseen = {where.partition(".")[0] for where in result.coverage.not_traced}
    assert all(looks[name] in ("unseen", "partly", "differs") for name in unseen)
    assert {name for name, look in looks.items() if look in ("unseen", "partly")} <= unseen
    tiles = {attrs["data-part"]: attrs["class"].split()[1] for attrs in classed(big, "tile") if "data-part" in attrs}
    assert tiles == looks
    for tally in result.coverage.zones.values():
        assert f"{tally.agree} agree, {tally.differ} differ," in big.text


def test_neighbours_are_those_of_a_general_graph_library() -> None:
    """Connected components by networkx over the drawing's conductors."""
    result = demo_comparison()
    graph = nx.Graph(joints(result.stock.runs))
    component = {where: set(net) for net in nx.connected_components(graph) for where in net}
    told = 0
    for item in items(result):
        for contact in item.contacts:
            where = f"{item.name}.{contact.name}"
            others = component.get(where, {where}) - {where}
            if item.name not in result.stock.parts or result.stock.ground in others or not others:
                continue
            names = {word for word in re.split(r"[, ]+", contact.drawn) if word}
            more = re.search(r" and (\d+) more$", contact.drawn)
            if more:
                names -= {"and", more[1], "more"}
            assert names <= others, where
            assert len(names) + (int(more[1]) if more else 0) == len(others), where
            assert {name for name in others if is_net(name)} <= names
            told += 1
    assert told > 300


# --- hostile text -----------------------------------------------------------------------------------------------------


def test_hostile_text_is_text_everywhere(tmp_path: Path) -> None:
    page = made(hostile(tmp_path))
    plain = Reader(small().text)
    read = Reader(page.text)
    assert len(read.all("script")) == 1 and len(read.scripts) == 1
    assert {tag for tag, _ in read.elements} <= {tag for tag, _ in plain.elements} | {"img", "figure", "figcaption"}
    assert not [attrs for attrs in read.elements if attrs[1].get("id") == "owned"]
    assert not [name for _, attrs in read.elements for name in attrs if name.startswith("on")]
    for text in HOSTILE:
        assert " ".join(text.split()) in read.text
    assert not set("\u202e\u2066\u200f\u061c\x07") & set(page.text)
    assert TURNED.split()[0] in read.text and "\N{REPLACEMENT CHARACTER}" in read.text
    assert len(page.troubles) == len(HOSTILE)
    assert all("is not there" in one for one in page.troubles)


# --- photos -----------------------------------------------------------------------------------------------------------


def picture(path: Path, form: str, size: tuple[int, int] = (300, 200), **options: Any) -> Image.Image:
    """Left half black, right half white."""
    image = Image.new("RGB", size, "white")
    image.paste((0, 0, 0), (0, 0, size[0] // 2, size[1]))
    image.save(path, form, **options)
    return image


def decoded(uri: str) -> Image.Image:
    assert uri.startswith("data:image/")
    return Image.open(io.BytesIO(base64.b64decode(uri.partition(",")[2])))


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP", "GIF", "TIFF", "BMP"])
def test_a_photo_of_any_usual_format_is_embedded(tmp_path: Path, form: str) -> None:
    picture(tmp_path / "a", form)
    photo = embed(tmp_path, "a")
    assert photo.trouble == "" and (photo.width, photo.height) == (300, 200)
    assert decoded(photo.uri).convert("L").getpixel((30, 100)) < 30


def test_a_large_photo_is_scaled(tmp_path: Path) -> None:
    picture(tmp_path / "a.jpg", "JPEG", (4000, 3000))
    photo = embed(tmp_path, "a.jpg")
    assert (photo.width, photo.height) == (LONGEST, LONGEST * 3 // 4)
    assert decoded(photo.uri).size == (photo.width, photo.height)


def test_a_photo_is_turned_upright_and_what_the_camera_wrote_is_dropped(tmp_path: Path) -> None:
    exif = Image.Exif()
    exif[0x0112] = 6  # the camera was held on its side: to be turned a quarter clockwise (Exif 2.3, tag Orientation)
    exif[0x010F] = "Camera of somebody"
    exif[0x8825] = {1: "N", 2: (53.0, 30.0, 0.0)}
    picture(tmp_path / "a.jpg", "JPEG", exif=exif, comment=b"private", icc_profile=b"x" * 200)
    photo = embed(tmp_path, "a.jpg")
    assert (photo.width, photo.height) == (200, 300)
    image = decoded(photo.uri)
    assert image.convert("L").getpixel((100, 30)) < 30  # what was left is now on top
    assert image.convert("L").getpixel((100, 270)) > 220
    assert not image.getexif() and not {"exif", "comment", "icc_profile"} & set(image.info)
    assert b"Camera" not in base64.b64decode(photo.uri.partition(",")[2])


def test_a_transparent_photo_lies_on_white(tmp_path: Path) -> None:
    Image.new("RGBA", (50, 50), (0, 0, 0, 0)).save(tmp_path / "a.png")
    assert decoded(embed(tmp_path, "a.png").uri).convert("L").getpixel((20, 20)) > 250


def test_what_is_no_photo_is_said_and_not_raised(tmp_path: Path) -> None:
    (tmp_path / "text.jpg").write_text("<svg onload=alert(1)>")
    (tmp_path / "empty.jpg").write_bytes(b"")
    picture(tmp_path / "whole.jpg", "JPEG", (800, 800))
    (tmp_path / "half.jpg").write_bytes((tmp_path / "whole.jpg").read_bytes()[:900])
    (tmp_path / "folder.jpg").mkdir()
    picture(tmp_path / "bomb.png", "PNG", (2, 2))
    header = bytearray((tmp_path / "bomb.png").read_bytes())
    header[16:24] = (100_000).to_bytes(4, "big") * 2  # width and height (PNG, 11.2.2 IHDR)
    header[29:33] = zlib.crc32(bytes(header[12:29])).to_bytes(4, "big")
    (tmp_path / "bomb.png").write_bytes(header)
    said = {name: embed(tmp_path, name) for name in
            ("text.jpg", "empty.jpg", "half.jpg", "folder.jpg", "bomb.png", "none.jpg")}  # fmt: skip
    assert all(not photo.uri and photo.trouble for photo in said.values())
    assert "no picture" in said["text.jpg"].trouble and "no picture" in said["empty.jpg"].trouble
    assert "broken" in said["half.jpg"].trouble
    assert "no file" in said["folder.jpg"].trouble and "not there" in said["none.jpg"].trouble
    assert MOST_PIXELS < 100_000**2 and "pixels" in said["bomb.png"].trouble


def test_no_photo_from_outside_the_folder(tmp_path: Path) -> None:
    inside = tmp_path / "unit"
    inside.mkdir()
    picture(tmp_path / "secret.png", "PNG")
    (inside / "link.png").symlink_to(tmp_path / "secret.png")
    for name in ("../secret.png", "link.png", str(tmp_path / "secret.png")):
        assert not embed(inside, name).uri


# --- the command -----------------------------------------------------------------------------------------------------


@pytest.mark.usefixtures("undrawn")
def test_the_command_writes_the_page_and_says_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "page.html"
    assert run(["report", str(SMALL), "-o", str(out)]) in (0, 1)
    assert str(out) in capsys.readouterr().out
    assert out.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    assert run(["report", str(SMALL), "-o", str(out), "--json"]) in (0, 1)
    said = json.loads(capsys.readouterr().out)
    assert said["made"] == str(out) and said["bytes"] == out.stat().st_size and said["troubles"] == []
    assert said["cautions"] == list(for_cold_work())


def test_a_faulty_unit_leaves_no_page(tmp_path: Path) -> None:
    (tmp_path / "a.found").write_text('found "A" of "none.stock"\n')
    out = tmp_path / "page.html"
    assert run(["report", str(tmp_path / "a.found"), "-o", str(out)]) == 2
    assert not out.exists()


def test_another_ending_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["report", str(SMALL), "-o", str(tmp_path / "page.txt")]) == 2
    assert ".html" in capsys.readouterr().err
    assert run(["report", str(SMALL.parent.parent / "netlists/lantern.stock"), "-o", str(tmp_path / "p.html")]) == 2


@pytest.mark.usefixtures("undrawn")
def test_a_photo_that_cannot_be_shown_is_told_and_the_page_is_made(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "s.stock").write_text('stock "S"\nR1 resistor 1k\nb+ -- R1 -- chassis\nnet b+ supply 250V\n')
    (tmp_path / "a.found").write_text('found "A" of "s.stock"\nmissing R1\nphoto "p.jpg" of R1, "where it was"\n')
    (tmp_path / "p.jpg").write_text("no picture")
    assert run(["report", str(tmp_path / "a.found"), "-o", str(tmp_path / "a.html")]) in (0, 1)
    assert "p.jpg" in capsys.readouterr().err
    page = Reader((tmp_path / "a.html").read_text(encoding="utf-8"))
    assert len(classed(page, "no-photo")) == 1 and "where it was" in page.text and "no picture" in page.text


@pytest.mark.usefixtures("undrawn")
def test_ticked_steps_show_in_the_work_list(tmp_path: Path) -> None:
    (tmp_path / "s.stock").write_text('stock "S"\nR1 resistor 1k\nb+ -- R1 -- chassis\nnet b+ supply 250V\n')
    (tmp_path / "a.found").write_text('found "A" of "s.stock"\nmissing R1\n')
    (tmp_path / "a.done").write_text("done fit_R1 on 2026-03-09, reads R1 = 1 kΩ\n", encoding="utf-8")
    page = Reader(made(comparison_of(tmp_path / "a.found")).text)
    assert len(classed(page, "done")) == 1
    assert "Done 2026-03-09; R1 reads 1 kΩ" in page.text


@pytest.mark.usefixtures("undrawn")
def test_money_is_told_where_there_is_a_price_list(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "page.html"
    prices = str(SMALL.parent / "prices.yaml")
    money = ["--prices", prices, "--paid", "300", "--worth", "1500"]
    assert run(["report", str(SMALL), "-o", str(out), *money]) in (0, 1)
    head = top(out.read_text(encoding="utf-8"))
    assert "What it will cost" in head and "EUR" in head and "Paid 300 EUR" in head and "no offer" in head
    assert run(["report", str(SMALL), "-o", str(out)]) in (0, 1)
    assert "No price list was given" in top(out.read_text(encoding="utf-8"))
    for wrong in (["--paid", "3"], ["--prices", prices, "--worth", "-1"], ["--prices", str(tmp_path / "none.yaml")]):
        out.unlink(missing_ok=True)
        assert run(["report", str(SMALL), "-o", str(out), *wrong]) == 2
        assert not out.exists()
    capsys.readouterr()


# --- charts ---------------------------------------------------------------------------------------------------------


def test_what_was_read_stands_beside_what_the_drawing_predicts(big: Reader) -> None:
    """The demo's bench read 50 kΩ on the high-voltage line, where the bleeder of the drawing should hold it lower."""
    plots = [at for at, (tag, attrs) in enumerate(big.elements) if tag == "svg" and attrs.get("class") == "plot"]
    assert len(plots) >= 3
    assert "50 kΩ OFF" in big.text and "explained by" in big.text
    for reading in demo_comparison().found.circuit.readings:
        assert f"{reading.a} to {reading.b}" in big.text


def test_charge_is_what_the_hazards_reckon_with(big: Reader) -> None:
    from netdiff.hazards.charge import stored
    from netdiff.readings import sides

    _, unit = sides(demo_comparison())
    for store in stored(unit):
        if store.volts > 60:
            assert f"{store.across[0]} to {store.across[1]}" in big.text
    assert "discharge, short and prove dead in any case" in big.text
