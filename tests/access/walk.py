"""Every address of the site, from the URL configuration itself."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

from django.urls import ResolverMatch, URLPattern, URLResolver, get_resolver


@dataclass(frozen=True)
class Address:
    """One pattern. name: with its namespaces, empty where it has none; module: where its view stands"""

    route: str
    name: str
    view: Any

    @property
    def takes(self) -> bool:
        """Whether something stands in it that says which thing is meant."""
        return "<" in self.route or "(?P" in self.route


@cache
def addresses() -> dict[str, Address]:
    """Every address by its name, or by its route where the name is missing or shared."""
    found = list(_walk(get_resolver().url_patterns, "", ""))
    names = Counter(address.name for address in found)
    return {a.name if a.name and names[a.name] == 1 else a.route: a for a in found}


def _walk(patterns: Any, before: str, space: str) -> Iterator[Address]:
    for pattern in patterns:
        route = f"{before}{pattern.pattern}"
        if isinstance(pattern, URLResolver):
            inner = f"{space}{pattern.namespace}:" if pattern.namespace else space
            yield from _walk(pattern.url_patterns, route, inner)
        elif isinstance(pattern, URLPattern):
            yield Address(route, f"{space}{pattern.name}" if pattern.name else "", pattern.callback)


def address_of(match: ResolverMatch) -> str:
    """The name under which the table knows the address that a path leads to."""
    known = addresses()
    return match.view_name if match.view_name in known else match.route
