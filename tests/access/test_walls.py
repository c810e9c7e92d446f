"""Every address, asked by everybody: who may, who may look but not do, for whom it does not exist."""

from urllib.parse import urlsplit

import pytest
from django.urls import reverse

from tests.access.cast import ANONYMOUS
from tests.access.line import MAY, MAY_NOT, NO_SUCH_ACT, NOT_THERE, PEOPLE, SIGN_IN, Line
from tests.access.stage import Stage
from tests.access.table import lines
from tests.access.walk import addresses

pytestmark = pytest.mark.django_db

# Complete and exact: nothing else answers somebody who has not signed in.
PUBLIC = {
    "sign-in",
    "account_login",
    "mfa_authenticate",
    "mfa_login_webauthn",
    "invitation",
    "forgotten-password",
    "link-sent",
    "new-password",
    "calendar",
}

TABLE = {line.name: line for line in lines()}
METHODS = ("GET", "POST")
TOLD = {
    MAY_NOT: "403",
    NOT_THERE: "404",
    NO_SUCH_ACT: "405",
    SIGN_IN: "sent to the sign-in",
    MAY: "answered",
}


def test_every_address_has_its_line_and_every_line_its_address() -> None:
    known = addresses()
    missing = [
        f"“/{known[name].route}” has no line. Add Line({name!r}, get=..., post=..., of=lambda stage: ...) to the file "
        "in tests/access/table/ that is named like its file of addresses; tests/access/line.py says what it means."
        for name in sorted(known.keys() - TABLE.keys())
    ]
    assert not missing, "\n".join(missing)
    gone = TABLE.keys() - known.keys()
    assert not gone, (
        f"No address is named so any more: {sorted(gone)}. Take the lines out of tests/access/table/."
    )
    assert len(lines()) == len(TABLE), "An address has two lines in tests/access/table/."


def test_only_the_listed_addresses_are_public() -> None:
    assert {name for name, line in TABLE.items() if line.public} == PUBLIC
    open_views = {name for name, address in addresses().items() if not needs_sign_in(address.view)}
    assert open_views == PUBLIC


def needs_sign_in(view: object) -> bool:
    return bool(getattr(view, "login_required", True))


@pytest.mark.parametrize("name", sorted(TABLE))
def test_it_answers_each_person_as_the_table_says(stage: Stage, name: str) -> None:
    line = TABLE[name]
    address = stage.address(line)
    wrong = []
    for method in METHODS:
        for who in PEOPLE:
            body = stage.body(line) if method == "POST" else None
            answer = stage.ask(who, method, address, body)
            expected = line.expected(who, method)
            if not said(answer, expected):
                wrong.append(f"{method} {address} by {who}: {answer.status_code}, {TOLD[expected]} expected")
    assert not wrong, "\n".join(wrong)


def said(answer: object, expected: str) -> bool:
    """Whether an answer tells somebody what it should."""
    status: int = answer.status_code  # type: ignore[attr-defined]
    if expected == MAY:
        return status not in (401, 403, 404, 405) and status < 500 and not to_sign_in(answer)
    if expected == SIGN_IN:
        return to_sign_in(answer)
    return str(status) == TOLD[expected]


def to_sign_in(answer: object) -> bool:
    """Led there, or shown what they sent and the way there."""
    if answer.status_code == 403:  # type: ignore[attr-defined]
        return f'href="{reverse("sign-in")}?next=' in answer.content.decode()  # type: ignore[attr-defined]
    if answer.status_code != 302:  # type: ignore[attr-defined]
        return False
    where = urlsplit(answer["Location"])  # type: ignore[index]
    return where.path == reverse("sign-in") and where.query.startswith("next=")


def test_the_table_itself_tells_roles_apart(stage: Stage) -> None:
    """The expectations are not all alike: a table that let everybody everywhere would prove nothing."""
    line: Line = TABLE["visit-approve"]
    told = {who: line.expected(who, "POST") for who in PEOPLE}
    assert told["reviewing engineer"] == MAY
    assert told["planner"] == MAY_NOT
    assert told["the planner of another firm"] == NOT_THERE
    assert told[ANONYMOUS] == SIGN_IN
    assert line.expected("planner", "GET") == NO_SUCH_ACT
