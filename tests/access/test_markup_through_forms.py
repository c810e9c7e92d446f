"""Every form, by somebody who may send it: mark-up and odd characters in every field that takes words."""

from collections.abc import Iterator
from typing import Any
from urllib.parse import urljoin, urlsplit

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import resolve, reverse

from inspections.imports.readings import Readings
from sites import imports
from sites.models import Role
from tests.access.cast import INSIDE, INSPECTOR
from tests.access.forms import Form, Forms
from tests.access.line import MAY
from tests.access.markup import EVIL, ODD, check_page
from tests.access.stage import NOW, Stage
from tests.access.table import lines
from tests.access.walk import address_of

pytestmark = [pytest.mark.django_db, pytest.mark.either_database]
TABLE = {line.name: line for line in lines()}
# Forms that no page of this stage shows, each with its reason; a form that is neither here nor met is not covered.
NOT_MET = {
    "calculator": "its page sends figures in its address; tests/inspections/views/test_calculators.py",
    "defect-retest": "offered with a later reading of the defect's point; tests/inspections/views/test_defects.py",
    "visit-retest": "offered with a later reading of the defect's point; tests/inspections/views/test_defects.py",
    "end-session": "somebody's own second session; it takes no words",
    "end-other-sessions": "somebody's own second session; it takes no words",
    "mfa_activate_totp": "asks for the password first; tests/sites/views",
    "mfa_add_webauthn": "asks for the password first; tests/sites/views",
    "mfa_deactivate_totp": "for whoever has a second factor; it takes no words",
    "mfa_remove_webauthn": "for whoever has a second factor; it takes no words",
    "new-recovery-codes": "for whoever has a second factor; it takes no words",
    "invite-again": "for whoever has not signed in yet; it takes no words",
    "invitation-withdraw": "for whoever has not signed in yet; it takes no words",
    "report-make-file": "takes no words",
    "sign-out": "takes no words",
    "reading-rebase": "offered at a reading that may become the baseline; tests/inspections/views/test_rebase.py",
    "rule-adopt": "offered at an edition that is approved; tests/inspections/views/test_rules.py",
    "rule-decide": "offered at a proposal; tests/inspections/views/test_rules.py",
    "rule-end": "its page stands at an edition in force for the firm; tests/inspections/views/test_rules.py",
}
# What a field wants that takes no free words: sent where it came back as wrong.
RIGHT = {
    "email": "somebody@example.org", "latitude": "51.5", "longitude": "-0.1", "time_zone": "Europe/London",
    "length_m": "6 m", "section_mm2": "50 mm²", "depth_m": "2 m", "diameter_mm": "8 mm", "height_m": "12 m",
    "roof_perimeter_m": "60 m", "number": "77", "anyway": "", "quantity": "3", "text": "5.00", "unit": "mΩ",
    "months": "12", "early_days": "30", "grace_days": "30", "edition": "2031", "code": "a-code", "period": "",
    "seasons": "", "anchor": "", "use_on": "",
}  # fmt: skip


def shown_to(stage: Stage, who: str) -> Iterator[tuple[str, str, Form]]:
    """(name, address, form) of every form that any page of the table shows this person."""
    for name, line in sorted(TABLE.items()):
        if line.expected(who, "GET") != MAY:
            continue
        for address in [stage.address(line), *stage.others(name)]:
            answer = stage.keep(who, "GET", address)
            if answer.status_code != 200 or not answer.headers["Content-Type"].startswith("text/html"):
                continue
            for form in Forms(answer.content.decode()).forms:
                if form.posts:
                    goes = urljoin(address, form.action or address)
                    yield address_of(resolve(urlsplit(goes).path)), goes, form


def prepared(stage: Stage) -> None:
    """An import that may be withdrawn."""
    sheet = stage.here.sheet(stage.here.row("3", "5.00", stage.here.at))
    imports.run(
        Readings(stage.visit),
        firm=stage.firm,
        name="day.csv",
        content=sheet,
        by=stage.people[Role.INSPECTOR],
        at=NOW,
    )


def first_who_may(name: str) -> str | None:
    line = TABLE[name]
    return next((who for who in INSIDE if not line.public and line.expected(who, "POST") == MAY), None)


@pytest.mark.parametrize("who", INSIDE)
def test_every_form_takes_words_as_words_or_says_why_not(stage: Stage, who: str) -> None:
    stage.client.raise_request_exception = True
    mine = {name for name in TABLE if first_who_may(name) == who}
    prepared(stage)
    met: dict[str, tuple[str, Form]] = {}
    for name, goes, form in shown_to(stage, who):
        met.setdefault(name, (goes, form))
    missing = mine - met.keys() - NOT_MET.keys()
    assert not missing, (
        f"No page shows a form to {sorted(missing)}. Name one in Stage.others, or say why in NOT_MET."
    )
    for name in sorted(mine & met.keys() - {"sign-out"}):
        goes, form = met[name]
        answer = repaired(stage, who, goes, form, EVIL)
        seen(stage, who, name, answer)
        for what, words in ODD.items() if form.words else ():
            seen(stage, who, f"{name}, {what}", stage.ask(who, "POST", goes, form.saying(words)))


def repaired(stage: Stage, who: str, goes: str, form: Form, words: str) -> Any:
    """Sent with the words everywhere; where fields came back as wrong, once more with what those want."""
    answer = stage.ask(who, "POST", goes, form.saying(words))
    if answer.status_code != 422:
        return answer if answer.status_code != 302 else stage.keep(who, "POST", goes, form.saying(words))
    wrong = {name for back in Forms(answer.content.decode()).forms for name in back.wrong}
    instead = {name: RIGHT[last] for name in wrong if (last := name.rpartition("-")[2]) in RIGHT}
    return stage.keep(who, "POST", goes, form.saying(words, instead))


def seen(stage: Stage, who: str, where: str, answer: Any) -> None:
    """Answered, and the page that shows what was said is a page of ours alone."""
    assert answer.status_code in (200, 302, 409, 413, 422), (where, answer.status_code)
    if answer.status_code == 302:
        answer = stage.ask(who, "GET", answer["Location"])
    if answer.status_code == 200 or answer.status_code == 422:
        check_page(answer, where)


def test_what_was_said_is_shown_as_it_was_said(stage: Stage) -> None:
    """Not only harmless: nothing of it is lost."""
    address = reverse("client-new")
    form = next(
        f for f in Forms(stage.ask(INSIDE[0], "GET", address).content.decode()).forms if f.posts and f.words
    )
    answer = stage.keep(INSIDE[0], "POST", address, form.saying(EVIL))
    assert answer.status_code == 302
    root = check_page(stage.ask(INSIDE[0], "GET", answer["Location"]), "client")
    assert EVIL in "".join(root.itertext())


def test_a_file_name_is_words_too(stage: Stage) -> None:
    upload = SimpleUploadedFile(f"{EVIL.replace('/', '')}.csv", b"point,display\n", "text/csv")
    address = reverse("visit-readings-file", args=[stage.visit.pk])
    check_page(stage.ask(str(INSPECTOR), "POST", address, {"file": upload}), "readings file")
