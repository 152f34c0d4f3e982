"""The page in a browser: nothing complains, everything can be found, filtered, lit up and read, at any width."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest

from netdiff.reporting.html import made
from tests.browser.conftest import serious, wider_than_the_screen
from tests.report_units import demo, hostile, small

WIDTHS = (360, 768, 1440)


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """URLs of the demo's page, of the small unit's, and of a hostile unit's, as files."""
    folder = tmp_path_factory.mktemp("pages")
    out = {}
    for name, text in (("demo", demo().text), ("small", small().text), ("hostile", made(hostile(folder)).text)):
        path = folder / f"{name}.html"
        path.write_text(text, encoding="utf-8")
        out[name] = path.as_uri()
    return out


@pytest.fixture
def at_desk(page_at: Any, pages: dict[str, str]) -> Any:
    page = page_at(1440)
    page.goto(pages["demo"])
    return page


def lit(page: Any) -> set[str]:
    """Parts that are lit up in the drawings."""
    names: list[str] = page.eval_on_selector_all("svg .lit", "all => all.map(one => one.dataset.part).filter(Boolean)")
    return set(names)


# --- reading it ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", ["demo", "hostile"])
def test_no_page_scrolls_sideways(page_at: Any, pages: dict[str, str], name: str, width: int) -> None:
    page = page_at(width)
    page.goto(pages[name])
    page.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true; })")
    assert wider_than_the_screen(page) == []


@pytest.mark.parametrize(("width", "scheme"), [(360, "dark"), (1440, "light"), (1440, "dark")])
def test_axe_finds_nothing_serious(page_at: Any, pages: dict[str, str], axe: Any, width: int, scheme: str) -> None:
    page = page_at(width, color_scheme=scheme)
    page.goto(pages["small"])
    page.locator("a[data-part='R1']").first.click()
    page.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true; })")
    assert serious(axe(page)) == []


def test_axe_on_the_demo(at_desk: Any, axe: Any) -> None:
    """Two of each sort: axe takes a long time over hundreds that are alike."""
    at_desk.evaluate(
        """() => {
            for (const sort of ['.card', '.step', '.area', '.item', '.index > li', '.clear li', 'tbody > tr']) {
                const seen = new Map();
                for (const one of document.querySelectorAll(sort)) {
                    const count = (seen.get(one.parentNode) || 0) + 1;
                    seen.set(one.parentNode, count);
                    if (count > 2) one.remove();
                }
            }
            for (const one of document.querySelectorAll('.sheet svg')) {
                one.replaceChildren(...[...one.childNodes].slice(0, 4));
            }
        }"""
    )
    assert serious(axe(at_desk)) == []


def test_the_owners_part_is_one_screen(at_desk: Any) -> None:
    """On a screen of 1440 by 900 everything before the bar is seen without scrolling."""
    assert at_desk.locator(".owner").bounding_box()["y"] + at_desk.locator(".owner").bounding_box()["height"] <= 900


def test_hostile_text_stays_text(page_at: Any, pages: dict[str, str]) -> None:
    page = page_at(1440)
    page.goto(pages["hostile"])
    assert page.title() != "owned" and not page.query_selector("#owned")
    page.mouse.move(300, 20)
    page.fill("#find-part", "?R1")
    page.press("#find-part", "Enter")
    assert "<script>document.title='owned'</script>" in page.inner_text("#panel")
    for name in ("?R4", "?R5", "?R11"):
        page.fill("#find-part", name)
        page.press("#find-part", "Enter")
    page.fill("#find-part", "<img src=x onerror=document.title='owned'>")
    page.press("#find-part", "Enter")
    assert "There is no part <img" in page.inner_text("#status")
    assert page.title() != "owned"


def test_everything_can_be_read_without_scripts(page_at: Any, pages: dict[str, str]) -> None:
    page = page_at(768, java_script_enabled=False)
    page.goto(pages["small"])
    assert page.locator("#find").is_hidden() and page.locator("#panel").is_hidden()
    assert page.locator("#finding-1").is_visible() and page.locator("#step-1").is_visible()
    page.locator("#register summary").first.click()
    assert page.locator("#part-J1").is_visible()
    page.locator("#mod-1 a.light").click()
    assert page.url.endswith("#drawing-mod-1")


@pytest.mark.parametrize(("media", "scripts"), [("screen", True), ("screen", False), ("print", True)])
def test_nothing_of_a_drawing_is_hidden(page_at: Any, pages: dict[str, str], media: str, scripts: bool) -> None:
    """The page's own style must not reach into a drawing, whatever its groups are called."""
    page = page_at(1440, java_script_enabled=scripts)
    page.goto(pages["small"])
    page.emulate_media(media=media)
    hidden, seen = page.eval_on_selector_all(
        "#mod-1 svg text, #unit svg text",
        """all => {
            const hidden = all.filter(one => !one.checkVisibility() || !one.getBoundingClientRect().width);
            return [hidden.map(one => one.textContent), all.length];
        }""",
    )
    assert hidden == [] and seen > 20


# --- using it --------------------------------------------------------------------------------------------------------


def test_a_drawing_is_dark_on_a_dark_page(page_at: Any, pages: dict[str, str]) -> None:
    """Each look is told from the sheet by contrast: 3 to 1 at least (WCAG 2.2, 1.4.11), words 4.5 (1.4.3)."""
    page = page_at(1440, color_scheme="dark")
    page.goto(pages["demo"])
    colours = page.evaluate(
        """() => {
            const parts = (text) => text.match(/[\\d.]+/g).slice(0, 3).map(Number);
            const sheet = parts(getComputedStyle(document.querySelector('#mod-1 .sheet')).backgroundColor);
            const looks = ['', '.added', '.changed', '.missing', '.touched', '.unseen'];
            const of = (look) => document.querySelector(`.sheet .diagram ${look}`);
            return [sheet, looks.map((look) => parts(getComputedStyle(look ? of(look) : of('g')).color))];
        }"""
    )
    sheet, looks = colours
    assert max(sheet) < 60
    assert len({tuple(look) for look in looks}) == 5  # what is missing and what was there have one colour
    for look in looks:
        assert contrast(look, sheet) >= 4.5, look


def contrast(one: list[float], other: list[float]) -> float:
    """Contrast ratio of two sRGB colours (WCAG 2.2, relative luminance)."""

    def luminance(colour: list[float]) -> float:
        linear = [c / 12.92 if (c := v / 255) <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for v in colour]
        return sum(part * weight for part, weight in zip(linear, (0.2126, 0.7152, 0.0722), strict=True))

    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_a_finding_lights_its_parts(at_desk: Any) -> None:
    finding = at_desk.locator("#finding-1")
    parts = set(finding.get_attribute("data-parts").split())
    finding.locator("a.light").click()
    shown = lit(at_desk)
    assert shown and shown <= parts
    assert at_desk.locator("#drawing-mod-1 .lit").count() > 0
    assert at_desk.locator("svg .halo").count() > 0
    for name in parts:
        assert name in at_desk.inner_text("#status")
    at_desk.locator("#finding-2 p").first.click()  # anywhere in a finding will do
    assert lit(at_desk) <= set(at_desk.locator("#finding-2").get_attribute("data-parts").split())
    at_desk.keyboard.press("Escape")
    assert lit(at_desk) == set() and at_desk.locator("svg .halo").count() == 0


def test_a_part_in_the_drawing_shows_what_is_known_of_it(at_desk: Any) -> None:
    part = at_desk.locator("#overview [data-part='C61']").first
    part.scroll_into_view_if_needed()
    part.dispatch_event("click")
    panel = at_desk.locator("#panel")
    assert panel.is_visible()
    text = panel.inner_text()
    assert text.startswith("C61") and "47 µF 250 V" in text  # its value as found
    assert "finding-" in text and "exchanged" in text  # its findings
    assert "chassis" in text and "R47.1" in text  # its terminals and neighbours
    panel.locator("a[data-part='R47']").first.click()
    assert at_desk.inner_text("#panel-title").startswith("R47")
    at_desk.locator("#panel-close").click()
    assert panel.is_hidden()


def test_search_by_designator(at_desk: Any) -> None:
    def find(text: str) -> None:
        at_desk.fill("#find-part", text)
        at_desk.press("#find-part", "Enter")

    find("v5")
    assert at_desk.inner_text("#panel-title").startswith("V5")
    box = at_desk.locator("#overview").bounding_box()
    there = at_desk.locator("#overview [data-part='V5']").first.bounding_box()
    assert box["x"] - 1 <= there["x"] + there["width"] / 2 <= box["x"] + box["width"] + 1
    assert box["y"] - 1 <= there["y"] + there["height"] / 2 <= box["y"] + box["height"] + 1
    find("c1")  # a foreign part is found without its question mark only where no stock part has the name
    assert at_desk.inner_text("#panel-title") == "C1"
    find("V5.g1")
    assert at_desk.inner_text("#panel-title").startswith("V5")
    find("A1")
    assert at_desk.inner_text("#panel-title").startswith("?A1")
    find("R999")
    assert re.search(r"no part R999; the nearest is R\d", at_desk.inner_text("#status"))


def test_the_filter_hides_on_the_screen_and_never_on_paper(at_desk: Any) -> None:
    cards = at_desk.locator(".card")
    all_of_them = cards.count()
    at_desk.uncheck("#filter input[value='power']")
    visible = at_desk.locator(".card:visible").count()
    assert visible == at_desk.locator(".card:not([data-hold='power'])").count() < all_of_them
    assert f"{visible} of {all_of_them}" in at_desk.inner_text("#status")
    assert at_desk.locator(".step[data-hold='power']:visible").count() == 0
    at_desk.emulate_media(media="print")
    assert at_desk.locator(".card:visible").count() == all_of_them
    assert at_desk.locator(".step[data-hold='power']:visible").count() > 0
    at_desk.emulate_media(media="screen")
    at_desk.check("#filter input[value='power']")
    assert at_desk.locator(".card:visible").count() == all_of_them


def test_the_keyboard_alone_will_do(at_desk: Any) -> None:
    """From the top: past the cautions to the search, a part, its neighbour, back, and a finding."""
    at_desk.keyboard.press("Tab")
    assert at_desk.evaluate("document.activeElement.className") == "skip"
    for _ in range(80):
        at_desk.keyboard.press("Tab")
        if at_desk.evaluate("document.activeElement.id") == "find-part":
            break
    at_desk.keyboard.type("R47")
    at_desk.keyboard.press("Enter")
    assert at_desk.evaluate("document.activeElement.id") == "panel-title"
    for _ in range(10):
        at_desk.keyboard.press("Tab")
        if at_desk.evaluate("document.activeElement.dataset.part || ''"):
            break
    at_desk.keyboard.press("Enter")
    assert not at_desk.inner_text("#panel-title").startswith("R47")
    at_desk.keyboard.press("Escape")
    assert at_desk.locator("#panel").is_hidden()
    assert at_desk.evaluate("document.activeElement.id") == "find-part"
    at_desk.focus("#finding-3 a.light")
    at_desk.keyboard.press("Enter")
    assert "finding-3" in at_desk.inner_text("#status")


def test_the_overview_grows_shrinks_and_moves_by_key_button_and_mouse(at_desk: Any) -> None:
    at_desk.focus("#overview")
    width = "document.querySelector('#overview svg').getBoundingClientRect().width"
    place = "[document.getElementById('overview').scrollLeft, document.getElementById('overview').scrollTop]"
    before = at_desk.evaluate(width)
    for _ in range(3):
        at_desk.keyboard.press("+")
    assert at_desk.evaluate(width) == pytest.approx(before * 1.4**3, rel=0.05)
    at_desk.locator("#overview").scroll_into_view_if_needed()
    box = at_desk.locator("#overview").bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    start = at_desk.evaluate(place)
    at_desk.mouse.move(x, y)
    at_desk.mouse.down()
    at_desk.mouse.move(x - 120, y - 90, steps=6)
    at_desk.mouse.up()
    end = at_desk.evaluate(place)
    assert end[0] - start[0] == pytest.approx(120, abs=2) and end[1] - start[1] == pytest.approx(90, abs=2)
    assert at_desk.locator("#panel").is_hidden()  # to drag is not to click
    at_desk.locator("[data-zoom='0']").click()
    assert at_desk.evaluate(width) == pytest.approx(at_desk.evaluate("document.getElementById('overview').clientWidth"))
    at_desk.keyboard.press("Tab")
    at_desk.keyboard.press("ArrowDown")


def test_touch_opens_a_part_on_a_telephone(page_at: Any, pages: dict[str, str]) -> None:
    page = page_at(360, has_touch=True, is_mobile=True)
    page.goto(pages["demo"])
    page.locator(".tile[data-part='K2']").tap()
    panel = page.locator("#panel")
    assert panel.is_visible() and "K2" in panel.inner_text()
    box = panel.bounding_box()
    assert box["width"] <= 360 and box["height"] <= 740 * 0.62


# --- on paper --------------------------------------------------------------------------------------------------------


def test_on_paper(page_at: Any, pages: dict[str, str], tmp_path: Path) -> None:
    """A sane number of pages; the cautions on the first; no step of the work list torn between two pages."""
    program = shutil.which("pdftotext")
    if program is None:
        pytest.skip("no pdftotext on this machine: install the package poppler-utils")
    page = page_at(1440)
    page.goto(pages["demo"])
    target = tmp_path / "page.pdf"
    page.pdf(path=str(target), prefer_css_page_size=True)
    text = subprocess.run([program, "-layout", str(target), "-"], capture_output=True, check=True).stdout.decode()
    sheets = text.rstrip("\f\n").split("\f")
    steps = page.eval_on_selector_all(
        "#work .step",
        "all => all.map(one => [one.querySelector('.number').textContent, one.querySelector('.at').textContent])",
    )
    print(f"\nthe demo on paper: {len(sheets)} sheets, {len(steps)} steps")
    assert 10 <= len(sheets) <= 45
    assert f"{len(sheets)} of {len(sheets)}" in sheets[-1]
    assert "Discharge every capacitor" in " ".join(sheets[0].split())
    assert "Clear before any power is applied" in sheets[0] and "Nobody looked at" in sheets[0]
    work = [sheet for sheet in sheets if re.search(r"^\s*\d+\.\s", sheet, re.MULTILINE)]
    for number, at in steps:
        name = at.split(";")[0].split()[0]
        homes = [
            sheet
            for sheet in work
            if re.search(rf"^\s*{re.escape(number)}\s+\S", sheet, re.MULTILINE) and name in sheet
        ]
        assert len(homes) >= 1, f"step {number} {name} is torn, or not there"
    assert "Find a part" not in text and "Show" not in sheets[0]


# --- a thousand parts ------------------------------------------------------------------------------------------------


def test_a_thousand_parts_pan_smoothly(page_at: Any, pages: dict[str, str]) -> None:
    """The demo's overview six times in one drawing is more than a thousand symbols; frames while it is panned."""
    page = page_at(1440)
    page.goto(pages["demo"])
    count = page.evaluate(
        """() => {
            const svg = document.querySelector('#overview svg');
            const inner = [...svg.childNodes];
            const box = svg.viewBox.baseVal;
            for (const [x, y] of [[1, 0], [2, 0], [0, 1], [1, 1], [2, 1]]) {
                const copy = document.createElementNS('http://www.w3.org/2000/svg', 'g');
                copy.setAttribute('transform', `translate(${x * box.width} ${y * box.height})`);
                copy.append(...inner.map(one => one.cloneNode(true)));
                svg.append(copy);
            }
            svg.setAttribute('viewBox', `${box.x} ${box.y} ${3 * box.width} ${2 * box.height}`);
            return svg.querySelectorAll('[data-part]').length;
        }"""
    )
    page.evaluate("document.getElementById('overview').scrollIntoView()")
    page.focus("#overview")
    for _ in range(4):
        page.keyboard.press("+")
    frames = page.evaluate(
        """() => new Promise(done => {
            const sheet = document.getElementById('overview');
            const times = [];
            let last = performance.now();
            const step = now => {
                times.push(now - last);
                last = now;
                sheet.scrollLeft += 9;
                sheet.scrollTop += 7;
                times.length < 60 ? requestAnimationFrame(step) : done(times.slice(5));
            };
            requestAnimationFrame(step);
        })"""
    )
    frames.sort()
    median, worst = frames[len(frames) // 2], frames[int(len(frames) * 0.95)]
    print(f"\n{count} symbols and names of parts panned: {median:.1f} ms a frame in the median, {worst:.1f} ms at 95 %")
    assert count > 2000
    assert median < 50
