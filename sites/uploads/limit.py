"""Refusing a request that is too large before any of it is read into memory."""

from collections.abc import Callable
from functools import wraps

from django.conf import settings
from django.http import HttpRequest, HttpResponseBase
from django.shortcuts import render
from django.views.decorators.csrf import csrf_exempt, csrf_protect

FRAME = 64 * 1024  # what a form's own parts may add around the file
DRAINED = 4  # so many times the limit is read away, so that the browser listens to the answer
View = Callable[..., HttpResponseBase]


def at_most(setting: str, *, table: bool = False) -> Callable[[View], View]:
    """A view whose uploads are no larger than this setting says, in bytes; more is answered with 413.

    table: whether the page may advise to split the file
    The size is looked at before the token that guards the form, which would read everything; the token is asked for
    right after.
    """

    def limited(view: View) -> View:
        guarded = csrf_protect(view)

        @csrf_exempt
        @wraps(view)
        def wrapped(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponseBase:
            most = getattr(settings, setting)
            if request.method == "POST" and _announced(request) > most + FRAME:
                _drain(request, most)
                return render(request, "413.html", {"limit": most, "table": table}, status=413)
            return guarded(request, *args, **kwargs)

        return wrapped

    return limited


def _announced(request: HttpRequest) -> int:
    try:
        return int(request.headers.get("Content-Length") or 0)
    except ValueError:
        return 0


def _drain(request: HttpRequest, most: int) -> None:
    left = min(_announced(request), DRAINED * most)
    while left > 0 and (chunk := request.read(min(left, 1 << 16))):
        left -= len(chunk)
