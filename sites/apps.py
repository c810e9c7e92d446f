"""What stands there and who may see it."""

from django.apps import AppConfig


class SitesConfig(AppConfig):
    """Labelled ``register``: a label ``sites`` would collide with Django's own contributed app of that name."""

    name = "sites"
    label = "register"
    verbose_name = "Register"
