"""The main job on an embedded default: a cabinet door, asked about through the client over loopback."""

import json
import logging
import textwrap
import threading
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from importlib.resources import files
from pathlib import Path
from typing import Any

from werkzeug.serving import make_server

import stillstock_client
from stillstock.app import create_app

__all__ = ["embedded_set_up", "report", "run"]

WIDTH = 100

#: What a busy machine meets: half a minute was measured for one answer where others reckoned beside it. [s]
DEADLINE = 600.0


def embedded_set_up() -> dict[str, Any]:
    """Return the embedded set-up document, its program included. The scenario is invented."""
    folder = files("stillstock.demo")
    document: dict[str, Any] = json.loads((folder / "cabinet_door.json").read_text("utf-8"))
    document["program"] = {"text": (folder / "cabinet_door.nc").read_text("ascii"), "name": "cabinet_door.nc"}
    return document


@contextmanager
def _service() -> Iterator[str]:
    """Run the service on a free port of loopback; give its address."""
    logging.getLogger("werkzeug").setLevel(logging.ERROR)
    logging.getLogger("stillstock").setLevel(logging.ERROR)
    server = make_server("127.0.0.1", 0, create_app(), threaded=True)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}"
    finally:
        server.shutdown()
        thread.join()
        server.server_close()


def _wrapped(text: str, *, lead: str = "  ") -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=lead, subsequent_indent=" " * len(lead))


def _figure(factor: float | None) -> str:
    """Return a load factor as it is worth being read; an unlimited one is null in the answer."""
    return "unlimited" if factor is None else f"{factor:.2g}"


def report(answer: Mapping[str, Any], units: Mapping[str, str]) -> str:
    """Return an answer to the margin question as a machinist reads it."""
    margin, worst = answer["margin"], answer["worst"]
    rows = [answer["summary"], ""]
    rows += _wrapped(
        f"Margin     {_figure(margin['typical'])} with typical numbers, {_figure(margin['pessimistic'])} with "
        f"everything against you; asked for {_figure(margin['required'])}."
    )
    if worst is not None:
        where = f"line {worst['line']}" if worst["line"] else worst["cut"]
        at = ", ".join(f"{value:.4g}" for value in worst["at"])
        rows += _wrapped(f"Where      {where}, tool at {at} {units['length']}.")
    if answer["let_go"] is not None:
        rows += _wrapped(f"How        it lets go by a {answer['let_go']['kind']}; the drawing shows it dashed.")
    rows += _wrapped("Holders    " + "; ".join(
        f"{'bed and weight' if one['holder'] is None else 'no. ' + str(one['holder'] + 1)} carries {one['share']:.0%}"
        for one in answer["holders"]
    ) + ".")  # fmt: skip
    failed = [check for check in answer["checks"] if not check["ok"]]
    rows += _wrapped("Checks     " + ("all in order." if not failed else "not in order:"))
    for check in failed:
        rows += _wrapped(f"{check['name']}: {check['detail']} ({check['ratio']:.2g} times the limit)", lead="    - ")
    remedies = answer.get("remedies") or []
    rows += _wrapped("Would help " + ("nothing is needed." if not remedies else ""))
    for remedy in remedies:
        rows += _wrapped(f"{remedy['detail']} (then {remedy['margin']:.2g})", lead="    - ")
    rows += ["", *(line for caution in answer["cautions"] for line in _wrapped(caution, lead="! "))]
    return "\n".join(rows)


def run(folder: Path, *, progress: Callable[[str], None], deadline: float = DEADLINE) -> str:
    """Ask about the embedded set-up, write set-up, program, answer and drawing, and return the report.

    Parameters
    ----------
    folder : Path
        Where the files go; made if it is not there.
    progress : callable
        Gets a line before each step.
    deadline : float
        For each of the two answers. [s]

    Raises
    ------
    NoService
        If the service does not answer in time.
    """
    document = embedded_set_up()
    lines = document["program"]["text"].count("\n")
    progress("Starting the service on this machine ...")
    with _service() as address:
        client = stillstock_client.Client(address, deadline=deadline)
        progress(f"Asking {address} about a cabinet door of {lines} lines: half a minute, some minutes if busy ...")
        answer = client.margin(document)
        progress("Asking for the drawing ...")
        drawing = client.margin(document, format="svg")
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "cabinet_door.nc").write_text(document["program"]["text"], "ascii")
    (folder / "set_up.json").write_text(json.dumps(document, indent=1), "utf-8")
    (folder / "answer.json").write_text(json.dumps(answer, indent=1), "utf-8")
    (folder / "margin.svg").write_bytes(drawing)
    return report(answer, answer["units"])
