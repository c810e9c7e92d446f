"""The door for a WSGI server; how gunicorn serves it is said in ``gunicorn.conf.py``."""

import os
from importlib import import_module

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
application = get_wsgi_application()
# All pages' code is loaded before the first request comes, not while it waits.
import_module("config.urls")
