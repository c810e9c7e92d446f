"""The overdue register of a past day, as it was or as known: what the page of that day answers, as a file."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import date, datetime

import django_tables2 as tables
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from inspections.forms.past_day import PastDayForm
from inspections.replay import Stated, Status, digest_of, status_on
from inspections.standing_words import in_days, share_left
from inspections.tables.past_day import asker
from inspections.views.past_day import REFUSED, Asked, asked_for
from reports.overdue_register import MOST, OverdueRegister, OverdueRow
from reports.overdue_view import as_pdf, paper_of, shown_words
from sites.actions.register import shown
from sites.exports.answer import as_file, no_file
from sites.exports.columns import InFile
from sites.models import Client, Firm, Structure
from sites.tables import understood
from sites.views.signed_in import signed_in

BATCH = 500
UNDESCRIBED = "Choose a day first."


@require_safe
def overdue_then(request: HttpRequest) -> HttpResponseBase:
    """What was overdue on a day. ``view``: was or known; ``as``: csv or xlsx, else PDF."""
    at = timezone.now()
    asked = asked_for(request, at)
    if not asked.valid:
        return HttpResponse(UNDESCRIBED, status=REFUSED, content_type="text/plain; charset=utf-8")
    known = asked.known if request.GET.get("view") == "known" else None
    register = gather(request, asked, known, at)
    name = f"overdue on {asked.day.isoformat()} {f'as known {known.isoformat()}' if known else 'as it was'}"
    names = [*PastDayForm.base_fields, "view"]
    if file := as_file(request, OverdueThenTable(register), name, at=at, also=names):
        return file
    if sentences := list(understood.of_page(request).values()):
        return no_file(request, sentences, reverse("past-day"))
    left_out = max(0, len(register.rows) - MOST)
    return as_pdf(replace(register, rows=register.rows[:MOST], left_out=left_out), name)


def gather(request: HttpRequest, asked: Asked, known: date | None, at: datetime) -> OverdueRegister:
    """The register of every structure asked for, those longest overdue first. known: None for as it was"""
    person, on = signed_in(request), at.date()
    clients = Client.objects.visible_to(person, on=on)
    client: Client | None = asked.form.cleaned_data.get("client")
    firms = Firm.objects.filter(pk__in=clients.values("firm")).order_by("name")
    rows: list[tuple[date, OverdueRow]] = []
    answer = digest_of(_kept(asked, known, rows))
    rows.sort(key=lambda found: found[0])
    return OverdueRegister(
        firm=client.firm.name if client else ", ".join(firm.name for firm in firms) or "No firm",
        paper=client.paper if client else paper_of(clients),
        day=asked.day.isoformat(),
        known_by=(known or at.date()).isoformat(),
        narrowed=shown_words(client, "", asked.form.cleaned_data.get("text", "")),
        rows=tuple(row for _, row in rows),
        left_out=0,
        rests_on=_rests_on(known, at),
        answer=answer,
    )


def _rests_on(known: date | None, at: datetime) -> str:
    if known is None:
        return f"As it was: every fact about that day that was on record on {shown(at.date())}"
    return f"As known: only what had been recorded by the end of {shown(known)} at each site"


def _kept(asked: Asked, known: date | None, rows: list[tuple[date, OverdueRow]]) -> Iterator[Status]:
    """Every status in the order of the page's list, so that its fingerprint is the page's; overdue rows are kept."""
    ids = list(asked.structures.values_list("pk", flat=True))
    for start in range(0, len(ids), BATCH):
        batch = ids[start : start + BATCH]
        found = {status.place.pk: status for status in status_on(batch, asked.day, known_by=known)}
        late = [pk for pk in batch if any(row.obligation.state == "overdue" for row in found[pk].rows)]
        named = Structure.objects.select_related("site__client").in_bulk(late)
        for pk in batch:
            rows += _overdue(named[pk], found[pk].rows) if pk in named else ()
            yield found[pk]


def _overdue(structure: Structure, stated: Iterable[Stated]) -> Iterator[tuple[date, OverdueRow]]:
    site = structure.site
    for row in stated:
        owed = row.obligation
        if owed.state != "overdue" or owed.overdue_since is None:
            continue
        share = share_left(owed)
        yield (
            owed.overdue_since,
            OverdueRow(
                structure=structure.name,
                place=f"{site.name}, {site.client.name}",
                demand=f"{owed.demand}, {share}" if share else owed.demand,
                due=owed.due.isoformat(),
                words=f"{in_days(owed.days_overdue or 0)} overdue",
                author=row.rule.author_name if row.rule else asker(row),
                source=f"{row.rule.source}, {row.rule.edition}" if row.rule else "",
                why=owed.why,
                since=owed.overdue_since.isoformat(),
            ),
        )


class OverdueThenTable(tables.Table):
    """The register's rows; each carries both days and the fingerprint, so that a file stands for itself."""

    structure = tables.Column()
    place = tables.Column()
    demand = tables.Column()
    due = tables.Column()
    since = tables.Column("Overdue since")
    words = tables.Column("Overdue")
    author = tables.Column("Whose rule")
    source = tables.Column()
    why = tables.Column("Why this day")

    class Meta:
        orderable = False

    def __init__(self, register: OverdueRegister) -> None:
        self.register = register
        super().__init__(register.rows)

    def in_file(self) -> InFile:
        told = self.register
        return {
            "due": (("Due", lambda row: date.fromisoformat(row.due)),),
            "since": (("Overdue since", lambda row: date.fromisoformat(row.since)),),
            "words": (("Overdue", "words"),),
            "why": (
                ("Why this day", "why"),
                ("On the day", lambda row: date.fromisoformat(told.day)),
                ("Rests on", lambda row: told.rests_on),
                ("Answer, SHA-256", lambda row: told.answer),
            ),
        }
