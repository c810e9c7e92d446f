"""Where somebody would stand before an empty page, or lose what they typed."""

from collections.abc import Callable, Iterator
from typing import Any
from urllib.parse import urlencode, urlsplit

from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import Resolver404, resolve, reverse
from django.utils.http import url_has_allowed_host_and_scheme

READS = ("GET", "HEAD")
# Sent along by the page itself: the guard's token, what a form showed before, and which of two forms it is.
NOT_TYPED = ("csrfmiddlewaretoken", "shown", "act")


class SignInFirst(LoginRequiredMiddleware):
    """Leads to the sign-in. What somebody sent whose session was over is shown to them again, so that it is not lost.

    It stands on the page alone: nothing of it is kept, and nothing is saved.
    """

    def handle_no_permission(  # type: ignore[override]
        self, request: HttpRequest, view_func: Any
    ) -> HttpResponseBase:
        if request.method in READS:
            return super().handle_no_permission(request, view_func)
        back = f"{reverse('sign-in')}?{urlencode({'next': _form_of(request)})}"
        # A view that guards its own token has not looked at it yet, nor at how large the body is: it stays unread.
        unread = getattr(view_func, "csrf_exempt", False)
        typed = [] if unread else list(_typed(request))
        if not typed and not unread:
            return redirect(back)
        return render(request, "signed_out.html", {"back": back, "typed": typed}, status=403)


def _form_of(request: HttpRequest) -> str:
    """The page the form stands on, which can be opened: the form's own address may take nothing but the form."""
    sent_from = request.headers.get("Referer", "")
    if not url_has_allowed_host_and_scheme(sent_from, {request.get_host()}):
        return reverse("home")
    parts = urlsplit(sent_from)
    return f"{parts.path}?{parts.query}" if parts.query else parts.path


def _typed(request: HttpRequest) -> Iterator[tuple[str, str]]:
    """What was sent, a field each; nothing of forms about one's own sign-in, which take passwords and codes."""
    if request.path.startswith(reverse("your-sign-in")):
        return
    for name, values in request.POST.lists():
        told = "\n".join(value for value in values if value.strip())
        if told and name not in NOT_TYPED:
            yield name.replace("_", " ").replace("-", " "), told


class NoBlankPage:
    """A page instead of nothing where the address of a form that is only sent was opened."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        answer = self.get_response(request)
        if answer.status_code != 405 or request.method not in READS:
            return answer
        page = render(request, "405.html", {"nearest": _nearest(request.path)}, status=405)
        page["Allow"] = answer.get("Allow", "POST")
        return page


def _nearest(path: str) -> str:
    """The address that is asked for less its last parts, as soon as one exists; "" where none does before the first."""
    parts = [part for part in path.split("/") if part]
    while len(parts) > 1:
        parts.pop()
        above = f"/{'/'.join(parts)}/"
        try:
            resolve(above)
        except Resolver404:
            continue
        return above
    return ""
