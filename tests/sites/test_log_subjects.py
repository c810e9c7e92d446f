"""Where the subjects of log entries stand, and who may see them."""

from datetime import date

import pytest

from inspections.models import Defect, Event, Instrument, LimitRule, Visit, VisitPerson
from reports.models import Issue
from sites import log, log_subjects
from sites.models import Client, LogEntry, Membership, Part, Person, Role, Scope, Site, Structure
from tests import factories as make

ON = date(2027, 5, 17)


@pytest.mark.parametrize(
    ("model", "path"),
    [
        (Site, ""), (Client, ""), (Structure, "site"), (Part, "structure__site"), (Visit, "structure__site"),
        (VisitPerson, "visit__structure__site"), (Defect, "structure__site"), (Event, "structure__site"),
        (Issue, "visit__structure__site"),
    ],
)  # fmt: skip
def test_a_kind_is_placed_by_its_required_relations(model, path) -> None:
    (place,) = log_subjects.places_of(model)
    assert place.path == path


@pytest.mark.parametrize("model", [Person, Membership, Instrument, LimitRule])
def test_what_belongs_to_the_firm_is_placed_nowhere(model) -> None:
    assert log_subjects.places_of(model) == ()


def test_no_two_kinds_share_a_name() -> None:
    labels = [model._meta.label for model in log_subjects.kinds().values()]
    assert len(labels) == len(set(labels))
    assert log_subjects.kinds()["visit"] is Visit


@pytest.mark.django_db
def test_whatever_has_a_page_is_called_by_something_of_its_own() -> None:
    models = {model._meta.label_lower: model for model in log_subjects.kinds().values()}
    for label, page in log_subjects.PAGES.items():
        assert list(models[label]._default_manager.values_list("identity", page.key, page.called)) == []
    visit = make.VisitFactory()
    told = log.record(visit.firm, "visit planned", visit, by=None, at=make.AT)
    assert log_subjects.subjects([told]) == {visit.identity: (f"/visits/{visit.pk}/", str(visit.number))}


@pytest.mark.django_db
def test_an_auditor_sees_what_lies_within_the_grant_and_their_own_acts() -> None:
    inside = make.StructureFactory()
    firm = inside.site.client.firm
    outside = make.StructureFactory(site__client__firm=firm)
    member = make.MembershipFactory(firm=firm, role=Role.AUDITOR)
    make.ScopeFactory(membership=member, client=None, site=inside.site)
    within = [
        inside, inside.site, inside.site.client, make.VisitFactory(structure=inside),
        make.DefectFactory(visit__structure=inside), make.ScopeFactory(client=inside.site.client),
    ]  # fmt: skip
    beyond = [
        outside, outside.site, outside.site.client, make.VisitFactory(structure=outside), firm, member.person,
        make.InstrumentFactory(firm=firm), make.ScopeFactory(client=outside.site.client),
    ]  # fmt: skip
    for subject in (*within, *beyond):
        log.record(firm, "something done", subject, by=None, at=make.AT)
    own = log.record(firm, "audit sample drawn", firm, by=member.person, at=make.AT)
    found = LogEntry.objects.filter(log_subjects.within(member.person, on=ON))
    assert {entry.subject for entry in found} == {row.identity for row in within} | {firm.identity}
    assert {entry.pk for entry in found if entry.subject == firm.identity} == {own.pk}
    assert Scope.objects.count() == 3
