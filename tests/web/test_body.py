"""The strict JSON reader by itself: what it takes, where it says the fault is, and that it stays linear."""

import json
import time

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.growth import growth
from tests.web.echo import PATH, echo_app

from stillstock.errors import NotJson, StillstockError, TooLarge
from stillstock.settings import Limits
from stillstock.web.body import json_document

LIMITS = Limits()
CLIENT = echo_app().test_client()

values = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(10**30), 10**30)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=20,
)


@given(st.dictionaries(st.text(), values, max_size=5), st.booleans())
def test_any_json_object_is_read_as_the_standard_library_reads_it(document, ascii_only):
    raw = json.dumps(document, ensure_ascii=ascii_only)
    assert json_document(raw.encode(), LIMITS) == json.loads(raw)


@given(st.binary(max_size=200))
def test_any_bytes_are_read_or_refused_and_nothing_else(raw):
    try:
        outcome: object = json_document(raw, LIMITS)
    except StillstockError as why:
        outcome = why
    assert isinstance(outcome, dict | NotJson)


@given(st.text(alphabet='{}[]",:\\ a1\n', max_size=60))
def test_what_is_read_is_what_the_standard_library_reads(text):
    try:
        document = json_document(text.encode(), LIMITS)
    except NotJson:
        return
    assert document == json.loads(text)


@pytest.mark.parametrize("levels", [31, 32])
def test_the_deepest_document_allowed_is_read(levels):
    raw = b'{"a": ' + b"[" * (levels - 1) + b"]" * (levels - 1) + b"}"
    assert json_document(raw, LIMITS)


def test_brackets_in_texts_are_no_levels():
    name = "[" * 100 + '\\" {{{' + "\\\\"
    assert json_document(f'{{"a": "{name}"}}'.encode(), LIMITS) == {"a": json.loads(f'"{name}"')}


def test_a_pair_of_escaped_surrogates_is_one_character():
    assert json_document(rb'{"a": "\ud83d\ude00"}', LIMITS) == {"a": "\U0001f600"}


def test_the_line_of_a_fault_is_named():
    with pytest.raises(NotJson, match="line 3, column 7"):
        json_document(b'{\n "a": 1,\n "b": x\n}', LIMITS)
    with pytest.raises(NotJson, match="byte 10, line 2"):
        json_document(b'{"a": 1,\n "\xff": 2}'.replace(b' "\xff', b'"\xff'), LIMITS)


@pytest.mark.parametrize(
    "piece",
    [b'\\"', b'"', b"[", b"]", b'"a",', b"{}", b"[],", b"1", b"-", b"\\", b"\\u", b'"\\ud83d\\ude00",', b" ", b"\n"],
)
def test_time_grows_no_faster_than_the_body(piece):
    """Eight times the bytes may cost 24 times the time, for noise; a quadratic reader takes 64 times."""

    def seconds(size: int) -> float:
        raw = b'{"a": "' + piece * (size // len(piece))
        start = time.process_time()
        with pytest.raises((NotJson, TooLarge)):
            json_document(raw, LIMITS)
        return time.process_time() - start

    assert growth(seconds, 250_000, 2_000_000, bound=24.0) < 24.0


@pytest.mark.parametrize(
    "content_type",
    ["application/json", "Application/JSON", "application/json;charset=utf-8", 'application/json; charset="UTF-8"'],
)
def test_json_in_utf_8_is_taken_however_it_is_spelt(content_type):
    assert CLIENT.post(PATH, data=b"{}", headers={"Content-Type": content_type}).status_code == 200


def test_refusals_of_a_media_type_or_coding_say_what_is_taken():
    """RFC 9110, section 15.5.16, and section 12.5.3 for the content coding."""
    for headers in ({"Content-Type": "text/plain"}, {"Content-Type": "application/json", "Content-Encoding": "br"}):
        response = CLIENT.post(PATH, data=b"{}", headers=headers)
        assert response.status_code == 415
        assert response.headers["Accept"] == "application/json"
        assert response.headers["Accept-Encoding"] == "gzip, identity"


def test_nothing_is_read_of_a_body_that_is_announced_too_large():
    class Untouched:
        def read(self, size: int) -> bytes:
            raise AssertionError(f"read {size} bytes")

    environ = {"wsgi.input": Untouched(), "CONTENT_LENGTH": str(LIMITS.body_bytes + 1)}
    response = CLIENT.post(PATH, content_type="application/json", environ_overrides=environ)
    assert response.status_code == 413
    assert str(LIMITS.body_bytes) in response.get_json()["detail"]
