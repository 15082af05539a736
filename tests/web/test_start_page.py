"""The page at / in a real browser: by keyboard and by drop, light and dark, wide and narrow, asking nobody else."""

import json
import re
import threading
from base64 import b64encode
from hashlib import sha256

import pytest
from tests.web.browser import browser
from tests.writers.sheets import HOSTILE, PLAIN
from werkzeug.serving import make_server

from stillstock.app import create_app

CLIENT = create_app().test_client()
PROGRAM = "G21 G90\nT1 M6\nS18000 M3\nG0 Z20\nG0 X40 Y30\nG1 Z-2 F400\nG1 X180 F1200\nG0 Z20\nM5\nM30\n"


@pytest.fixture(scope="module")
def address():
    server = make_server("127.0.0.1", 0, create_app(), threaded=True)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}"
    server.shutdown()
    thread.join()
    server.server_close()


@pytest.fixture(scope="module")
def window(tmp_path_factory):
    with browser(tmp_path_factory.mktemp("browser")) as found:
        yield found


def fill(window, document, program=""):
    window.run(f"document.getElementById('set-up').value = {json.dumps(json.dumps(document))}")
    window.run(f"document.getElementById('program').value = {json.dumps(program)}")


def checked(window):
    """Press Ctrl + Enter and wait for the answer; return what stands in the verdict."""
    window.press("Enter", code=13, modifiers=2)
    window.until("!document.getElementById('check').disabled && !document.getElementById('answer').hidden")
    return window.run("document.getElementById('verdict').innerText")


def others(window, address):
    return {url for url in window.asked if not url.startswith((address, f"blob:{address}", "data:", "about:"))}


def test_the_example_is_checked_by_keyboard_alone_and_no_request_leaves(window, address, tmp_path):
    window.open(f"{address}/")
    example = json.loads(window.run("document.getElementById('set-up').value"))
    first = CLIENT.post("/v1/margin", json=example).get_json()
    focused = []
    for _ in range(40):
        window.press("Tab", code=9)
        focused.append(window.run("document.activeElement.id || document.activeElement.innerText"))
        if focused[-1] == "check":
            break
    assert focused[0] == "To the content"
    assert [name for name in focused if name in ("set-up", "set-up-file", "program", "program-file", "check")] == [
        "set-up", "set-up-file", "program", "program-file", "check",
    ]  # fmt: skip
    window.press("Enter", code=13)
    window.until("document.getElementById('status').innerText === 'Done.'")
    said = window.run("document.getElementById('verdict').innerText")
    assert first["summary"] in said
    assert window.run("document.activeElement.id") == "verdict"
    window.until("document.querySelector('#picture img').naturalWidth > 100")
    assert first["summary"] in window.run("document.querySelector('#picture img').alt")
    assert others(window, address) == set()
    assert len([url for url in window.asked if url.endswith("/v1/margin")]) == 2
    assert window.faults == []
    window.picture(tmp_path / "page.png")
    assert (tmp_path / "page.png").stat().st_size > 20_000


def test_it_fits_the_window_and_reads_in_light_and_dark(window, address, tmp_path):
    """Contrast of 4.5 and more (WCAG 2.1, 1.4.3; relative luminance as defined there, from memory)."""
    window.open(f"{address}/")
    checked(window)
    for width, scheme in ((360, "light"), (360, "dark"), (1000, "dark"), (1000, "light")):
        window.show(width=width, scheme=scheme)
        fits_and_reads(window, width, scheme)
        window.picture(tmp_path / f"page-{width}-{scheme}.png")


def fits_and_reads(window, width, scheme):
    assert window.run("document.documentElement.scrollWidth") <= width
    colours = window.run(
        "['body', '.soft', '#check', 'a', '#set-up', '#verdict', 'button.plain'].map(name => {"
        "const style = getComputedStyle(document.querySelector(name)); let at = document.querySelector(name);"
        "while (getComputedStyle(at).backgroundColor === 'rgba(0, 0, 0, 0)') at = at.parentElement;"
        "return [name, style.color, getComputedStyle(at).backgroundColor]})"
    )
    assert len(colours) == 7
    low = [(name, contrast(ink, paper)) for name, ink, paper in colours if contrast(ink, paper) < 4.5]
    assert low == []
    dark = contrast(colours[0][2], "rgb(0, 0, 0)") < 3.0
    assert dark == (scheme == "dark")


def luminance(colour):
    parts = [int(part) / 255 for part in re.findall(r"[0-9]+", colour)[:3]]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one, other):
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_a_dropped_set_up_and_program_are_checked_together(window, address):
    window.open(f"{address}/")
    document = {name: value for name, value in PLAIN.items() if name != "cuts"}
    for name, text in (("sign.json", json.dumps(document)), ("sign.nc", PROGRAM)):
        window.run(
            f"(() => {{ const data = new DataTransfer(); data.items.add(new File([{json.dumps(text)}], '{name}'));"
            "const event = new DragEvent('drop', {dataTransfer: data, bubbles: true, cancelable: true});"
            "document.body.dispatchEvent(event) })()"
        )
        window.until(f"document.getElementById('status').innerText.startsWith('{name}')")
    said = checked(window)
    asked = {**document, "program": {"text": PROGRAM}}
    assert CLIENT.post("/v1/margin", json=asked).get_json()["summary"] in said
    assert "line 7" in said


def test_what_is_refused_is_told_with_its_place(window, address):
    window.open(f"{address}/")
    fill(window, {**PLAIN, "bed": {"material": "mdf", "thickness": "18,5 mm"}})
    said = checked(window)
    assert said.startswith("No answer")
    lists = window.run("document.getElementById('lists').innerText")
    assert "/bed/thickness" in lists
    assert "18.5 mm" in lists
    window.run("document.getElementById('set-up').value = '{\"units\": '")
    assert "no JSON" in checked(window)
    window.run("document.getElementById('set-up').value = ''")
    assert "Paste or drop" in checked(window)


@pytest.mark.parametrize(("button", "title"), [("sheet", "door sign: set-up sheet"), ("pdf", "")])
def test_the_sheet_opens_from_the_page(window, address, button, title):
    window.open(f"{address}/")
    fill(window, PLAIN)
    checked(window)
    window.run(f"document.getElementById('{button}').click()")
    window.until("document.querySelector('#opened a') !== null")
    assert window.run("document.activeElement === document.querySelector('#opened a')")
    assert window.run("document.querySelector('#opened a').href").startswith(f"blob:{address}/")
    assert window.run("document.querySelector('#opened a').download") == ("" if title else "set-up-sheet.pdf")
    if title:
        window.press("Enter", code=13)
        window.until_title(title)
    assert others(window, address) == set()


def test_what_a_caller_wrote_is_shown_as_text(window, address):
    window.open(f"{address}/")
    hostile = json.loads(json.dumps(PLAIN))
    hostile["cuts"][0]["name"] = HOSTILE
    fill(window, hostile)
    assert HOSTILE[:30] in checked(window)
    assert window.run("document.querySelectorAll('#answer script, #verdict img, #facts img').length") == 0
    assert others(window, address) == set()


def test_no_other_script_runs_and_no_other_host_is_asked(window, address):
    """Content Security Policy, level 3: a script of another digest and a connection elsewhere are refused."""
    window.open(f"{address}/")
    window.run(
        "const made = document.createElement('script'); made.textContent = 'window.bad = 1'; document.body.append(made)"
    )
    assert window.run("window.bad === undefined") is True
    refused = window.run(
        "new Promise(done => { const told = event => done(event.effectiveDirective);"
        "document.addEventListener('securitypolicyviolation', told);"
        "fetch('http://else.invalid/x').catch(() => 0); setTimeout(() => done('nothing'), 3000) })"
    )
    assert refused == "connect-src"
    window.faults.clear()


def test_the_policy_names_the_script_by_the_digest_of_what_is_served():
    """Content Security Policy, level 3, 2.3.1: ``sha256-`` and the digest of the element's text in base64."""
    response = CLIENT.get("/", headers={"Accept": "text/html"})
    (script,) = re.findall(r"<script>(.*?)</script>", response.text, re.DOTALL)
    assert re.findall(r"<(?:script|link|img)[^>]+(?:src|href)=", response.text) == []
    allowed = response.headers["Content-Security-Policy"].partition("script-src ")[2].partition(";")[0]
    assert allowed == f"'sha256-{b64encode(sha256(script.encode()).digest()).decode()}'"
    other = CLIENT.get("/docs")
    assert "script-src" not in other.headers["Content-Security-Policy"]
