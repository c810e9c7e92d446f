"""Refusing a request that is too large before any of it is read into memory or onto the disk."""

from collections.abc import Callable
from functools import wraps

from django.conf import settings
from django.http import HttpRequest, HttpResponseBase
from django.shortcuts import render
from django.views.decorators.csrf import csrf_exempt, csrf_protect

FRAME = 64 * 1024  # what a form's own parts may add around the file
DRAINED = 4  # so many times the limit is read away, so that the browser listens to the answer
BOUNDED = "says_how_much_it_takes"
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

        setattr(wrapped, BOUNDED, True)
        return wrapped

    return limited


class BoundedBodies:
    """Every page that takes no files takes no more than words, whoever asks: a body is refused before it is read.

    Looking for the token that guards a form would keep any number of files on the disk first, also for somebody who
    is not signed in. Pages that take files say themselves how much (``at_most``).
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        return self.get_response(request)

    def process_view(
        self, request: HttpRequest, view: View, args: object, kwargs: object
    ) -> HttpResponseBase | None:
        most = settings.DATA_UPLOAD_MAX_MEMORY_SIZE
        if request.method != "POST" or getattr(view, BOUNDED, False) or _announced(request) <= most + FRAME:
            return None
        _drain(request, most)
        return render(request, "413.html", {"limit": most, "words": True}, status=413)


def _announced(request: HttpRequest) -> int:
    try:
        return int(request.headers.get("Content-Length") or 0)
    except ValueError:
        return 0


def _drain(request: HttpRequest, most: int) -> None:
    left = min(_announced(request), DRAINED * most)
    while left > 0 and (chunk := request.read(min(left, 1 << 16))):
        left -= len(chunk)
