"""The front door: each begins at the page for their own work."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import NoReverseMatch
from django.utils import timezone
from django.views.decorators.http import require_safe

from sites.context_processors import held
from sites.navigation import first_page


@require_safe
def home(request: HttpRequest) -> HttpResponse:
    """To the first page of whoever is signed in."""
    try:
        return redirect(first_page(frozenset(role for _, role in held(request, timezone.now()))))
    except NoReverseMatch:
        return redirect("due")
