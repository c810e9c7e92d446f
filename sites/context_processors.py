"""What every page may show beside its own content."""

from typing import Any

from django.http import HttpRequest
from django.utils import timezone
from django.utils.functional import SimpleLazyObject

from sites.models import Membership


def firm(request: HttpRequest) -> dict[str, Any]:
    """``firm_name``: where the person signed in works and as what; asked for only by pages that show it."""
    return {"firm_name": SimpleLazyObject(lambda: _firm_and_roles(request))}


def _firm_and_roles(request: HttpRequest) -> str:
    user = getattr(request, "user", None)
    if user is None or not user.is_authenticated:
        return ""
    held = Membership.objects.on(timezone.now().date()).filter(person=user).order_by("firm__name", "pk")
    roles: dict[str, list[str]] = {}
    for name, role in held.values_list("firm__name", "role"):
        if role not in roles.setdefault(name, []):
            roles[name].append(role)
    return "; ".join(f"{name} · {', '.join(held_there)}" for name, held_there in roles.items())
