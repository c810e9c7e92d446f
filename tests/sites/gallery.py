"""A small site for the tests of the look: each base template with something in it, and no record behind."""

from datetime import date
from typing import Any

import django_tables2 as tables
from django import forms
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import LogoutView
from django.core.exceptions import PermissionDenied, SuspiciousOperation
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path
from django.views.generic import RedirectView

from sites.templatetags.downlead import day, reading, state, with_unit
from sites.templatetags.states import STATES
from sites.views.signing import SignIn

ROWS = [
    {"due": date(2027, 2, 18), "structure": "Energy Centre", "days": 88, "text": "14.2", "unit": "mΩ"},
    {"due": date(2027, 4, 14), "structure": "Theatre Block", "days": 33, "text": "-0.46", "unit": "mΩ"},
    {"due": date(2027, 5, 9), "structure": "St Quillan, High Beck", "days": 8, "text": "8.4", "unit": "Ω"},
    {"due": date(2027, 6, 2), "structure": "Boiler House <b>", "days": 0, "text": "120", "unit": "µΩ"},
]


class DueTable(tables.Table):
    due = tables.Column()
    state = tables.Column(empty_values=(), orderable=False)
    structure = tables.Column()
    text = tables.Column(verbose_name="Last reading", attrs={"cell": {"class": "n"}})

    class Meta:
        empty_text = "The next is St Quillan, complete, on 2 Jul 2027."

    row_head = "structure"
    caption = "What is due, by day"
    group_counts = {"Overdue": 7}
    empty_head = "Nothing is due in the next four weeks"
    empty_link = ("Look 12 weeks ahead", "/due/?weeks=12")

    def group_of(self, record: dict[str, Any]) -> str:
        return "Overdue" if record["days"] else "Next four weeks"

    def render_due(self, value: date) -> str:
        return day(value)

    def render_state(self, record: dict[str, Any]) -> str:
        days = record["days"]
        return state("overdue", f"{days} days overdue") if days else state("due soon")

    def render_text(self, record: dict[str, Any]) -> str:
        return reading(record["text"], record["unit"])


class MoveForm(forms.Form):
    planned = forms.DateField(label="Planned for", help_text="The due date stays 21 May 2027.")
    reason = forms.ChoiceField(
        choices=[("", "Choose a reason"), ("weather", "weather"), ("access", "access")]
    )
    current = forms.CharField(label="Test current", required=False)
    told = forms.BooleanField(label="The client has been told", required=False)
    by = forms.ChoiceField(
        label="Asked for by", widget=forms.RadioSelect, choices=[("c", "client"), ("f", "firm")]
    )

    def clean_current(self) -> str:
        text = self.cleaned_data["current"]
        if text.isdigit():
            raise forms.ValidationError(
                f"{text} has no unit. Write {with_unit(text, 'A')} or {with_unit(text, 'mA')}."
            )
        return text


def due(request: HttpRequest) -> HttpResponse:
    table = DueTable(ROWS, order_by=request.GET.get("sort", ()))
    table.paginate(page=request.GET.get("page", 1), per_page=int(request.GET.get("rows", 25)))
    return render(
        request, "gallery/due.html", {"table": table, "firm_name": "Gorsewick Lightning & Earthing"}
    )


def nothing_due(request: HttpRequest) -> HttpResponse:
    return render(request, "gallery/due.html", {"table": DueTable([])})


def states(request: HttpRequest) -> HttpResponse:
    families = [(family, list(names)) for family, names in STATES.items()]
    return render(
        request, "gallery/states.html", {"families": families, "theme": request.GET.get("theme", "")}
    )


def move(request: HttpRequest) -> HttpResponse:
    form = MoveForm(request.POST or None)
    return render(request, "gallery/move.html", {"form": form}, status=200 if form.is_valid() else 422)


@login_not_required
def error(request: HttpRequest, kind: str) -> HttpResponse:
    if kind == "400":
        raise SuspiciousOperation("a header out of form")
    if kind == "403":
        raise PermissionDenied("Planners do not authorise visits.")
    if kind == "413":
        return render(request, "413.html", {"limit": 2_000_000}, status=413)
    raise RuntimeError("a fault made on purpose")


@login_not_required
def faulty(request: HttpRequest) -> HttpResponse:
    """What the checks must find: grey on white, a field without a name, too wide, inline style and script."""
    return HttpResponse(
        """<!doctype html><html lang="en"><title>Faulty</title><main><h1>Faulty</h1><input>
        <font color="#bbbbbb">grey</font><table width="3000"><tr><td>wide</table></main>
        <p style="color: red">inline</p><script>document.title = "ran"</script></html>"""
    )


urlpatterns = [
    path("sign-in/", SignIn.as_view(), name="sign-in"),
    path("sign-in/", SignIn.as_view(), name="account_login"),
    path("sign-out/", LogoutView.as_view(), name="sign-out"),
    path("", due, name="due"),
    path("home/", RedirectView.as_view(pattern_name="due"), name="home"),
    path("visits/", nothing_due, name="visits"),
    path("sites/", states, name="sites"),
    path("sites/move/", move, name="move"),
    path("reports/", states, name="reports"),
    path("faulty/", faulty),
    path("error/<str:kind>/", error, name="error"),
]
