"""Application factory; nothing happens at import."""

from collections.abc import Callable

from flask import Flask

from stillstock.settings import Settings
from stillstock.tables.load import load_tables
from stillstock.web import (
    contract,
    cutting_force,
    grid,
    health,
    margin,
    metrics,
    positions,
    recommendation,
    reference,
    retract_height,
    sheet,
)
from stillstock.web.guards import register_guards
from stillstock.web.headers import register_headers
from stillstock.web.logs import register_logs
from stillstock.web.negotiation import check_query
from stillstock.web.problems import register_problems

__all__ = ["create_app"]


def create_app(settings: Settings | None = None, *, known_answer: Callable[[], bool] | None = None) -> Flask:
    """Return the service as a WSGI application.

    Parameters
    ----------
    settings : Settings, optional
        Those of `settings_from`; None takes the defaults.
    known_answer : callable, optional
        Computes something whose result is known and says whether it came out; run here, once.
    """
    stated = settings or Settings()
    app = Flask("stillstock", static_folder=None)
    app.url_map.merge_slashes = False
    app.extensions["stillstock"] = stated
    load_tables()  # a wrong row stops the service here, not at the first request
    # Order matters: every answer, also a refusal by a hook further down, gets its id, its headers and its line.
    register_logs(app)
    register_headers(app)
    register_problems(app)
    register_guards(app, stated)
    app.before_request(check_query)
    asked = (margin, cutting_force, grid, retract_height, positions, recommendation, sheet)
    for part in (contract, reference, health, metrics, *asked):
        app.register_blueprint(part.blueprint)
    health.register_known_answer(app, known_answer)
    return app
