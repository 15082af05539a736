"""Ask a Stillstock service, before the spindle starts, whether the stock will stay still.

One file, nothing but the standard library, so that it can be copied beside a post script in an embedded interpreter
that has no installer. The distribution asks for Python 3.11; where the interpreter is older, copy this file: it keeps
to the syntax and the library of Python 3.6.

    python stillstock_client.py gate part.nc          # 0 holds, 1 does not, 2 could not tell, 3 no service

From a script: `gate` for a program and what lies beside it, `Client` for every question, `grids` for many machines.

What a post script cannot know (clamps, torque, measured thickness, stickout) comes from two small JSON files that are
laid under its request: the *side-car* beside the program, and below that the *shop profile*. `merge` says how.

    StillstockError
    |- BadInput     a file, setting or document on this side cannot be used
    |- NoService    nothing there, too slow, or what answers is not a Stillstock service
    |- Refused      the service answered with a problem document (RFC 9457)

From top to bottom: these errors; one exchange over HTTP under one deadline (`_Wire`); the client; files on this side;
merging; the gate and what it says; going ahead unchecked; grids for a list of machines; the command line (`main`).
"""

import argparse
import base64
import contextlib
import csv
import difflib
import email.utils
import http.client
import io
import json
import os
import re
import shutil
import socket
import sys
import tempfile
import threading
import time
import unicodedata
import zlib
from typing import Any, Callable, Dict, Iterable, Iterator, List, NamedTuple, Optional, Sequence, Set, Tuple, Union
from urllib.parse import quote, unquote, urlsplit

__all__ = [
    "BadInput",
    "Client",
    "GateResult",
    "NoService",
    "Refused",
    "StillstockError",
    "gate",
    "grids",
    "main",
    "merge",
]

Json = Dict[str, Any]

DEFAULT_URL = "http://127.0.0.1:8710"
HOLDS, DOES_NOT_HOLD, COULD_NOT_TELL, NO_SERVICE = 0, 1, 2, 3
VERDICTS = {"holds": HOLDS, "lets_go": DOES_NOT_HOLD, "doubtful": DOES_NOT_HOLD, "unknown": COULD_NOT_TELL}
NOT_CHECKED = b"(HOLD NOT CHECKED)"
ONE_LINE = 120  # characters that fit a message box
SHORT_URL = 28  # characters of it that show at least a host and its port
GZIP_FROM = 1024  # bytes of a request body from which packing pays
MAX_ANSWER = 64 * 1024 * 1024  # bytes, packed or unpacked
SIDE_CAR_HELP = "side-car (default: for part.nc the first of part.nc.setup.json, part.setup.json, setup.json beside it)"
PROFILE_HELP = (
    "shop profile (default: the file that STILLSTOCK_PROFILE names, ~/.stillstock.json, stillstock.json beside PROGRAM)"
)
MAX_LINES = 40  # details that are printed after the summary
FIRST_PAUSE, LONGEST_PAUSE = 0.2, 5.0  # seconds between tries, doubled each time
MEDIA_TYPES = {
    "svg": "image/svg+xml",
    "dxf": "image/vnd.dxf",
    "rs274": "text/plain",
    "text": "text/plain",
    "html": "text/html",
    "pdf": "application/pdf",
}
FILE_ENDINGS = {"rs274": "nc", "text": "txt"}
SET_UP_FIELDS = (
    *("units", "name", "stock", "bed", "machine", "zero", "tools", "holders", "cuts", "program", "loads", "parts"),
    *("required", "clearances", "cut_test", "spare", "detail", "doubt", "sheet"),
)
QUESTION_FIELDS = ("shop", "batch", "matters", "underside", "holes")  # of a recommendation alone
PURE_NUMBERS = ("required", "program", "flutes", "number", "count", "tool")  # members whose numbers have no unit
WHAT_HELPS = (
    ("stock", "stock: material, measured size and thickness, where its corner lies in the program"),
    ("bed", "bed: material and thickness of the spoilboard"),
    ("holders", "holders: which kind, where, how tall, torque or vacuum"),
    ("tools", "tools: diameter, flutes, helix and stickout of each tool that the program calls"),
)


def _ascii(text: object) -> str:
    """Return text in plain ASCII, as consoles in old code pages and message boxes can show it."""
    known = {"µ": "u", "°": " deg", "×": "x", "·": " ", "–": "-", "—": "-", "−": "-", "≥": ">=", "≤": "<=", "ß": "ss"}
    known.update({"‘": "'", "’": "'", "“": '"', "”": '"', "⁄": "/", "μ": "u", "ø": "o", "Ø": "O", "½": "1/2"})
    swapped = "".join(known.get(sign, sign) for sign in str(text))
    split = unicodedata.normalize("NFKD", swapped)
    plain = "".join(sign for sign in split if not unicodedata.combining(sign))
    return "".join(sign if " " <= sign <= "~" else " " if sign.isspace() else "?" for sign in plain)


def _one_line(text: object) -> str:
    line = " ".join(_ascii(text).split())
    return line if len(line) <= ONE_LINE else line[: ONE_LINE - 3].rstrip() + "..."


class StillstockError(Exception):
    """Root of everything that this client raises."""

    def one_line(self) -> str:
        """Return the reason in at most 120 ASCII characters, fit for a message box."""
        return _one_line(self)


class BadInput(StillstockError):
    """A file, a setting or a document on this side cannot be used."""


class NoService(StillstockError):
    """Nothing answers, it is too slow, or what answers is not a Stillstock service.

    Attributes
    ----------
    status : int or None
        HTTP status, if there was one. [-]
    """

    def __init__(self, reason: str, status: Optional[int] = None, where: str = "") -> None:
        super().__init__("no service at {}: {}".format(where, reason) if where else reason)
        self.reason, self.status, self.where = reason, status, where

    def one_line(self) -> str:
        """Return place and reason; a long URL gives way, as the end of the reason says what to do."""
        room = max(SHORT_URL, ONE_LINE - len("no service at : ") - len(_ascii(self.reason)))
        where = self.where if len(self.where) <= room else self.where[: room - 3] + "..."
        return _one_line("no service at {}: {}".format(where, self.reason) if where else self.reason)


class Refused(StillstockError):
    """The service refused the request and said why.

    Attributes
    ----------
    status : int
        HTTP status. [-]
    type, title, detail : str
        As in the problem document.
    errors : list of dict
        Every fault that was found, each with `pointer` and `detail`.
    """

    def __init__(self, status: int, problem: Json) -> None:
        self.status = status
        self.type = str(problem.get("type") or "about:blank")
        self.title = str(problem.get("title") or "refused")
        self.detail = str(problem.get("detail") or "")
        found = problem.get("errors")
        self.errors: List[Json] = [item for item in found if isinstance(item, dict)] if isinstance(found, list) else []
        super().__init__(self.detail or self.title)

    @property
    def pointer(self) -> str:
        """JSON pointer of the first fault, empty if there is none."""
        return str(self.errors[0].get("pointer") or "") if self.errors else ""

    def one_line(self) -> str:
        """Return the first fault, and how many more there are, in at most 120 ASCII characters."""
        more = " (+{} more)".format(len(self.errors) - 1) if len(self.errors) > 1 else ""
        said = str(self.errors[0].get("detail") or self) if self.errors else str(self)
        line = " ".join(_ascii(": ".join(part for part in (self.pointer, said) if part)).split())
        room = ONE_LINE - len(more)
        return (line if len(line) <= room else line[: room - 3].rstrip() + "...") + more

    def lines(self) -> List[str]:
        """Return one line for each fault, with the program's line number where it lies there."""
        return [_fault_line(item) for item in self.errors]


def _fault_line(item: Json) -> str:
    line = "line {}: ".format(item["line"]) if isinstance(item.get("line"), int) else ""
    pointer = "{}: ".format(item["pointer"]) if item.get("pointer") else ""
    better = " -> {}".format(item["corrected"]) if item.get("corrected") is not None else ""
    return line + pointer + str(item.get("detail") or item.get("code") or "fault") + better


# --- One exchange over HTTP, under one deadline -------------------------------------------------------------------


class _Broken(Exception):
    """The connection failed in a way that another try may mend."""


class _Request(NamedTuple):
    method: str
    target: str
    headers: Dict[str, str]
    body: bytes


class _Answer(NamedTuple):
    status: int
    media_type: str
    retry_after: Optional[str]
    location: Optional[str]
    body: bytes


class _Patience:
    """What is left of the overall deadline, and the longest silence of the network borne meanwhile."""

    def __init__(self, deadline: float, silence: float) -> None:
        self.end = time.monotonic() + deadline
        self.silence = silence

    def left(self) -> float:
        """Seconds left, or `socket.timeout` if there are none."""
        left = self.end - time.monotonic()
        if left <= 0.0:
            raise socket.timeout("deadline")
        return left

    def grant(self) -> float:
        """Seconds that the next wait for the network may take."""
        return min(self.left(), self.silence)


class _PatientReader(io.RawIOBase):
    """Bytes from a socket; a peer that drips one byte a second cannot stretch the deadline.

    Before its first byte a service is silent because it computes: only the deadline ends that.
    """

    def __init__(self, sock: socket.socket, patience: _Patience) -> None:
        super().__init__()
        self._sock = sock
        self._raw = sock.makefile("rb", buffering=0)
        self._patience = patience
        self._begun = False

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: Any) -> Optional[int]:
        self._sock.settimeout(self._patience.grant() if self._begun else self._patience.left())
        self._begun = True
        return self._raw.readinto(buffer)

    def close(self) -> None:
        self._raw.close()
        super().close()

    def makefile(self, _mode: str) -> io.BufferedReader:
        """Stand in for the socket that `http.client.HTTPResponse` asks for a file."""
        return io.BufferedReader(self)


def _response(sock: socket.socket, patience: _Patience, method: str) -> http.client.HTTPResponse:
    reader: Any = _PatientReader(sock, patience)
    response = http.client.HTTPResponse(reader, method=method)
    try:
        response.begin()
    except BaseException:
        response.close()
        raise
    return response


def _addresses(host: str, port: int, patience: _Patience) -> List[Any]:
    """Look the name up in a thread of its own: the system's look-up knows no timeout."""
    found: List[Any] = []
    faults: List[Exception] = []

    def look_up() -> None:
        try:
            found.extend(socket.getaddrinfo(host, port, 0, socket.SOCK_STREAM))
        except (OSError, UnicodeError) as fault:
            faults.append(fault)

    thread = threading.Thread(target=look_up)
    thread.daemon = True
    thread.start()
    thread.join(patience.grant())
    if faults:
        raise _Broken("the name {} is not known here".format(host))
    if not found:
        raise _Broken("looking up the name {} takes too long".format(host))
    return list(found)


def _dialled(found: Any, patience: _Patience) -> socket.socket:
    family, kind, protocol, _, address = found
    sock = socket.socket(family, kind, protocol)
    try:
        sock.settimeout(patience.grant())
        sock.connect(address)
    except BaseException:
        sock.close()
        raise
    return sock


def _connected(host: str, port: int, patience: _Patience) -> socket.socket:
    """Return a socket connected to the first address of the host that takes it, IPv4 or IPv6."""
    reason = ""
    for found in _addresses(host, port, patience):
        try:
            return _dialled(found, patience)
        except socket.timeout:  # noqa: PERF203 - the next address may answer
            reason = "no answer to the call"
        except OSError as fault:
            reason = _reason(fault)
    raise _Broken(reason)


def _reason(fault: BaseException) -> str:
    if isinstance(fault, ConnectionRefusedError):
        return "connection refused"
    if isinstance(fault, (ConnectionError, http.client.IncompleteRead)):
        return "the connection broke"
    return str(getattr(fault, "strerror", None) or str(fault) or type(fault).__name__)


def _pieces(body: bytes, sock: socket.socket, patience: _Patience) -> Iterator[bytes]:
    for start in range(0, len(body), 65536):
        sock.settimeout(patience.grant())
        yield body[start : start + 65536]


def _read_all(response: http.client.HTTPResponse, cap: int) -> bytes:
    pieces: List[bytes] = []
    size = 0
    while True:
        piece = response.read(65536)
        if not piece:
            break
        size += len(piece)
        if size > cap:
            raise NoService("the answer is larger than {} bytes: ask for less, or raise max_answer".format(cap))
        pieces.append(piece)
    if response.length:  # the peer stopped before the length that it had promised
        raise http.client.IncompleteRead(b"", response.length)
    return b"".join(pieces)


def _unpacked(body: bytes, cap: int) -> bytes:
    unpacker = zlib.decompressobj(16 + zlib.MAX_WBITS)
    try:
        plain = unpacker.decompress(body, cap + 1)
    except zlib.error:
        raise NoService("the answer's gzip packing is damaged: is there a faulty proxy between?") from None
    if len(plain) > cap:
        raise NoService("the answer unpacks to more than {} bytes: ask for less, or raise max_answer".format(cap))
    if not unpacker.eof:
        raise NoService("the answer's gzip packing is cut off: is there a faulty proxy between?")
    return plain


def _packed(body: bytes) -> bytes:
    packer = zlib.compressobj(6, zlib.DEFLATED, 16 + zlib.MAX_WBITS)
    return packer.compress(body) + packer.flush()


def _seconds(retry_after: Optional[str]) -> Optional[float]:
    """Read Retry-After, which is a count of seconds or a date (RFC 9110, 10.2.3)."""
    if retry_after is None:
        return None
    if re.match(r"[0-9]{1,9}\Z", retry_after.strip()):
        return float(retry_after)
    try:
        when = email.utils.parsedate_to_datetime(retry_after).timestamp()
    except (TypeError, ValueError, IndexError, OverflowError):
        return None
    return max(0.0, when - time.time())


def _server(url: str, what: str) -> Tuple[str, str, int, str, str]:
    """Split a URL into scheme, host, port, path and user part, or say what is wrong with it."""
    try:
        parts = urlsplit(url)
        host, port = parts.hostname, parts.port
    except ValueError:
        raise BadInput("{} {!r} is not a URL; write it as {}".format(what, url, DEFAULT_URL)) from None
    if parts.scheme not in ("http", "https") or not host or parts.query or parts.fragment:
        raise BadInput("{} {!r} is not a usable URL; write it as {}".format(what, url, DEFAULT_URL))
    user = parts.netloc.rpartition("@")[0]
    return parts.scheme, host, port or (443 if parts.scheme == "https" else 80), parts.path.rstrip("/"), user


class _Wire:
    """How to reach the service: address, proxy if one is asked for, certificates. Nothing is taken from the system."""

    def __init__(self, base_url: str, proxy: Optional[str], ca_file: Optional[str]) -> None:
        self.scheme, self.host, self.port, self.prefix, user = _server(base_url, "service URL")
        if user:
            raise BadInput("the service URL must not carry a user name; give the token as token")
        self.proxy = _server(proxy, "proxy") if proxy else None
        self.ca_file = ca_file

    @property
    def authority(self) -> str:
        """Host and port as they stand in a URL."""
        return "{}:{}".format("[" + self.host + "]" if ":" in self.host else self.host, self.port)

    def _proxy_headers(self) -> Dict[str, str]:
        if self.proxy is None or not self.proxy[4]:
            return {}
        return {
            "Proxy-Authorization": "Basic " + base64.b64encode(unquote(self.proxy[4]).encode("utf-8")).decode("ascii")
        }

    def _tunnel(self, sock: socket.socket, patience: _Patience) -> None:
        lines = ["CONNECT {0} HTTP/1.1".format(self.authority), "Host: {0}".format(self.authority)]
        lines += ["{}: {}".format(*item) for item in self._proxy_headers().items()]
        sock.settimeout(patience.grant())
        sock.sendall("\r\n".join([*lines, "", ""]).encode("ascii"))
        with contextlib.closing(_response(sock, patience, "CONNECT")) as response:
            status = response.status
        if status != 200:
            raise NoService(
                "the proxy will not connect to {} (status {}); check the proxy".format(self.authority, status), status
            )

    def _secured(self, sock: socket.socket, patience: _Patience) -> socket.socket:
        try:
            import ssl  # here, as some embedded interpreters come without it
        except ImportError:
            raise NoService("this Python has no TLS: use an http:// URL or another Python") from None
        try:
            context = ssl.create_default_context(cafile=self.ca_file)
        except OSError:
            raise BadInput("the certificate file {} cannot be used".format(self.ca_file)) from None
        sock.settimeout(patience.grant())
        try:
            return context.wrap_socket(sock, server_hostname=self.host)
        except (ssl.SSLError, ssl.CertificateError) as fault:
            if isinstance(fault, ssl.CertificateError) or "CERTIFICATE_VERIFY_FAILED" in str(fault):
                advice = "its certificate is not trusted; give the shop's own with --ca-file (ca_file)"
            else:
                advice = "it does not speak TLS as asked: is it an http:// service?"
            raise NoService(advice) from None

    def connect(self, patience: _Patience) -> socket.socket:
        """Return a socket that is ready for the request."""
        host, port = (self.host, self.port) if self.proxy is None else self.proxy[1:3]
        sock = _connected(host, port, patience)
        try:
            if self.scheme == "https":
                if self.proxy is not None:
                    self._tunnel(sock, patience)
                sock = self._secured(sock, patience)
        except BaseException:
            sock.close()
            raise
        return sock

    def send(self, sock: socket.socket, request: _Request, patience: _Patience) -> None:
        """Send one request over the socket."""
        connection = http.client.HTTPConnection(self.host, self.port)
        connection.sock = sock
        path, headers = self.prefix + request.target, request.headers
        if self.proxy is not None and self.scheme == "http":
            path = "http://{}{}".format(self.authority, path)
            headers = dict(headers, **self._proxy_headers())
        pieces = _pieces(request.body, sock, patience) if request.body else None
        # A service that refuses a body early has closed its ear but may have answered.
        with contextlib.suppress(BrokenPipeError, ConnectionResetError):
            connection.request(request.method, path, body=pieces, headers=headers)

    def exchange(self, request: _Request, patience: _Patience, cap: int) -> _Answer:
        """Send one request, once, and read its answer.

        Raises
        ------
        _Broken
            If the connection failed; the same request may be tried again.
        NoService
            If another try would not help.
        """
        sock: Optional[socket.socket] = None
        try:
            sock = self.connect(patience)
            self.send(sock, request, patience)
            with contextlib.closing(_response(sock, patience, request.method)) as response:
                body = _read_all(response, cap)
        except socket.timeout:
            raise NoService("it took too long: raise the deadline, or send a smaller program") from None
        except (OSError, http.client.IncompleteRead) as fault:
            raise _Broken(_reason(fault)) from None
        except (http.client.HTTPException, ValueError):
            raise NoService("what answers there does not speak HTTP as it should: check the URL and port") from None
        finally:
            if sock is not None:
                sock.close()
        if (response.getheader("Content-Encoding") or "").strip().lower() in ("gzip", "x-gzip"):
            body = _unpacked(body, cap)
        media_type = (response.getheader("Content-Type") or "").partition(";")[0].strip().lower()
        return _Answer(
            response.status, media_type, response.getheader("Retry-After"), response.getheader("Location"), body
        )


# --- The client ---------------------------------------------------------------------------------------------------


def _unique(pairs: Sequence[Tuple[str, Any]]) -> Json:
    members: Json = {}
    for name, value in pairs:
        if name in members:
            raise ValueError("the member {!r} stands there twice".format(name))
        members[name] = value
    return members


def _no_constant(word: str) -> None:
    raise ValueError("{} is not a number that JSON knows".format(word))


def _object(text: str) -> Json:
    """Read one JSON object; duplicate members, NaN and Infinity are refused with ValueError."""
    try:
        document = json.loads(text, object_pairs_hook=_unique, parse_constant=_no_constant)
    except RecursionError:
        raise ValueError("it is nested too deep") from None
    if not isinstance(document, dict):
        raise ValueError("the outermost value must be an object in braces")
    return document


def _answered_object(answer: _Answer) -> Optional[Json]:
    if answer.media_type not in ("application/json", "application/problem+json"):
        return None
    try:
        return _object(answer.body.decode("utf-8"))
    except ValueError:
        return None


class Client:
    """Asks one Stillstock service; every method is one endpoint.

    Parameters
    ----------
    base_url : str
        Where the service is.
    token : str or None
        Bearer token, if the service asks for one.
    timeout : float
        Longest silence of the network that is borne; a service that computes is silent for longer. [s]
    deadline : float
        For a whole call, over all its tries. [s]
    proxy : str or None
        URL of an HTTP proxy. The system's and the environment's proxies are never used: they would swallow calls to
        this very machine.
    retries : int
        How often a call is tried again after a broken connection, 429, 502 or 503 (requests are pure, so that is
        safe). [-]
    ca_file : str or None
        Certificates (PEM) to trust in place of the system's.
    max_answer : int
        Largest answer that is taken, in bytes. [-]
    """

    def __init__(  # noqa: PLR0913 - each is one setting, by keyword
        self,
        base_url: str = DEFAULT_URL,
        token: Optional[str] = None,
        timeout: float = 10.0,
        deadline: float = 120.0,
        proxy: Optional[str] = None,
        retries: int = 3,
        ca_file: Optional[str] = None,
        max_answer: int = MAX_ANSWER,
    ) -> None:
        if token is not None and not re.match(r"[!-~]+\Z", token):
            raise BadInput("the token must be printable ASCII without blanks: check the token file")
        if not (timeout > 0.0 and deadline > 0.0):
            raise BadInput("timeout and deadline must be more than 0 seconds")
        if retries < 0:
            raise BadInput("retries must not be negative")
        self.base_url = base_url
        self.timeout, self.deadline, self.retries, self.max_answer = timeout, deadline, retries, max_answer
        self._token = token
        self._wire = _Wire(base_url, proxy, ca_file)

    # -- endpoints

    def margin(self, set_up: Json, format: Optional[str] = None) -> Any:  # noqa: A002 - the query's own word
        """Ask whether the stock will stay still.

        Parameters
        ----------
        set_up : dict
            Set-up document.
        format : str or None
            None for the answer as a dict; ``"svg"``, ``"text"`` ... for that as bytes.

        Returns
        -------
        dict or bytes
        """
        return self._post("/v1/margin", set_up, format)

    def recommendation(self, question: Json, format: Optional[str] = None) -> Any:  # noqa: A002 - as in margin
        """Ask which ways of holding would do, ranked; a question is a set-up without holders, with a `shop`."""
        return self._post("/v1/recommendation", question, format)

    def retract_height(self, set_up: Json, format: Optional[str] = None) -> Any:  # noqa: A002 - as in margin
        """Ask for safe heights, and for every move that meets what stands on the table."""
        return self._post("/v1/retract-height", set_up, format)

    def grid(self, grid: Json, format: Optional[str] = None) -> Any:  # noqa: A002 - as in margin
        """Ask for the marks of a spoilboard grid; ``"svg"``, ``"dxf"`` or ``"rs274"`` for a file's bytes."""
        return self._post("/v1/grid", grid, format)

    def positions(self, parts: Json, format: Optional[str] = None) -> Any:  # noqa: A002 - as in margin
        """Ask where repeat parts lie and how closely they come back; ``"rs274"`` for their work offsets' bytes."""
        return self._post("/v1/positions", parts, format)

    def sheet(self, set_up: Json, format: Optional[str] = None) -> Any:  # noqa: A002 - as in margin
        """Ask for the set-up sheet; ``"html"`` or ``"pdf"`` for a printable one's bytes."""
        return self._post("/v1/sheet", set_up, format)

    def cutting_force(self, set_up: Json, format: Optional[str] = None) -> Any:  # noqa: A002 - as in margin
        """Ask how hard the tool will pull."""
        return self._post("/v1/cutting-force", set_up, format)

    def materials(self) -> Json:
        """Return the materials that the service knows."""
        return self._get("/v1/materials")

    def holders(self, kind: Optional[str] = None) -> Json:
        """Return the kinds of holder, or what may be said about one of them."""
        return self._get("/v1/holders" if kind is None else "/v1/holders/" + quote(kind, safe=""))

    def sources(self) -> Json:
        """Return the sources of all numbers."""
        return self._get("/v1/sources")

    def limits(self) -> Json:
        """Return the service's limits."""
        return self._get("/v1/limits")

    def health(self) -> Json:
        """Return whether the service is alive."""
        return self._get("/healthz")

    def corrected_heights(self, set_up: Json) -> Dict[str, float]:
        """Return the heights that a post script should set, in the document's units.

        Returns
        -------
        dict
            `clearance`, over everything for the whole job, and `retract`, between the cuts of one operation.
        """
        answer = self.retract_height(set_up)
        heights = {}
        for name in ("clearance", "retract"):
            value = answer.get(name)
            if isinstance(value, bool) or not isinstance(value, (int, float)):
                raise self._fault("its answer states no {} height: is the service older than this file?".format(name))
            heights[name] = float(value)
        return heights

    # -- how they are asked

    def _fault(self, reason: str, status: Optional[int] = None) -> NoService:
        return NoService(reason, status, self.base_url)

    def _headers(self) -> Dict[str, str]:
        headers = {"Accept-Encoding": "gzip", "Connection": "close", "User-Agent": "stillstock-client"}
        if self._token is not None:
            headers["Authorization"] = "Bearer " + self._token
        return headers

    def _get(self, target: str) -> Json:
        request = _Request("GET", target, dict(self._headers(), Accept="application/json"), b"")
        return self._document(self._call(request))

    def _post(self, target: str, document: Json, form: Optional[str]) -> Any:
        try:
            body = json.dumps(document, allow_nan=False).encode("ascii")
        except (TypeError, ValueError, RecursionError) as fault:
            raise BadInput("the document cannot be written as JSON: {}".format(fault)) from None
        headers = dict(self._headers(), **{"Content-Type": "application/json", "Accept": "application/json"})
        if len(body) > GZIP_FROM:
            body = _packed(body)
            headers["Content-Encoding"] = "gzip"
        headers["Content-Length"] = str(len(body))
        if form is None or form == "json":
            return self._document(self._call(_Request("POST", target, headers, body)))
        if form not in MEDIA_TYPES:
            raise BadInput("unknown format {!r}; known: {}".format(form, ", ".join(sorted(MEDIA_TYPES))))
        headers["Accept"] = "*/*"
        answer = self._call(_Request("POST", target + "?format=" + form, headers, body))
        if answer.media_type != MEDIA_TYPES[form]:
            raise self._fault("it answers {} in place of {}".format(answer.media_type or "no type", MEDIA_TYPES[form]))
        return answer.body

    def _call(self, request: _Request) -> _Answer:
        """Try until there is an answer, no try is left, or the deadline would pass while waiting."""
        patience = _Patience(self.deadline, self.timeout)
        tries_left, own_pause = self.retries, FIRST_PAUSE
        while True:
            pause, status = own_pause, None  # type: float, Optional[int]
            try:
                answer = self._wire.exchange(request, patience, self.max_answer)
            except _Broken as fault:
                reason = "{}; start it, or check the URL".format(fault)
            except NoService as fault:
                raise self._fault(fault.reason, fault.status) from None
            else:
                if answer.status not in (429, 502, 503):
                    return self._judged(answer)
                status, asked = answer.status, _seconds(answer.retry_after)
                pause = pause if asked is None else asked
                reason = "busy or restarting (status {}); try again later".format(status)
            if tries_left == 0 or time.monotonic() + pause >= patience.end:
                raise self._fault(reason, status)
            time.sleep(pause)
            tries_left, own_pause = tries_left - 1, min(2.0 * own_pause, LONGEST_PAUSE)

    def _judged(self, answer: _Answer) -> _Answer:
        """Return an answer that is one; raise what any other means."""
        status = answer.status
        if 200 <= status < 300:
            return answer
        if 300 <= status < 400:
            raise self._fault("it points to {}; use that URL".format(answer.location or "another place"), status)
        problem = _answered_object(answer) if answer.media_type == "application/problem+json" else None
        if problem is not None and status < 500:
            raise Refused(status, problem)
        if status >= 500:
            raise self._fault("it failed (status {}); see its log".format(status), status)
        raise self._fault("status {} without a reason; check URL, and any proxy between".format(status), status)

    def _document(self, answer: _Answer) -> Json:
        document = _answered_object(answer)
        if document is None:
            raise self._fault("what answers there is no Stillstock service; check the URL and port")
        return document


# --- Files on this side -------------------------------------------------------------------------------------------


def _short(path: str) -> str:
    """Return the end of a path, so that the reason after it still fits a message box."""
    return path if len(path) <= 40 else "..." + path[-37:]


def _bytes_of(path: str, what: str) -> bytes:
    try:
        with open(path, "rb") as file:
            return file.read()
    except OSError as fault:
        raise BadInput("{} {} cannot be read: {}".format(what, _short(path), _reason(fault))) from None


def _text_of(raw: bytes, what: str) -> str:
    """Decode a file: UTF-8, else the code page of western Windows; line ends stay as they are."""
    if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise BadInput("{} is written as UTF-16: save it as ASCII or UTF-8".format(what))
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        return raw.decode("cp1252", "replace")


def _read_object(path: str, what: str) -> Json:
    text = _text_of(_bytes_of(path, what), what)
    try:
        return _object(text)
    except ValueError as fault:
        raise BadInput("{} {}: {}".format(what, _short(path), fault)) from None


def _write_whole(path: str, content: bytes) -> None:
    """Write a file all at once or not at all: a neighbour is filled first and then takes its name."""
    goal = os.path.realpath(path)
    temporary = ""
    try:
        handle, temporary = tempfile.mkstemp(dir=os.path.dirname(goal), prefix=".stillstock-", suffix=".tmp")
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        _take_mode(goal, temporary)
        os.replace(temporary, goal)
        temporary = ""
    except OSError as fault:
        raise BadInput("{} cannot be written: {}".format(_short(path), _reason(fault))) from None
    finally:
        if temporary:
            os.unlink(temporary)


def _take_mode(goal: str, temporary: str) -> None:
    if os.path.exists(goal):
        shutil.copymode(goal, temporary)
    else:
        mask = os.umask(0)
        os.umask(mask)
        os.chmod(temporary, 0o666 & ~mask)


def _first_file(candidates: Iterable[str]) -> Optional[str]:
    return next((path for path in candidates if os.path.isfile(path)), None)


def _side_car_path(program_path: str) -> Optional[str]:
    folder = os.path.dirname(os.path.abspath(program_path))
    stem = os.path.splitext(program_path)[0]
    return _first_file([program_path + ".setup.json", stem + ".setup.json", os.path.join(folder, "setup.json")])


def _profile_path(program_path: str) -> Optional[str]:
    named = os.environ.get("STILLSTOCK_PROFILE")
    if named:
        return named  # if it is not there, that is an error and not a reason to look further
    folder = os.path.dirname(os.path.abspath(program_path))
    home = os.path.join(os.path.expanduser("~"), ".stillstock.json")
    return _first_file([home, os.path.join(folder, "stillstock.json")])


# --- Merging ------------------------------------------------------------------------------------------------------


def merge(profile: Optional[Json], side_car: Optional[Json], request: Optional[Json]) -> Json:
    """Lay the shop profile under the side-car, and both under the request.

    Objects are merged member by member, at any depth; of everything else, **lists too**, the upper one replaces the
    lower one whole. So a side-car that names one holder names them all, and ``null`` wipes out what lies below.
    Nothing is converted: bare numbers keep the meaning that `units` gives them.

    Parameters
    ----------
    profile, side_car, request : dict or None
        Set-up documents, each perhaps only a part of one. They are not changed.

    Returns
    -------
    dict
        The whole set-up document.

    Raises
    ------
    BadInput
        If `units` disagree, or if one has bare numbers and leaves it to another to say what they are.

    Examples
    --------
    >>> merge({"bed": {"material": "mdf", "thickness": "18 mm"}}, {"bed": {"thickness": "16.2 mm"}}, {"units": "inch"})
    {'bed': {'material': 'mdf', 'thickness': '16.2 mm'}, 'units': 'inch'}
    """
    layers = [("shop profile", profile or {}), ("side-car", side_car or {}), ("request", request or {})]
    _same_units(layers)
    merged: Json = {}
    for _, layer in layers:
        merged = _laid(merged, layer)
    return merged


def _laid(below: Json, above: Json) -> Json:
    merged = dict(below)
    for name, value in above.items():
        under = merged.get(name)
        merged[name] = _laid(under, value) if isinstance(under, dict) and isinstance(value, dict) else value
    return merged


def _same_units(layers: Sequence[Tuple[str, Json]]) -> None:
    stated = [(name, layer["units"]) for name, layer in layers if layer.get("units") is not None]
    for name, units in stated[1:]:
        if units != stated[0][1]:
            raise BadInput(
                "units disagree: {} in the {}, {} in the {}; write one of them anew, nothing is converted".format(
                    stated[0][1], stated[0][0], units, name
                )
            )
    if not stated:
        return  # the service refuses that, and says so
    for name, layer in layers:
        if layer.get("units") is None and _has_bare_number(layer):
            raise BadInput(
                "the {} says {} but the {} has bare numbers and no units; add its units to it".format(
                    stated[0][0], stated[0][1], name
                )
            )


def _has_bare_number(value: Any) -> bool:
    if isinstance(value, dict):
        return any(_has_bare_number(member) for name, member in value.items() if name not in PURE_NUMBERS)
    if isinstance(value, list):
        return any(_has_bare_number(item) for item in value)
    return isinstance(value, (int, float)) and not isinstance(value, bool)


# --- The gate -----------------------------------------------------------------------------------------------------


class GateResult(NamedTuple):
    """What the gate found.

    Attributes
    ----------
    code : int
        0 holds, 1 does not, 2 could not tell, 3 no service. [-]
    verdict : str
        The service's word, ``"unknown"`` where there is none, ``"not_checked"`` after an override.
    summary : str
        One ASCII line of at most 120 characters.
    lines : list of str
        Details in ASCII; line numbers are those of the caller's file.
    answer : dict or None
        The service's whole answer to the question for the margin.
    """

    code: int
    verdict: str
    summary: str
    lines: List[str]
    answer: Optional[Json]


def gate(  # noqa: PLR0913 - each is one setting, by keyword
    program_path: str,
    side_car: Union[str, Json, None] = None,
    profile: Union[str, Json, None] = None,
    client: Optional[Client] = None,
    accept_doubt: bool = False,
    override: Union[str, bool, None] = None,
    request: Optional[Json] = None,
    retract: bool = True,
) -> GateResult:
    """Ask whether the stock will stay still under a program; whatever goes wrong, the gate stays shut.

    Parameters
    ----------
    program_path : str
        The program, in UTF-8 or code page 1252. It is only read.
    side_car, profile : str, dict or None
        Path or document. If None they are looked for: ``<program>.setup.json``, the same without the program's ending,
        ``setup.json`` beside it; ``$STILLSTOCK_PROFILE``, ``~/.stillstock.json``, ``stillstock.json`` beside it.
    client : Client or None
        None asks the service on this machine.
    accept_doubt : bool
        Let ``doubtful`` pass.
    override : str, bool or None
        Reason to go ahead without asking, for this run. Writes the line ``(HOLD NOT CHECKED)`` into the program.
    request : dict or None
        What the post script itself knows (tools, nominal stock); it is laid over side-car and profile.
    retract : bool
        Also fail where the tool would meet a holder, the stock, the bed or a limit.

    Returns
    -------
    GateResult
    """
    try:
        if override:
            return _overridden(program_path, "no reason given" if override is True else override)
        used, document = _gate_document(program_path, side_car, profile, request)
        asked = client if client is not None else Client()
    except StillstockError as fault:
        return _fault_result(fault)
    try:
        result = _margin_result(asked, document, accept_doubt)
        if retract:
            result = _worse(result, _retract_result(asked, document))
    except StillstockError as fault:
        result = _fault_result(fault)
    missing = [advice for name, advice in WHAT_HELPS if not _stated(document, name)]
    if missing and result.code != NO_SERVICE:
        result = _short_of_facts(result, missing)
    return result._replace(lines=[_ascii(line) for line in result.lines + used])


def _stated(document: Json, name: str) -> bool:
    """Whether the caller said anything; an empty list of holders is a statement, an absent one is not."""
    return document.get(name) is not None


def _gate_document(
    program_path: str, side_car: Union[str, Json, None], profile: Union[str, Json, None], request: Optional[Json]
) -> Tuple[List[str], Json]:
    text = _text_of(_bytes_of(program_path, "program"), "the program")
    used: List[str] = []
    layers: List[Optional[Json]] = []
    for what, given, look in (("shop profile", profile, _profile_path), ("side-car", side_car, _side_car_path)):
        note, layer = _layer(what, given, look, program_path)
        used.append(note)
        layers.append(layer)
    if NOT_CHECKED.decode("ascii") in text:
        used.append("the program still carries {} from an earlier run".format(NOT_CHECKED.decode("ascii")))
    merged = merge(layers[0], layers[1], _laid(request or {}, {"program": {"text": text}}))
    return used, {name: value for name, value in merged.items() if name not in QUESTION_FIELDS}


def _layer(
    what: str, given: Union[str, Json, None], look: Callable[[str], Optional[str]], program_path: str
) -> Tuple[str, Optional[Json]]:
    if isinstance(given, dict):
        return "{}: given by the caller".format(what), given
    path = given if given is not None else look(program_path)
    if path is None:
        return "{}: none found".format(what), None
    return "{}: {}".format(what, path), _read_object(path, what)


def _margin_result(client: Client, document: Json, accept_doubt: bool) -> GateResult:
    answer = client.margin(document)
    verdict = _verdict(client, answer)
    code = HOLDS if verdict == "doubtful" and accept_doubt else VERDICTS[verdict]
    return GateResult(code, verdict, _one_line(answer.get("summary") or verdict), _details(answer), answer)


def _verdict(client: Client, answer: Json) -> str:
    verdict = answer.get("verdict")
    if not isinstance(verdict, str) or verdict not in VERDICTS:
        raise NoService("no service at {}: its answer has no verdict; check the URL".format(client.base_url))
    return verdict


def _retract_result(client: Client, document: Json) -> GateResult:
    try:
        answer = client.retract_height(document)
    except (NoService, Refused) as fault:
        if fault.status != 404:
            raise
        return _way_not_told("the service does not answer that")
    meetings = answer.get("meetings")
    if not isinstance(meetings, list):
        return _way_not_told("the answer lists no meetings")
    if meetings:
        summary = _one_line("the tool meets something: {}".format(_item(meetings[0])))
        return GateResult(DOES_NOT_HOLD, "lets_go", summary, ["meets: " + _item(item) for item in meetings], None)
    if answer.get("verdict") == "unknown":  # nothing met, yet not all was understood
        summary = _one_line(answer.get("summary") or "could not tell what the tool meets")
        return GateResult(COULD_NOT_TELL, "unknown", summary, [], None)
    lines = ["the tool meets nothing on its way"]
    if answer.get("verdict") == "doubtful":
        lines.append("caution: on its way, {}".format(answer.get("summary", "doubtful")))
    return GateResult(HOLDS, "holds", "the tool meets nothing", lines, None)


def _way_not_told(reason: str) -> GateResult:
    summary = "could not tell whether the tool meets a holder: {}".format(reason)
    return GateResult(COULD_NOT_TELL, "unknown", summary, [], None)


def _worse(margin: GateResult, retract: GateResult) -> GateResult:
    """Join two results: a sure no outweighs a doubt, a doubt outweighs a pass."""
    rank = [HOLDS, COULD_NOT_TELL, DOES_NOT_HOLD]
    if rank.index(retract.code) > rank.index(margin.code):
        return margin._replace(
            code=retract.code,
            verdict=retract.verdict,
            summary=retract.summary,
            lines=[margin.summary, *retract.lines, *margin.lines],
        )
    return margin._replace(lines=retract.lines + margin.lines)


def _short_of_facts(result: GateResult, missing: List[str]) -> GateResult:
    names = ", ".join(line.partition(":")[0] for line in missing)
    helps = ["would help most: " + line for line in missing]
    if result.code == DOES_NOT_HOLD:
        return result._replace(lines=helps + result.lines)
    summary = _one_line("could not tell: nothing is said about {}; put it into a side-car".format(names))
    return result._replace(code=COULD_NOT_TELL, verdict="unknown", summary=summary, lines=helps + result.lines)


def _fault_result(fault: StillstockError) -> GateResult:
    if isinstance(fault, NoService):
        return GateResult(NO_SERVICE, "unknown", fault.one_line(), [_ascii(fault)], None)
    summary = _one_line("could not tell: " + fault.one_line())
    lines = fault.lines() or [str(fault)] if isinstance(fault, Refused) else [str(fault)]
    return GateResult(COULD_NOT_TELL, "unknown", summary, [_ascii(line) for line in lines], None)


def _list(value: Any) -> List[Any]:
    return value if isinstance(value, list) else []


def _item(value: Any) -> str:
    """Return one remedy, caution or meeting as a line, whatever its shape."""
    if not isinstance(value, dict):
        return str(value)
    line = "line {}: ".format(value["line"]) if isinstance(value.get("line"), int) and value["line"] > 0 else ""
    said = next((value[key] for key in ("summary", "what", "detail", "text", "name") if value.get(key)), None)
    rest = ", ".join("{} {}".format(key, _plain(item)) for key, item in value.items() if key != "line")
    return line + (str(said) if said is not None else rest)


def _failing(check: Json) -> str:
    """Return a check that is not in order as a line: both numbers at the ends of their scatter that make it worst."""
    holder, unit = check.get("holder"), check.get("unit")
    of = " of holder {}".format(holder + 1) if isinstance(holder, int) else ""
    tail = " " + _plain(unit) if isinstance(unit, str) and unit else ""
    name, value, limit = (_plain(check.get(key)) for key in ("name", "value", "limit"))
    return "fails: {}{}: at worst {}{}, limit {}{}".format(name, of, value, tail, limit, tail)


def _details(answer: Json) -> List[str]:
    lines = []
    margin = answer.get("margin")
    if isinstance(margin, dict):
        said = ["{} {}".format(key, _figure(margin, key)) for key in ("typical", "pessimistic", "required")]
        lines.append("margin: " + ", ".join(said))
    worst = answer.get("worst")
    if isinstance(worst, dict):
        lines.append("worst: " + _where(worst))
    checks = [item for item in _list(answer.get("checks")) if isinstance(item, dict) and item.get("ok") is not True]
    lines.extend(_failing(item) for item in checks)
    for key, word in (("remedies", "would help: "), ("cautions", "caution: "), ("warnings", "caution: ")):
        lines.extend(word + _item(item) for item in _list(answer.get(key)))
    if len(lines) > MAX_LINES:
        lines[MAX_LINES:] = ["and {} more".format(len(lines) - MAX_LINES)]
    if answer.get("fingerprint"):
        lines.append("fingerprint: {}".format(answer["fingerprint"]))
    return lines


def _figure(margin: Json, key: str) -> str:
    value = margin.get(key)
    if value is None:
        return "unlimited" if margin.get("unlimited") is True else "not known"
    return "{:.3g}".format(value) if isinstance(value, (int, float)) else str(value)


def _where(worst: Json) -> str:
    parts = ["{} {}".format(key, _plain(worst[key])) for key in ("line", "cut", "at", "force") if worst.get(key)]
    return ", ".join(parts)


def _plain(value: Any) -> str:
    """Return a value with its numbers rounded to what a person at the machine can use."""
    if isinstance(value, list):
        return "[{}]".format(", ".join(_plain(item) for item in value))
    return "{:.4g}".format(value) if isinstance(value, float) else str(value)


# --- Going ahead unchecked ----------------------------------------------------------------------------------------


def _overridden(program_path: str, reason: str) -> GateResult:
    raw = _bytes_of(program_path, "program")
    _text_of(raw, "the program")  # refuses UTF-16, into which the line would not fit
    marked = _marked(raw)
    if marked != raw:
        _write_whole(program_path, marked)
    summary = _one_line("hold not checked: {}".format(reason))
    where = "the program carries {}".format(NOT_CHECKED.decode("ascii"))
    return GateResult(HOLDS, "not_checked", summary, [where], None)


def _marked(raw: bytes) -> bytes:
    """Return the program with the line that says it was not checked, after a leading ``%`` and O-number."""
    mark = b"\xef\xbb\xbf" if raw.startswith(b"\xef\xbb\xbf") else b""
    body = raw[len(mark) :]
    lines = re.findall(rb"[^\r\n]*(?:\r\n|\r|\n)|[^\r\n]+\Z", body)
    if any(line.strip() == NOT_CHECKED for line in lines):
        return raw
    found = re.search(rb"\r\n|\r|\n", body)
    ending = found.group() if found else b"\n"
    place = _after_heading(lines)
    before = b"".join(lines[:place])
    gap = ending if before and not before.endswith((b"\r", b"\n")) else b""
    return mark + before + gap + NOT_CHECKED + ending + b"".join(lines[place:])


def _after_heading(lines: Sequence[bytes]) -> int:
    place = 0
    for number, line in enumerate(lines):
        word = line.strip()
        if word.startswith(b"%") or re.match(rb"(?:[Nn][0-9]+\s*)?[Oo:][0-9]+", word):
            place = number + 1
        elif word:
            break
    return place


# --- Grids for a list of machines ---------------------------------------------------------------------------------


class _Column(NamedTuple):
    name: str
    unit: str


def _columns(header: Sequence[str]) -> List[_Column]:
    """Read headings such as ``width [mm]``; dots lead into objects, ``size.0`` into a list."""
    columns = []
    for heading in header:
        match = re.match(r"\s*([A-Za-z0-9_.]+)\s*(?:\[\s*([^\]]+?)\s*\])?\s*\Z", heading)
        if match is None:
            raise BadInput("heading {!r} cannot be read; write it as width [mm]".format(heading))
        columns.append(_Column(match.group(1), match.group(2) or ""))
    names = [column.name for column in columns]
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise BadInput("two columns have the name {}".format(twice[0]))
    return columns


def _table(csv_path: str) -> Tuple[List[_Column], List[Tuple[int, List[str]]]]:
    """Return columns and rows, each row with its line number; semicolons serve too, as some spreadsheets write them."""
    text = _text_of(_bytes_of(csv_path, "table"), "the table")
    first = text.partition("\n")[0]
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=";" if first.count(";") > first.count(",") else ",")
    rows: List[Tuple[int, List[str]]] = []
    try:
        filled = ((reader.line_num, [cell.strip() for cell in row]) for row in reader)
        rows.extend((line, cells) for line, cells in filled if any(cells))
    except csv.Error as fault:
        raise BadInput("table {}, line {}: {}".format(csv_path, reader.line_num, fault)) from None
    if not rows:
        raise BadInput("table {} is empty".format(csv_path))
    return _columns(rows[0][1]), rows[1:]


def _cell_value(cell: str, unit: str) -> Any:
    if unit:
        if re.search(r"[A-Za-z\"']", cell):
            raise BadInput("{!r} states a unit, and so does its heading; leave one of them out".format(cell))
        return "{} {}".format(cell, unit)
    if cell in ("true", "false"):
        return cell == "true"
    if re.match(r"-?(?:0|[1-9][0-9]{0,14})\Z", cell):
        return int(cell)
    if re.match(r"-?[0-9]{1,15}\.[0-9]{1,15}\Z", cell):
        return float(cell)
    return cell


def _put(document: Json, name: str, value: Any) -> None:
    *folders, last = name.split(".")
    for folder in folders:
        document = document.setdefault(folder, {})
        if not isinstance(document, dict):
            raise BadInput("the column {} lies inside another column's value".format(name))
    document[last] = value


def _with_lists(value: Any) -> Any:
    """Turn objects whose members are 0, 1, 2 ... into lists."""
    if not isinstance(value, dict):
        return value
    members = {name: _with_lists(member) for name, member in value.items()}
    numbers = [str(number) for number in range(len(members))]
    return [members[number] for number in numbers] if members and set(members) == set(numbers) else members


def _row_document(columns: Sequence[_Column], row: Sequence[str], base: Json) -> Json:
    if len(row) != len(columns):
        raise BadInput("{} cells under {} headings".format(len(row), len(columns)))
    document: Json = {}
    for column, cell in zip(columns, row):
        if cell and column.name != "name":
            _put(document, column.name, _cell_value(cell, column.unit))
    return _laid(base, _with_lists(document))


def _file_name(template: str, columns: Sequence[_Column], row: Sequence[str], ending: str) -> str:
    """Fill a template such as ``{name}_{pitch}.{ext}``; lengths bring their unit along."""
    words = {column.name: cell + column.unit for column, cell in zip(columns, row)}
    words["ext"] = ending

    def word(match: "re.Match[str]") -> str:
        return re.sub(r"[^\w.+-]+", "-", words[match.group(1)]).strip("-. ")

    name = re.sub(r"\{([^{}]+)\}", word, template)
    if not name.strip("._-") or name.startswith("."):
        raise BadInput("the file name {!r} that comes out of the template is not usable".format(name))
    return name


def _check_template(template: str, columns: Sequence[_Column]) -> None:
    known = {column.name for column in columns} | {"ext"}
    unknown = [name for name in re.findall(r"\{([^{}]+)\}", template) if name not in known]
    if unknown:
        raise BadInput("the template asks for {{{}}}, the table has: {}".format(unknown[0], ", ".join(sorted(known))))
    if "/" in template or "\\" in template:
        raise BadInput("the template is a file name without folders; give the folder with --out-dir")


class GridsResult(NamedTuple):
    """What became of a list of machines.

    Attributes
    ----------
    code : int
        0 if every row has its file, 3 if a row found no service, 2 otherwise. [-]
    written : list of str
        Paths of the files.
    failed : list of str
        One line for each row that failed: its line in the table, and why.
    """

    code: int
    written: List[str]
    failed: List[str]


def grids(
    csv_path: str,
    out_dir: str,
    client: Optional[Client] = None,
    form: str = "svg",
    template: str = "{name}.{ext}",
    base: Optional[Json] = None,
    progress: Callable[[str], None] = lambda _line: None,
) -> GridsResult:
    """Make one grid file for each row of a table; a row that fails stops no other.

    Parameters
    ----------
    csv_path : str
        Table with units in its headings, as ``width [mm]``; the column `name` serves for file names only.
    out_dir : str
        Folder that exists.
    client : Client or None
        None asks the service on this machine.
    form : str
        ``"svg"``, ``"dxf"``, ``"rs274"`` or ``"json"``.
    template : str
        File name, with columns in braces.
    base : dict or None
        Grid document that lies under each row.
    progress : callable
        Gets one line after each row.

    Returns
    -------
    GridsResult
    """
    asked = client if client is not None else Client()
    columns, rows = _table(csv_path)
    _check_template(template, columns)
    code = HOLDS
    written: List[str] = []
    failed: List[str] = []
    taken: Set[str] = set()
    for count, (line, row) in enumerate(rows, 1):
        try:
            document = _row_document(columns, row, base or {})
            name = _file_name(template, columns, row, FILE_ENDINGS.get(form, form))
            if name.lower() in taken:
                raise BadInput("another row has taken the file name {}".format(name))
            taken.add(name.lower())
            path = os.path.join(out_dir, name)
            _write_whole(path, _grid_bytes(asked, document, form))
            written.append(path)
            said = name
        except StillstockError as fault:
            code = max(code, NO_SERVICE if isinstance(fault, NoService) else COULD_NOT_TELL)
            said = "line {}: {}".format(line, fault.one_line())
            failed.append(said)
        progress("{}/{} {}".format(count, len(rows), said))
    return GridsResult(code, written, failed)


def _grid_bytes(client: Client, document: Json, form: str) -> bytes:
    answer = client.grid(document, form)
    return answer if isinstance(answer, bytes) else (json.dumps(answer, indent=1) + "\n").encode("ascii")


# --- Command line -------------------------------------------------------------------------------------------------


def _say(text: object, stream: Any) -> None:
    if stream is not None:  # programs without a console have none
        stream.write(_ascii(text) + "\n")
        stream.flush()


def _report(result: GateResult, as_json: bool) -> int:
    if as_json:
        _say(json.dumps(result._asdict()), sys.stdout)
    else:
        _say(result.summary, sys.stdout)
        for line in result.lines:
            _say("  " + line, sys.stdout)
    return result.code


def _client_of(options: argparse.Namespace) -> Client:
    token = None
    if options.token_file:
        token = _text_of(_bytes_of(options.token_file, "token file"), "the token file").strip()
    return Client(
        options.url,
        token=token,
        timeout=options.timeout,
        deadline=options.deadline,
        proxy=options.proxy,
        ca_file=options.ca_file,
    )


def _gate_command(options: argparse.Namespace) -> int:
    result = gate(
        options.program,
        side_car=options.setup,
        profile=options.profile,
        client=_client_of(options),
        accept_doubt=options.accept_doubt,
        override=options.override,
        retract=not options.hold_only,
    )
    return _report(result, options.json)


def _margin_command(options: argparse.Namespace) -> int:
    if options.format and not options.out:
        raise BadInput("--format needs --out FILE")
    client = _client_of(options)
    document = _read_object(options.setup, "set-up")
    result = _margin_result(client, document, options.accept_doubt)
    if options.format:
        _write_whole(options.out, client.margin(document, options.format))
        result.lines.append("written: {}".format(options.out))
    return _report(result, options.json)


def _recommend_command(options: argparse.Namespace) -> int:
    profile = _read_object(options.profile, "shop profile") if options.profile else None
    client = _client_of(options)
    answer = client.recommendation(merge(profile, None, _read_object(options.question, "question")))
    verdict = _verdict(client, answer)
    ranked = _list(answer.get("ranked"))
    result = GateResult(
        code=VERDICTS[verdict],
        verdict=verdict,
        summary=_one_line(answer.get("summary", "")),
        lines=[_ascii(line) for line in _choices(ranked, _list(answer.get("ruled_out")), _list(answer.get("missing")))],
        answer=answer,
    )
    if options.out and ranked:
        content = json.dumps(ranked[0].get("set_up"), indent=2, ensure_ascii=False) + "\n"
        _write_whole(options.out, content.encode("utf-8"))
        result.lines.append("written: {}".format(options.out))
    return _report(result, options.json)


def _choices(ranked: List[Any], ruled_out: List[Any], missing: List[Any]) -> List[str]:
    """Return a line for each way of holding, the best first, and for each that is out."""
    lines = []
    for place, one in enumerate(ranked, 1):
        minutes = one["effort"]["time_per_piece"]["typical"] / 60.0
        margin = _figure(one["margin"], "typical")
        lines.append(
            "{}. {}: {}, {} times, {:.1f} min a piece".format(place, one["title"], one["verdict"], margin, minutes)
        )
    lines += ["out: {}: {}".format(one["title"], one["reason"]["detail"]) for one in ruled_out]
    return lines + ["missing: {}".format(line) for line in missing]


def _grid_command(options: argparse.Namespace) -> int:
    content = _grid_bytes(_client_of(options), _read_object(options.grid, "grid"), options.format)
    _write_whole(options.out, content)
    _say("written: {}".format(options.out), sys.stdout)
    return HOLDS


def _grids_command(options: argparse.Namespace) -> int:
    base = _read_object(options.base, "base") if options.base else None
    if not os.path.isdir(options.out_dir):
        raise BadInput("the folder {} is not there".format(options.out_dir))
    result = grids(
        options.table,
        options.out_dir,
        client=_client_of(options),
        form=options.format,
        template=options.template,
        base=base,
        progress=lambda line: _say(line, sys.stderr),
    )
    total = len(result.written) + len(result.failed)
    _say("{} of {} grids written to {}".format(len(result.written), total, options.out_dir), sys.stdout)
    for line in result.failed:
        _say("  failed: " + line, sys.stdout)
    return result.code


def _check_command(options: argparse.Namespace) -> int:
    document = _read_object(options.file, "file")
    faults = []
    for name in document:
        if name not in SET_UP_FIELDS + QUESTION_FIELDS:
            near = difflib.get_close_matches(name, SET_UP_FIELDS + QUESTION_FIELDS, 1)
            faults.append("unknown field {!r}{}".format(name, "; did you mean {!r}?".format(near[0]) if near else ""))
    if not faults:
        _say("well-formed: {}".format(options.file), sys.stdout)
        return HOLDS
    _say("{} unknown field(s): {}".format(len(faults), options.file), sys.stdout)
    for line in faults:
        _say("  " + line, sys.stdout)
    return COULD_NOT_TELL


def _service_options(parser: argparse.ArgumentParser, deadline: float = 120.0) -> None:
    url = os.environ.get("STILLSTOCK_URL") or DEFAULT_URL
    parser.add_argument("--url", default=url, help="where the service is (default: STILLSTOCK_URL or %(default)s)")
    parser.add_argument("--token-file", help="file that holds the bearer token")
    parser.add_argument("--deadline", type=float, default=deadline, help="seconds for the whole call (%(default)s)")
    parser.add_argument("--timeout", type=float, default=10.0, help="seconds of the network's silence (%(default)s)")
    parser.add_argument("--proxy", help="HTTP proxy; none is used unless given here")
    parser.add_argument("--ca-file", help="certificates (PEM) to trust in place of the system's")


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="stillstock_client.py",
        description="Asks a Stillstock service whether the stock will stay still.",
        epilog="Exit codes: 0 holds, 1 does not, 2 could not tell, 3 no service.",
    )
    commands = parser.add_subparsers(dest="command", metavar="COMMAND")
    commands.required = True

    command = commands.add_parser("gate", help="a program with its side-car and shop profile")
    command.add_argument("program", metavar="PROGRAM")
    command.add_argument("--setup", metavar="FILE", help=SIDE_CAR_HELP)
    command.add_argument("--profile", metavar="FILE", help=PROFILE_HELP)
    command.add_argument("--accept-doubt", action="store_true", help="let a doubtful hold pass")
    command.add_argument("--override", metavar="REASON", help="go ahead unchecked; marks the program")
    command.add_argument("--hold-only", action="store_true", help="do not ask what the tool meets on its way")
    command.add_argument("--json", action="store_true", help="print the result as JSON")
    _service_options(command)
    command.set_defaults(run=_gate_command)

    command = commands.add_parser("margin", help="a whole set-up document")
    command.add_argument("setup", metavar="SETUP.json")
    command.add_argument("--format", choices=sorted(MEDIA_TYPES), help="also write this to --out")
    command.add_argument("--out", metavar="FILE")
    command.add_argument("--accept-doubt", action="store_true", help="let a doubtful hold pass")
    command.add_argument("--json", action="store_true", help="print the result as JSON")
    _service_options(command)
    command.set_defaults(run=_margin_command)

    command = commands.add_parser("recommend", help="how to hold a job with what the shop has")
    command.add_argument("question", metavar="QUESTION.json")
    command.add_argument("--profile", metavar="FILE", help="shop profile that lies under it: what stands in the shop")
    command.add_argument("--out", metavar="SETUP.json", help="write the first choice here, ready for margin")
    command.add_argument("--json", action="store_true", help="print the result as JSON")
    _service_options(command, deadline=300.0)
    command.set_defaults(run=_recommend_command)

    _grid_parsers(commands)

    command = commands.add_parser("check", help="look at a set-up file without a service")
    command.add_argument("file", metavar="FILE.json")
    command.set_defaults(run=_check_command)
    return parser


def _grid_parsers(commands: Any) -> None:
    forms = ["json", "svg", "dxf", "rs274"]
    command = commands.add_parser("grid", help="one grid file")
    command.add_argument("grid", metavar="GRID.json")
    command.add_argument("--format", choices=forms, default="svg")
    command.add_argument("--out", metavar="FILE", required=True)
    _service_options(command)
    command.set_defaults(run=_grid_command)

    command = commands.add_parser("grids", help="a grid file for each row of a table")
    command.add_argument("table", metavar="MACHINES.csv")
    command.add_argument("--format", choices=forms, default="svg")
    command.add_argument("--out-dir", metavar="FOLDER", default=".")
    command.add_argument("--template", default="{name}.{ext}", help="file name (default: %(default)s)")
    command.add_argument("--base", metavar="GRID.json", help="document that lies under each row")
    _service_options(command)
    command.set_defaults(run=_grids_command)


def main(arguments: Optional[Sequence[str]] = None) -> int:
    """Run the command line and return the exit code."""
    options = _parser().parse_args(arguments)
    try:
        code = options.run(options)
    except StillstockError as fault:
        return _report(_fault_result(fault), getattr(options, "json", False))
    except Exception as fault:  # a traceback would end with 1, which says "does not hold"
        _say(_one_line("could not tell: the client failed: {}: {}".format(type(fault).__name__, fault)), sys.stdout)
        return COULD_NOT_TELL
    return int(code)


if __name__ == "__main__":
    sys.exit(main())
