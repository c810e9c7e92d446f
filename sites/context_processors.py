"""What every page may show beside its own content."""

from datetime import datetime
from typing import Any

from django.http import HttpRequest
from django.utils import timezone
from django.utils.functional import SimpleLazyObject

from sites.models import Membership

Held = tuple[tuple[str, str], ...]


def firm(request: HttpRequest) -> dict[str, Any]:
    """``firm_name``: where the person signed in works and as what; ``roles``: their roles, on any page that asks."""
    return {
        "firm_name": SimpleLazyObject(lambda: _words(held(request, timezone.now()))),
        "roles": SimpleLazyObject(lambda: frozenset(role for _, role in held(request, timezone.now()))),
    }


def held(request: HttpRequest, at: datetime) -> Held:
    """(firm's name, role) of whoever is signed in, asked for once a request; empty for nobody."""
    user = getattr(request, "user", None)
    if user is None or not user.is_authenticated:
        return ()
    if not hasattr(request, "_held"):
        rows = Membership.objects.on(at.date()).filter(person=user).order_by("firm__name", "pk")
        request._held = tuple(rows.values_list("firm__name", "role"))  # type: ignore[attr-defined]
    return request._held  # type: ignore[attr-defined]


def _words(rows: Held) -> str:
    roles: dict[str, list[str]] = {}
    for name, role in rows:
        if role not in roles.setdefault(name, []):
            roles[name].append(role)
    return "; ".join(f"{name} · {', '.join(held_there)}" for name, held_there in roles.items())
