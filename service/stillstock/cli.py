"""Command line: ``stillstock serve`` and ``stillstock demo``."""

import argparse
import logging.config
import os
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import NoReturn

from stillstock import MODEL_VERSION, __version__
from stillstock.settings import BadSetting, settings_from, settings_table

__all__ = ["main"]

COULD_NOT_START, NO_ANSWER = 2, 3


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a subcommand and return the exit code."""
    stated = _parser().parse_args(arguments)
    run: int = stated.run(stated)
    return run


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="stillstock", description="Will the stock on the router stay still?")
    parser.add_argument("--version", action="version", version=f"stillstock {__version__}, model {MODEL_VERSION}")
    commands = parser.add_subparsers(title="commands", required=True)
    serve = commands.add_parser(
        "serve",
        help="start the HTTP service",
        description="Start the HTTP service. Options win over the environment.",
        epilog="environment:\n" + _settings_text(),
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    serve.add_argument("--host", help="address to listen on (STILLSTOCK_HOST)")
    serve.add_argument("--port", help="port to listen on (STILLSTOCK_PORT)")
    serve.add_argument("--workers", help="worker processes, with gunicorn (STILLSTOCK_WORKERS)")
    serve.add_argument(
        "--server",
        choices=("gunicorn", "waitress"),
        default="waitress" if sys.platform == "win32" else "gunicorn",
        help="gunicorn for POSIX, waitress for a single desk on Windows",
    )
    serve.set_defaults(run=_serve)
    demo = commands.add_parser("demo", help="ask about an embedded set-up and write its answer and drawing")
    demo.add_argument("--out", default="stillstock-demo", help="folder for the files (default: %(default)s)")
    demo.set_defaults(run=_demo)
    return parser


def _demo(stated: argparse.Namespace) -> int:
    """Run the main job on the embedded default."""
    from stillstock import demo
    from stillstock_client import NoService

    folder = Path(stated.out)
    try:
        said = demo.run(folder, progress=lambda line: print(line, flush=True))
    except NoService as why:
        print(f"stillstock: the demo got no answer: {why.one_line()}", file=sys.stderr)
        return NO_ANSWER
    print(f"\n{said}")
    print(f"\nWritten to {folder}: set_up.json, cabinet_door.nc, answer.json, margin.svg (open it in a browser).")
    return 0


def _settings_text() -> str:
    rows = [f"  {name}={default}\n      {says}" for name, (default, says) in settings_table().items()]
    return "\n".join(rows)


def _serve(stated: argparse.Namespace) -> int:
    environ = _environment(stated)
    try:
        settings_from(environ)
    except BadSetting as why:
        print(f"stillstock: {why}", file=sys.stderr)
        return COULD_NOT_START
    return _waitress(environ) if stated.server == "waitress" else _gunicorn(environ)


def _environment(stated: argparse.Namespace) -> dict[str, str]:
    options = {"HOST": stated.host, "PORT": stated.port, "WORKERS": stated.workers}
    given = {f"STILLSTOCK_{name}": value for name, value in options.items() if value is not None}
    # One thread for the numerical library: its own threads cost more than they give on systems this small.
    return {"OPENBLAS_NUM_THREADS": "1", **os.environ, **given}


def _gunicorn(environ: Mapping[str, str]) -> NoReturn:
    """Become gunicorn, so that signals reach it and not a parent that waits."""
    command = [sys.executable, "-m", "gunicorn", "-c", "python:stillstock.web.gunicorn_settings"]
    sys.stderr.flush()
    os.execve(sys.executable, command, dict(environ))  # noqa: S606  our own interpreter, no shell


def _waitress(environ: Mapping[str, str]) -> int:
    """Serve from this process; waitress reads a body in full before it asks for a thread."""
    import waitress  # type: ignore[import-untyped]  # ships no types; not there on every installation

    from stillstock.answers.known_answer import known_answer
    from stillstock.app import create_app
    from stillstock.tables.load import load_tables
    from stillstock.web.logs import log_settings

    settings = settings_from(environ)
    logging.config.dictConfig(log_settings(settings.log_level))
    waitress.serve(
        create_app(settings, known_answer=lambda: known_answer(load_tables())),
        host=settings.host,
        port=settings.port,
        threads=settings.limits.in_flight + 4,
        # Somewhat beyond the limit, so that the refusal is ours, with its reason, and not this server's own page.
        max_request_body_size=2 * settings.limits.body_bytes,
        channel_timeout=settings.read_seconds,
        ident=None,
    )
    return 0


if __name__ == "__main__":
    sys.exit(main())
