"""Settings for ``gunicorn -c service/deploy/gunicorn.conf.py``: those that the package carries, all by environment."""

from stillstock.web.gunicorn_settings import *  # noqa: F403  gunicorn reads a module's names
