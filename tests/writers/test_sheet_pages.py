"""The set-up sheet as it prints: PDF by its own bytes, the page in a browser that nobody here wrote."""

import base64
import json
import os
import re
import shutil
import subprocess
import zlib
from dataclasses import replace
from html.parser import HTMLParser

import pytest
from tests.writers.sheets import CROWDED, HOSTILE, PLAIN

from stillstock.answers.sheet import answer_sheet
from stillstock.answers.sheet_request import Paper
from stillstock.app import create_app
from stillstock.settings import Limits
from stillstock.tables.load import load_tables
from stillstock.web.sheet import question_of
from stillstock.writers.sheet_html import sheet_html
from stillstock.writers.sheet_pdf import sheet_pdf

CLIENT = create_app().test_client()
JOBS = {"plain": Paper.A4, "crowded a4": Paper.A4, "crowded letter": Paper.LETTER}
#: Points of a page: ISO 216 A4 in millimetres, ANSI Letter in inches.
PAGES = {Paper.A4: (210 / 25.4 * 72, 297 / 25.4 * 72), Paper.LETTER: (8.5 * 72, 11 * 72)}
LEAST = 9.0  # pt


def pages_of(name):
    """Two, and a third where there is more to clear up and to place than the second has room for."""
    return 2 if name == "plain" else 3


def sheet(document, form):
    response = CLIENT.post(f"/v1/sheet?format={form}", json=document)
    assert response.status_code == 200, response.text[:500]
    return response.data


@pytest.fixture(scope="module")
def made():
    """Every sheet in both forms; the crowded one is reckoned once, for paper changes no number."""
    full = answer_sheet(question_of(CROWDED, Limits()), load_tables())
    pages = {(name, "html"): sheet_html(replace(full, paper=paper)).encode() for name, paper in JOBS.items()}
    pages |= {(name, "pdf"): sheet_pdf(replace(full, paper=paper)) for name, paper in JOBS.items()}
    return pages | {("plain", form): sheet(PLAIN, form) for form in ("html", "pdf")}


def program(name):
    found = shutil.which(name)
    if found is None:
        pytest.skip(f"{name} is not installed here")
    return found


def run(folder, *command):
    environ = {**os.environ, "HOME": str(folder), "XDG_RUNTIME_DIR": str(folder)}
    done = subprocess.run(command, check=True, capture_output=True, timeout=120, cwd=folder, env=environ)
    return done.stdout.decode("utf-8", "replace")


def browse(folder, page, *what):
    """Run the browser on a page with no other host within its reach; return what it prints."""
    return run(
        folder,
        *(program("chromium"), "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-background-networking"),
        *(
            "--disable-component-update",
            f"--user-data-dir={folder / 'profile'}",
            "--host-resolver-rules=MAP * ~NOTFOUND",
        ),
        *(f"--log-net-log={folder / 'net.json'}", *what, f"file://{page}"),
    )


def asked_for(folder):
    """Return every address that a page asked for, as the browser's own log of the network has them.

    What the browser asks for by itself (its updates) has no origin for an initiator, and is no page's.
    """
    found = re.findall(r'"initiator":"([^"]+)".*?"url":"([^"]+)"', (folder / "net.json").read_text(errors="replace"))
    return {url for initiator, url in found if initiator != "not an origin" and not url.startswith("file:")}


def operators(pdf):
    """Return the drawing operators of a PDF's pages: its streams, ASCII 85 and deflated (ISO 32000-1, 7.4)."""
    streams = re.findall(rb"/ASCII85Decode /FlateDecode \].*?stream\r?\n(.*?)~>", pdf, re.DOTALL)
    return [zlib.decompress(base64.a85decode(stream)).decode("latin-1") for stream in streams]


@pytest.mark.parametrize("name", JOBS)
def test_the_pdf_has_its_pages_of_the_paper_and_no_small_type(made, name):
    pdf = made[name, "pdf"]
    boxes = re.findall(rb"/MediaBox \[ 0 0 ([0-9.]+) ([0-9.]+) \]", pdf)
    count = pages_of(name)
    assert [tuple(map(float, box)) for box in boxes] == [pytest.approx(PAGES[JOBS[name]], abs=0.5)] * count
    drawn = operators(pdf)
    assert len(drawn) == count
    sizes = [float(size) for page in drawn for size in re.findall(r"/F[0-9]+ ([0-9.]+) Tf", page)]
    assert len(sizes) > 50
    assert min(sizes) >= LEAST - 1e-6
    # No operator scales what is drawn: each matrix only moves it.
    matrices = re.findall(r"([0-9.-]+) ([0-9.-]+) ([0-9.-]+) ([0-9.-]+) [0-9.-]+ [0-9.-]+ (?:cm|Tm)", "".join(drawn))
    assert {tuple(map(float, matrix)) for matrix in matrices} == {(1.0, 0.0, 0.0, 1.0)}


@pytest.mark.parametrize("name", JOBS)
def test_nothing_of_the_pdf_lies_off_the_paper(tmp_path, made, name):
    (tmp_path / "sheet.pdf").write_bytes(made[name, "pdf"])
    text = run(tmp_path, program("pdftotext"), "-bbox", "sheet.pdf", "-")
    pages = re.findall(r'<page width="([0-9.]+)" height="([0-9.]+)">(.*?)</page>', text, re.DOTALL)
    assert len(pages) == pages_of(name)
    for width, height, words in pages:
        corners = [
            tuple(map(float, box)) for box in re.findall(r'xMin="(.*?)" yMin="(.*?)" xMax="(.*?)" yMax="(.*?)"', words)
        ]
        assert len(corners) > 40
        assert min(min(box[0], box[1]) for box in corners) >= 20.0
        assert max(box[2] for box in corners) <= float(width) - 20.0
        assert max(box[3] for box in corners) <= float(height) - 20.0


def test_the_pdf_has_the_same_bytes_each_time_and_states_no_time(made):
    assert sheet(PLAIN, "pdf") == made["plain", "pdf"]
    assert b"20" + b"26" not in re.findall(rb"/CreationDate \(([^)]*)\)", made["plain", "pdf"])[0]


@pytest.mark.parametrize("name", JOBS)
def test_the_page_prints_on_as_many_sheets_and_asks_no_host(tmp_path, made, name):
    page = tmp_path / "sheet.html"
    page.write_bytes(made[name, "html"])
    browse(tmp_path, page, "--no-pdf-header-footer", f"--print-to-pdf={tmp_path / 'page.pdf'}")
    told = run(tmp_path, program("pdfinfo"), "page.pdf")
    assert re.search(rf"Pages: +{pages_of(name)}\n", told), told
    width, height = map(float, re.findall(r"Page size: +([0-9.]+) x ([0-9.]+)", told)[0])
    assert (width, height) == pytest.approx(PAGES[JOBS[name]], abs=1.0)
    assert asked_for(tmp_path) == set()


def test_a_page_that_asks_another_host_would_be_seen(tmp_path):
    """The control of the tests above: the very text that a caller may write, taken as markup."""
    page = tmp_path / "bad.html"
    page.write_text(f"<body>{HOSTILE.partition('</script>')[2]}</body>")
    browse(tmp_path, page, "--dump-dom")
    assert asked_for(tmp_path) == {"http://else.invalid/x"}


MEASURE = """<script>
const seen = [];
const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
while (walk.nextNode()) {
  const element = walk.currentNode.parentElement;
  if (!walk.currentNode.data.trim() || element.closest("script, title, desc, style")) continue;
  const matrix = element.getScreenCTM ? element.getScreenCTM().a : 1;
  seen.push(parseFloat(getComputedStyle(element).fontSize) * matrix);
}
document.title = JSON.stringify([Math.min(...seen), seen.length, document.documentElement.scrollWidth, innerWidth]);
</script>"""


@pytest.mark.parametrize("width", [1000, 800])
def test_no_type_on_the_page_is_small(tmp_path, made, width):
    """By the browser's own computed styles; a CSS pixel is 3/4 pt (CSS Values and Units, section 6.2, from memory)."""
    page = tmp_path / "sheet.html"
    page.write_text(made["crowded a4", "html"].decode() + MEASURE)
    dumped = browse(tmp_path, page, f"--window-size={width},1400", "--dump-dom")
    least, count, wide, inner = json.loads(re.findall(r"<title>(\[.*?\])</title>", dumped)[0])
    assert count > 150
    assert least * 0.75 >= LEAST - 1e-3
    assert wide <= inner


class Page(HTMLParser):
    """Collects the elements of a page and what they refer to."""

    def __init__(self, text):
        super().__init__()
        self.tags, self.links, self.words = [], [], ""
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.links += [value for name, value in attrs if name in ("href", "src", "xlink:href", "action")]

    def handle_data(self, data):
        self.words += data


@pytest.mark.parametrize("name", JOBS)
def test_what_a_caller_wrote_is_text_and_nothing_else(made, name):
    page = Page(made[name, "html"].decode())
    assert not {"script", "img", "iframe", "object", "link", "form", "a"} & set(page.tags)
    assert page.links == []
    assert "url(" not in made[name, "html"].decode()
    if name != "plain":
        assert HOSTILE[:40] in page.words
        assert b"<script" not in made[name, "html"]


def test_the_page_says_all_that_the_document_says(made):
    document = json.loads(sheet(PLAIN, "json"))
    words = re.sub(r"\s+", " ", Page(made["plain", "html"].decode()).words)
    lines = [document["summary"], *document["hold"], *document["checks"], *document["cautions"], *document["notes"]]
    lines += [cell for name in ("holders", "tools") for row in document[name]["rows"] for cell in row]
    lines += [line for group in (*document["steps"], *document["release"]) for line in group["lines"]]
    lines += [*document["heights"].values(), *document["head"].values()]
    assert [line for line in lines if line not in words] == []


def test_the_pictures_are_to_the_scale_that_they_state(made):
    """The drawing is in millimetres of paper: stock of 300 x 200 x 17.8, times the scale that stands beneath it."""
    page = made["plain", "html"].decode()
    scale = float(re.findall(r"Scale 1:([0-9.]+) ", page)[0])
    stock = re.findall(r'<g id="stock".*?</g>', page, re.DOTALL)[0]
    outlines = [
        [tuple(map(float, pair.split(","))) for pair in points.split()]
        for points in re.findall(r'points="(.*?)"', stock)
    ]
    sizes = [tuple(scale * (max(row) - min(row)) for row in zip(*outline, strict=True)) for outline in outlines]
    expected = [(300, 200), (300, 17.8), (200, 17.8)]
    for size, want in zip(sizes, expected, strict=True):
        assert size == pytest.approx(want, abs=0.002 * scale)  # decimals of the drawing


def test_every_holder_has_its_number_in_the_plan(made):
    for name, count in (("plain", 4), ("crowded a4", 24)):
        page = made[name, "html"].decode()
        labels = re.findall(r'<g id="text".*?</g>', page, re.DOTALL)[0]
        numbers = re.findall(r'text-anchor="middle"[^>]*>([0-9]+)</text>', labels)
        assert {str(number) for number in range(1, count + 1)} <= set(numbers)


def test_numbers_do_not_lie_on_one_another(made):
    page = made["crowded a4", "html"].decode()
    circles = re.findall(r'<g id="numbers".*?</g>', page, re.DOTALL)[0]
    rows = re.findall(r'cx="([0-9.]+)" cy="([0-9.]+)" r="([0-9.]+)"', circles)
    places = [tuple(map(float, row)) for row in rows]
    assert len(places) >= 24
    for number, (x, y, r) in enumerate(places):
        assert all(max(abs(x - a), abs(y - b)) >= 1.9 * r for a, b, _ in places[:number])
