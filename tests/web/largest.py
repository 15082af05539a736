"""What the largest documents cost a worker process, over real HTTP: ``python -m tests.web.largest [name ...]``.

Prints, of each document, the status, the time of the processor, the memory at its peak, and the share of the limit of
work; then what of it was beyond its promise.
"""

import json
import os
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path

from tests.web.largest_documents import CASES, Case
from tests.web.serving import JSON, Service, served

from stillstock.settings import PROMISED, Limits

__all__ = ["LIMITS", "Taken", "ask", "one_worker"]

LIMITS: dict[str, int] = asdict(Limits())
#: How long an answer is waited for at the most, whatever else the machine does. [s]
PATIENCE = 600.0


@dataclass(frozen=True, kw_only=True)
class Taken:
    """What a document cost.

    Attributes
    ----------
    status : int
    limit : int or None
        Named in the first item of a refusal.
    seconds : float
        Of the processor, on all the worker's threads. [s]
    megabytes : float
        Greatest resident memory meanwhile. [MB]
    work : float
        Share of the limit. [-]
    """

    status: int
    limit: int | None
    seconds: float
    megabytes: float
    work: float


@contextmanager
def one_worker(folder: Path) -> Iterator[Service]:
    """Start the service as it is shipped, with one worker, so that it is known which one answers."""
    with served(
        folder,
        application="stillstock.wsgi:application",
        body_bytes=LIMITS["body_bytes"],
        read_seconds=60,
        workers=1,
        recycle_after=0,
    ) as running:
        running.timeout = PATIENCE
        running.ask(path="/readyz")  # it listens before its worker is there
        yield running


def _worker_of(service: Service) -> int:
    """Return the process id of the only worker."""
    (worker,) = service.workers()
    return worker


def _processor_time(process: int) -> float:
    """Return the time that a process has had so far (proc(5), stat: utime and stime). [s]"""
    stated = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
    return (int(stated[11]) + int(stated[12])) / int(os.sysconf("SC_CLK_TCK"))


def _forget_peak(process: int) -> None:
    """Let the greatest memory count from now on (proc(5), clear_refs)."""
    Path(f"/proc/{process}/clear_refs").write_text("5")


def _peak(process: int) -> float:
    """Return the greatest resident memory (proc(5), status: VmHWM). [MB]"""
    lines = Path(f"/proc/{process}/status").read_text().splitlines()
    (high,) = (int(line.split()[1]) for line in lines if line.startswith("VmHWM:"))
    return high * 1024 / 1e6


def _work(service: Service) -> float:
    """Return the work of the last request, as the log has it. [-]"""
    lines = [json.loads(line) for line in service.log.read_text().splitlines() if '"work"' in line]
    return float(lines[-1]["work"]) / LIMITS["work"]


def ask(service: Service, case: Case) -> Taken:
    """Return what a document costs a service of one worker."""
    body = json.dumps(case.build(LIMITS)).encode()
    worker = _worker_of(service)
    _forget_peak(worker)
    before = _processor_time(worker)
    response, answer = service.ask("POST", case.path, body, JSON)
    errors = json.loads(answer)["errors"] if response.status == 422 else [{}]
    return Taken(
        status=response.status,
        limit=errors[0].get("limit"),
        seconds=_processor_time(worker) - before,
        megabytes=_peak(worker),
        work=_work(service),
    )


def main(names: list[str]) -> None:
    """Send every document, or those that are named, each to a service of its own."""
    for name in names or CASES:
        case = CASES[name]
        with tempfile.TemporaryDirectory() as folder, one_worker(Path(folder)) as service:
            taken = ask(service, case)
        promise = PROMISED[case.operation]
        beyond = taken.seconds > promise.seconds or taken.megabytes > promise.megabytes
        print(
            f"{case.operation:15} {name:24} {taken.status} {taken.seconds:6.1f} s {taken.megabytes:5.0f} MB "
            f"{taken.work:6.1%} of the work{'  BEYOND ITS PROMISE' if beyond else ''}",
            flush=True,
        )


if __name__ == "__main__":
    main(sys.argv[1:])
