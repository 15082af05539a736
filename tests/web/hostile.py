"""Requests that a careless script, a broken proxy or an attacker sends, each with the refusal that it must get.

The bodies are about JSON and HTTP alone, so they hold for every operation that takes a document; `PATH` is put in by
the test. Expected statuses follow RFC 9110 (HTTP), RFC 8259 and RFC 7493 (JSON, I-JSON), RFC 1952 (gzip).
"""

import gzip
import json
import zlib
from typing import NamedTuple

PATH = "{post}"
JSON = {"Content-Type": "application/json"}


class Hostile(NamedTuple):
    name: str
    body: bytes
    status: int
    slug: str
    headers: dict[str, str] = JSON
    method: str = "POST"
    path: str = PATH


GOOD = b'{"weights": [1, 2.5]}'


def gzipped(raw: bytes) -> bytes:
    return gzip.compress(raw, mtime=0)


def typed(content_type: str) -> dict[str, str]:
    return {"Content-Type": content_type}


def with_header(name: str, value: str) -> dict[str, str]:
    return {**JSON, name: value}


GZIP = with_header("Content-Encoding", "gzip")

NOT_JSON = [
    ("empty body", b""),
    ("blanks only", b" \t\r\n "),
    ("a word", b"hello"),
    ("form fields", b"weights=1&name=2"),
    ("single quotes", b"{'weights': [1]}"),
    ("names without quotes", b"{weights: [1]}"),
    ("comma after the last element", b'{"weights": [1,]}'),
    ("comma after the last member", b'{"weights": [1],}'),
    ("comment", b'{"weights": [1] /* none */}'),
    ("cut short", b'{"weights": [1'),
    ("text that never ends", b'{"name": "abc'),
    ("text that ends in a backslash", b'{"name": "abc\\'),
    ("many escaped quotes and no end", b'{"name": "' + b'\\"' * 50_000),
    ("bracket closed twice", b'{"weights": [1]]}'),
    ("brackets crossed", b'{"weights": [1}]'),
    ("only closing brackets", b"}" * 1000),
    ("trailing word", GOOD + b" x"),
    ("two documents", GOOD + GOOD),
    ("two documents on two lines", GOOD + b"\n" + GOOD),
    ("trailing NUL", GOOD + b"\0"),
    ("leading NUL", b"\0" + GOOD),
    ("vertical tab as blank", b'{"weights":\x0b[1]}'),
    ("no-break space as blank", '{"weights":\u00a0[1]}'.encode()),
    ("list at the top", b"[1, 2]"),
    ("number at the top", b"1"),
    ("text at the top", b'"weights"'),
    ("null at the top", b"null"),
    ("true at the top", b"true"),
    ("NaN", b'{"weights": [NaN]}'),
    ("Infinity", b'{"weights": [Infinity]}'),
    ("minus Infinity", b'{"weights": [-Infinity]}'),
    ("1e400", b'{"weights": [1e400]}'),
    ("-1e400", b'{"weights": [-1e400]}'),
    ("number of 41 digits", b'{"weights": [' + b"1" * 41 + b"]}"),
    ("number of a million digits", b'{"weights": [' + b"1" * 1_000_000 + b"]}"),
    ("fraction of a million digits", b'{"weights": [0.' + b"1" * 1_000_000 + b"]}"),
    ("exponent of a thousand digits", b'{"weights": [1e' + b"0" * 1000 + b"]}"),
    ("plus sign", b'{"weights": [+1]}'),
    ("leading zero", b'{"weights": [01]}'),
    ("hexadecimal", b'{"weights": [0x10]}'),
    ("point without digits after", b'{"weights": [1.]}'),
    ("point without digits before", b'{"weights": [.5]}'),
    ("decimal comma", b'{"weights": {"a": 1,5}}'),
    ("underscore in a number", b'{"weights": [1_0]}'),
    ("Arabic digits", '{"weights": [\u0661]}'.encode()),
    ("full-width digits", '{"weights": [\uff11]}'.encode()),
    ("name twice", b'{"weights": [1], "weights": [2]}'),
    ("name twice, once escaped", b'{"name": "a", "n\\u0061me": "b"}'),
    ("name twice, deep down", b'{"weights": [{"a": [{"b": 1, "b": 1}]}]}'),
    ("byte order mark", b"\xef\xbb\xbf" + GOOD),
    ("UTF-16 little endian", GOOD.decode().encode("utf-16-le")),
    ("UTF-16 with mark", GOOD.decode().encode("utf-16")),
    ("UTF-32", GOOD.decode().encode("utf-32")),
    ("Latin-1", '{"name": "Größe"}'.encode("latin-1")),
    ("overlong slash", b'{"name": "\xc0\xaf"}'),
    ("surrogate in UTF-8", b'{"name": "\xed\xa0\x80"}'),
    ("beyond Unicode", b'{"name": "\xf5\x80\x80\x80"}'),
    ("UTF-8 cut short", b'{"name": "\xe2\x82"}'),
    ("lone high surrogate", b'{"name": "\\ud800"}'),
    ("lone low surrogate", b'{"name": "\\udc00"}'),
    ("surrogates in the wrong order", b'{"name": "\\udc00\\ud800"}'),
    ("lone surrogate as a name", b'{"\\ud800": 1}'),
    ("surrogate before text", b'{"name": "\\ud83dx"}'),
    ("unknown escape", b'{"name": "\\x41"}'),
    ("escape cut short", b'{"name": "\\u12"}'),
    ("newline in a text", b'{"name": "a\nb"}'),
    ("tab in a text", b'{"name": "a\tb"}'),
    ("NUL in a text", b'{"name": "a\0b"}'),
    ("33 levels of lists", b'{"weights": ' + b"[" * 32 + b"]" * 32 + b"}"),
    ("33 levels of objects", b'{"a":' * 33 + b"1" + b"}" * 33),
    ("a thousand levels", b"[" * 1000 + b"]" * 1000),
    ("100,000 levels never closed", b"[" * 100_000),
    ("100,000 objects never closed", b'{"a":' * 100_000),
]

WRONG_TYPES = [
    "",
    "text/plain",
    "text/json",
    "application/x-json",
    "application/vnd.stillstock+json",
    "application/problem+json",
    "application/jsonx",
    "application/json;;;=",
    "application/json; charset=utf-16",
    "application/json; charset=latin-1",
    "application/json; charset=utf-8; version=2",
    "application/json, text/plain",
    "application/x-www-form-urlencoded",
    "multipart/form-data; boundary=x",
    "application/octet-stream",
    "*/*",
]

CODINGS = ["deflate", "br", "zstd", "compress", "gzip, gzip", "identity, gzip", "gzip;q=1", "utf-8"]

BAD_GZIP = [
    ("said to be gzip and is not", GOOD, 400, "not-json"),
    ("gzip cut short", gzipped(GOOD)[:-9], 400, "not-json"),
    ("gzip without its end", gzipped(GOOD)[:-4], 400, "not-json"),
    ("gzip with a wrong sum", gzipped(GOOD)[:-8] + b"\0\0\0\0" + gzipped(GOOD)[-4:], 400, "not-json"),
    ("bytes after gzip", gzipped(GOOD) + b"junk", 400, "not-json"),
    ("gzip twice, one after the other", gzipped(GOOD) * 2, 400, "not-json"),
    ("gzip in gzip", gzipped(gzipped(GOOD)), 400, "not-json"),
    ("zlib instead of gzip", zlib.compress(GOOD), 400, "not-json"),
    ("empty gzip", gzipped(b""), 400, "not-json"),
    ("gzip of nothing at all", b"", 400, "not-json"),
    ("gzip bomb of blanks", gzipped(b" " * 20_000_000), 413, "too-large"),
    ("gzip bomb below the limit", gzipped(b" " * 15_000_000), 413, "too-large"),
]

ACCEPTS = [
    "image/png",
    "application/xml",
    "application/problem+json",
    "application/json;q=0",
    "*/*;q=0",
    "nonsense",
    "/",
    "text",
    "application/",
    '"application/json"',
    "application/json/x",
    ";q=1",
]

QUERIES = [
    "?x=1",
    "?format=png",
    "?format=",
    "?format=json&format=json",
    "?format=json&format=svg",
    "?Format=json",
    "?format=JSON",
    "?format=json%00",
    "?units=inch",
    "?callback=alert(1)",
    "?%F0%28%8C%28=1",
    "?format=" + "a" * 2000,
    "?" + "&".join(f"p{i}=1" for i in range(300)),
]

OTHERS = [
    Hostile("PUT", GOOD, 405, "wrong-method", method="PUT"),
    Hostile("DELETE", b"", 405, "wrong-method", method="DELETE"),
    Hostile("PATCH", GOOD, 405, "wrong-method", method="PATCH"),
    Hostile("GET where only POST is", b"", 405, "wrong-method", {}, "GET"),
    Hostile("TRACE", b"", 405, "wrong-method", {}, "TRACE"),
    Hostile("a method of one's own", b"", 405, "wrong-method", {}, "BREW"),
    Hostile("POST to the limits", GOOD, 405, "wrong-method", path="/v1/limits"),
    Hostile("DELETE of a problem type", b"", 405, "wrong-method", {}, "DELETE", "/problems/busy"),
    Hostile("no such path", GOOD, 404, "not-found", path="/v1/nope"),
    Hostile("a blank path segment", GOOD, 404, "not-found", path="/v1//limits"),
    Hostile("slash at the end", b"", 404, "not-found", {}, "GET", "/v1/limits/"),
    Hostile("up the tree", b"", 404, "not-found", {}, "GET", "/problems/../../etc/passwd"),
    Hostile("up the tree, escaped", b"", 404, "not-found", {}, "GET", "/problems/%2e%2e%2f%2e%2e%2fetc%2fpasswd"),
    Hostile("NUL in the path", b"", 404, "not-found", {}, "GET", "/problems/busy%00"),
    Hostile("broken UTF-8 in the path", b"", 404, "not-found", {}, "GET", "/problems/%ff%fe"),
    Hostile("markup in the path", b"", 404, "not-found", {}, "GET", "/problems/%3Cscript%3Ealert(1)%3C/script%3E"),
    Hostile("no such problem type", b"", 404, "not-found", {}, "GET", "/problems/none"),
    Hostile("no such holder", b"", 404, "not-found", {}, "GET", "/v1/holders/none"),
    Hostile("a module as a holder", b"", 404, "not-found", {}, "GET", "/v1/holders/__init__"),
    Hostile("unknown units", b"", 400, "unknown-parameter", {}, "GET", "/v1/materials?units=furlong"),
    Hostile("units twice", b"", 400, "unknown-parameter", {}, "GET", "/v1/materials?units=inch&units=inch"),
    Hostile("query to a probe", b"", 400, "unknown-parameter", {}, "GET", "/healthz?verbose=1"),
    Hostile("query to the metrics", b"", 400, "unknown-parameter", {}, "GET", "/metrics?name[]=x"),
    Hostile(
        "2,000 unknown members", json.dumps(dict.fromkeys(map(str, range(2000)), 0)).encode(), 400, "invalid-document"
    ),
    Hostile("100,000 bad elements", b'{"weights": [' + b"null," * 99_999 + b"null]}", 400, "invalid-document"),
    Hostile("over a million values", b'{"weights": [' + b"0," * 1_000_001 + b"0]}", 413, "too-large"),
    Hostile("over a million empty lists", b'{"weights": [' + b"[]," * 600_000 + b"[]]}", 413, "too-large"),
    Hostile("body over the limit", b" " * (16 * 1024 * 1024) + GOOD, 413, "too-large"),
]

CORPUS = [
    *(Hostile(name, body, 400, "not-json") for name, body in NOT_JSON),
    *(Hostile(f"content type {kind!r}", GOOD, 415, "wrong-media-type", typed(kind)) for kind in WRONG_TYPES),
    *(Hostile(f"coding {c}", GOOD, 415, "wrong-media-type", with_header("Content-Encoding", c)) for c in CODINGS),
    *(Hostile(name, body, status, slug, GZIP) for name, body, status, slug in BAD_GZIP),
    *(Hostile(f"accept {a}", GOOD, 406, "not-acceptable", with_header("Accept", a)) for a in ACCEPTS),
    *(Hostile(f"query {q[:40]}", GOOD, 400, "unknown-parameter", path=PATH + q) for q in QUERIES),
    *OTHERS,
]
