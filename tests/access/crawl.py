"""Everything somebody can reach from their first page by what the pages offer them."""

from collections import Counter, deque
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import parse_qs, urljoin, urlsplit

from django.conf import settings
from django.urls import Resolver404, resolve, reverse
from django_tables2 import Table
from zeal import zeal_context

from tests.access.page import Page, rows_at
from tests.access.stage import Stage
from tests.access.walk import address_of

HOST = "testserver"
# Tables that are no list of their own, each with its reason. Nothing else stands on a page without its files.
WITHOUT_FILES = {
    ("defect", "ReadingTable"): "the last few readings of its point, whose page has them all as files",
    ("structure", "StructureDefects"): "the defects' list has them as files",
    ("structure", "RulesTable"): "drawn against one axis; the rules' list has them as files",
    ("visit-point", "RouteTable"): "a way to walk; the visit's readings are its files",
    ("visit", "KnownTable"): "what to look at now; the defects' list has them as files",
    ("visit", "FoundTable"): "found at this visit; the defects' list has them as files",
}
# What these say of a verdict stands beside its working.
ARE_THE_WORKING = ("reading", "how-verdicts-are-reached", "try-a-reading")
# So many pages behind one address are opened: a few of each kind show what that kind offers.
MOST_OF_A_KIND = 6
# And so many with the same names behind the question mark, whatever their values.
MOST_OF_A_QUESTION = 3
# How a page says that a name in its address is none of its own.
NOT_KNOWN = "This page does not know"
STATIC = "/" + settings.STATIC_URL.strip("/") + "/"
REDIRECTS = (301, 302, 303, 307, 308)


@dataclass
class Crawl:
    """One person's way through the site, from the front door or where it begins.

    pages: names of addresses reached, with how many; refused: sentences about what was offered and then refused;
    unworked: sentences about figures that lead to no working; miscounted: about counts that differ from their list
    lists: names of addresses whose pages show a table that grows with the record; tables: each table met, as the
    name of its page's address, its class, and whether it offers its files
    """

    stage: Stage
    who: str
    begins: str = ""
    pages_at_most: int = 100_000
    pages: Counter[str] = field(default_factory=Counter)
    refused: list[str] = field(default_factory=list)
    unworked: list[str] = field(default_factory=list)
    miscounted: list[str] = field(default_factory=list)
    lists: set[str] = field(default_factory=set)
    tables: set[tuple[str, str, bool]] = field(default_factory=set)

    def __post_init__(self) -> None:
        self._seen: set[str] = set()
        self._acts: set[str] = set()
        self._questions: Counter[Any] = Counter()
        self._counts: Counter[Any] = Counter()
        self._waiting = deque([(self.begins or reverse("home"), "the front door")])
        while self._waiting and self.pages.total() < self.pages_at_most:
            self._open(*self._waiting.popleft())

    def _open(self, address: str, shown_on: str) -> None:
        name = self._name(address, shown_on)
        if name is None or self.pages[name] >= MOST_OF_A_KIND:
            return
        self.pages[name] += 1
        try:
            with zeal_context():
                answer = self.stage.ask(self.who, "GET", address)
        except Exception as fault:
            fault.add_note(f"{self.who} asked for {address}, shown on {shown_on}")
            raise
        if answer.status_code in REDIRECTS:
            self._offer(answer["Location"], address, address)
        elif answer.status_code != 200:
            self.refused.append(f"{address}, shown on {shown_on}, answers {answer.status_code} to {self.who}")
        elif answer.headers.get("Content-Type", "").startswith("text/html"):
            self._read(address, name, answer)

    def _read(self, address: str, name: str, answer: Any) -> None:
        for table in tables_in(answer):
            self.lists.add(name)
            self.tables.add((name, type(table).__name__, bool(getattr(table, "files", None))))
        html = answer.content.decode()
        if NOT_KNOWN in html:
            self.refused.append(f"{address} is offered and asks for what its page does not know")
        page = Page(html)
        if page.unworked and name not in ARE_THE_WORKING:
            self.unworked.append(
                f"{address} shows {', '.join(page.unworked)} without a working to {self.who}"
            )
        for link, number in page.counts:
            self._count(urljoin(address, link), number, address)
        for link in page.links:
            self._offer(link, address, address)
        for act in page.acts:
            self._try(urljoin(address, act or address), address)

    def _count(self, address: str, number: int, shown_on: str) -> None:
        """Whether so many rows stand where a count leads; of a kind of count only a few are followed."""
        parts = urlsplit(address)
        kind = (self._name(address, shown_on), frozenset(parse_qs(parts.query)), parts.fragment)
        self._counts[kind] += 1
        if self._counts[kind] > MOST_OF_A_QUESTION:
            return
        answer = self.stage.ask(self.who, "GET", address.partition("#")[0])
        found, more = rows_at(answer.content.decode(), parts.fragment)
        if found != number and not (more and found < number):
            self.miscounted.append(f"{shown_on} counts {number} to {self.who}, {address} shows {found}")

    def _offer(self, link: str, base: str, shown_on: str) -> None:
        """Put a link of this site in the queue, unless one like it was opened."""
        parts = urlsplit(urljoin(f"http://{HOST}{base}", link))
        if parts.scheme not in ("http", "https") or parts.netloc != HOST or parts.path.startswith(STATIC):
            return
        address = f"{parts.path}?{parts.query}" if parts.query else parts.path
        if address in self._seen:
            return
        self._seen.add(address)
        if parts.query:
            question = (parts.path, frozenset(parse_qs(parts.query, keep_blank_values=True)))
            self._questions[question] += 1
            if self._questions[question] > MOST_OF_A_QUESTION:
                return
        self._waiting.append((address, shown_on))

    def _try(self, address: str, shown_on: str) -> None:
        """An empty form, sent to where the page would send it; never out of the door."""
        path = urlsplit(address).path
        name = self._name(path, shown_on)
        if name is None or path in self._acts or path == reverse("sign-out"):
            return
        self._acts.add(path)
        status = self.stage.ask(self.who, "POST", address, {}).status_code
        if status in (403, 404, 405) or status >= 500:
            self.refused.append(f"the form to {address}, shown on {shown_on}, answers {status} to {self.who}")

    def _name(self, address: str, shown_on: str) -> str | None:
        path = urlsplit(address).path
        try:
            return address_of(resolve(path))
        except Resolver404:
            self.refused.append(f"{address}, shown on {shown_on}, leads nowhere")
            return None


def tables_in(answer: Any) -> list[Table]:
    """The tables that were drawn for an answer, each once."""
    drawn = {id(value): value for context in answer.context or () for layer in context for value in layer.values()
             if isinstance(value, Table)}  # fmt: skip
    return list(drawn.values())


def shown_in(table: Table) -> int:
    """How many rows of it stand on this page."""
    page = getattr(table, "page", None)
    return len(page.object_list) if page else len(table.rows)
