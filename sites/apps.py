"""What stands there and who may see it."""

from django.apps import AppConfig
from django.core import checks
from django.db.models.signals import post_migrate


class SitesConfig(AppConfig):
    """Labelled ``register``: a label ``sites`` would collide with Django's own contributed app of that name."""

    name = "sites"
    label = "register"
    verbose_name = "Register"

    def ready(self) -> None:
        from sites import protection
        from sites.checks import database_in_force

        post_migrate.connect(protection.install, dispatch_uid="downlead-protection")
        checks.register(database_in_force, checks.Tags.database, deploy=True)
