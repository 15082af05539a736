"""The request body: read to a limit, then taken as JSON more strictly than any default.

Two readers of one document must never understand it differently, so whatever JSON leaves open is refused: double
names, NaN, numbers beyond a double, text that is no UTF-8, half of a surrogate pair. All of it in linear time.
"""

import json
import math
import re
import zlib
from collections.abc import Callable
from typing import Any

import numpy as np
from flask import g, request

from stillstock.errors import NotJson, TooLarge, WrongMediaType
from stillstock.settings import Limits

__all__ = ["Document", "document_in_request", "json_document"]

Document = dict[str, Any]

CONTENT_TYPE = re.compile(r'application/json(?:[ \t]*;[ \t]*charset="?utf-8"?)?', re.IGNORECASE)
#: A JSON string, or what is left of one that never ends: it always matches from a quote on, so a scan stays linear.
STRING = re.compile(rb'"[^"\\]*+(?:\\.[^"\\]*+)*+(?:"|\\?\Z)', re.DOTALL)
SURROGATE_ESCAPE = re.compile(rb"\\u[dD][89a-fA-F]")
NOT_BRACKETS = bytes(set(range(256)) - set(b"[]{}"))
MEMBER = 1 << 20
READ_STEP = 1 << 16


def document_in_request(limits: Limits) -> Document:
    """Return the JSON object in the body of the current request."""
    _check_media_type()
    inflate = _content_coding()
    raw = _body_bytes(limits)
    g.bytes_in = len(raw)
    return json_document(inflate(raw, limits), limits)


def _check_media_type() -> None:
    if not CONTENT_TYPE.fullmatch(request.headers.get("Content-Type", "").strip()):
        raise WrongMediaType("send the document as Content-Type: application/json (UTF-8)")


def _content_coding() -> Callable[[bytes, Limits], bytes]:
    coding = request.headers.get("Content-Encoding", "").strip().lower()
    if coding in {"", "identity"}:
        return lambda raw, _: raw
    if coding in {"gzip", "x-gzip"}:
        return _inflated
    raise WrongMediaType("the body may be sent plain or with Content-Encoding: gzip, once")


def _body_bytes(limits: Limits) -> bytes:
    """Read the body; one byte over the limit is read on purpose, or a chunked body would pass cut short."""
    announced = request.content_length
    if announced is not None and announced > limits.body_bytes:
        raise _too_large(announced, limits)
    chunked = bool(request.environ.get("wsgi.input_terminated"))
    if announced is None and not chunked:
        return b""
    wanted = limits.body_bytes + 1 if announced is None else announced
    raw = _read(wanted)
    if len(raw) > limits.body_bytes:
        raise _too_large(None, limits)
    if announced is not None and len(raw) < announced:
        raise NotJson(f"the body ended after {len(raw)} of the announced {announced} bytes, or came too slowly")
    return raw


def _read(wanted: int) -> bytes:
    stream = request.environ["wsgi.input"]
    pieces, missing = [], wanted
    try:
        while missing > 0 and (piece := stream.read(min(missing, READ_STEP))):
            pieces.append(piece)
            missing -= len(piece)
    # A server's reader raises what it likes on a broken chunk; whatever it is, the body is not all there.
    except Exception as why:
        raise NotJson("the body broke off, or is not chunked as HTTP/1.1 has it") from why
    return b"".join(pieces)


def _too_large(seen: int | None, limits: Limits) -> TooLarge:
    came = "more came" if seen is None else f"{seen} were announced"
    return TooLarge(f"a body may have {limits.body_bytes} bytes (STILLSTOCK_BODY_BYTES); {came}")


def _inflated(raw: bytes, limits: Limits) -> bytes:
    reader = zlib.decompressobj(16 + zlib.MAX_WBITS)
    # A bomb is stopped while it grows, not after: the ratio first allows what any small text may reach.
    most = min(limits.body_bytes, max(MEMBER, len(raw) * limits.inflation))
    try:
        plain = reader.decompress(raw, most + 1)
    except zlib.error as why:
        raise NotJson("the body is said to be gzip and is not") from why
    if len(plain) > most:
        raise TooLarge(
            f"the gzip body grows beyond {limits.body_bytes} bytes, or beyond {limits.inflation} times its size"
        )
    if not reader.eof:
        raise NotJson("the gzip body breaks off")
    if reader.unused_data:
        raise NotJson("bytes follow the end of the gzip body")
    return plain


def json_document(raw: bytes, limits: Limits) -> Document:
    """Return the object that the bytes spell.

    Parameters
    ----------
    raw : bytes
        UTF-8 text of one JSON object.
    limits : Limits

    Raises
    ------
    NotJson
        If the text is not JSON as RFC 8259 and RFC 7493 (I-JSON) have it, or deeper than the limit.
    TooLarge
        If there are more values than the limit.
    """
    if not raw.strip(b" \t\r\n"):
        raise NotJson("the body is empty; send a JSON object")
    text = _text(raw)
    _check_structure(raw, limits)
    value = _parsed(text, limits)
    if SURROGATE_ESCAPE.search(raw):
        _check_surrogates(value)
    if not isinstance(value, dict):
        raise NotJson("expected a JSON object at the top, {...}")
    return value


def _text(raw: bytes) -> str:
    if raw.startswith(b"\xef\xbb\xbf"):
        raise NotJson("the body starts with a byte order mark; send UTF-8 without one")
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError as why:
        line = raw.count(b"\n", 0, why.start) + 1
        raise NotJson(f"the body is not UTF-8: byte {why.start}, line {line}") from why


def _check_structure(raw: bytes, limits: Limits) -> None:
    """Refuse too deep or too many values before the parser builds anything."""
    bare = STRING.sub(b"", raw)
    values = bare.count(b",") + bare.count(b"[") + bare.count(b"{")
    if values > limits.json_values:
        raise TooLarge(f"a document may have {limits.json_values} values (STILLSTOCK_JSON_VALUES); this has {values}")
    brackets = np.frombuffer(bare.translate(None, NOT_BRACKETS), dtype=np.uint8)
    steps = np.where((brackets == ord("[")) | (brackets == ord("{")), 1, -1)
    depth = int(np.cumsum(steps).max(initial=0))
    if depth > limits.json_depth:
        raise NotJson(f"objects and lists may be nested {limits.json_depth} deep; this goes {depth} deep")


def _parsed(text: str, limits: Limits) -> object:
    def whole(digits: str) -> int:
        if len(digits) > limits.number_digits:
            raise NotJson(f"a number may have {limits.number_digits} characters; one has {len(digits)}")
        return int(digits)

    def real(digits: str) -> float:
        if len(digits) > limits.number_digits:
            raise NotJson(f"a number may have {limits.number_digits} characters; one has {len(digits)}")
        value = float(digits)
        if not math.isfinite(value):
            raise NotJson(f"{digits} is beyond the range of a double")
        return value

    try:
        return json.loads(text, object_pairs_hook=_members, parse_constant=_constant, parse_int=whole, parse_float=real)
    except json.JSONDecodeError as why:
        raise NotJson(f"not JSON at line {why.lineno}, column {why.colno}: {why.msg}") from why


def _members(pairs: list[tuple[str, object]]) -> dict[str, object]:
    members = dict(pairs)
    if len(members) < len(pairs):
        seen: set[str] = set()
        twice = next(name for name, _ in pairs if name in seen or seen.add(name))  # type: ignore[func-returns-value]
        raise NotJson(f"an object has the name {_shown(twice)} twice")
    return members


def _shown(name: str) -> str:
    return json.dumps(name if len(name) <= 40 else name[:40] + "...")


def _constant(word: str) -> float:
    raise NotJson(f"{word} is no JSON number")


def _check_surrogates(value: object) -> None:
    try:
        json.dumps(value, ensure_ascii=False).encode("utf-8")
    except UnicodeEncodeError as why:
        raise NotJson("a text holds half of a surrogate pair, which is no character") from why
