"""The Accept header, ``?format=`` and Accept-Encoding."""

import pytest
from tests.web.echo import PATH, echo_app

from stillstock.web.negotiation import accepted_ranges, coding_accepted, quality

CLIENT = echo_app().test_client()
BROWSER = "text/html,application/xhtml+xml,application/xml;q=0.9,image/avif,image/webp,*/*;q=0.8"


@pytest.mark.parametrize(
    ("media_type", "weight"),
    [("text/plain", 0.7), ("text/html", 0.3), ("image/jpeg", 0.5)],
)
def test_weights_are_those_of_the_standards_example(media_type, weight):
    """RFC 9110, section 12.5.1: the example with text/plain;format=flowed, for the types without parameters."""
    header = "text/*;q=0.3, text/plain;q=0.7, text/plain;format=flowed, text/plain;format=fixed;q=0.4, */*;q=0.5"
    assert quality(media_type, accepted_ranges(header)) == weight


@pytest.mark.parametrize(
    ("accept", "content_type"),
    [
        (None, "application/json"),
        ("", "application/json"),
        ("*/*", "application/json"),
        ("application/*", "application/json"),
        ("APPLICATION/JSON", "application/json"),
        ("application/json;indent=2", "application/json"),
        ("application/json;version=2", "application/json"),
        ('application/json; profile="a,b;c"', "application/json"),
        ("image/svg+xml; charset=utf-8", "image/svg+xml"),
        ("image/*", "image/svg+xml"),
        ("image/vnd.dxf", "image/vnd.dxf"),
        ("application/dxf", "image/vnd.dxf"),
        ("text/plain", "text/plain; charset=utf-8"),
        ("text/*;q=0.5, image/svg+xml;q=0.4", "text/html; charset=utf-8"),
        ("application/json;q=0.1, image/svg+xml;q=0.2", "image/svg+xml"),
        ("application/json;q=0, */*;q=0.1", "image/svg+xml"),
        ("image/png, image/svg+xml;q=0.001", "image/svg+xml"),
        ("garbage, image/svg+xml", "image/svg+xml"),
        (BROWSER, "text/html; charset=utf-8"),
    ],
)
def test_the_accept_header_chooses_the_representation(accept, content_type):
    response = CLIENT.post(PATH, json={"weights": [1]}, headers={} if accept is None else {"Accept": accept})
    assert response.status_code == 200
    assert response.content_type == content_type
    assert "Accept" in response.vary


def test_format_wins_over_accept():
    accept = {"Accept": "application/json"}
    drawn, written = (CLIENT.post(f"{PATH}?format={name}", json={}, headers=accept) for name in ("svg", "rs274"))
    assert drawn.content_type == "image/svg+xml"
    assert written.content_type == "text/plain; charset=utf-8"
    assert written.data == b"%\nG21\n%\n"


def test_a_refusal_says_what_there_is():
    response = CLIENT.post(PATH, json={}, headers={"Accept": "image/png"})
    assert response.status_code == 406
    assert "image/vnd.dxf" in response.get_json()["detail"]
    assert "Accept" in response.vary


@pytest.mark.parametrize(
    ("header", "taken"),
    [
        ("gzip", True),
        ("deflate, gzip;q=1.0, *;q=0.5", True),  # RFC 9110, section 12.5.3, an example
        ("compress;q=0.5, gzip;q=1.0", True),  # the same
        ("*", True),
        ("", False),  # the same
        ("identity", False),
        ("gzip;q=0", False),
        ("gzip;q=0, *", False),
        ("br, deflate", False),
        ("GZIP", True),
    ],
)
def test_gzip_goes_out_only_to_those_who_take_it(header, taken):
    assert coding_accepted("gzip", header) is taken


def test_a_long_accept_header_takes_no_long_time():
    response = CLIENT.post(PATH, json={}, headers={"Accept": '"' * 4000 + "," * 4000 + ";q=" * 1000})
    assert response.status_code == 406
