"""People at work at once through the real server: what they look at and write, how long it takes, and what is kept.

Each is a thread with a connection and a session of its own and asks again as soon as the answer is there. What a server
answered as done is written down; ``kept`` then looks for each in the record, which must hold it exactly once.
"""

import http.client
import json
import random
import re
import statistics
import threading
import time
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any
from urllib.parse import urlencode

from tests.serving.server import FORM, Server
from tests.sites.own_databases import Place

PASSWORD = "tallow-hinge-umber-9"
ROLES = (
    "inspector",
    "facility manager",
    "planner",
    "inspector",
    "auditor",
    "facility manager",
    "planner",
    "inspector",
)
ALONE = ("inspector", "facility manager", "planner", "auditor")

# Runs in a place that holds the demo: people, and a visit on site for each inspector. Prints one JSON object.
PREPARE = """
import json
from datetime import timedelta
from zoneinfo import ZoneInfo
from django.db import transaction
from django.db.models import Count
from django.utils import timezone
from inspections.actions import visits
from inspections.forms.entry import as_typed
from inspections.models import Reading
from reports.models import Issue
from sites.actions import people as acts
from sites.models import Firm, Membership, Person, Role, Structure, SystemKind, VisitKind
at = timezone.now()
since, firm = at.date() - timedelta(days=30), Firm.objects.get()
by = Membership.objects.filter(firm=firm, role=Role.QUALITY).first().person
planner = Membership.objects.filter(firm=firm, role=Role.PLANNER).first().person
structure = Structure.objects.annotate(points_there=Count("points")).order_by("-points_there").first()
client, zone = structure.site.client, ZoneInfo(structure.site.time_zone)
points = {}
for row in Reading.objects.filter(visit__structure=structure, point__retired_on=None).order_by("pk"):
    said = as_typed(row, zone)
    for name in ("repeats", "reversed", "left_out", "null", "null_time"):
        said.pop(name)
    points[row.point_id] = {name: str(value) for name, value in said.items() if value}
begun = at - timedelta(minutes=10)
told = {"points": sorted(points), "typed": points, "people": [],
        "structures": list(Structure.objects.filter(site__client=client).values_list("pk", flat=True)),
        "now": at.astimezone(zone).strftime("%Y-%m-%dT%H:%M"),
        "issues": list(Issue.objects.ready().filter(visit__structure__site__client=client)
                       .values_list("pk", flat=True))}
for number, role in enumerate(ROLES):
    with transaction.atomic():
        person = acts.create_person(firm, name=f"Person {number}", email=f"person{number}@example.org", by=by, at=at,
                                    password=PASSWORD)
        until = at.date() + timedelta(days=30) if role == Role.AUDITOR else None
        member = acts.create_membership(person, firm=firm, role=role, since=since, until=until, by=by, at=at)
        if role != Role.PLANNER:
            acts.create_scope(member, client=client, since=since, until=until, by=by, at=at)
        row = {"email": person.email, "role": role, "pk": person.pk}
        if role == Role.INSPECTOR:
            for system in SystemKind:
                acts.create_authorisation(person, firm=firm, system_kind=system, visit_kind=VisitKind.COMPLETE,
                                          since=since, by=by, at=at)
            visit = visits.plan(structure, kind=VisitKind.COMPLETE, purpose="periodic",
                                planned_on=begun.astimezone(zone).date(), inspectors=[person], by=planner, at=begun)
            row["visit"] = visits.start(visit, arrived_at=begun, by=person, at=begun).pk
    told["people"].append(row)
print(json.dumps(told))
"""

# What the record holds of what was answered as done. Prints what is missing, there twice, or there unasked.
KEPT = """
import json, sys
from collections import Counter
from inspections.models import Event, Reading, Visit
told = json.load(open(PATH))
held = {
    "reading": Counter(f"{v} {p} {t}" for v, p, t in Reading.objects.filter(
        visit__in=told["visits"]).values_list("visit", "point", "text")),
    "visit": Counter(f"{s} {d}" for s, d in Visit.objects.filter(
        pk__gt=told["before"]).values_list("structure", "planned_on")),
    "event": Counter(Event.objects.filter(words__startswith="Crowd: ").values_list("words", flat=True)),
}
said = {kind: Counter(told["done"].get(kind, [])) for kind in held}
print(json.dumps([f"{kind} {one}: answered {said[kind][one]}, kept {held[kind][one]}"
    for kind in held for one in held[kind] | said[kind] if said[kind][one] != held[kind][one] or said[kind][one] > 1]))
"""


@dataclass
class Told:
    """What happened. seconds: by kind of request; done: writes that were answered as done; faults: everything else"""

    seconds: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    done: dict[str, list[str]] = field(default_factory=lambda: defaultdict(list))
    faults: list[str] = field(default_factory=list)
    took: float = 0.0

    @property
    def requests(self) -> int:
        return sum(map(len, self.seconds.values()))

    @property
    def a_second(self) -> float:
        return self.requests / self.took

    @property
    def writes(self) -> int:
        return sum(map(len, self.done.values()))

    def rows(self) -> list[tuple[str, int, float, float, float]]:
        """Kind, how many, and the median, the 95th of a hundred and the slowest in seconds."""
        return [(kind, len(t), *spread(t)) for kind, t in sorted(self.seconds.items())]


def spread(seconds: Iterable[float]) -> tuple[float, float, float]:
    """Median, 95th of a hundred, slowest."""
    ordered = sorted(seconds)
    return statistics.median(ordered), ordered[int(0.95 * (len(ordered) - 1))], ordered[-1]


def prepared(place: Place, people: int) -> dict[str, Any]:
    """The stage: that many people, and four more, one of each role, for whoever works alone."""
    roles = [*(ROLES[number % len(ROLES)] for number in range(people)), *ALONE]
    stage: dict[str, Any] = json.loads(place.run(f"ROLES, PASSWORD = {roles!r}, {PASSWORD!r}{PREPARE}"))
    return stage


def newest_visit(place: Place) -> int:
    """The greatest key of a visit that is there."""
    return int(place.run("from inspections.models import Visit; print(Visit.objects.latest('pk').pk)"))


def signed_in(server: Server, stage: dict[str, Any]) -> list["Somebody"]:
    people = [Somebody(server, stage, number) for number in range(len(stage["people"]))]
    for one in people:
        one.sign_in()
    return people


def together(people: list["Somebody"], seconds: float) -> Told:
    """All at once for so long; each finishes the request it has begun."""
    told, began = Told(), time.perf_counter()
    threads = [threading.Thread(target=one.work, args=(began + seconds, told)) for one in people]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    told.took = time.perf_counter() - began
    return told


def in_turn(people: list["Somebody"], seconds: float) -> Told:
    """One request at a time: what the same work takes where nobody else is there."""
    told, began = Told(), time.perf_counter()
    while time.perf_counter() < began + seconds:
        for one in people:
            one.one_act(told)
    told.took = time.perf_counter() - began
    return told


def kept(place: Place, stage: dict[str, Any], before: int, tolds: Iterable[Told]) -> list[str]:
    """What was answered as done and is not in the record exactly once, or is there though nobody was told so.

    before: the greatest key of a visit before the work began
    """
    done: dict[str, list[str]] = defaultdict(list)
    for told in tolds:
        for kind, rows in told.done.items():
            done[kind] += rows
    path = place.folder.parent / "done.json"
    visits = [one["visit"] for one in stage["people"] if "visit" in one]
    path.write_text(json.dumps({"done": done, "visits": visits, "before": before}))
    wrong: list[str] = json.loads(place.run(f"PATH = {str(path)!r}{KEPT}"))
    return wrong


class Somebody:
    """One person at a browser."""

    def __init__(self, server: Server, stage: dict[str, Any], number: int) -> None:
        self.stage, self.number, self.me = stage, number, stage["people"][number]
        self._server, self._connection = server, server.connection()
        self._cookies: dict[str, str] = {}
        self._random = random.Random(number)
        self._open = list(stage["points"])
        self._said = 0

    def sign_in(self) -> None:
        self._ask("GET", "/sign-in/")
        status, _, where = self._send("/sign-in/", {"username": self.me["email"], "password": PASSWORD})
        assert (status, "downlead_session" in self._cookies) == (302, True), (status, where)

    def work(self, until: float, told: Told) -> None:
        while time.perf_counter() < until:
            self.one_act(told)

    def one_act(self, told: Told) -> None:
        """One of the things this person does. Whatever is not answered as it should be is a fault."""
        act = self._random.choice(self._acts())
        try:
            act(told)
        except (OSError, http.client.HTTPException) as fault:
            told.faults.append(f"{self.me['role']}, {act.__name__}: {fault!r}")
            self._connection.close()

    def _acts(self) -> list[Any]:
        looks = [self.structure, self.point]
        return {
            "inspector": [*looks, self.visit, self.enter, self.enter, self.enter],
            "facility manager": [*looks, self.buildings, self.reports, self.download, self.tell],
            "planner": [*looks, self.due, self.visits, self.workload, self.past_day, self.plan],
            "auditor": [*looks, self.log, self.reports, self.download, self.visits, self.past_day],
        }[self.me["role"]]

    def structure(self, told: Told) -> None:
        self._look(told, "structure", f"/structures/{self._random.choice(self.stage['structures'])}/")

    def point(self, told: Told) -> None:
        self._look(told, "point", f"/points/{self._random.choice(self.stage['points'])}/")

    def visit(self, told: Told) -> None:
        self._look(told, "visit", f"/visits/{self.me['visit']}/")

    def due(self, told: Told) -> None:
        self._look(told, "due list", "/due/")

    def visits(self, told: Told) -> None:
        self._look(told, "visits", "/visits/")

    def workload(self, told: Told) -> None:
        self._look(told, "workload", "/planning/")

    def buildings(self, told: Told) -> None:
        self._look(told, "buildings", "/buildings/")

    def reports(self, told: Told) -> None:
        self._look(told, "reports", "/reports/")

    def log(self, told: Told) -> None:
        self._look(told, "log", "/log/")

    def past_day(self, told: Told) -> None:
        day = date.today() - timedelta(days=self._random.randrange(30, 900))
        self._look(told, "past day", f"/past-day/?day={day}")

    def download(self, told: Told) -> None:
        page = self._look(
            told, "report’s file", f"/reports/{self._random.choice(self.stage['issues'])}/file/"
        )
        if page and not page.startswith(b"%PDF-"):
            told.faults.append("A report’s file is no PDF.")

    def enter(self, told: Told) -> None:
        """The next reading along the route."""
        if not self._open:
            return
        point = self._open.pop(0)
        address = f"/visits/{self.me['visit']}/enter/{point}/"
        self._look(told, "entry page", address)
        typed = {**self.stage["typed"][str(point)], "time": self.stage["now"]}
        form = {f"reading-{name}": value for name, value in typed.items()}
        self._write(
            told,
            "reading entered",
            address,
            form,
            "reading",
            f"{self.me['visit']} {point} {typed['reading']}",
        )

    def plan(self, told: Told) -> None:
        """A visit on a day that nobody else plans for."""
        self._said += 1
        place = self._random.choice(self.stage["structures"])
        day = date.today() + timedelta(days=40 + 20 * self._said + self.number % 20)
        address = f"/structures/{place}/plan-visit/"
        self._look(told, "planning form", address)
        inspector = next(one["pk"] for one in self.stage["people"] if one["role"] == "inspector")
        form = {
            "kind": "complete",
            "purpose": "periodic",
            "planned_on": str(day),
            "inspectors": str(inspector),
        }
        self._write(told, "visit planned", address, form, "visit", f"{place} {day}")

    def tell(self, told: Told) -> None:
        """Something changed."""
        self._said += 1
        address = f"/structures/{self._random.choice(self.stage['structures'])}/something-changed/"
        self._look(told, "form of a change", address)
        words = f"Crowd: {self.me['email']} {self._said}"
        yesterday = str(date.today() - timedelta(days=2))
        form = {
            "kind": "alteration",
            "on": yesterday,
            "words": words,
            "reported_by": self.me["email"],
            "strike": "",
        }
        self._write(told, "change told", address, form, "event", words)

    def _look(self, told: Told, kind: str, path: str) -> bytes:
        began = time.perf_counter()
        status, page, _ = self._ask("GET", path)
        told.seconds[kind].append(time.perf_counter() - began)
        if status != 200:
            told.faults.append(f"{self.me['role']}, {kind}: {status}")
            return b""
        return page

    def _write(self, told: Told, kind: str, path: str, form: dict[str, str], what: str, which: str) -> None:
        began = time.perf_counter()
        status, page, _ = self._send(path, form)
        told.seconds[kind].append(time.perf_counter() - began)
        if status == 302:
            told.done[what].append(which)
        else:
            said = re.findall(r'class="fault"[^>]*>([^<]+)', page.decode())
            told.faults.append(f"{self.me['role']}, {kind}: {status} {said[:3]}")

    def _send(self, path: str, form: dict[str, str]) -> tuple[int, bytes, str]:
        """As a page's form does, with the token of the cookie."""
        return self._ask("POST", path, urlencode({"csrfmiddlewaretoken": self._cookies["csrftoken"], **form}))

    def _ask(self, method: str, path: str, body: str | None = None) -> tuple[int, bytes, str]:
        headers = {"Cookie": "; ".join(f"{name}={value}" for name, value in self._cookies.items())}
        if body is not None:
            headers["Content-Type"] = FORM
        self._connection.request(method, path, body, headers)
        answer = self._connection.getresponse()
        page = answer.read()
        for name, value in answer.getheaders():
            if name.lower() == "set-cookie":
                key, _, rest = value.partition("=")
                self._cookies[key] = rest.partition(";")[0]
        return answer.status, page, answer.getheader("Location", "")
