"""Pages for people: the contract, the problem types, the first page; and the catalogue for scripts."""

import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
import yaml
from tests.web.echo import echo_app

from stillstock.web import contract as contract_module
from stillstock.web.docs_page import docs_page, first_call

APP = echo_app()
CLIENT = APP.test_client()
SMALL = b"""
openapi: 3.1.0
info: {title: Beam <b>, version: 1.2.3, description: 'a & b'}
tags: [{name: compute, description: Works out}]
paths:
  /v1/beam:
    parameters: [{$ref: '#/components/parameters/format'}]
    post:
      operationId: beam
      tags: [compute]
      summary: Bend it
      requestBody:
        content:
          application/json:
            schema: {$ref: '#/components/schemas/Beam'}
            examples:
              short: {summary: A short one, value: {span: 2 m, note: "it's </pre><script>"}}
      responses:
        "200": {description: bent, content: {application/json: {schema: {type: object}, example: {bend: 1.5}}}}
        "400": {$ref: '#/components/responses/Bad'}
  /v1/old:
    get: {deprecated: true, summary: Gone soon, responses: {"200": {description: ok}}}
components:
  parameters: {format: {name: format, in: query, schema: {enum: [json, svg]}, description: Which form}}
  responses: {Bad: {description: refused}}
  schemas:
    Beam:
      type: object
      required: [span]
      properties:
        span: {$ref: '#/components/schemas/Length', description: Free span}
        loads: {type: array, maxItems: 9, items: {type: number, exclusiveMinimum: 0}}
        ends:
          oneOf: [{type: string}, {type: array, prefixItems: [{type: number}, {$ref: '#/components/schemas/Length'}]}]
        note: {type: [string, 'null'], maxLength: 40, default: x}
    Length: {type: string, pattern: '^[0-9]+ m$'}
"""


class Page(HTMLParser):
    """Collects what a page is made of."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.ids: list[str] = []
        self.links: list[str] = []
        self.words = ""
        self.open: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        stated = dict(attrs)
        self.tags.append(tag)
        if tag not in {"meta", "br", "link", "input"}:
            self.open.append(tag)
        self.ids += [stated["id"]] if "id" in stated else []
        self.links += [stated[name] for name in ("href", "src") if name in stated]

    def handle_endtag(self, tag):
        assert self.open.pop() == tag, f"</{tag}> closes nothing"

    def handle_data(self, data):
        self.words += data


def rendered(raw: bytes) -> Page:
    with APP.test_request_context():
        return Page(docs_page(raw))


def pages() -> list[Page]:
    paths = ("/", "/docs", "/problems", "/problems/busy")
    return [Page(CLIENT.get(path, headers={"Accept": "text/html"}).text) for path in paths] + [rendered(SMALL)]


@pytest.mark.parametrize("page", pages())
def test_pages_load_nothing_and_run_nothing_and_are_well_formed(page):
    # The first page has one script of its own, which stands in it.
    assert not {"link", "img", "iframe", "object", "form"} & set(page.tags)
    assert page.tags.count("script") == ("textarea" in page.tags)
    assert all(link.startswith(("/", "#")) for link in page.links)
    assert page.open == []
    assert "main" in page.tags
    assert page.tags.count("h1") == 1


def test_the_page_shows_every_operation_schema_bound_and_example():
    page = rendered(SMALL)
    for words in (
        "POST", "/v1/beam", "Bend it", "Works out", "A short one", '"span": "2 m"', "</pre><script>", "refused", "bent",
        "list of number", "at most 9 items", "string or [number, Length]", "string or null", 'default "x"',
        "deprecated",
        "json", "Which form", "Beam <b>", "a & b", "Free span", "required",
    ):  # fmt: skip
        assert words in page.words, words
    assert {"beam", "schema-Beam", "schema-Length"} <= set(page.ids)


def test_every_link_within_the_page_leads_somewhere():
    for page in (rendered(SMALL), Page(CLIENT.get("/docs").text)):
        assert {link[1:] for link in page.links if link.startswith("#")} <= set(page.ids)


def test_every_stated_operation_stands_on_the_page():
    stated = (yaml.safe_load(contract_module.contract_bytes()) or {}).get("paths", {})
    words = Page(CLIENT.get("/docs").text).words
    assert [path for path in stated if path not in words] == []


def test_the_first_call_is_an_example_of_the_contract_and_safe_to_paste():
    call = first_call(SMALL)
    assert call.startswith("curl -s http://127.0.0.1:8710/v1/beam ")
    assert call.count("'") == 4
    assert "it\\u0027s" in call


@pytest.mark.parametrize(
    ("raw", "version"),
    [(b"openapi: 3.1.0\ninfo:\n  title: x\n  version: 1.4.0\npaths: {}\n", "1.4.0"), (b"", ""), (b"version: 9\n", "")],
)
def test_the_contracts_version_is_that_of_its_info(monkeypatch, raw, version):
    monkeypatch.setattr(contract_module, "contract_bytes", lambda: raw)
    assert contract_module.contract_version.__wrapped__() == version


def test_links_of_the_first_page_all_lead_somewhere():
    links = CLIENT.get("/").get_json()["links"]
    assert {"service-desc", "service-doc", "status"} <= set(links)
    assert {name: CLIENT.get(path).status_code for name, path in links.items()} == dict.fromkeys(links, 200)


def test_limits_are_listed_with_what_they_mean():
    listed = CLIENT.get("/v1/limits").get_json()["limits"]
    assert {"name": "json_depth", "limit": 32, "says": "levels of nested objects and lists"} in listed
    assert "body_bytes 16777216" in CLIENT.get("/v1/limits?format=text").text


def test_materials_are_told_in_both_systems_and_agree():
    """Density of ponderosa pine: Wood Handbook, table 5-3b: specific gravity 0.40, times 1.12 and 1000 kg/m3.

    1 lb/ft3 = 16.018463 kg/m3 and 1 psi = 6894.757 Pa: NIST SP 811, appendix B.8 (from memory).
    """
    metric, inch = (CLIENT.get(f"/v1/materials?units={system}").get_json() for system in ("metric", "inch"))
    pine, same = (next(m for m in d["materials"] if m["key"] == "ponderosa_pine") for d in (metric, inch))
    assert (pine["properties"]["density"]["typical"], pine["properties"]["density"]["unit"]) == (450, "kg/m3")
    assert same["properties"]["density"]["typical"] == pytest.approx(450 / 16.018463, rel=1e-5)
    strength = pine["properties"]["bending_strength"]
    assert (strength["typical"], strength["unit"]) == (64800, "kPa")
    assert same["properties"]["bending_strength"]["typical"] == pytest.approx(64.8e6 / 6894.757, rel=1e-5)
    assert "pine" in pine["aliases"]
    assert CLIENT.get("/v1/materials").data == CLIENT.get("/v1/materials?units=metric").data


def test_every_source_that_a_material_names_is_listed():
    listed = {one["key"] for one in CLIENT.get("/v1/sources").get_json()["sources"]}
    named = {
        value["source"]
        for material in CLIENT.get("/v1/materials").get_json()["materials"]
        for value in (*material["properties"].values(), *material["cutting"].values())
    }
    assert named <= listed


def test_every_holder_is_described_by_its_own_fields():
    listed = CLIENT.get("/v1/holders").get_json()["holders"]
    for one in listed:
        assert CLIENT.get(f"/v1/holders/{one['kind']}").get_json() == one
        assert one["title"]
        assert all(member["says"] for member in one["members"])
    for path in ("materials", "holders", "sources"):
        lines = CLIENT.get(f"/v1/{path}?format=text").text.splitlines()
        assert len(lines) == len(CLIENT.get(f"/v1/{path}").get_json()[path])


def test_templates_name_no_other_host():
    folder = Path(contract_module.__file__).parent / "templates"
    for template in folder.glob("*.html"):
        assert not re.search(r"(?:https?:)?//[a-z]", template.read_text()), template.name
