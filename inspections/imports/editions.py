"""What files of limits, intervals and days after events share: whose, where it stands, since when it is adopted."""

from abc import abstractmethod
from datetime import date, datetime, timedelta
from typing import Any

from inspections.actions.rules import CODE_TAKEN
from inspections.models import (
    Adoption,
    AllowanceAdoption,
    Author,
    EventAllowance,
    IntervalRule,
    LimitRule,
    SourceStatus,
)
from sites import bulk, filestore
from sites.imports import Column, Faults, Importer, Row
from sites.imports.cells import day, one_of, text, yes_no
from sites.imports.files import text_of
from sites.imports.reader import rows_of
from sites.imports.register.standing import chunks
from sites.models import Client, Firm, ImportedFile, Person, Site, Structure

COMMON = (
    Column("code", text(60), True, True, "Name the rule in a few words that stay from edition to edition."),
    Column("title", text(200), True, True, "Say what it asks."),
    Column("author", one_of("an author of rules", Author), True, True, "Say who demands it."),
    Column("author_name", text(200), True, True, "Name the author."),
    Column("source", text(300), True, True, "Name the document."),
    Column("edition", text(60), True, True, "Name the edition."),
    Column("status", one_of("a status", SourceStatus), True, True, "Say how sure the source is."),
    Column("note", text(400)),
    Column("client", text(200), meaning="Empty where it stands for every client."),
    Column("site", text(200), meaning="With its client; empty where it stands for every site."),
    Column("structure", text(200), meaning="With its site; empty where it stands for every structure."),
    Column("explosion_risk", yes_no, meaning="Empty where it does not matter."),
    Column("adopted_from", day, True, meaning="Empty while the firm has not adopted it."),
    Column("adopted_until", day, meaning="The last day it applies; empty while open."),
)
PLACE = ("client", "site", "structure")
STATED = ("code", "title", "author", "author_name", "source", "edition", "status", "explosion_risk")


class Editions(Importer):
    """One kind of rule: new editions, each with its adoption."""

    model: type[LimitRule] | type[IntervalRule] | type[EventAllowance]
    adoption_field: str
    adoption: type[Adoption] | type[AllowanceAdoption] = Adoption

    def __init__(self) -> None:
        self._adopted: list[tuple[LimitRule | IntervalRule | EventAllowance, date | None, date | None]] = []
        self._lines: dict[tuple[str, str], int] = {}
        self._standing: dict[str, dict[tuple[int | None, ...], int]] = {}
        self._places: dict[tuple[str, ...], Client | Site | Structure] = {}

    @abstractmethod
    def own_facts(self, row: Row, faults: Faults) -> dict[str, Any]:
        """The columns of this kind of rule, after checking them against each other."""

    def after(self, firm: Firm, rules: list[Any], *, at: datetime) -> None:
        """What hangs on these rules and is reckoned again, in the same transaction."""

    def check(self, firm: Firm, rows: list[Row], faults: Faults, *, at: datetime) -> None:
        for code, edition, *there in self.model._default_manager.filter(firm=firm).values_list(
            "code", "edition", *PLACE
        ):
            self._lines[code, edition] = 0
            self._standing.setdefault(code, {})[tuple(there)] = 0
        self._places = _places(firm, rows)
        for row in rows:
            before = len(faults)
            place = self._place(row, faults)
            if len(faults) > before or self._check_code(row, place, faults):
                self._check_edition(row, faults)
            facts = self.own_facts(row, faults)
            since, until = row["adopted_from"], row["adopted_until"]
            if until is not None and (since is None or until < since):
                faults.add(
                    row.line, "adopted_until", "A rule cannot end before it was adopted. Check both days."
                )
            if row.bad or len(faults) > before:
                continue
            stated = {name: row[name] for name in STATED}
            rule = self.model(firm=firm, recorded_at=at, note=row["note"] or "", **stated, **place, **facts)
            self._adopted.append((rule, since, until))

    def write(self, file: ImportedFile, *, by: Person, at: datetime) -> dict[str, Any]:
        rules: list[Any] = [rule for rule, _, _ in self._adopted]
        bulk.insert(self.model, rules)
        adoptions = [
            self._adoption(rule, since, until, by, at)
            for rule, since, until in self._adopted
            if since is not None
        ]
        bulk.insert(self.adoption, adoptions)
        self.after(file.firm, rules, at=at)
        return {"editions": len(rules), "adopted": len(adoptions)}

    def undo(self, file: ImportedFile, *, by: Person, at: datetime) -> dict[str, Any]:
        """Ends the adoption of what it brought: the day before is the last one. Verdicts stay as they were."""
        rows = rows_of(text_of(filestore.get(file.sha256)), self.columns, Faults())
        named = {(row["code"], row["edition"]) for row in rows}
        brought = self.model._default_manager.filter(firm=file.firm, recorded_at=file.recorded_at)
        last = at.date() - timedelta(days=1)
        ended = []
        for rule in brought.with_adoption():
            if (rule.code, rule.edition) in named and rule.adopted_from is not None:
                until = max(rule.adopted_from, last)
                if rule.adopted_until is None or rule.adopted_until > until:
                    ended.append(self._adoption(rule, rule.adopted_from, until, by, at))
        bulk.insert(self.adoption, ended)
        rules = [getattr(adoption, self.adoption_field) for adoption in ended]
        self.after(file.firm, rules, at=at)
        return {"adoptions ended": len(ended), "last day": last.isoformat()}

    def _adoption(self, rule: Any, since: date, until: date | None, by: Person, at: datetime) -> Any:
        return self.adoption(
            **{self.adoption_field: rule}, adopted_from=since, adopted_until=until, by=by, recorded_at=at
        )

    def _check_code(self, row: Row, place: dict[str, Any], faults: Faults) -> bool:
        """A code names one rule, which has one place. Returns: whether the row may have it"""
        if row["code"] is None:
            return True
        here = tuple(place[name].pk if name in place else None for name in PLACE)
        standing = self._standing.setdefault(row["code"], {here: row.line})
        if here in standing:
            return True
        line = min(standing.values())
        told = f"The rule of this code stands at another place in line {line}. Choose another code."
        faults.add(row.line, "code", told if line else CODE_TAKEN)
        return False

    def _check_edition(self, row: Row, faults: Faults) -> None:
        key = row["code"], row["edition"]
        if None in key:
            return
        line = self._lines.setdefault(key, row.line)
        if line != row.line:
            where = f"in line {line}" if line else "on record"
            faults.add(
                row.line,
                "edition",
                f"“{key[0]}”, {key[1]}, is {where} already. What changes is a new edition; name it so.",
            )

    def _place(self, row: Row, faults: Faults) -> dict[str, Any]:
        """The client, site or structure the rule stands on: the narrowest that is named, and only that."""
        names = [row[column] for column in PLACE]
        key: tuple[str, ...] = ()
        for column, name, above in zip(PLACE, names, (True, *names), strict=False):
            if name is None:
                continue
            if above is None:
                faults.add(
                    row.line, column, f"Name the {'client' if column == 'site' else 'site'} of {name} too."
                )
                return {}
            key = (*key, name)
            if key not in self._places:
                faults.add(row.line, column, f"No {column} “{name}” is on record there. Check the name.")
                return {}
        return {PLACE[len(key) - 1]: self._places[key]} if key else {}


def _places(firm: Firm, rows: list[Row]) -> dict[tuple[str, ...], Client | Site | Structure]:
    """What the rows name, by names from the client down."""
    clients = {row["client"] for row in rows} - {None}
    found: dict[tuple[str, ...], Client | Site | Structure] = {}
    for client in Client.objects.filter(firm=firm) if clients else ():
        if client.name in clients:
            found[(client.name,)] = client
    sites = {row["site"] for row in rows} - {None}
    for names in chunks(sorted(sites)):
        for site in Site.objects.filter(client__firm=firm, name__in=names).select_related("client"):
            found[site.client.name, site.name] = site
    for names in chunks(sorted({row["structure"] for row in rows} - {None})):
        for structure in Structure.objects.filter(site__client__firm=firm, name__in=names).select_related(
            "site__client"
        ):
            found[structure.site.client.name, structure.site.name, structure.name] = structure
    return found
