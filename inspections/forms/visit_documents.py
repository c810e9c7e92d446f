"""Handing in a photograph or paper of a visit: the structure is the visit's own."""

from typing import Any

from inspections.models import Visit
from sites.forms.documents import AddForm
from sites.models import DocumentKind


class VisitDocumentForm(AddForm):
    def __init__(self, *args: Any, visit: Visit, **kwargs: Any) -> None:
        super().__init__(
            *args, site=visit.structure.site, initial={"kind": DocumentKind.PHOTOGRAPH}, **kwargs
        )
        del self.fields["structure"]
