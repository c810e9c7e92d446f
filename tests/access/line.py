"""One line of the table: an address, who may look, who may act, and for whom its thing exists."""

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from typing import Any

from tests.access.cast import ANONYMOUS, AT_THE_SITE, EVERYONE, SIGNED_IN, role_of

MAY, MAY_NOT, NOT_THERE, NO_SUCH_ACT, SIGN_IN = "may", "may not", "not there", "no such act", "sign in"


@dataclass(frozen=True)
class Line:
    """What must hold for one address, by its name (or, where it has none, by its route).

    get, post: roles that may; None where the address takes no such request and must answer 405
    of: from the stage to what stands in the address, a row (its pk), a word, or a tuple of them
    seen_by: people for whom it exists, the others get 404; left out: everyone, with ``of`` those at the site
    body: what is posted; empty is enough where the form then comes back
    query: what follows the question mark, where a GET needs it
    rows: adds so many rows to a page that shows a list; rows_of: the thing with that list, where it is not ``of``
    public: also somebody who has not signed in may
    """

    name: str
    get: Collection[str] | None = None
    post: Collection[str] | None = None
    of: Callable[[Any], Any] | None = None
    seen_by: Collection[str] | None = None
    body: Callable[[Any], Mapping[str, Any]] | Mapping[str, Any] | None = None
    query: str = ""
    rows: Callable[[Any, int], None] | None = None
    rows_of: Callable[[Any], Any] | None = None
    public: bool = False

    def roles(self, method: str) -> Collection[str] | None:
        return self.get if method == "GET" else self.post

    def exists_for(self) -> Collection[str]:
        if self.seen_by is not None:
            return self.seen_by
        return EVERYONE if self.of is None else AT_THE_SITE

    def expected(self, who: str, method: str) -> str:
        """What somebody of the cast must be told."""
        roles = self.roles(method)
        if who == ANONYMOUS:
            return SIGN_IN if not self.public else NO_SUCH_ACT if roles is None else MAY
        if roles is None:
            return NO_SUCH_ACT
        if who not in self.exists_for():
            return NOT_THERE
        return MAY if role_of(who) in roles else MAY_NOT


PEOPLE = (*SIGNED_IN, ANONYMOUS)
