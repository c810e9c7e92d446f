"""What stands there and who may see it."""

from typing import Any

from django.apps import AppConfig
from django.core import checks
from django.db.backends.signals import connection_created
from django.db.models.signals import post_migrate


class SitesConfig(AppConfig):
    """Labelled ``register``: a label ``sites`` would collide with Django's own contributed app of that name."""

    name = "sites"
    label = "register"
    verbose_name = "Register"

    def ready(self) -> None:
        from sites import protection
        from sites.checks import database_in_force

        connection_created.connect(_own_functions, dispatch_uid="downlead-own-functions")
        post_migrate.connect(protection.install, dispatch_uid="downlead-protection")
        checks.register(database_in_force, checks.Tags.database, deploy=True)


def _own_functions(connection: Any, **_: Any) -> None:
    """SQLite has no words for natural order and knows no case beyond A to Z, so it calls ours; PostgreSQL has both."""
    from sites.likeness import like
    from sites.ordering import NATURAL_FUNCTION, natural_text

    if connection.vendor == "sqlite":
        make = connection.connection.create_function
        make(NATURAL_FUNCTION, 1, natural_text, deterministic=True)
        for arguments in (2, 3):
            make("like", arguments, like, deterministic=True)
