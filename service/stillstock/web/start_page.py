"""The page at ``/``: what the service is, and a place to try it; its one script is its own and named by digest."""

import base64
import hashlib
from functools import cache
from importlib.resources import files
from typing import Any

from flask import Response, render_template
from markupsafe import Markup

from stillstock.web.docs_page import first_call, first_example

__all__ = ["let_its_script_run", "start_page"]


@cache
def _script() -> str:
    return (files("stillstock.web") / "templates" / "index.js").read_text("utf-8")


def start_page(document: dict[str, Any], *, contract: bytes) -> str:
    """Return the page.

    Parameters
    ----------
    document : dict
        What the same address answers a script.
    contract : bytes
        As YAML; its first example stands in the page.
    """
    script = Markup(_script())  # noqa: S704  our own file, no caller's word in it
    example = first_example(contract)
    return render_template("index.html", document=document, call=first_call(contract), example=example, script=script)


def let_its_script_run(response: Response) -> Response:
    """State the policy under which the page's own script, and no other, may run and ask this service alone."""
    digest = base64.b64encode(hashlib.sha256(_script().encode()).digest()).decode()
    response.headers["Content-Security-Policy"] = (
        f"default-src 'none'; script-src 'sha256-{digest}'; connect-src 'self'; img-src blob: data:; "
        "style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"
    )
    return response
