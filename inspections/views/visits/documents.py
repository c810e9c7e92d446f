"""Handing in a photograph or paper of a visit."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from inspections.actions import visit_documents
from inspections.forms.visit_documents import VisitDocumentForm
from inspections.views.visits.visit import found
from inspections.visit_rights import acts_at
from sites import access
from sites.access import require
from sites.actions.documents import DocumentRefused
from sites.uploads import at_most
from sites.views.documents import form_page, say_what_it_tells, sent
from sites.views.signed_in import signed_in


@at_most("DOCUMENT_MAX_BYTES")
@require_http_methods(["GET", "HEAD", "POST"])
def visit_document(request: HttpRequest, pk: int) -> HttpResponse:
    at, by = timezone.now(), signed_in(request)
    visit = found(request, pk, at)
    require(access.KEEP_AT_VISITS in acts_at(by, visit, on=at.date()))
    form = VisitDocumentForm(*sent(request), visit=visit)
    if form.is_bound and form.is_valid() and (file := form.keep()):
        said = {name: form.cleaned_data[name] for name in ("kind", "title")}
        try:
            made = visit_documents.add(visit, **said, file=file, about=form.about(), by=by, at=at)
        except DocumentRefused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, f"“{made.title}” is kept with visit {visit.number}.")
            say_what_it_tells(request, file)
            return redirect("visit", pk=visit.pk)
    page = {
        "heading": f"Add a photograph or document of visit {visit.number}",
        "button": "Keep it",
        "back": reverse("visit", args=[visit.pk]),
        "site": visit.structure.site,
        "structure": visit.structure,
    }
    return form_page(request, form, page)
