"""Gunicorn's configuration, as a module so that it is there in an installed service too.

Every name without an underscore is one of gunicorn's own settings. ``stillstock serve`` starts with it, and so does
``gunicorn -c python:stillstock.web.gunicorn_settings``.
"""

import logging as _logging
import os as _os
import shutil as _shutil
import sys as _sys
import tempfile as _tempfile
from pathlib import Path as _Path
from typing import Any as _Any

from stillstock.settings import settings_from as _settings_from

_settings = _settings_from(_os.environ)


def _metrics_folder(stated: str) -> str:
    """Return an empty folder for the counters that workers share; set before the metrics are first imported."""
    folder = stated or _tempfile.mkdtemp(prefix="stillstock-metrics-")
    _Path(folder).mkdir(parents=True, exist_ok=True)
    for left_over in _Path(folder).glob("*.db"):
        left_over.unlink()
    return folder


_folder = _metrics_folder(_settings.metrics_dir)
_os.environ["PROMETHEUS_MULTIPROC_DIR"] = _folder

from stillstock.web.logs import log_settings as _log_settings  # noqa: E402  after the folder is set

wsgi_app = "stillstock.wsgi:application"
bind = f"[{_settings.host}]:{_settings.port}" if ":" in _settings.host else f"{_settings.host}:{_settings.port}"
workers = _settings.workers
worker_class = "stillstock.web.gunicorn_worker.Worker"
threads = _settings.threads
worker_connections = max(1000, 4 * _settings.threads)
preload_app = True
timeout = 30
graceful_timeout = _settings.graceful_seconds
keepalive = 5
max_requests = _settings.recycle_after
max_requests_jitter = _settings.recycle_after // 10
worker_tmp_dir = "/dev/shm" if _os.access("/dev/shm", _os.W_OK) else None  # noqa: S108  a heartbeat file, by gunicorn
control_socket_disable = True
forwarded_allow_ips = _settings.proxies
limit_request_line = 4094
limit_request_fields = 100
limit_request_field_size = 8190
accesslog = None
loglevel = _settings.log_level
logconfig_dict = _log_settings(_settings.log_level)


def on_starting(server: _Any) -> None:  # noqa: ARG001  gunicorn's signature
    """See that no worker misses a signal to stop while it is being made."""
    from stillstock.web.gunicorn_worker import hold_signals_over_forks

    hold_signals_over_forks()


def worker_exit(server: _Any, worker: _Any) -> None:  # noqa: ARG001  gunicorn's signature
    """Leave at once when all is answered: taking the interpreter apart, module by module, costs a core for a second."""
    left = _sys.exc_info()[1]
    if isinstance(left, SystemExit) and not left.code:
        _logging.shutdown()
        _os._exit(0)


def on_exit(server: _Any) -> None:  # noqa: ARG001  gunicorn's signature
    """Take away the folder that was made here."""
    if not _settings.metrics_dir:
        _shutil.rmtree(_folder, ignore_errors=True)
