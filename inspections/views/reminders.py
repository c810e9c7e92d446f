"""How often the letter of what is due comes, chosen by whoever gets it."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from inspections import reminders as telling
from inspections.actions import reminding
from inspections.forms.reminders import RemindersForm
from inspections.models import ReminderSent
from inspections.views.due import memberships
from sites import mail
from sites.access import require
from sites.navigation import ONLY_FOR
from sites.views.signed_in import signed_in

LETTERS_SHOWN = 10
REFUSED = 422


@require_http_methods(["GET", "HEAD", "POST"])
def reminders(request: HttpRequest) -> HttpResponse:
    """The choice that holds, a form for another one, and the latest letters."""
    at = timezone.now()
    person = signed_in(request)
    roles = {role for _, role in memberships(person, at.date())}
    require(bool(roles & set(ONLY_FOR["reminders"])))
    rhythm, weekday = telling.choice_of(person)
    form = RemindersForm(request.POST or None, initial={"rhythm": rhythm, "weekday": weekday})
    if request.method == "POST":
        form = RemindersForm(request.POST)
        if form.is_valid():
            reminding.choose(person, **form.cleaned_data, at=at)
            messages.success(request, "Your choice is kept. It holds from the next letter on.")
            return redirect("reminders")
    sent = ReminderSent.objects.filter(person=person).select_related("firm").order_by("-day", "-pk")
    context = {"form": form, "sent": sent[:LETTERS_SHOWN], "has_server": mail.has_server(),
               "may_look_back": bool(roles & set(ONLY_FOR["past-day"]))}  # fmt: skip
    status = REFUSED if form.is_bound and form.errors else 200
    return render(request, "inspections/reminders.html", context, status=status)
