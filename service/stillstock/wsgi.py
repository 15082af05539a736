"""What a WSGI server loads: ``stillstock.wsgi:application``."""

import logging.config
import os

from stillstock.answers.known_answer import known_answer
from stillstock.app import create_app
from stillstock.settings import settings_from
from stillstock.tables.load import load_tables
from stillstock.web.logs import log_settings

_settings = settings_from(os.environ)
logging.config.dictConfig(log_settings(_settings.log_level))
application = create_app(_settings, known_answer=lambda: known_answer(load_tables()))
