"""The echo application as a server loads it."""

import os

from tests.web.echo import echo_app

from stillstock.settings import settings_from

application = echo_app(settings_from(os.environ))
