"""The worker process: threads that no slow sender can hold, and a slot for its metrics.

The stock threaded worker reads with no deadline: as many half-sent requests as it has threads stop it for good. Here a
connection takes no thread until its first byte is there, and a request that has not arrived in full within the
deadline is treated as broken off. And the stock worker sends an answer's head by itself: were it killed just then, a
proxy before it would have begun an answer that it can neither finish nor ask for elsewhere.
"""

import fcntl
import os
import signal
import socket
import time
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import Any

from gunicorn.workers import gthread  # type: ignore[import-untyped]  # ships no types

from stillstock.web.metrics import FOLDER, IN_FLIGHT, Process

__all__ = ["DeadlineSocket", "Worker", "hold_signals_over_forks", "take_slot"]

READ_SECONDS = "STILLSTOCK_READ_SECONDS"
DEFAULT_READ_SECONDS = 10
MOST_SLOTS = 1024
#: Within which a caller must take one piece of its answer. [s]
SEND_SECONDS = 60.0
STOPPING = frozenset({signal.SIGTERM, signal.SIGINT, signal.SIGQUIT})


def hold_signals_over_forks() -> None:
    """Let a signal to stop wait in a new worker until it has its handlers; else the master's would swallow it there."""
    signal.pthread_sigmask(signal.SIG_UNBLOCK, STOPPING)  # a master that another one started inherits them held
    os.register_at_fork(
        before=partial(signal.pthread_sigmask, signal.SIG_BLOCK, STOPPING),
        after_in_parent=partial(signal.pthread_sigmask, signal.SIG_UNBLOCK, STOPPING),
    )


def take_slot(folder: str) -> int:
    """Return the lowest slot that no living process holds; the kernel frees it however this process ends."""
    for number in range(MOST_SLOTS):
        lock = os.open(Path(folder) / f"slot-{number}", os.O_CREAT | os.O_RDWR | os.O_CLOEXEC, 0o600)
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            os.close(lock)
            continue
        return number
    raise RuntimeError(f"more than {MOST_SLOTS} workers share one metrics folder")


class DeadlineSocket:
    """A socket whose reads, taken together, end at a deadline, past which the peer counts as gone.

    What is sent while `in_one_piece` is open leaves by one call when it closes.
    """

    def __init__(self, sock: socket.socket, seconds: float) -> None:
        self._sock = sock
        self._seconds = seconds
        self._deadline = 0.0
        self._gathered: list[bytes] | None = None

    def restart(self) -> None:
        """Start the time for the next request."""
        self._deadline = time.monotonic() + self._seconds

    def recv(self, size: int, *flags: int) -> bytes:
        """Read as `socket.recv` does, or return nothing once the time is up."""
        left = self._deadline - time.monotonic()
        if left <= 0.0:
            return b""
        self._sock.settimeout(left)
        try:
            return self._sock.recv(size, *flags)
        except TimeoutError:
            return b""
        finally:
            self._sock.settimeout(SEND_SECONDS)

    @contextmanager
    def in_one_piece(self) -> Iterator[None]:
        """Gather what is sent; send it together, or nothing of it if an error ends the answer."""
        gathered: list[bytes] = []
        self._gathered = gathered
        try:
            yield
        finally:
            self._gathered = None
        self.sendall(b"".join(gathered))

    def sendall(self, data: bytes) -> None:
        """Send as `socket.sendall` does, or gather."""
        if self._gathered is None:
            self._sock.sendall(data)
        else:
            self._gathered.append(data)

    def shutdown(self, how: int) -> None:
        """Half-close; what the peer still sends is then read off for a while, so that it can read our answer."""
        self.restart()
        self._sock.shutdown(how)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._sock, name)


class Worker(gthread.ThreadWorker):  # type: ignore[misc]  # the base ships no types
    """Gunicorn's threaded worker with a read deadline, and answers in one piece."""

    sockets: list[socket.socket]
    read_seconds = float(os.environ.get(READ_SECONDS, DEFAULT_READ_SECONDS))

    def init_process(self) -> None:
        """Take a metrics slot, then run."""
        if FOLDER in os.environ:
            Process.name = f"slot{take_slot(os.environ[FOLDER])}"
            IN_FLIGHT.set(0)
        super().init_process()

    def init_signals(self) -> None:
        """Install the handlers, then hear what was held back meanwhile."""
        super().init_signals()
        signal.pthread_sigmask(signal.SIG_UNBLOCK, STOPPING)

    def set_accept_enabled(self, enabled: bool) -> None:  # noqa: FBT001 - gunicorn's signature
        """Take calls or not; a worker that stops hangs up, or the kernel would take calls that nobody answers."""
        super().set_accept_enabled(enabled)
        if enabled or self.alive:
            return
        for listener in self.sockets:
            self._take_waiting(listener)
            listener.close()
        self.sockets = []

    def _take_waiting(self, listener: socket.socket) -> None:
        """Take the calls that the kernel has taken already, so that they get their answers."""
        known = -1
        while known != self.nr_conns:
            known = self.nr_conns
            self.accept(listener)

    def enqueue_req(self, conn: Any) -> None:
        """Give a thread to a connection that has something to read; the others wait in the poller."""
        if conn.initialized or conn.data_ready:
            super().enqueue_req(conn)
            return
        conn.sock.settimeout(0.0)
        conn.timeout = time.monotonic() + self.read_seconds
        self.pending_conns.append(conn)
        self.poller.register(conn.sock, gthread.selectors.EVENT_READ, partial(self.on_pending_socket_readable, conn))

    def handle(self, conn: Any) -> Any:
        """Handle one request under a deadline of its own."""
        if not conn.initialized and not self.cfg.is_ssl:
            conn.sock = DeadlineSocket(conn.sock, self.read_seconds)
        if isinstance(conn.sock, DeadlineSocket):
            conn.sock.restart()
        return super().handle(conn)

    def handle_request(self, req: Any, conn: Any) -> Any:
        """Answer one request in one piece."""
        if not isinstance(conn.sock, DeadlineSocket):
            return super().handle_request(req, conn)
        with conn.sock.in_one_piece():
            return super().handle_request(req, conn)
