"""No form anywhere takes letters that nobody can see: by its class, and by being sent."""

import importlib
import pkgutil
from collections.abc import Iterator
from typing import Any

import pytest
from django import forms
from django.urls import URLPattern, URLResolver, get_resolver

from sites.forms.plain import PlainForm
from tests.access.cast import INSIDE
from tests.access.stage import Stage
from tests.access.test_markup_through_forms import first_who_may, prepared, shown_to
from tests.counting import nothing_saved

pytestmark = pytest.mark.django_db
OURS = ("sites", "inspections", "reports", "config")
# The library's own forms that take no words to be kept, each with what it takes.
NO_WORDS = {
    "ActivateTOTPForm": "the code an app shows",
    "AuthenticateForm": "the code an app shows",
    "DeactivateTOTPForm": "nothing",
    "Form": "nothing: the page that removes a passkey",
    "GenerateRecoveryCodesForm": "nothing",
}
TURNED = "5\u202e21"
TOLD = "a mark that turns the direction of writing"


def below(kind: type) -> Iterator[type]:
    for one in kind.__subclasses__():
        yield one
        yield from below(one)


def views(resolver: URLResolver) -> Iterator[Any]:
    for one in resolver.url_patterns:
        if isinstance(one, URLPattern):
            yield one.callback
        else:
            yield from views(one)


def test_every_form_class_is_made_of_the_plain_form() -> None:
    for name in OURS:
        package = importlib.import_module(name)
        for module in pkgutil.walk_packages(package.__path__, f"{name}."):
            if ".migrations" not in module.name:
                importlib.import_module(module.name)
    ours = {kind for kind in below(forms.BaseForm) if kind.__module__.partition(".")[0] in OURS}
    assert len(ours) > 50
    assert not [kind for kind in ours if kind is not PlainForm and not issubclass(kind, PlainForm)]


def test_every_form_of_a_view_class_is_made_of_it_too() -> None:
    classes = {getattr(one, "view_class", None) for one in views(get_resolver())}
    used = {one().get_form_class() for one in classes if hasattr(one, "get_form_class")}
    assert used
    others = {kind.__name__ for kind in used if not issubclass(kind, PlainForm)}
    assert others == NO_WORDS.keys()


@pytest.mark.parametrize("who", INSIDE)
def test_every_form_that_is_sent_refuses_a_mark_that_turns_the_writing(stage: Stage, who: str) -> None:
    prepared(stage)
    sent = set()
    for name, goes, form in shown_to(stage, who):
        if name in sent or not form.words or form.secret or first_who_may(name) != who:
            continue
        sent.add(name)
        with nothing_saved():
            answer = stage.ask(who, "POST", goes, form.saying(TURNED))
        assert answer.status_code in (200, 302, 409, 422), (name, answer.status_code)
        if answer.status_code == 302:
            answer = stage.ask(who, "GET", answer["Location"])
        assert TOLD in answer.content.decode(), name
    assert who != INSIDE[0] or len(sent) > 10, sent
