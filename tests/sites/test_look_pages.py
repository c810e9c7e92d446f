"""Base pages, error pages, tables and fields, rendered with the real middleware and read back."""

import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from django.test import Client
from django.utils import timezone

from sites.models import Person, Role
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.urls("tests.sites.gallery")]

EMAIL, PASSWORD = "h.tollgarth@gorsewick.example", "lantern-over-nether-beck"


@pytest.fixture(autouse=True)
def _gallery_templates(settings) -> None:
    settings.TEMPLATES = [{**settings.TEMPLATES[0], "DIRS": [Path(__file__).parent / "templates"]}]


@pytest.fixture
def person() -> Person:
    person = Person(email=EMAIL, name="H. <b>Tollgarth", recorded_at=timezone.now())
    person.set_password(PASSWORD)
    person.save()
    return person


@pytest.fixture
def planner(client: Client, person: Person) -> Client:
    make.MembershipFactory(person=person, role=Role.PLANNER)
    client.force_login(person)
    return client


class Balance(HTMLParser):
    """Fails where an element is closed that is not open: folding and screen readers depend on it."""

    VOID = {"meta", "link", "input", "br", "path", "circle", "rect", "use"}

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.ids: list[str] = []
        self.described_by: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = dict(attrs)
        assert len(found) == len(attrs), f"an attribute stands twice on <{tag}>"
        if found.get("id"):
            self.ids.append(found["id"] or "")
        self.described_by.update((found.get("aria-describedby") or "").split())
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        pass

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def read(html: str) -> str:
    page = Balance()
    page.feed(html)
    assert page.open == []
    assert len(page.ids) == len(set(page.ids)), "an id stands twice"
    assert page.described_by <= set(page.ids), "described by something that is not there"
    assert html.count("<h1") == 1
    return html


def test_it_shows_the_main_pages_to_who_is_signed_in_and_marks_where_one_is(planner: Client) -> None:
    html = read(planner.get("/sites/move/").content.decode())
    links = re.findall(
        r'<a href="([^"]+)"([^>]*)>([^<]+)</a>', html[html.index("<nav") : html.index("</nav>")]
    )
    assert [(url, label) for url, _, label in links] == [
        ("/", "Due"), ("/visits/", "Visits"), ("/sites/", "Sites"),
    ]  # fmt: skip
    assert [label for _, current, label in links if "aria-current" in current] == ["Sites"]


def test_it_shows_at_the_foot_what_the_top_line_does_not_have(planner: Client) -> None:
    html = planner.get("/sites/move/").content.decode()
    foot = html[html.index('<footer class="foot">') :]
    assert re.findall(r'<a href="([^"]+)">([^<]+)</a>', foot) == [("/reports/", "Reports")]
    assert "gives no permission to work" in foot


def test_it_shows_who_is_signed_in_and_lets_them_sign_out_by_post(planner: Client) -> None:
    html = read(planner.get("/").content.decode())
    assert "H. &lt;b&gt;Tollgarth" in html
    assert "Gorsewick Lightning &amp; Earthing" in html
    form = html[html.index('<form method="post" action="/sign-out/">') :]
    assert "csrfmiddlewaretoken" in form[: form.index("</form>")]


def test_it_shows_no_main_pages_before_signing_in(client: Client) -> None:
    html = read(client.get("/sign-in/").content.decode())
    assert "<nav" not in html
    assert "sign-out" not in html


def test_it_leaves_the_scheme_to_the_device_unless_a_person_chose(planner: Client) -> None:
    assert 'data-bs-theme="auto"' in planner.get("/").content.decode()
    assert 'data-bs-theme="dark"' in planner.get("/sites/?theme=dark").content.decode()


def test_it_names_both_fields_and_ties_the_fault_to_the_password(client: Client, person: Person) -> None:
    answer = client.post("/sign-in/", {"username": EMAIL, "password": "wrong"})
    html = read(answer.content.decode())
    assert re.search(
        r'<label for="id_username">E-mail</label>\s*<input [^>]*id="id_username" type="email"', html
    )
    assert f'value="{EMAIL}"' in html
    field = re.search(r"<input [^>]*type=\"password\"[^>]*>", html)
    assert field and 'aria-describedby="password-fault"' in field[0] and 'aria-invalid="true"' in field[0]
    assert "value=" not in field[0]
    assert "do not belong together" in html[html.index('id="password-fault"') :]


def test_it_signs_in_and_goes_where_one_was_going(client: Client, person: Person) -> None:
    asked = client.get("/sites/move/")
    assert asked.status_code == 302
    html = client.get(asked["Location"]).content.decode()
    assert '<input type="hidden" name="next" value="/sites/move/">' in html
    answer = client.post("/sign-in/", {"username": EMAIL, "password": PASSWORD, "next": "/sites/move/"})
    assert (answer.status_code, answer["Location"]) == (302, "/sites/move/")


@pytest.mark.parametrize("kind", ["400", "403", "404", "413", "500"])
@pytest.mark.parametrize("signed_in", [False, True])
def test_it_says_what_happened_and_what_to_do_next(kind: str, signed_in: bool, person: Person) -> None:
    client = Client(raise_request_exception=False)
    if signed_in:
        client.force_login(person)
    answer = client.get("/nowhere/" if kind == "404" else f"/error/{kind}/")
    assert answer.status_code == int(kind)
    html = read(answer.content.decode())
    assert f"Error {kind}" in html
    assert html.count("<li>") >= 2
    assert "Content-Security-Policy" in answer
    if kind == "403":
        assert "Planners do not authorise visits." in html
    if kind == "413":
        assert "2.0\u00a0MB" in html


def test_it_says_so_where_a_form_is_out_of_date(person: Person) -> None:
    client = Client(enforce_csrf_checks=True)
    answer = client.post("/sign-in/", {"username": EMAIL, "password": PASSWORD})
    assert answer.status_code == 403
    assert "This form is out of date" in read(answer.content.decode())


def test_it_heads_each_row_once_and_labels_each_cell_for_narrow_screens(planner: Client) -> None:
    html = read(planner.get("/").content.decode())
    table = html[html.index("<table") : html.index("</table>")]
    assert table.count('scope="row"') == 4
    assert "Boiler House &lt;b&gt;" in table
    assert re.findall(r'data-label="([^"]+)"', table)[:3] == ["Due", "State", "Last reading"]
    assert re.findall(
        r'scope="rowgroup"[^>]*>([^<]+?)\s*(?:<span class="aside">(\d+)</span>)?</th>', table
    ) == [
        ("Overdue", "7"),
        ("Next four weeks", ""),
    ]


def test_it_says_by_which_column_it_is_sorted(planner: Client) -> None:
    html = planner.get("/?sort=-structure").content.decode()
    assert re.findall(r'aria-sort="(\w+)"[^>]*><a href="([^"]+)">([^<]+)', html) == [
        ("descending", "?sort=structure", "Structure")
    ]


@pytest.mark.parametrize(("page", "links"), [(1, ["Next"]), (2, ["Previous", "Next"]), (4, ["Previous"])])
def test_it_pages_with_the_same_parts_on_every_page(planner: Client, page: int, links: list[str]) -> None:
    html = read(planner.get(f"/?rows=1&page={page}").content.decode())
    paging = html[html.index('class="paging"') : html.rindex("</nav>")]
    assert re.findall(r">(Previous|Next)<", paging) == ["Previous", "Next"]
    assert re.findall(r'rel="\w+">(Previous|Next)</a>', paging) == links
    assert f"Page {page} of 4" in paging
    assert "rows=1" in paging


def test_it_says_what_is_next_where_a_list_is_empty(planner: Client) -> None:
    html = read(planner.get("/visits/").content.decode())
    assert "<table" not in html
    empty = html[html.index('class="empty"') :]
    assert "Nothing is due in the next four weeks" in empty
    assert "The next is St Quillan" in empty
    assert '<a href="/due/?weeks=12">Look 12 weeks ahead</a>' in empty


def test_it_ties_help_and_fault_to_the_field_they_belong_to(planner: Client) -> None:
    html = read(planner.post("/sites/move/", {"current": "10", "planned": "soon"}).content.decode())
    planned = re.search(r'<input [^>]*id="id_planned"[^>]*>', html)
    assert planned and 'aria-describedby="id_planned_helptext id_planned_error"' in planned[0]
    assert 'class="form-control"' in planned[0]
    current = re.search(r'<input [^>]*id="id_current"[^>]*>', html)
    assert current and 'aria-invalid="true"' in current[0]
    assert '<p class="fault" id="id_current_error">10 has no unit. Write 10\u00a0A or 10\u00a0mA.</p>' in html
    assert '<a href="#id_reason">Reason</a>' in html
    assert '<fieldset aria-describedby="id_by_error"><legend>Asked for by</legend>' in html
