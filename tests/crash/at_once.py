"""Several people at the same act at the same moment, each a process with its own connection."""

import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date, timedelta
from functools import partial
from typing import Any
from unittest import mock

from django.db import connection, transaction

from inspections.actions import dispensations, planning, readings, register, rules, visits
from inspections.actions.people import give_role
from inspections.imports import Readings, Register
from inspections.models import IntervalRule, Reading, Visit
from reports import actions
from reports.models import Issue, IssueFile
from sites import filestore, imports, log
from sites.actions import people, signing
from sites.models import (
    Firm,
    ImportedFile,
    LogEntry,
    LogHead,
    Membership,
    Person,
    Role,
    SystemKind,
    VisitKind,
)
from tests import factories as f
from tests import story as told
from tests.crash import children, record
from tests.crash.imports import day_file

ISSUED = told.ON_SITE + timedelta(days=1)
HOUR = timedelta(hours=1)


def beside(story: told.Story, points: int = 2) -> told.Story:
    """Another structure at the same site, with the same people."""
    structure = f.StructureFactory(site=story.structure.site)
    part = f.PartFactory(system__structure=structure)
    made = [
        f.TestPointFactory(structure=structure, part=part, number=str(number))
        for number in range(1, points + 1)
    ]
    return replace(story, structure=structure, points=made)


def second_signatory(story: told.Story) -> Person:
    person: Person = f.MembershipFactory(firm=story.firm, role=Role.SIGNATORY).person
    f.AuthorisationFactory(
        person=person, firm=story.firm, system_kind=SystemKind.LIGHTNING, visit_kind=VisitKind.COMPLETE
    )
    return person


def shares(jobs: Sequence[Callable[[], Any]], workers: int) -> list[Callable[[], list[Any]]]:
    """The jobs dealt out: each worker does its own one after the other."""
    return [partial(_one_after_the_other, jobs[worker::workers]) for worker in range(workers)]


def _one_after_the_other(jobs: Sequence[Callable[[], Any]]) -> list[Any]:
    return [job() for job in jobs]


def issue(visit: Visit, by: Person) -> int:
    """Both steps of issuing a report. Returns: its number"""
    issued = actions.authorise(visit, by=by, at=ISSUED)
    actions.attach_file(issued, at=ISSUED)
    return issued.number


def take_over(story: told.Story, visit: Visit, content: bytes) -> str:
    file = imports.run(
        Readings(visit), firm=story.firm, name="day.csv", content=content, by=story.inspector,
        at=told.ON_SITE + 9 * HOUR,
    )  # fmt: skip
    return str(file.identity)


def enter(story: told.Story, visit: Visit, text: str) -> int:
    entry = told.entry(story, story.points[0], text, told.ON_SITE + HOUR)
    rows = readings.record(visit, [entry], by=story.inspector, at=told.ON_SITE + HOUR)
    return len(rows)


def complete(story: told.Story, visit: Visit) -> str:
    left = told.ON_SITE + 2 * HOUR
    told.see_parts(visit, story.inspector, left)
    return str(visits.complete_field_work(visit, left_at=left, by=story.inspector, at=left).state)


def lingering(act: Callable[[], Any]) -> None:
    """The act in a transaction that stays open for a moment, so that the others are at theirs meanwhile."""
    with transaction.atomic():
        act()
        time.sleep(0.2)


def holding_the_head(act: Callable[[], Any]) -> Any:
    """The act, which keeps the log's head for a while before it goes on: the others come to stand behind it."""
    taken = log.locked_head

    def slowly(firm: Firm) -> LogHead:
        head = taken(firm)
        time.sleep(0.8)
        return head

    with mock.patch.object(log, "locked_head", slowly):
        return act()


def a_moment_later(act: Callable[[], Any]) -> Any:
    """The act, once the other one has had the time to take the log's head."""
    time.sleep(0.3)
    return act()


def names_what_another_changes(story: told.Story, changed: str) -> Callable[[], Any]:
    """An act that changes a row which the plan of a visit refers to."""
    by, at, since = story.planner, told.ON_SITE, told.ON_SITE_DAY
    if changed == "person":
        return lambda: signing.change_password(story.inspector, password=f.PASSWORD, session=None, at=at).pk
    if changed == "membership":
        row = Membership.objects.get(person=story.inspector)
        return lambda: people.end_membership(row, until=since + timedelta(days=90), by=by, at=at).pk
    if changed == "site":
        site = story.structure.site
        return lambda: register.change_site(site, since=since, name="Gate 2", by=by, at=at).pk
    return lambda: register.describe_structure(story.structure, since=since, name="Tower", by=by, at=at).pk


def acts_on_what_is_due(story: told.Story, edition: IntervalRule) -> dict[str, Callable[[], Any]]:
    """Acts on the rules and on the register. edition: asks of class I, which the story's structure is not"""
    site, at = story.structure.site, told.ON_SITE
    by_planner: dict[str, Any] = {
        "since": told.ON_SITE_DAY - timedelta(days=1),
        "by": story.planner,
        "at": at,
    }
    row = {
        "client": site.client.name, "site": site.name, "structure": "Hall", "use": "hall", "class": "I",
        "system_kind": "lightning protection", "system": "Lightning protection", "part_kind": "down-conductor",
        "part": "Down-conductor", "material": "copper", "section": "50 mm²", "since": "2027-01-01",
    }  # fmt: skip
    file = "\n".join(";".join(line) for line in (row, row.values())) + "\n"
    return {
        "adopt": lambda: rules.adopt(edition, adopted_from=date(2027, 1, 1), by=story.signatory, at=at),
        "dispense": lambda: dispensations.dispense(
            IntervalRule.objects.get(firm=story.firm, months=12), until=date(2029, 1, 1), document="letter",
            given_by="the underwriter", given_on=date(2027, 1, 1), by=story.signatory, at=at,
        ),
        "create": lambda: register.create_structure(
            site, name="Hall", use="hall", protection_class="I", **by_planner
        ),
        "import": lambda: imports.run(
            Register(), firm=story.firm, name="register.csv", content=file.encode(), by=story.planner, at=at
        ),
        "describe": lambda: register.describe_structure(story.structure, protection_class="I", **by_planner),
    }  # fmt: skip


class AtOnce:
    """Each command makes a firm of its own, lets the workers loose on it and says what came of it."""

    def _found(self, story: told.Story, answers: list[dict[str, Any]], **more: Any) -> dict[str, Any]:
        head = LogHead.objects.get(pk=story.firm.pk)
        return {
            "answers": [{k: v for k, v in answer.items() if k != "seconds"} for answer in answers],
            "reports": sorted(Issue.objects.filter(firm=story.firm).values_list("number", flat=True)),
            "visits": sorted(Visit.objects.filter(firm=story.firm).values_list("number", flat=True)),
            "head": [head.reports, head.visits],
            "wrong": record.wrong(story.firm),
            "deadlocks": _deadlocks(),
            **more,
        }

    def authorise(self, workers: int, each: int) -> dict[str, Any]:
        """Two signatories issue reports about different visits."""
        with transaction.atomic():
            story = told.begin(2)
            signatories = [story.signatory, second_signatory(story)]
            approved = [told.approved(beside(story)) for _ in range(workers * each)]
            record.reckon_due_dates(story.firm)
        jobs = [partial(issue, visit, signatories[n % 2]) for n, visit in enumerate(approved)]
        answers = children.at_once(shares(jobs, workers))
        issues = Issue.objects.filter(firm=story.firm)
        return self._found(
            story,
            answers,
            visits_reported=issues.values("visit").distinct().count(),
            signatories=issues.values("authorised_by").distinct().count(),
            ready=issues.ready().count(),
            entries=_entries(story, "report issued") + _entries(story, "report file attached"),
        )

    def authorise_the_same(self, workers: int) -> dict[str, Any]:
        """Two signatories issue the report about the same visit."""
        with transaction.atomic():
            story = told.begin(2)
            signatories = [story.signatory, second_signatory(story)]
            visit = told.approved(story)
            record.reckon_due_dates(story.firm)
        answers = children.at_once([partial(issue, visit, signatories[n % 2]) for n in range(workers)])
        return self._found(story, answers, entries=_entries(story, "report issued"))

    def attach_the_same(self, workers: int) -> dict[str, Any]:
        """Several make the file of one report."""
        with transaction.atomic():
            story = told.begin(2)
            issued = actions.authorise(told.approved(story), by=story.signatory, at=ISSUED)
            record.reckon_due_dates(story.firm)
        answers = children.at_once(
            [lambda: actions.attach_file(issued, at=ISSUED).sha256 for _ in range(workers)]
        )
        return self._found(
            story,
            answers,
            files=IssueFile.objects.filter(issue=issued).count(),
            entries=_entries(story, "report file attached"),
        )

    def import_the_same(self, workers: int) -> dict[str, Any]:
        """Several hand in the same file at the same visit."""
        with transaction.atomic():
            story = told.begin(40)
            visit = told.on_site(story)
            record.reckon_due_dates(story.firm)
        content = day_file(story, told.ON_SITE, 40)
        answers = children.at_once([partial(take_over, story, visit, content)] * workers)
        return self._found(
            story,
            answers,
            files=ImportedFile.objects.filter(firm=story.firm).count(),
            readings=Reading.objects.filter(visit=visit).count(),
            entries=_entries(story, "readings imported"),
        )

    def enter_the_same(self, workers: int) -> dict[str, Any]:
        """Several enter the same point of the same visit."""
        with transaction.atomic():
            story = told.begin(2)
            visit = told.on_site(story)
            record.reckon_due_dates(story.firm)
        answers = children.at_once([partial(enter, story, visit, f"5.0{n}") for n in range(workers)])
        return self._found(
            story,
            answers,
            readings=Reading.objects.filter(visit=visit).count(),
            entries=_entries(story, "readings entered"),
        )

    def plan(self, workers: int, each: int) -> dict[str, Any]:
        """Several plan visits to different structures of one firm."""
        with transaction.atomic():
            story = told.begin(2)
            places = [beside(story) for _ in range(workers * each)]
            record.reckon_due_dates(story.firm)
        jobs = [lambda place=place: told.plan(place).number for place in places]
        answers = children.at_once(shares(jobs, workers))
        return self._found(story, answers, entries=_entries(story, "visit planned"))

    def one_structure(self, workers: int) -> dict[str, Any]:
        """As many visits to one structure are completed, so each reckons its due dates anew."""
        with transaction.atomic():
            story = told.begin(2)
            open_visits = [told.on_site(story) for _ in range(workers)]
            for visit in open_visits:
                entries = [told.entry(story, point, "5.00", told.ON_SITE + HOUR) for point in story.points]
                readings.record(visit, entries, by=story.inspector, at=told.ON_SITE + HOUR)
            record.reckon_due_dates(story.firm)
        answers = children.at_once([partial(complete, story, visit) for visit in open_visits])
        return self._found(story, answers, due=story.structure.due_dates.count())

    def everything(self, workers: int) -> dict[str, Any]:
        """Planning, entering, importing, completing and issuing in one firm, in another order for each worker."""
        with transaction.atomic():
            story = told.begin(2)
            jobs = [self._one_of_each(beside(story, 30)) for _ in range(workers)]
            record.reckon_due_dates(story.firm)
        turned = [partial(_one_after_the_other, job[n % 5 :] + job[: n % 5]) for n, job in enumerate(jobs)]
        answers = children.at_once(turned)
        return self._found(story, answers, imported=_entries(story, "readings imported"))

    def _one_of_each(self, story: told.Story) -> list[Callable[[], Any]]:
        by_hand, from_file, done, approved = (beside(story, 30) for _ in range(4))
        begun = [told.on_site(one) for one in (by_hand, from_file, done)]
        entries = [told.entry(done, point, "5.00", told.ON_SITE + HOUR) for point in done.points]
        readings.record(begun[2], entries, by=done.inspector, at=told.ON_SITE + HOUR)
        return [
            lambda: told.plan(story).number,
            partial(enter, by_hand, begun[0], "5.00"),
            partial(take_over, from_file, begun[1], day_file(from_file, told.ON_SITE, 30)),
            partial(complete, done, begun[2]),
            partial(issue, told.approved(approved), story.signatory),
        ]

    def end_each_others_role(self) -> dict[str, Any]:
        """The two people of a firm who may change people end each other's role."""
        with transaction.atomic():
            story = told.begin(2)
            signatory = Membership.objects.get(person=story.signatory)
            quality = f.MembershipFactory(firm=story.firm, role=Role.QUALITY)
            record.reckon_due_dates(story.firm)

        def end(ended: Membership, by: Person) -> None:
            people.end_membership(ended, until=told.ON_SITE_DAY, by=by, at=told.ON_SITE)

        pairs = ((quality, signatory.person), (signatory, quality.person))
        answers = children.at_once([partial(lingering, partial(end, *pair)) for pair in pairs])
        return self._found(story, answers)

    def give_the_same_role(self, workers: int) -> dict[str, Any]:
        """Several give one person the same role."""
        with transaction.atomic():
            story = told.begin(2)
            person = f.PersonFactory()
            record.reckon_due_dates(story.firm)

        def give() -> None:
            people.create_membership(
                person, firm=story.firm, role=Role.PLANNER, since=told.ON_SITE_DAY, by=story.signatory, at=told.ON_SITE
            )  # fmt: skip

        answers = children.at_once([partial(lingering, give)] * workers)
        return self._found(story, answers, roles=Membership.objects.filter(person=person).count())

    def give_the_same_reach(self, workers: int) -> dict[str, Any]:
        """Several let one role reach the same site."""
        with transaction.atomic():
            story = told.begin(2)
            member = f.MembershipFactory(firm=story.firm, role=Role.FACILITY)
            record.reckon_due_dates(story.firm)

        def give() -> None:
            people.create_scope(
                member, site=story.structure.site, since=told.ON_SITE_DAY, by=story.signatory, at=told.ON_SITE
            )

        answers = children.at_once([partial(lingering, give)] * workers)
        return self._found(story, answers, reaches=member.scopes.count())

    def change_beside(self, changed: str) -> dict[str, Any]:
        """Somebody plans a visit while another changes a row that the visit refers to."""
        with transaction.atomic():
            story = told.begin(2)
            record.reckon_due_dates(story.firm)
        change = names_what_another_changes(story, changed)
        answers = children.at_once(
            [
                lambda: holding_the_head(lambda: told.plan(story).number),
                lambda: bool(a_moment_later(change)),
            ]
        )
        return self._found(story, answers)

    def renew_beside(self, changed: str) -> dict[str, Any]:
        """An inspector's role is renewed while another changes a row that what it opens refers to."""
        with transaction.atomic():
            story = told.begin(2)
            told.plan(story)
            member = Membership.objects.get(person=story.inspector)
            ended = told.ON_SITE_DAY + timedelta(days=30)
            people.end_membership(member, until=ended, by=story.signatory, at=told.ON_SITE)
            record.reckon_due_dates(story.firm)
        change = names_what_another_changes(story, changed)
        renew = partial(
            give_role, story.inspector, firm=story.firm, role=Role.INSPECTOR, since=ended + timedelta(days=1),
            by=story.signatory, at=told.ON_SITE,
        )  # fmt: skip
        answers = children.at_once(
            [
                lambda: holding_the_head(lambda: bool(renew())),
                lambda: bool(a_moment_later(change)),
            ]
        )
        seen = Visit.objects.visible_to(story.inspector, on=ended + timedelta(days=1))
        return self._found(story, answers, seen=seen.count())

    def change_what_is_due(self, first: str, second: str) -> dict[str, Any]:
        """The second act begins while the first is done and not yet on record."""
        with transaction.atomic():
            story = told.begin(2)
            edition = f.IntervalRuleFactory(firm=story.firm, code="new", months=6, classes="I")
            record.reckon_due_dates(story.firm)
        acts = acts_on_what_is_due(story, edition)
        answers = children.at_once(
            [
                lambda: bool(holding_the_head(acts[first])),
                lambda: bool(a_moment_later(acts[second])),
            ]
        )
        return self._found(story, answers)

    def take_off_and_send(self) -> dict[str, Any]:
        """An inspector is taken off their only visit at a site while they are sent there by another plan."""
        with transaction.atomic():
            story = told.begin(2)
            visit = told.plan(story)
            other = f.MembershipFactory(firm=story.firm, role=Role.INSPECTOR).person
            record.reckon_due_dates(story.firm)
        at = told.ON_SITE - timedelta(days=20)
        take_off = partial(
            planning.assign,
            visit,
            inspectors=[other],
            reason="staff",
            by=story.planner,
            at=at,
            anyway="learns",
        )
        answers = children.at_once(
            [
                partial(lingering, take_off),
                partial(lingering, partial(told.plan, story, told.ON_SITE_DAY + timedelta(days=9))),
            ]
        )
        seen = Visit.objects.visible_to(story.inspector, on=told.ON_SITE_DAY)
        return self._found(story, answers, seen=seen.count())

    def keep_the_same_bytes(self, workers: int, files: int) -> list[dict[str, Any]]:
        """Several keep the same files in the same order, each looking for its own at once."""

        def keep() -> int:
            contents = [f"{n}\n".encode() * 3000 for n in range(files)]
            return sum(filestore.get(filestore.put(content)) == content for content in contents)

        return children.at_once([keep] * workers)

    def check(self) -> str:
        return record.checked()


def _entries(story: told.Story, action: str) -> int:
    return LogEntry.objects.filter(firm=story.firm, action=action).count()


def _deadlocks() -> int:
    """How many the server had to break in this database since it was made."""
    if connection.vendor != "postgresql":
        return 0
    with connection.cursor() as cursor:
        cursor.execute("SELECT deadlocks FROM pg_stat_database WHERE datname = current_database()")
        return int(cursor.fetchone()[0])
